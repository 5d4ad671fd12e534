"""Filters that stay down, columns that are chosen, and the menu of a row; by hand and by keys."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QContextMenuEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMenu, QWidget
from pytestqt.qtbot import QtBot

from core.fitting import StepAccepted, Verdict
from core.language import message
from core.store import Library, LibraryProblem
from core.store.problems import ProblemKind
from desktop.library.screen import LibraryScreen
from desktop.library.tables import DECKS
from desktop.widgets.preferences import Preferences
from desktop.widgets.record_table.table import RecordTable
from tests.examples import cartridge, deck
from tests.visits import keep

opens_menus = pytest.mark.qt_log_ignore("does not support")
"""Said of menus by a system without a screen."""


@pytest.fixture
def library(tmp_path: Path) -> Library:
    """Two decks of one's own: one finished long ago, one under way and overruled by Ann."""
    library = Library.open(tmp_path / "own.library")
    pick = library.keep_cartridge(cartridge(name="Own pick")).id
    old, new = (library.keep_deck(deck(name=f"Own {one}")).id for one in ("old", "new"))
    keep(library, "2020-03-01", old, pick)
    fitting = library.start_fitting(new, pick, who="Ann").id
    library.append(fitting, StepAccepted(step="level", verdict=Verdict.MOVE, reason="As it is."))
    return library


@pytest.fixture
def preferences(tmp_path: Path) -> Preferences:
    return Preferences(tmp_path / "remembered.ini")


@pytest.fixture
def decks(
    library: Library, preferences: Preferences, shown: Callable[[QWidget], QWidget]
) -> RecordTable:
    records = RecordTable(DECKS, load=library.deck_listing, preferences=preferences)
    records.resize(1000, 400)
    shown(records)
    records.read()
    return records


def seen(records: RecordTable) -> list[str]:
    return [str(records.model.index(at, 0).data()) for at in range(records.model.rowCount())]


def titles(records: RecordTable) -> list[str]:
    model, table = records.model, records.table
    return [
        str(model.headerData(at, Qt.Orientation.Horizontal))
        for at in range(model.columnCount())
        if not table.isColumnHidden(at)
    ]


def test_each_filter_leaves_what_it_says_and_two_leave_what_passes_both(
    decks: RecordTable, preferences: Preferences
) -> None:
    everything = seen(decks)
    for key, left in (("due", ["Own old"]), ("under way", ["Own new"]), ("kept", ["Own new"])):
        decks.chips.buttons[key].click()
        assert seen(decks) == left, key
        decks.chips.buttons[key].click()
        assert seen(decks) == everything
    preferences.remember_who("Ann")
    decks.chips.buttons["mine"].click()
    assert seen(decks) == ["Own new"]
    preferences.remember_who("Ben")
    decks.ask_anew()
    assert seen(decks) == []


