"""What the first opening of a fitting needs is loaded while the hands rest, and not before."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit
from pytestqt.qtbot import QtBot

from desktop.tasks.preload import Preloader

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture
def loaded(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    names: list[str] = []
    monkeypatch.setattr("desktop.tasks.preload.import_module", names.append)
    monkeypatch.setattr("desktop.tasks.preload.build_models", lambda: names.append("built"))
    monkeypatch.setattr("desktop.tasks.preload.gc.freeze", lambda: names.append("frozen"))
    return names


@pytest.fixture
def line(qtbot: QtBot) -> Iterator[QLineEdit]:
    line = QLineEdit()
    qtbot.addWidget(line)
    line.show()
    yield line
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def test_all_is_loaded_in_its_order_and_kept_out_of_the_collectors_way(
    loaded: list[str], qapp: QApplication, qtbot: QtBot
) -> None:
    preloader = Preloader(qapp, ("first", "second"), rest_ms=1)
    assert loaded == []
    qtbot.waitUntil(lambda: "frozen" in loaded)
    assert loaded == ["first", "second", "built", "frozen"]
    preloader.deleteLater()


def test_while_somebody_types_nothing_is_loaded(
    loaded: list[str], qapp: QApplication, qtbot: QtBot, line: QLineEdit
) -> None:
    preloader = Preloader(qapp, ("first",), rest_ms=400)
    for _ in range(8):  # twice as long as the rest it waits for
        QTest.keyClick(line, Qt.Key.Key_A)
        qtbot.wait(100)
    assert loaded == []
    qtbot.waitUntil(lambda: "frozen" in loaded)
    assert loaded == ["first", "built", "frozen"]
    preloader.deleteLater()


def test_the_first_opening_finds_everything_loaded(tmp_path: Path) -> None:
    """In a process of its own: in this one everything is loaded."""
    script = f"""
import sys
from importlib import import_module
from pathlib import Path

from desktop.shell.app import application

from core.language.numbers import Numbers
from desktop.shell.app import PRELOADED
from desktop.shell.main_window import MainWindow
from desktop.widgets.preferences import Preferences

app = application()
folder = Path({str(tmp_path)!r})
window = MainWindow(numbers=Numbers(), preferences=Preferences(folder / "remembered.ini"))
window.open_library(folder / "test.library")
window.show()
library = window.library
fitting = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id, who="")
ours = ("core", "desktop", "numpy", "pyqtgraph")
count = lambda: {{name for name in sys.modules if name.partition(".")[0] in ours}}
first_screen = count()
for name in PRELOADED:
    import_module(name)
before = count()
window.open_fitting(fitting.id)
page = window.pages.currentWidget().page
page.deferred.finish()
print("ahead", len(before - first_screen))
print("late", *sorted(count() - before))
"""
    said = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.splitlines()
    assert said[-1] == "late"  # and no module's name behind it
    assert int(said[-2].split()[1]) > 100  # pyqtgraph alone is more
