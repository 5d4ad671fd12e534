"""A large export: the window lives on, it can be stopped, and the file is whole or untouched."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from core.language import Numbers
from core.store import Library, documents, exporting
from desktop.library import import_export as carrying
from desktop.library.screen import LibraryScreen
from desktop.widgets.preferences import Preferences
from tests.desktop.kit import RecordingMessages

_FITTINGS = 60


@pytest.fixture
def screen(
    library: Library,
    messages: RecordingMessages,
    preferences: Preferences,
    shown: Callable[[QWidget], QWidget],
    monkeypatch: pytest.MonkeyPatch,
) -> LibraryScreen:
    monkeypatch.setattr(carrying, "_MOST_AT_ONCE", 10)
    deck, cartridge = library.decks()[0].id, library.cartridges()[0].id
    for _ in range(_FITTINGS):
        library.start_fitting(deck, cartridge)
    screen = LibraryScreen(library, Numbers(), messages, preferences)
    shown(screen)
    return screen


@pytest.fixture
def gate(monkeypatch: pytest.MonkeyPatch) -> threading.Event:
    """Return an event; until it is set a document is held back after some of its records."""
    let_through = threading.Event()
    record_of = exporting.document_fitting
    seen = []

    def held_back(library: Library, fitting_id: str) -> documents.DocumentFitting:
        seen.append(fitting_id)
        if len(seen) > 20:
            let_through.wait(10)
        return record_of(library, fitting_id)

    monkeypatch.setattr(exporting, "document_fitting", held_back)
    return let_through


def export(screen: LibraryScreen, messages: RecordingMessages, path: Path) -> None:
    messages.files = [path]
    ids = [screen.under_way.model.row_at(row).id for row in range(_FITTINGS)]
    screen.under_way.action_chosen.emit("export", ids)


def test_the_window_lives_on_and_says_how_far_it_is(
    screen: LibraryScreen,
    messages: RecordingMessages,
    gate: threading.Event,
    qtbot: QtBot,
    tmp_path: Path,
) -> None:
    path = tmp_path / "big.json"
    export(screen, messages, path)
    line = screen.export_progress
    assert line.isVisible()
    qtbot.waitUntil(lambda: line.progress.value() >= 20)
    assert line.progress.maximum() == _FITTINGS + 2
    assert not path.exists()
    export(screen, messages, tmp_path / "second.json")
    assert "still in progress" in messages.sentences[-1]
    gate.set()
    qtbot.waitUntil(lambda: not line.is_busy)
    assert not line.isVisible()
    assert messages.told[-1].title == "Exported"
    assert len(json.loads(path.read_text(encoding="utf-8"))["fittings"]) == _FITTINGS
    assert not (tmp_path / "second.json").exists()


@pytest.mark.parametrize("largest", [1_000, 100_000_000])
def test_a_document_too_large_to_be_taken_in_is_said_so_when_it_is_written(
    screen: LibraryScreen,
    messages: RecordingMessages,
    qtbot: QtBot,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    largest: int,
) -> None:
    monkeypatch.setattr(documents, "LARGEST_BYTES", largest)
    export(screen, messages, tmp_path / "big.json")
    qtbot.waitUntil(lambda: not screen.export_progress.is_busy)
    assert messages.told[-1].title == "Exported"
    assert ("export fewer decks" in messages.told[-1].remedy) is (largest == 1_000)


def test_a_stopped_export_leaves_the_file_that_lay_there_and_nothing_else(
    screen: LibraryScreen,
    messages: RecordingMessages,
    gate: threading.Event,
    qtbot: QtBot,
    tmp_path: Path,
) -> None:
    folder = tmp_path / "stick"
    folder.mkdir()
    path = folder / "big.json"
    path.write_text("of last year")
    export(screen, messages, path)
    line = screen.export_progress
    qtbot.waitUntil(lambda: line.progress.value() >= 20)
    line.stop_button.setFocus()
    threading.Timer(0.1, gate.set).start()
    qtbot.keyClick(line.stop_button, Qt.Key.Key_Space)
    assert messages.told[-1].title == "Export stopped"
    assert not line.isVisible()
    assert [one.name for one in folder.iterdir()] == ["big.json"]
    assert path.read_text() == "of last year"


def test_closing_asks_while_an_export_is_under_way(
    screen: LibraryScreen,
    messages: RecordingMessages,
    gate: threading.Event,
    tmp_path: Path,
) -> None:
    assert screen.may_leave()
    export(screen, messages, tmp_path / "big.json")
    messages.answers = [1]
    assert not screen.may_leave()
    assert screen.export_progress.is_busy
    gate.set()
    messages.answers = [0]
    assert screen.may_leave()
    assert not (tmp_path / "big.json").exists()


def test_what_the_disk_refuses_is_told(
    screen: LibraryScreen, messages: RecordingMessages, qtbot: QtBot, tmp_path: Path
) -> None:
    export(screen, messages, tmp_path / "no such folder" / "big.json")
    qtbot.waitUntil(lambda: not screen.export_progress.is_busy)
    assert messages.told[-1].title != "Exported"
    assert "no such folder" in messages.sentences[-1]
