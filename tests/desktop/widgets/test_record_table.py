from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from desktop.widgets.record_table.rows import Column
from desktop.widgets.record_table.spec import RowAction, TableSpec
from desktop.widgets.record_table.table import RecordTable

PLAN = TableSpec(
    name="decks",
    columns=(Column("Deck", lambda row: row.name),),
    actions=(
        RowAction("add", "Add", "Adds one.", least=0),
        RowAction("edit", "Edit", "Edits one."),
        RowAction("away", "Away", "Puts them away.", most=None),
    ),
    empty="Nothing here yet.",
    has_archive=True,
)


@dataclass(frozen=True)
class Line:
    id: str
    name: str


LINES = [Line("1", "oak"), Line("2", "ash"), Line("3", "elm")]

Show = Callable[[QWidget], QWidget]


@pytest.fixture
def shelf(shown: Show) -> RecordTable:
    shelf = RecordTable(PLAN)
    shown(shelf)
    return shelf


def test_an_empty_shelf_says_what_it_is_for(shelf: RecordTable) -> None:
    assert shelf.empty.isVisible()
    assert shelf.empty.text() == "Nothing here yet."
    assert not shelf.buttons["edit"].isEnabled()
    assert shelf.buttons["add"].isEnabled()


def test_a_filter_that_finds_nothing_says_so_and_loses_nothing(
    shelf: RecordTable, qtbot: QtBot
) -> None:
    shelf.set_rows(LINES)
    qtbot.keyClicks(shelf.filter, "zzz")
    assert shelf.empty.isVisible()
    assert "None of the 3 decks" in shelf.empty.text()
    shelf.filter.clear()
    assert shelf.table.isVisible()
    assert shelf.model.rowCount() == 3


def test_a_filter_over_a_single_row_speaks_of_one(shelf: RecordTable, qtbot: QtBot) -> None:
    shelf.set_rows(LINES[:1])
    qtbot.keyClicks(shelf.filter, "zzz")
    assert shelf.empty.text().startswith("The only entry here does not hold all these words.")


def test_keys_alone_filter_go_to_the_list_and_open(shelf: RecordTable, qtbot: QtBot) -> None:
    shelf.set_rows(LINES)
    shelf.focus_filter()
    qtbot.keyClicks(shelf.filter, "m")
    assert shelf.count.text() == "1 of 3"
    qtbot.keyClick(shelf.filter, Qt.Key.Key_Down)
    assert QApplication.focusWidget() is shelf.table
    with qtbot.waitSignal(shelf.opened, timeout=1000) as opened:
        qtbot.keyClick(shelf.table, Qt.Key.Key_Return)
    assert opened.args == ["3"]
    qtbot.keyClick(shelf.table, Qt.Key.Key_Up)
    assert QApplication.focusWidget() is shelf.filter


def test_enter_in_the_filter_opens_the_first_row_found(shelf: RecordTable, qtbot: QtBot) -> None:
    shelf.set_rows(LINES)
    shelf.focus_filter()
    qtbot.keyClicks(shelf.filter, "ash")
    with qtbot.waitSignal(shelf.opened, timeout=1000) as opened:
        qtbot.keyClick(shelf.filter, Qt.Key.Key_Return)
    assert opened.args == ["2"]


def test_the_current_row_stays_current_through_filter_order_and_new_rows(
    shelf: RecordTable,
) -> None:
    shelf.set_rows(LINES)
    shelf.pick("3")
    shelf.filter.setText("m")
    shelf.filter.setText("")
    assert shelf.current_id == "3"
    shelf.table.sortByColumn(0, Qt.SortOrder.AscendingOrder)
    assert shelf.current_id == "3"
    assert shelf.current_words() == "elm"
    shelf.set_rows([Line("0", "yew"), *LINES])
    assert shelf.current_id == "3"
    assert shelf.picked_ids() == ["3"]


def test_several_rows_allow_only_what_can_be_done_to_several(
    shelf: RecordTable, qtbot: QtBot
) -> None:
    shelf.set_rows(LINES)
    shelf.pick("1")
    shelf.table.setFocus()
    qtbot.keyClick(shelf.table, Qt.Key.Key_Down, Qt.KeyboardModifier.ShiftModifier)
    assert shelf.picked_ids() == ["1", "2"]
    assert not shelf.buttons["edit"].isEnabled()
    with qtbot.waitSignal(shelf.action_chosen, timeout=1000) as asked:
        shelf.buttons["away"].click()
    assert asked.args == ["away", ["1", "2"]]


def test_tab_leaves_the_list_instead_of_walking_its_cells(shelf: RecordTable, qtbot: QtBot) -> None:
    shelf.set_rows(LINES)
    shelf.table.setFocus()
    qtbot.keyClick(shelf.table, Qt.Key.Key_Tab)
    assert QApplication.focusWidget() is shelf.buttons["add"]


def test_everything_has_a_name_for_a_screen_reader(shelf: RecordTable) -> None:
    shelf.set_rows(LINES)
    assert shelf.filter.accessibleName() == "Filter the decks"
    assert shelf.table.accessibleName() == "List of decks"
    assert shelf.count.accessibleName() == "3 of 3 decks shown"
    assert all(button.accessibleDescription() for button in shelf.buttons.values())
