"""What every test of the screen needs: no display, no user's files, no widget left over."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from shutil import copy
from typing import TypeVar

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")  # before any application object is made

import pytest
from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QApplication, QWidget

from core.language import ENGLISH, Numbers
from core.language.catalogue import LONGER
from core.store import Library
from desktop.shell.main_window import MainWindow
from desktop.tasks.garbage_collector import GarbageCollector
from desktop.widgets import theme
from desktop.widgets.language import speak
from desktop.widgets.preferences import Preferences
from desktop.wizard import Wizard
from tests.desktop.kit import FittingBench, HistoryBench, RecordingMessages, Shop, finished
from tests.examples import cartridge, deck

_HERE = Path(__file__).parent
_W = TypeVar("_W", bound=QWidget)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Let every warning of Qt's own fail the test that caused it.

    A marker instead of an ini option: the core's tests run where pytest-qt is not installed, and
    pytest refuses options that nobody declared.
    """
    for item in items:
        if _HERE in item.path.parents:
            item.add_marker(pytest.mark.qt_log_level_fail("WARNING"))
            # The offscreen platform says so of every window that has a least size.
            item.add_marker(pytest.mark.qt_log_ignore("does not support propagateSizeHints"))


@pytest.fixture(scope="session", autouse=True)
def _collector(qapp: QApplication) -> None:
    """Let cycles end between events, as the program does: amid an errand Qt would crash."""
    GarbageCollector(qapp)


@pytest.fixture(autouse=True)
def own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep every default place for files inside the test's own folder."""
    home = tmp_path / "home"
    home.mkdir()
    for name in ("HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_CACHE_HOME", "APPDATA"):
        monkeypatch.setenv(name, str(home))


@pytest.fixture
def messages() -> RecordingMessages:
    """Return a channel that keeps what is told and gives the answers laid out for it."""
    return RecordingMessages()


@pytest.fixture
def shown(qapp: QApplication) -> Iterator[Callable[[_W], _W]]:
    """Return a function that shows a top-level widget, which is closed and deleted afterwards."""
    widgets: list[QWidget] = []

    def show(widget: _W, width: int = 1024, height: int = 768) -> _W:
        widgets.append(widget)
        widget.resize(width, height)
        widget.show()
        widget.activateWindow()
        qapp.processEvents()
        return widget

    yield show
    for widget in widgets:
        widget.close()
        widget.deleteLater()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    qapp.processEvents()


@pytest.fixture
def qt_owner(qapp: QApplication) -> Iterator[QObject]:
    """Return an object to parent models to; deleted afterwards."""
    owner = QObject()
    yield owner
    owner.deleteLater()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


@pytest.fixture(scope="session")
def new_library_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a closed library with the starters in it; to add them takes most of the time."""
    path = tmp_path_factory.mktemp("new") / "new.library"
    with Library.open(path):
        return path


@pytest.fixture
def library(tmp_path: Path, new_library_file: Path) -> Iterator[Library]:
    """Return a new library with the starters in it."""
    folder = tmp_path / "bench"
    folder.mkdir()
    copy(new_library_file, folder / "test.library")
    with Library.open(folder / "test.library") as library:
        yield library


@pytest.fixture
def preferences(tmp_path: Path) -> Preferences:
    """Return a memory of the test's own."""
    return Preferences(tmp_path / "remembered.ini")


@pytest.fixture
def window(
    messages: RecordingMessages, preferences: Preferences, shown: Callable[..., QWidget]
) -> Iterator[MainWindow]:
    """Return the program's window with no library open."""
    made = MainWindow(numbers=Numbers(), preferences=preferences, messages=messages)
    shown(made)
    yield made
    messages.answers = [1]  # leave without saving, whatever a test left in a form


@pytest.fixture
def bench(library: Library) -> FittingBench:
    return FittingBench(library)


@pytest.fixture
def open_wizard(
    bench: FittingBench, messages: RecordingMessages, shown: Callable[..., QWidget]
) -> Iterator[Callable[[], Wizard]]:
    """Return a function that shows the wizard for the bench's fitting."""

    def show() -> Wizard:
        wizard = Wizard(bench.controller, messages)
        shown(wizard)
        wizard.begin()
        return wizard

    yield show
    bench.controller.deleteLater()


@pytest.fixture
def shop(library: Library) -> Shop:
    deck_id = library.keep_deck(deck(owner_reference="Shelf 7")).id
    old_id = library.keep_cartridge(cartridge()).id
    new_id = library.keep_cartridge(
        cartridge(
            name="Example cartridge, taller and heavier",
            mass_g=8.0,
            body_height_mm=19.0,
            tip_to_holes_mm=10.0,
            downforce_min_gf=1.5,
            downforce_max_gf=2.0,
            stylus="line contact",
        )
    ).id
    plug_in_id = library.keep_cartridge(
        cartridge(name="Example cartridge that plugs in", mounting="plug-in", hardware_g=0.0)
    ).id
    fitting_id = finished(library, deck_id, old_id)
    return Shop(library, deck_id, old_id, new_id, plug_in_id, fitting_id)


@pytest.fixture
def history(
    library: Library, shown: Callable[..., QWidget], messages: RecordingMessages
) -> HistoryBench:
    return HistoryBench(library, shown, messages)


@pytest.fixture
def in_another_language(qapp: QApplication) -> Iterator[None]:
    """Show everything in the longer trial language, and in English again afterwards."""
    speak(LONGER)
    yield
    speak(ENGLISH)


@pytest.fixture
def usual_look(qapp: QApplication) -> Iterator[None]:
    """Begin and end with light colours and the usual size of type."""
    theme.apply(qapp, "light", text_scale=1.0)
    yield
    theme.apply(qapp, "light", text_scale=1.0)
