"""The decks due for a check: from the first screen, by keys."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from datetime import date

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from core.language import Numbers
from core.store import Library
from desktop.history.due_page import _PLAN, DuePage, _Row
from desktop.history.history_page import HistoryPage
from desktop.library.due_button import DueButton
from desktop.library.screen import LibraryScreen
from desktop.shell.main_window import MainWindow
from desktop.widgets.preferences import Preferences
from desktop.widgets.record_table.rows import InMemoryListing
from tests.desktop.kit import RecordingMessages
from tests.examples import cartridge, deck
from tests.visits import keep

Key = Qt.Key
TODAY = date(2025, 6, 1)
Show = Callable[[QWidget], QWidget]


def stocked(library: Library) -> list[str]:
    """Keep three decks: due, due longer, not due."""
    ids = []
    one = library.keep_cartridge(cartridge()).id
    for name, day in (("ash", "2024-01-01"), ("birch", "2020-01-01"), ("oak", "2025-05-01")):
        deck_id = library.keep_deck(deck(name=f"Example deck, {name}", owner_reference=name)).id
        keep(library, day, deck_id, one)
        ids.append(deck_id)
    return ids


def test_the_line_says_how_many_and_hides_when_none_is_due(library: Library, shown: Show) -> None:
    line = DueButton(library, today=lambda: TODAY)
    shown(line)
    line.hide()
    line.look()
    line.finish()
    assert line.isHidden()
    ids = stocked(library)
    line.look()
    line.finish()
    assert line.text() == "Due for a chec&k or service: 2 decks"
    assert not line.isHidden()
    library.archive("deck", [ids[1]], archived=True)
    line.look()
    line.finish()
    assert line.text() == "Due for a chec&k or service: 1 deck"


def test_the_first_screen_is_seen_before_anybody_looks(
    library: Library, shown: Show, preferences: Preferences, messages: RecordingMessages
) -> None:
    stocked(library)
    screen = LibraryScreen(library, Numbers(), messages, preferences)
    assert screen.due.isHidden()
    shown(screen)
    assert screen.due.isHidden()
    screen.due.finish()
    assert screen.due.isVisible()


def test_a_screen_that_is_not_seen_does_not_look(
    library: Library, shown: Show, preferences: Preferences, messages: RecordingMessages
) -> None:
    stocked(library)
    screen = LibraryScreen(library, Numbers(), messages, preferences)
    shown(screen)
    screen.due.look()
    screen.hide()
    library.close()
    screen.due.finish()  # would fail: there is no file any more
    assert screen.due.isHidden()


def test_the_search_waits_while_somebody_uses_a_list(
    library: Library, shown: Show, preferences: Preferences, messages: RecordingMessages
) -> None:
    """A stroke would take the time of some portions more."""
    stocked(library)
    screen = LibraryScreen(library, Numbers(), messages, preferences)
    shown(screen)
    screen.show_deck("")
    screen.due.look()
    screen.due._go_on()
    between = screen.due._timer.interval()
    chip = screen.decks.chips.buttons["mine"]
    for act in (
        lambda: QTest.keyClicks(screen.decks.filter, "o"),
        lambda: QTest.mouseClick(chip, Qt.MouseButton.LeftButton),
        lambda: screen.decks.table.sortByColumn(0, Qt.SortOrder.DescendingOrder),
    ):
        screen.due._timer.start(between)
        act()
        assert screen.due._timer.isActive()
        assert screen.due._timer.interval() > 10 * between
    screen.due.finish()
    screen.decks.filter.clear()
    assert not screen.due._timer.isActive()  # a search that has ended does not begin again


def test_what_a_filter_of_decks_asks_for_is_read_while_nobody_does_anything(
    library: Library,
    shown: Show,
    preferences: Preferences,
    messages: RecordingMessages,
    qtbot: QtBot,
) -> None:
    stocked(library)
    screen = LibraryScreen(library, Numbers(), messages, preferences)
    shown(screen)
    screen.show_deck("")
    assert not screen.decks.model.listing.prepare(0)
    qtbot.waitUntil(lambda: screen.decks.model.listing.prepare(0))


def test_a_list_whose_library_is_about_to_be_closed_reads_nothing_ahead(
    library: Library, shown: Show, preferences: Preferences, messages: RecordingMessages
) -> None:
    stocked(library)
    screen = LibraryScreen(library, Numbers(), messages, preferences)
    shown(screen)
    screen.show_deck("")
    screen.end()
    QTest.qWait(400)
    assert not screen.decks.model.listing.prepare(0)


def test_the_list_has_the_one_due_longest_first(
    library: Library, shown: Show, messages: RecordingMessages
) -> None:
    ids = stocked(library)
    page = DuePage(library, Numbers(), messages, today=lambda: TODAY)
    shown(page)
    page.begin()
    page.finish()
    model = page.records.model
    cells = [
        [str(model.index(row, column).data()) for column in range(5)]
        for row in range(model.rowCount())
    ]
    why = "Check of the deck: due after 12 months."
    assert cells == [
        ["Example deck, birch", "birch", why, "2020-01-01", "2021-01-01"],
        ["Example deck, ash", "ash", why, "2024-01-01", "2025-01-01"],
    ]
    wanted: list[str] = []
    begun: list[str] = []
    page.history_wanted.connect(wanted.append)
    page.start_wanted.connect(lambda deck_id, _cartridge: begun.append(deck_id))
    QTest.keyClicks(page.records.filter, "ash")
    QTest.keyClick(page.records.filter, Key.Key_Return)
    assert wanted == [ids[0]]
    page.records.buttons["fit"].click()
    assert begun == [ids[0]]


def test_nothing_due_is_said(library: Library, shown: Show, messages: RecordingMessages) -> None:
    page = DuePage(library, Numbers(), messages, today=lambda: TODAY)
    shown(page)
    page.finish()
    QApplication.processEvents()
    assert page.records.model.rowCount() == 0


def test_from_the_first_screen_to_a_history_and_back(
    library: Library, shown: Show, preferences: Preferences, messages: RecordingMessages
) -> None:
    stocked(library)
    window = MainWindow(numbers=Numbers(), preferences=preferences, messages=messages)
    window.open_library(library.address.path)
    shown(window)
    screen = window.pages.currentWidget()
    assert isinstance(screen, LibraryScreen)
    screen.due.finish()
    screen.due.setFocus()
    QTest.keyClick(screen.due, Key.Key_Space)
    page = window.pages.currentWidget()
    assert isinstance(page, DuePage)
    page.finish()
    QTest.keyClick(page.records.filter, Key.Key_Return)
    history = window.pages.currentWidget()
    assert isinstance(history, HistoryPage)
    history.loader.finish()
    QTest.keyClick(history, Key.Key_Escape)
    assert window.pages.currentWidget() is screen


def test_the_list_comes_without_charts() -> None:
    said = subprocess.run(
        [
            sys.executable,
            "-c",
            "import core.store, desktop.history.due_page, sys; print('pyqtgraph' in sys.modules)",
        ],
        capture_output=True,
        check=True,
        text=True,
    )
    assert said.stdout.strip() == "False"


def test_all_rows_are_ready_to_be_filtered_before_anybody_types(
    library: Library, shown: Show, messages: RecordingMessages
) -> None:
    stocked(library)
    page = DuePage(library, Numbers(), messages, today=lambda: TODAY)
    shown(page)
    page.finish()
    assert page.records.model.rowCount() == 2
    listing = page.records.model.listing
    assert isinstance(listing, InMemoryListing)
    assert listing.prepare(0), "nothing is left to be done by the first stroke"
    page.look_again()
    page.finish()
    again = page.records.model.listing
    assert isinstance(again, InMemoryListing)
    assert again is not listing
    assert again.prepare(0)


def test_rows_that_are_ready_in_part_are_filtered_as_all_are() -> None:
    words = [f"oak {number}" if number % 3 else f"ash {number}" for number in range(100)]
    rows = [_Row(str(number), *[text] * 5) for number, text in enumerate(words)]
    for most in (0, 1, 60, 100, 500):
        listing = InMemoryListing(rows, _PLAN.columns)
        assert listing.prepare(most) is (most >= 100)
        assert listing.find("oak") == [number for number in range(100) if number % 3]
        assert listing.prepare(0)
