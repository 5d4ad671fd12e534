"""The page of backups, worked by keys alone."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from core.fitting import NoteWritten
from core.language import Numbers
from core.store import Library
from desktop.library.backups_page import BackupsPage
from desktop.library.screen import LibraryScreen
from desktop.shell.main_window import MainWindow
from desktop.widgets.preferences import Preferences
from tests.desktop.kit import Hands, RecordingMessages

Show = Callable[[QWidget], QWidget]
NOON = datetime(2025, 3, 31, 12, tzinfo=UTC)
KEY = Qt.Key


@pytest.fixture
def page(library: Library, messages: RecordingMessages, shown: Show) -> BackupsPage:
    for days in (3, 1):
        library.address.backups.make(NOON - timedelta(days=days))
    page = BackupsPage(str(library.address), library.address.backups, Numbers(","), messages)
    shown(page)
    page.begin()
    return page


def row(page: BackupsPage, number: int) -> list[str]:
    texts = []
    for column in range(page.table.columnCount()):
        item = page.table.item(number, column)
        texts.append(item.text() if item else "")
    return texts


def test_it_lists_what_is_in_each_the_newest_first(
    page: BackupsPage, library: Library, qtbot: QtBot
) -> None:
    qtbot.waitUntil(lambda: row(page, 1)[1] != "…")
    decks, cartridges = len(library.decks()), len(library.cartridges())
    newest = row(page, 0)
    assert newest[0] > row(page, 1)[0]
    assert newest[1].endswith(" MB")
    assert "," in newest[1]
    assert newest[2:] == [str(decks), str(cartridges), "0", "0"]
    assert str(library.address.path.parent / "backups") in page.where.text().replace("\u200b", "")


def test_from_the_library_to_an_earlier_state_and_back_by_keys_alone(
    tmp_path: Path,
    messages: RecordingMessages,
    preferences: Preferences,
    shown: Show,
    qtbot: QtBot,
) -> None:
    window = MainWindow(numbers=Numbers(), preferences=preferences, messages=messages)
    shown(window)
    window.open_library(tmp_path / "keys.library")
    library = window.library
    assert library is not None
    fitting = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)
    window.show_library()
    hands = Hands(window)
    assert isinstance(window.pages.currentWidget(), LibraryScreen)
    window.menus.acts["backups"].trigger()
    page = window.pages.currentWidget()
    assert isinstance(page, BackupsPage)
    assert page.none.isVisible()
    assert QApplication.focusWidget() is page.make
    hands.press(KEY.Key_Return)
    qtbot.waitUntil(page.table.hasFocus)
    assert len(library.address.backups.all()) == 1
    qtbot.waitUntil(page.restore.isEnabled)
    hands.press(KEY.Key_Escape)

    library.append(fitting.id, NoteWritten(text="a mistake"))
    window.menus.acts["backups"].trigger()
    page = window.pages.currentWidget()
    assert isinstance(page, BackupsPage)
    qtbot.waitUntil(page.restore.isEnabled)
    messages.answers = [0]
    hands.press(KEY.Key_Return)
    assert len(library.fitting(fitting.id).entries) == 1, "left as it is"
    messages.answers = [1]
    hands.press(KEY.Key_Return)
    qtbot.waitUntil(lambda: isinstance(window.pages.currentWidget(), LibraryScreen))
    asked = messages.asked[-1]
    assert "1 fitting, 0 entries" in asked.sentence
    assert asked.choices[0].replace("&", "").startswith("Leave")
    assert window.library is not None
    assert window.library.fitting(fitting.id).entries == ()
    told = messages.told[-1].sentence
    kept = window.library.address.backups.all()[0].path
    assert told.endswith(f"What was there before is kept in {kept}.")
    with Library.open(kept, read_only=True) as before:
        assert len(before.fitting(fitting.id).entries) == 1


def test_a_damaged_backup_is_said_to_be_so_and_cannot_be_restored(
    library: Library, messages: RecordingMessages, shown: Show, qtbot: QtBot
) -> None:
    backup = library.address.backups.make(NOON)
    backup.path.write_bytes(backup.path.read_bytes()[:3000])
    page = BackupsPage(str(library.address), library.address.backups, Numbers(), messages)
    shown(page)
    qtbot.waitUntil(lambda: row(page, 0)[1] != "…")
    assert row(page, 0)[1] == "The file is damaged"
    assert page.status.text() == "This one can't be restored. The file is damaged."
    assert not page.restore.isEnabled()
    page.begin()
    qtbot.keyClick(page.table, KEY.Key_Return)
    assert messages.asked == []


def test_one_that_turns_out_damaged_only_when_restored_changes_nothing(
    page: BackupsPage, library: Library, messages: RecordingMessages, qtbot: QtBot
) -> None:
    qtbot.waitUntil(page.restore.isEnabled)
    newest = library.address.backups.all()[0].path
    with newest.open("rb+") as stream:
        stream.seek(newest.stat().st_size // 2)
        stream.write(b"\xa5" * 20_000)
    before = library.decks()
    messages.answers = [1]
    page.restore.click()
    qtbot.waitUntil(lambda: bool(messages.told))
    told = messages.told[-1]
    assert told.title == "Not restored"
    assert told.sentence.startswith("The library is as it was.")
    assert library.decks() == before
    assert page.restore.isVisible()


def test_no_room_for_a_backup_is_told_and_the_page_goes_on(
    page: BackupsPage,
    library: Library,
    messages: RecordingMessages,
    qtbot: QtBot,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from core.store.sqlite import backups

    usage = backups.shutil.disk_usage(library.address.path.parent)._replace(free=0)
    monkeypatch.setattr(backups.shutil, "disk_usage", lambda _: usage)
    page.make.click()
    qtbot.waitUntil(lambda: bool(messages.told))
    assert "too little room" in messages.told[0].sentence
    assert page.make.isEnabled()
    assert len(library.address.backups.all()) == 2


def test_another_folder_is_asked_for_and_the_list_keeps_what_is_there(
    page: BackupsPage, library: Library, messages: RecordingMessages, tmp_path: Path, qtbot: QtBot
) -> None:
    disk = tmp_path / "other disk"
    disk.mkdir()
    messages.files = [None]
    page.another.click()
    assert str(disk) not in page.where.text()
    messages.files = [disk]
    page.another.click()
    assert str(disk) in page.where.text().replace("\u200b", "")
    assert page.table.rowCount() == 2
    page.make.click()
    qtbot.waitUntil(lambda: page.table.rowCount() == 3)
    assert library.address.backups.all()[0].path.is_relative_to(disk)
    disk.rename(tmp_path / "unplugged")
    page.refresh()
    assert page.table.rowCount() == 2
    assert "is not there now" in page.crowded.text()
    page.beside.click()
    assert not page.crowded.isVisible()
    assert str(library.address.path.parent / "backups") in page.where.text().replace("\u200b", "")


def test_a_folder_that_cannot_be_written_is_said(
    page: BackupsPage, messages: RecordingMessages, tmp_path: Path
) -> None:
    letter = tmp_path / "letter"
    letter.write_text("Dear customer,")
    before = page.where.text()
    messages.files = [letter]
    page.another.click()
    assert len(messages.told) == 1
    assert page.where.text() == before
