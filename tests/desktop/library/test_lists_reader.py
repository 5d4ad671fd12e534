"""Long lists are read again in a thread: after an act on many rows, and when others wrote."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from core.store import Library, LibraryProblem, ProblemKind
from core.store.exporting import of_library, write_document
from core.store.listing import Listing
from desktop.library import screen
from desktop.library.screen import LibraryScreen
from desktop.shell.main_window import MainWindow
from tests.desktop.kit import RecordingMessages
from tests.examples import deck


@pytest.fixture
def page(window: MainWindow, tmp_path: Path) -> LibraryScreen:
    window.open_library(tmp_path / "shelf.library")
    window.show()
    page = window.pages.currentWidget()
    assert isinstance(page, LibraryScreen)
    page.tabs.setCurrentWidget(page.decks)
    return page


@pytest.fixture
def threads(page: LibraryScreen, monkeypatch: pytest.MonkeyPatch) -> list[threading.Thread]:
    """Return in which thread every listing is made from now on; every list counts as long."""
    made: list[threading.Thread] = []
    before = Listing.__init__

    def noted(self: Listing[Any], *given: Any) -> None:
        made.append(threading.current_thread())
        before(self, *given)

    monkeypatch.setattr(Listing, "__init__", noted)
    monkeypatch.setattr(screen, "_MOST_AT_ONCE", -1)
    assert page.decks.model.rowCount() > 2
    made.clear()
    return made


def test_long_lists_are_read_and_sorted_in_a_thread_after_an_act(
    page: LibraryScreen,
    threads: list[threading.Thread],
    messages: RecordingMessages,
    qtbot: QtBot,
) -> None:
    page.decks.table.sortByColumn(0, Qt.SortOrder.DescendingOrder)
    page.decks.pick(page.decks.model.ids_at(1, 1)[0])
    ids = page.decks.model.ids_at(0, 99)
    page._library.start_fitting(ids[2], page._library.cartridges()[0].id)
    page.acts.archive("deck", ids[:1], archived=True)
    qtbot.waitUntil(lambda: page.decks.model.rowCount() == len(ids) - 1)
    assert page.decks.model.ids_at(0, 99) == ids[1:]
    assert page.decks.current_id == ids[1]
    # What was done on a deck is asked of the library that is still open.
    assert page.decks.model.row_at(1).work is not None
    assert messages.told == []
    page.acts.undo()
    qtbot.waitUntil(lambda: page.decks.model.rowCount() == len(ids))
    assert page.decks.model.ids_at(0, 99) == ids
    assert threads
    assert threading.main_thread() not in threads


def test_what_others_write_is_shown_and_not_read_twice(
    page: LibraryScreen, threads: list[threading.Thread], qtbot: QtBot
) -> None:
    rows = page.decks.model.rowCount()
    with Library.open(Path(page.place)) as other:
        other.keep_deck(deck(name="From another window"))
    page.look_again()
    qtbot.waitUntil(lambda: page.decks.model.rowCount() == rows + 1)
    assert threading.main_thread() not in threads
    threads.clear()
    page.look_again()
    qtbot.wait(50)
    assert threads == []


def test_what_an_import_brings_counts_as_well_as_what_the_lists_hold(
    page: LibraryScreen,
    threads: list[threading.Thread],
    messages: RecordingMessages,
    tmp_path: Path,
    qtbot: QtBot,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rows = page.decks.model.rowCount()
    monkeypatch.setattr(screen, "_MOST_AT_ONCE", 20)
    assert not page._library.has_more_than(20)
    document = tmp_path / "many.json"
    with Library.open(tmp_path / "other.library") as other:
        for number in range(8):
            other.keep_deck(deck(name=f"Brought along {number}"))
        write_document(other, document, of_library(other))
    threads.clear()
    page.take_in_file(document)
    qtbot.waitUntil(lambda: page.decks.model.rowCount() > rows)
    assert threads
    assert threading.main_thread() not in threads
    assert [one.title for one in messages.told] == ["Imported"]


def test_an_act_while_lists_are_read_has_them_read_again(
    page: LibraryScreen, threads: list[threading.Thread], qtbot: QtBot
) -> None:
    ids = page.decks.model.ids_at(0, 99)
    for one in ids[:3]:
        page.acts.archive("deck", [one], archived=True)
    qtbot.waitUntil(lambda: page.decks.model.rowCount() == len(ids) - 3)
    assert threading.main_thread() not in threads


def test_what_follows_from_the_lists_is_shown_a_turn_later_than_they(
    page: LibraryScreen, threads: list[threading.Thread], qtbot: QtBot
) -> None:
    assert not threads
    page.tabs.setCurrentIndex(0)
    page._library.start_fitting(page._library.decks()[0].id, page._library.cartridges()[0].id)
    shown = list[tuple[int, bool]]()
    page._reader.done.connect(
        lambda _found: shown.append((page.under_way.model.rowCount(), page.primary.isHidden()))
    )
    page.refresh_beside()
    qtbot.waitUntil(lambda: not page.primary.isHidden())
    assert shown == [(1, True)]


def test_lists_that_cannot_be_read_stay_and_it_is_said(
    page: LibraryScreen,
    threads: list[threading.Thread],
    messages: RecordingMessages,
    qtbot: QtBot,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rows = page.decks.model.rowCount()
    assert not threads

    def refused(_library: Library) -> Listing[Any]:
        raise LibraryProblem(ProblemKind.DISK_FAULT, "The disk gave an error.")

    monkeypatch.setitem(page._loads, page.decks, refused)
    page.refresh_beside()
    qtbot.waitUntil(lambda: bool(messages.told))
    assert "The disk gave an error." in messages.told[0].sentence
    assert page.decks.model.rowCount() == rows
