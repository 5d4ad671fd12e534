"""A large import: the window is painted meanwhile, and it comes in whole or, if stopped, not."""

from __future__ import annotations

import gc
import json
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QProgressDialog, QWidget
from pytestqt.qtbot import QtBot

from core.language import Numbers
from core.store import Library, WorkStoppedError, documents, exporting, importing
from desktop.library import import_export as carrying
from desktop.library.screen import LibraryScreen
from desktop.tasks.blocking_task import run_blocking
from desktop.tasks.garbage_collector import GarbageCollector
from desktop.widgets.preferences import Preferences
from tests.desktop.kit import RecordingMessages

_FITTINGS = 30


@pytest.fixture
def document(library: Library, tmp_path: Path) -> Path:
    deck, cartridge = library.decks()[0].id, library.cartridges()[0].id
    for _ in range(_FITTINGS):
        library.start_fitting(deck, cartridge)
    path = tmp_path / "big.json"
    exporting.write_document(library, path, exporting.of_library(library))
    return path


@pytest.fixture
def other(tmp_path: Path) -> Iterator[Library]:
    (tmp_path / "other").mkdir()
    with Library.open(tmp_path / "other" / "other.library") as library:
        yield library


@pytest.fixture
def screen(
    other: Library,
    messages: RecordingMessages,
    preferences: Preferences,
    shown: Callable[[QWidget], QWidget],
    document: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> LibraryScreen:
    monkeypatch.setattr(carrying, "_LARGE_BYTES", 0)
    messages.files = [document]
    screen = LibraryScreen(other, Numbers(), messages, preferences)
    shown(screen)
    return screen


def waiting() -> QProgressDialog | None:
    shown = (one for one in QApplication.topLevelWidgets() if isinstance(one, QProgressDialog))
    return next((one for one in shown if one.isVisible()), None)


def test_a_large_document_comes_in_while_the_window_is_painted(
    screen: LibraryScreen, other: Library, messages: RecordingMessages
) -> None:
    dialogs: list[str] = []
    look = QTimer(screen)
    look.timeout.connect(lambda: dialogs.append(one.labelText() if (one := waiting()) else ""))
    look.start(1)
    screen.take_in.click()
    look.stop()
    assert messages.told[-1].title == "Imported"
    assert {"Reading big.json…", "Importing big.json…"} <= set(dialogs)
    assert len(other.fittings()) == _FITTINGS
    assert screen.under_way.model.total == _FITTINGS
    assert waiting() is None


def test_a_stopped_import_leaves_the_library_as_it_was(
    screen: LibraryScreen,
    other: Library,
    messages: RecordingMessages,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    take_in = importing.take_in
    has_some = threading.Event()

    def held_up(
        library: Library,
        planned: importing.ImportPlan,
        decisions: Mapping[str, importing.ImportDecision],
        *,
        go_on: Callable[[], bool],
        told: Callable[[int], None],
    ) -> None:
        def told_and_held(count: int) -> None:
            told(count)
            if count == 20:
                has_some.set()
                until = time.monotonic() + 10
                while go_on() and time.monotonic() < until:
                    time.sleep(0.005)

        take_in(library, planned, decisions, go_on=go_on, told=told_and_held)

    def stop_once_it_has_some() -> None:
        dialog = waiting()
        if dialog is not None and has_some.is_set():
            QTest.keyClick(dialog, Qt.Key.Key_Escape)

    monkeypatch.setattr(importing, "take_in", held_up)
    look = QTimer(screen)
    look.timeout.connect(stop_once_it_has_some)
    look.start(5)
    screen.take_in.click()
    look.stop()
    assert has_some.is_set()
    assert messages.told[-1].title == "Import stopped"
    assert not other.fittings()
    assert waiting() is None


def test_a_document_that_is_none_is_told_as_ever(
    screen: LibraryScreen, document: Path, messages: RecordingMessages
) -> None:
    document.write_text("Dear customer")
    screen.take_in.click()
    assert messages.told[-1].title not in ("Imported", "Import stopped")
    assert waiting() is None


def test_a_mistake_in_the_work_comes_out_where_it_was_asked_for(
    shown: Callable[[QWidget], QWidget], qtbot: QtBot
) -> None:
    window = QWidget()
    shown(window)
    with pytest.raises(ZeroDivisionError):
        run_blocking(window, "Dividing…", lambda _go_on, _told: 1 // 0)
    qtbot.wait(10)
    assert waiting() is None


def test_the_window_does_not_wait_for_work_that_is_slow_to_stop(
    shown: Callable[[QWidget], QWidget], qtbot: QtBot
) -> None:
    window = QWidget()
    shown(window)
    has_begun, may_end = threading.Event(), threading.Event()
    seen: list[tuple[str, bool]] = []

    def slow(_go_on: Callable[[], bool], _told: Callable[[int], None]) -> None:
        has_begun.set()
        may_end.wait(10)
        raise WorkStoppedError

    def press() -> None:
        dialog = waiting()
        if dialog is None or not has_begun.is_set():
            return
        seen.append((dialog.labelText(), may_end.is_set()))
        if len(seen) < 4:  # again and again: it must not get away
            QTest.keyClick(dialog, Qt.Key.Key_Escape)
        elif len(seen) == 4:
            dialog.close()
        else:
            may_end.set()

    look = QTimer(window)
    look.timeout.connect(press)
    look.start(5)
    with pytest.raises(WorkStoppedError):
        run_blocking(window, "Digging…", slow)
    look.stop()
    assert seen[:5] == [("Digging…", False), *[("Stopping…", False)] * 4]
    assert waiting() is None


def test_to_reject_the_dialog_stops_the_work(
    shown: Callable[[QWidget], QWidget],
) -> None:  # Escape does that where Qt takes another window for the active one
    window = QWidget()
    shown(window)

    def until_unwanted(go_on: Callable[[], bool], _told: object) -> None:
        until = time.monotonic() + 10
        while go_on() and time.monotonic() < until:
            time.sleep(0.005)
        if not go_on():
            raise WorkStoppedError

    def reject() -> None:
        if (dialog := waiting()) is not None:
            dialog.reject()

    look = QTimer(window)
    look.timeout.connect(reject)
    look.start(5)
    with pytest.raises(WorkStoppedError):
        run_blocking(window, "Digging…", until_unwanted)
    look.stop()
    assert waiting() is None


def test_nothing_is_collected_while_the_work_goes_on(
    shown: Callable[[QWidget], QWidget], qapp: QApplication, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = QWidget()
    shown(window)
    was_on = gc.isenabled()
    collector = GarbageCollector(qapp)
    collected: list[int] = []
    monkeypatch.setattr("desktop.tasks.garbage_collector.gc.collect", collected.append)
    monkeypatch.setattr("desktop.tasks.garbage_collector.gc.get_count", lambda: (701, 11, 11))
    tries: list[int] = []

    def try_it() -> None:
        collector.collect()
        tries.append(len(collected))

    look = QTimer(window)
    look.timeout.connect(try_it)
    look.start(1)

    def until_tried(_go_on: object, _told: object) -> None:
        until = time.monotonic() + 10
        while len(tries) < 3 and time.monotonic() < until:
            time.sleep(0.005)

    try:
        run_blocking(window, "Digging…", until_tried)
        look.stop()
        assert tries[:3] == [0, 0, 0]
        collector.collect()
        assert collected
    finally:
        collector.setParent(None)
        collector.deleteLater()
        if was_on:
            gc.enable()


def test_what_was_read_is_let_go_where_it_was_read(
    screen: LibraryScreen, messages: RecordingMessages, monkeypatch: pytest.MonkeyPatch
) -> None:
    let_go, where = documents.let_go, []

    def noted(document: documents.Document) -> None:
        where.append((threading.current_thread() is threading.main_thread(), document.fittings))
        let_go(document)

    monkeypatch.setattr(documents, "let_go", noted)
    screen.take_in.click()
    assert messages.told[-1].title == "Imported"
    assert [(is_window, len(fittings)) for is_window, fittings in where] == [(False, _FITTINGS)]


def test_what_was_read_is_let_go_there_too_when_nobody_decides(
    screen: LibraryScreen,
    other: Library,
    document: Path,
    messages: RecordingMessages,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    screen.take_in.click()
    said = json.loads(document.read_text(encoding="utf-8"))
    said["decks"][-1]["revisions"][-1]["thing"]["notes"] = "Another note"
    document.write_text(json.dumps(said), encoding="utf-8")
    messages.files = [document]
    asked: list[object] = []
    monkeypatch.setattr(
        "desktop.library.versions_dialog.ask_which", lambda *about: asked.append(about)
    )
    let_go, where = documents.let_go, []

    def noted(one: documents.Document) -> None:
        where.append(threading.current_thread() is threading.main_thread())
        let_go(one)

    monkeypatch.setattr(documents, "let_go", noted)
    screen.take_in.click()
    assert messages.told[-1].title == "Nothing imported"
    assert len(asked) == 1
    assert where == [False]
    assert waiting() is None
