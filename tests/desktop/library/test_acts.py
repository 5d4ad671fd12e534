"""What is done to many records at once says what it did and is taken back, by keyboard too."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from core.fitting import NoteWritten
from core.language import Numbers
from core.store import Library
from core.store.exporting import of_fittings
from desktop.library.screen import LibraryScreen
from desktop.widgets.preferences import Preferences
from tests.core.store.worked import content_of
from tests.desktop.kit import CTRL, RecordingMessages, press
from tests.examples import cartridge, deck

MANY = 1200


@pytest.fixture
def screen(
    library: Library,
    messages: RecordingMessages,
    preferences: Preferences,
    shown: Callable[..., QWidget],
) -> LibraryScreen:
    with library.transaction():
        for number in range(MANY):
            library.keep_deck(deck(owner_reference=f"Job {number}"))
    screen = LibraryScreen(library, Numbers(), messages, preferences)
    shown(screen)
    screen.tabs.setCurrentWidget(screen.decks)
    return screen


def away(library: Library) -> int:
    return len(library.decks(archived=True))


def idle(screen: LibraryScreen, qtbot: QtBot) -> None:
    qtbot.waitUntil(lambda: not screen.acts.is_busy, timeout=20_000)
    QApplication.processEvents()


def archive_all(screen: LibraryScreen, qtbot: QtBot) -> None:
    screen.decks.filter.setText("Job")
    screen.decks.table.setFocus()
    press(Qt.Key.Key_A, CTRL)
    screen.decks.buttons["archive"].setFocus()
    press(Qt.Key.Key_Space)
    idle(screen, qtbot)


def test_thousands_archived_at_once_come_back_with_one_press(
    screen: LibraryScreen, library: Library, qtbot: QtBot
) -> None:
    archive_all(screen, qtbot)
    assert away(library) == MANY
    assert screen.undo_bar.text == "Archived 1,200 decks."
    assert screen.undo_bar.undo_button.isVisible()
    screen.decks.table.setFocus()
    press(Qt.Key.Key_Z, CTRL)
    idle(screen, qtbot)
    assert away(library) == 0
    assert screen.undo_bar.text == "Brought back 1,200 decks."
    assert not screen.undo_bar.undo_button.isVisible()
    press(Qt.Key.Key_Z, CTRL)
    assert away(library) == 0


def test_the_undo_keys_in_a_filter_are_for_the_act_unless_something_was_typed_since(
    screen: LibraryScreen, library: Library, qtbot: QtBot
) -> None:
    line = screen.decks.filter
    line.setFocus()
    QTest.keyClicks(line, "Job")
    screen.acts.archive("deck", [screen.decks.model.ids_at(0, 0)[0]], archived=True)
    QTest.keyClick(line, Qt.Key.Key_Backspace)
    line.selectAll()
    QTest.keyClick(line, Qt.Key.Key_Backspace)
    QTest.keyClicks(line, "typed")
    press(Qt.Key.Key_Z, CTRL)
    assert away(library) == 1
    screen.acts.archive("deck", [screen.decks.model.ids_at(0, 0)[0]], archived=True)
    line.selectAll()
    QTest.keyClick(line, Qt.Key.Key_Backspace)
    assert line.isUndoAvailable()
    press(Qt.Key.Key_Z, CTRL)
    idle(screen, qtbot)
    assert away(library) == 1
    assert line.text() == ""


def test_acts_are_taken_back_one_after_the_other(
    screen: LibraryScreen, library: Library, qtbot: QtBot
) -> None:
    first, second, third = screen.decks.model.ids_at(0, 2)
    screen.acts.archive("deck", [first], archived=True)
    assert screen.undo_bar.text == "Archived one deck."
    screen.acts.archive("deck", [second, third], archived=True)
    screen.acts.archive("deck", [first], archived=False)
    for left in (3, 1, 0):
        screen.undo_bar.undo_button.click()
        idle(screen, qtbot)
        assert away(library) == left


def test_what_was_changed_since_is_left_and_that_is_said(
    screen: LibraryScreen, library: Library, qtbot: QtBot
) -> None:
    archive_all(screen, qtbot)
    one = library.decks(archived=True)[0].id
    with Library.open(library.address) as other:
        other.archive("deck", [one], archived=False)
    press(Qt.Key.Key_Z, CTRL)
    idle(screen, qtbot)
    assert screen.undo_bar.text == (
        "Brought back 1,199 decks. One other was changed since and stays as it is."
    )


def test_stopped_amid_thousands_everything_is_as_it_was(
    screen: LibraryScreen, library: Library, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("core.store.archiving._AT_ONCE", 1)
    screen.acts.archive("deck", [row.id for row in library.decks()], archived=True)
    assert screen.undo_bar.stop_button.isVisible()
    assert screen.undo_bar.progress.isVisible()
    screen.undo_bar.stop_button.click()
    assert not screen.acts.is_busy
    assert away(library) == 0
    assert screen.undo_bar.text == "Stopped. Everything is as it was."


def test_when_something_was_put_away_is_seen_sorted_and_found(
    screen: LibraryScreen, library: Library, qtbot: QtBot
) -> None:
    table, model = screen.decks.table, screen.decks.model
    at = [model.headerData(n, Qt.Orientation.Horizontal) for n in range(model.columnCount())]
    column = at.index("Archived")
    assert table.isColumnHidden(column)
    last_year, today = model.ids_at(0, 1)
    library.archive("deck", [last_year, today], archived=True)
    with library.transaction():
        long_ago = {"archived_at": "2024-05-06T10:00:00.000000+00:00"}
        library._backend.update("things", long_ago, {"id": last_year})
    screen.refresh()
    screen.decks.archived.setChecked(True)
    assert not table.isColumnHidden(column)
    table.setFocus()
    seen = [n for n in range(column) if not table.isColumnHidden(n)]
    key = Qt.Key(Qt.Key.Key_1 + len(seen))
    press(key, CTRL)
    assert model.ids_at(0, 1) == [last_year, today]
    press(key, CTRL)
    assert model.ids_at(0, 1) == [today, last_year]
    screen.decks.filter.setText("archived 2024-05")
    assert model.ids_at(0, model.rowCount() - 1) == [last_year]
    screen.decks.filter.setText("archived today")
    assert model.ids_at(0, model.rowCount() - 1) == [today]
    screen.decks.filter.clear()
    screen.decks.archived.setChecked(False)
    assert table.isColumnHidden(column)


def test_an_import_is_taken_back_and_what_was_changed_since_is_named(
    screen: LibraryScreen,
    library: Library,
    messages: RecordingMessages,
    tmp_path: Path,
    qtbot: QtBot,
) -> None:
    with Library.open(tmp_path / "other.library") as other:
        for name in ("Example deck, one of two", "Example deck, two of two"):
            one = other.keep_deck(deck(name=name))
            two = other.keep_cartridge(cartridge(name=f"Example cartridge for {name[14:17]}"))
            other.start_fitting(one.id, two.id)
        ids = [row.id for row in other.fittings()]
        content = content_of(other, of_fittings(other, *ids))
    document = tmp_path / "visit.json"
    document.write_bytes(content)
    assert json.loads(content)["fittings"]
    before = len(library.fittings(archived=False))
    messages.files = [document]
    screen.take_in.click()
    assert screen.undo_bar.text == "Imported “visit.json”: 6 records added or changed."
    changed = next(row for row in library.fittings() if row.deck_name.endswith("one of two"))
    library.append(changed.id, NoteWritten(text="went on"))
    screen.decks.filter.setFocus()  # nothing is typed there: the keys are for the page
    press(Qt.Key.Key_Z, CTRL)
    idle(screen, qtbot)
    assert len(library.fittings(archived=False)) == before + 1
    said = screen.undo_bar.text
    assert said.startswith("The import of “visit.json” is undone. Archived one fitting.")
    assert "3 records were changed or used since and stay as they are:" in said
    assert "“Example deck, one of two”" in said
