"""The selected rows of a table as ranges: 20,000 rows cost as much as one."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QItemSelection, QItemSelectionModel, QItemSelectionRange
from PySide6.QtWidgets import QTableView

from desktop.widgets.record_table.rows import RowsModel

PICK: Final = QItemSelectionModel.SelectionFlag


def picked_ranges(table: QTableView) -> list[QItemSelectionRange]:
    """Return what is picked, from the top; every range spans whole rows."""
    selection = table.selectionModel().selection()
    # Not selectedRows(): it would make an index for every row.
    ranges = [selection.at(at) for at in range(selection.count())]
    return sorted((one for one in ranges if one.isValid()), key=QItemSelectionRange.top)


def picked_count(table: QTableView) -> int:
    """Return how many rows are picked."""
    return sum(one.height() for one in picked_ranges(table))


def picked_ids(table: QTableView, model: RowsModel) -> list[str]:
    """Return the ids of every row picked, from the top, also of those out of sight."""
    ranges = picked_ranges(table)
    return [one for part in ranges for one in model.ids_at(part.top(), part.bottom())]


def pick_rows(table: QTableView, model: RowsModel, current: int, positions: list[int]) -> None:
    """Make one row current and pick these, from the top; only the current one if there are none."""
    index = model.index(current, 0)
    chosen = table.selectionModel()
    if positions:
        chosen.setCurrentIndex(index, PICK.NoUpdate)
        chosen.select(_together(model, positions), PICK.ClearAndSelect | PICK.Rows)
    else:
        chosen.setCurrentIndex(index, PICK.ClearAndSelect | PICK.Rows)
    table.scrollTo(index)


def _together(model: RowsModel, positions: list[int]) -> QItemSelection:
    """Return rows as a selection, neighbours in one range."""
    found = QItemSelection()
    last = model.columnCount() - 1
    start = before = positions[0]
    for position in [*positions[1:], -1]:
        if position != before + 1:
            found.append(QItemSelectionRange(model.index(start, 0), model.index(before, last)))
            start = position
        before = position
    return found
