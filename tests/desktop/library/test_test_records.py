"""Test records in the library's window: listed, added by keyboard, corrected, copied, exported."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPushButton

from core.records import BandUse
from core.store import Library
from core.store.documents import read_document
from desktop.forms.model_fields import TableEditor
from desktop.library.editor import RecordEditor
from desktop.library.screen import LibraryScreen
from desktop.shell.main_window import MainWindow
from desktop.widgets.message_line import MessageLine
from tests.desktop.kit import (
    RecordingMessages,
    focus,
    line_named,
    page_of,
    press,
    retype,
    settle,
    tab_to,
    words_of,
    write,
)

CTRL = Qt.KeyboardModifier.ControlModifier
Key = Qt.Key


def test_the_invented_ones_are_listed_with_their_bands(window: MainWindow, opened: Library) -> None:
    screen = page_of(window, LibraryScreen)
    assert screen.tabs.isTabVisible(screen.tabs.indexOf(screen.test_records))
    screen.tabs.setCurrentWidget(screen.test_records)
    settle()
    rows = screen.test_records.model.listing.rows(screen.test_records.model.listing.find())
    assert sorted(row.name for row in rows) == [
        "Example test record, 12-inch",
        "Example test record, 7-inch at 45",
    ]
    assert all(row.owner_reference.startswith("Speed, Separation") for row in rows)


def test_one_of_ones_own_is_described_by_keyboard(window: MainWindow, opened: Library) -> None:
    window.show_editor("test record")
    editor = page_of(window, RecordEditor)
    write("Bench record")
    bands = editor.form.fields.entries["bands"]
    assert isinstance(bands, TableEditor)
    add = next(one for one in bands.findChildren(QPushButton) if one.text().startswith("Add"))
    tab_to(add)
    press(Key.Key_Space)
    settle()
    write("Speed")  # the first field of the new band has the focus
    retype(line_named(editor.form, "Frequency"), "1000")
    press(Key.Key_S, CTRL)
    settle()
    screen = page_of(window, LibraryScreen)
    assert screen.tabs.currentWidget() is screen.test_records
    row = next(row for row in opened.test_records.rows() if row.name == "Bench record")
    (band,) = opened.test_records.get(row.id).thing.bands
    assert (band.label, band.hz, band.kind) == ("Speed", 1000.0, BandUse.OTHER)


def test_one_without_a_band_is_not_saved_and_says_so(window: MainWindow, opened: Library) -> None:
    window.show_editor("test record")
    editor = page_of(window, RecordEditor)
    write("Bench record")
    press(Key.Key_S, CTRL)
    settle()
    assert page_of(window, RecordEditor) is editor
    assert "“Bands” needs at least 1. Add one with" in editor.problem.text()
    assert "Tuple" not in words_of(editor)
    bands = editor.form.fields.entries["bands"]
    assert isinstance(bands, TableEditor)
    assert any("needs at least 1" in line.text() for line in bands.findChildren(MessageLine))
    assert bands.isAncestorOf(focus())
    assert isinstance(focus(), QPushButton)
    press(Key.Key_Space)
    editor.form.problems()  # as the page does once typing pauses
    assert not any("needs at least 1" in line.text() for line in bands.findChildren(MessageLine))
    assert len(opened.test_records.rows()) == 2


def test_a_correction_makes_a_revision(window: MainWindow, opened: Library) -> None:
    window.show_editor("test record", "test-record-twelve-inch")
    editor = page_of(window, RecordEditor)
    retype(line_named(editor.form, "Own error"), "0.1")
    press(Key.Key_S, CTRL)
    settle()
    kept = opened.test_records.get("test-record-twelve-inch")
    assert (kept.revision, kept.thing.cut_percent) == (2, 0.1)
    assert opened.test_records.get(kept.id, 1).thing.cut_percent == 0.5


def test_it_is_exported_from_its_list(
    window: MainWindow, opened: Library, messages: RecordingMessages, tmp_path: Path
) -> None:
    screen = page_of(window, LibraryScreen)
    screen.show_test_record("test-record-seven-inch")
    settle()
    messages.files = [tmp_path / "record.json"]
    screen.test_records.action_chosen.emit("export", ["test-record-seven-inch"])
    settle()
    document = read_document(tmp_path / "record.json")
    assert [one.id for one in document.test_records] == ["test-record-seven-inch"]
