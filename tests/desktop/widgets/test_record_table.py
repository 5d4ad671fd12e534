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
def records(shown: Show) -> RecordTable:
    records = RecordTable(PLAN)
    shown(records)
    return records


def test_an_empty_shelf_says_what_it_is_for(records: RecordTable) -> None:
    assert records.empty.isVisible()
    assert records.empty.text() == "Nothing here yet."
    assert not records.buttons["edit"].isEnabled()
    assert records.buttons["add"].isEnabled()


def test_a_filter_that_finds_nothing_says_so_and_loses_nothing(
    records: RecordTable, qtbot: QtBot
) -> None:
    records.set_rows(LINES)
    qtbot.keyClicks(records.filter, "zzz")
    assert records.empty.isVisible()
    assert "None of the 3 decks" in records.empty.text()
    records.filter.clear()
    assert records.table.isVisible()
    assert records.model.rowCount() == 3


def test_a_filter_over_a_single_row_speaks_of_one(records: RecordTable, qtbot: QtBot) -> None:
    records.set_rows(LINES[:1])
    qtbot.keyClicks(records.filter, "zzz")
    assert records.empty.text().startswith("The only entry here does not have all these words.")


def test_keys_alone_filter_go_to_the_list_and_open(records: RecordTable, qtbot: QtBot) -> None:
    records.set_rows(LINES)
    records.focus_filter()
    qtbot.keyClicks(records.filter, "m")
    assert records.count.text() == "1 of 3"
    qtbot.keyClick(records.filter, Qt.Key.Key_Down)
    assert QApplication.focusWidget() is records.table
    with qtbot.waitSignal(records.opened, timeout=1000) as opened:
        qtbot.keyClick(records.table, Qt.Key.Key_Return)
    assert opened.args == ["3"]
    qtbot.keyClick(records.table, Qt.Key.Key_Up)
    assert QApplication.focusWidget() is records.filter


def test_enter_in_the_filter_opens_the_first_row_found(records: RecordTable, qtbot: QtBot) -> None:
    records.set_rows(LINES)
    records.focus_filter()
    qtbot.keyClicks(records.filter, "ash")
    with qtbot.waitSignal(records.opened, timeout=1000) as opened:
        qtbot.keyClick(records.filter, Qt.Key.Key_Return)
    assert opened.args == ["2"]


def test_the_current_row_stays_current_through_filter_order_and_new_rows(
    records: RecordTable,
) -> None:
    records.set_rows(LINES)
    records.pick("3")
    records.filter.setText("m")
    records.filter.setText("")
    assert records.current_id == "3"
    records.table.sortByColumn(0, Qt.SortOrder.AscendingOrder)
    assert records.current_id == "3"
    assert records.current_words() == "elm"
    records.set_rows([Line("0", "yew"), *LINES])
    assert records.current_id == "3"
    assert records.picked_ids() == ["3"]


def test_several_rows_allow_only_what_can_be_done_to_several(
    records: RecordTable, qtbot: QtBot
) -> None:
    records.set_rows(LINES)
    records.pick("1")
    records.table.setFocus()
    qtbot.keyClick(records.table, Qt.Key.Key_Down, Qt.KeyboardModifier.ShiftModifier)
    assert records.picked_ids() == ["1", "2"]
    assert not records.buttons["edit"].isEnabled()
    with qtbot.waitSignal(records.action_chosen, timeout=1000) as asked:
        records.buttons["away"].click()
    assert asked.args == ["away", ["1", "2"]]


def test_tab_leaves_the_list_instead_of_walking_its_cells(
    records: RecordTable, qtbot: QtBot
) -> None:
    records.set_rows(LINES)
    records.table.setFocus()
    qtbot.keyClick(records.table, Qt.Key.Key_Tab)
    assert QApplication.focusWidget() is records.buttons["add"]


def test_everything_has_a_name_for_a_screen_reader(records: RecordTable) -> None:
    records.set_rows(LINES)
    assert records.filter.accessibleName() == "Filter the decks"
    assert records.table.accessibleName() == "List of decks"
    assert records.count.accessibleName() == "3 of 3 decks shown"
    assert all(button.accessibleDescription() for button in records.buttons.values())