def test_a_filter_of_a_long_list_waits_until_it_is_read_and_says_so(
    decks: RecordTable, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    everything = seen(decks)
    monkeypatch.setattr("desktop.widgets.record_table.table._AT_ONCE", 1)
    decks.chips.buttons["due"].click()
    assert seen(decks) == everything
    assert decks.count.text() == "Looking through the whole list…"
    qtbot.waitUntil(lambda: seen(decks) == ["Own old"])
    assert decks.count.text() == f"1 of {len(everything)}"
    decks.chips.buttons["due"].click()
    assert seen(decks) == everything


def test_filters_that_hide_everything_say_so_and_are_taken_away(decks: RecordTable) -> None:
    everything = seen(decks)
    decks.chips.buttons["due"].click()
    decks.filter.setText("new")
    assert decks.nothing.isVisible()
    assert "Due in 30 days" in decks.empty.text()
    assert decks.nothing.all.text() == "Show all"
    decks.nothing.all.setFocus()
    QTest.keyClick(decks.nothing.all, Qt.Key.Key_Space)
    assert seen(decks) == everything
    assert not decks.chips.chosen
    assert decks.filter.text() == ""


def test_filters_are_buttons_that_stay_down_with_names_and_tips(decks: RecordTable) -> None:
    for button in (*decks.chips.buttons.values(), decks.archived):
        assert button.isCheckable()
        assert button.text()
        assert button.accessibleDescription()
        button.setFocus()
        QTest.keyClick(button, Qt.Key.Key_Space)
        assert button.isChecked()
        QTest.keyClick(button, Qt.Key.Key_Space)


@opens_menus
def test_columns_are_chosen_by_keys_and_remembered(
    decks: RecordTable,
    library: Library,
    preferences: Preferences,
    shown: Callable[[QWidget], QWidget],
) -> None:
    assert titles(decks) == ["Deck", "Owner's ref.", "Last cartridge", "Next due"]
    decks.choose_columns.setFocus()
    QTest.keyClick(decks.choose_columns, Qt.Key.Key_Space)
    assert QApplication.activePopupWidget() is decks.columns
    by_title = {act.text(): act for act in decks.columns.actions()}
    assert "Deck" not in by_title, "the name is never put away"
    decks.columns.setActiveAction(by_title["Step reached"])
    for seen in (True, False):
        QTest.keyClick(decks.columns, Qt.Key.Key_Space)
        assert by_title["Step reached"].isChecked() is seen, "Space did nothing"
        assert decks.columns.isVisible(), "it stays open for the next column"
    QTest.keyClick(decks.columns, Qt.Key.Key_Return)
    by_title["Owner's ref."].trigger()
    assert titles(decks) == ["Deck", "Last cartridge", "Next due", "Step reached"]
    # Ctrl and a digit counts the columns that are seen, and so does the tip above each.
    decks.table.setFocus()
    QTest.keyClick(decks.table, Qt.Key.Key_4, Qt.KeyboardModifier.ControlModifier)
    assert decks.table.horizontalHeader().sortIndicatorSection() == 4
    tip = decks.model.headerData(4, Qt.Orientation.Horizontal, Qt.ItemDataRole.ToolTipRole)
    assert "Ctrl+4" in tip
    again = RecordTable(DECKS, load=library.deck_listing, preferences=preferences)
    shown(again)
    assert titles(again) == titles(decks)
    again.columns.reset()
    assert titles(again) == ["Deck", "Owner's ref.", "Last cartridge", "Next due"]


def test_the_columns_say_what_was_done_last(decks: RecordTable) -> None:
    for act in decks.columns.actions():
        if act.isCheckable():
            act.setChecked(True)
    cells = {
        str(decks.model.headerData(at, Qt.Orientation.Horizontal)): [
            str(decks.model.index(row, at).data())
            for row, name in enumerate(seen(decks))
            if name.startswith("Own")
        ]
        for at in range(decks.model.columnCount())
    }
    assert cells["Deck"] == ["Own new", "Own old"]
    assert cells["Last cartridge"] == ["Own pick", "Own pick"]
    assert cells["Next due"] == ["", "2021-03-01, after 12 months"]
    assert cells["Step reached"] == ["2 Mount", ""]
    assert cells["Verdict"] == ["1 kept against it", "Passed"]


def menu_of(records: RecordTable) -> QMenu:
    popup = QApplication.activePopupWidget()
    assert isinstance(popup, QMenu)
    assert popup is records.menu
    return popup


@opens_menus
@pytest.mark.parametrize("by", ["menu key", "shift f10", "mouse"])
def test_a_row_has_a_menu_of_what_its_buttons_do(decks: RecordTable, by: str) -> None:
    decks.filter.setText("own")
    decks.table.setFocus()
    if by == "menu key":
        QTest.keyClick(decks.table, Qt.Key.Key_Menu)
    elif by == "shift f10":
        QTest.keyClick(decks.table, Qt.Key.Key_F10, Qt.KeyboardModifier.ShiftModifier)
    else:
        place = decks.table.visualRect(decks.model.index(0, 0)).center()
        viewport = decks.table.viewport()
        event = QContextMenuEvent(
            QContextMenuEvent.Reason.Mouse, place, viewport.mapToGlobal(place)
        )
        QApplication.sendEvent(viewport, event)
    menu = menu_of(decks)
    acts = [act for act in menu.actions() if not act.isSeparator() and act.menu() is None]
    assert [act.text().split("\t")[0] for act in acts] == [
        button.text() for button in decks.buttons.values()
    ]
    assert [act.isEnabled() for act in acts] == [
        button.isEnabled() for button in decks.buttons.values()
    ]
    assert all("Alt+" in act.text() for act in acts), "each names the key of its button"
    chosen: list[str] = []
    decks.action_chosen.connect(lambda key, _ids: chosen.append(key))
    acts[1].trigger()
    assert chosen == ["edit"]
    menu.close()


@opens_menus
def test_the_heads_of_columns_have_the_menu_of_columns(decks: RecordTable) -> None:
    viewport = decks.table.horizontalHeader().viewport()
    place = QPoint(20, 5)
    event = QContextMenuEvent(QContextMenuEvent.Reason.Mouse, place, viewport.mapToGlobal(place))
    QApplication.sendEvent(viewport, event)
    assert QApplication.activePopupWidget() is decks.columns
    decks.columns.close()


def test_somebody_else_at_the_bench_has_other_fittings(
    library: Library, preferences: Preferences, shown: Callable[[QWidget], QWidget]
) -> None:
    from core.language import Numbers
    from tests.desktop.kit import RecordingMessages

    screen = LibraryScreen(library, Numbers(), RecordingMessages(), preferences)
    shown(screen)
    screen.under_way.chips.buttons["mine"].click()
    assert screen.under_way.model.rowCount() == 0
    screen.who.setEditText("Ann")
    screen.who.keep()
    assert screen.under_way.model.rowCount() == 1
    screen.end()


def test_what_a_row_needs_and_can_t_be_read_is_told_once_it_is_painted(
    decks: RecordTable, library: Library, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    problem = LibraryProblem(ProblemKind.DAMAGED, message("storage.cant_be_written"))

    def fails(*_args: object, **_how: object) -> None:
        raise problem

    monkeypatch.setattr(library._backend, "select", fails)
    with qtbot.waitSignal(decks.failed) as told:
        decks.filter.setText("old")
        assert seen(decks) == ["Own old"]
    assert told.args == [problem]
