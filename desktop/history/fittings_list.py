"""All fittings of a deck, newest first: pick one to read, open it, or go on from it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from core.language import Name, message
from core.store import FittingRow
from desktop.widgets import theme
from desktop.widgets.keys import is_enter
from desktop.widgets.language import said, tr
from desktop.widgets.local_time import day
from desktop.widgets.panels import add_all, button, framed, pick_rows_only
from desktop.widgets.plain_text import plain_tip

_TITLES = (
    message("history.fittings_list.last_entry"),
    message("history.fittings_list.cartridge"),
    message("history.fittings_list.state"),
    message("history.fittings_list.entries"),
    message("history.fittings_list.who"),
)
_CARTRIDGE = 1
_GIVE_WAY = (3, 4)
"""Columns hidden, in this order, where the cartridge would be cut to a few letters."""
_NAME_EM = 9.0
"""The width a cartridge's name gets at least, as long as a column can give way."""
_MOST_LINES = 8
_SETTLED_MS = 120


class FittingsList(QWidget):
    """The list and what can be done with the fitting that is picked."""

    opened = Signal(str)  # the id of the fitting to open
    swap_wanted = Signal(str)  # the id of the finished fitting another cartridge is to follow
    picked = Signal(str)  # the id of the current fitting, once it stays for a moment

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[FittingRow, ...] = ()
        column = framed(self, tr("history.fittings_list.fittings_of_this_deck"))
        self.table = QTableWidget(0, len(_TITLES))
        self.table.setHorizontalHeaderLabels([said(title) for title in _TITLES])
        self.table.setAccessibleName(tr("history.fittings_list.fittings_of_this_deck_newest"))
        pick_rows_only(self.table)
        self.table.setWordWrap(False)
        header = self.table.horizontalHeader()
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.open_button = button(
            tr("history.fittings_list.open"),
            tip=tr("history.fittings_list.opens_the_record_of_the"),
        )
        self.swap_button = button(
            tr("history.fittings_list.fit_another_cartridge"),
            tip=tr("history.fittings_list.shows_where_each_control_should"),
        )
        row = add_all(QHBoxLayout(), self.open_button, self.swap_button, 1)
        add_all(column, self.table, row)
        self._rest = QTimer(self, singleShot=True, interval=_SETTLED_MS)
        self._rest.timeout.connect(lambda: self.picked.emit(self.current_id))
        self.table.installEventFilter(self)
        self.table.currentCellChanged.connect(lambda *_cells: self._on_moved())
        self.table.doubleClicked.connect(lambda _index: self._open())
        self.open_button.clicked.connect(self._open)
        self.swap_button.clicked.connect(lambda: self.swap_wanted.emit(self.current_id))
        self.show_rows(())

    @property
    def current_id(self) -> str:
        """The id of the fitting that is picked, empty if there is none."""
        at = self.table.currentRow()
        return self._rows[at].id if 0 <= at < len(self._rows) else ""

    def show_rows(self, rows: Sequence[FittingRow]) -> None:
        """Show these; the picked fitting stays picked, else the first is."""
        wanted = self.current_id
        self._rows = tuple(rows)
        self.table.setRowCount(len(self._rows))
        for place, row in enumerate(self._rows):
            cells = (
                day(row.last_at),
                _fitted(row),
                tr("history.fittings_list.finished")
                if row.finished
                else tr("history.fittings_list.under_way"),
                str(row.entry_count),
                row.who,
            )
            for column, text in enumerate(cells):
                item = QTableWidgetItem(text)
                item.setToolTip(plain_tip(text))
                self.table.setItem(place, column, item)
        ids = [row.id for row in self._rows]
        if ids:
            self.table.setCurrentCell(ids.index(wanted) if wanted in ids else 0, 0)
        self.table.resizeColumnsToContents()
        self.table.horizontalHeader().setSectionResizeMode(
            _CARTRIDGE, QHeaderView.ResizeMode.Stretch
        )
        lines = min(max(len(ids), 1), _MOST_LINES)
        line = round(theme.em(self) + 10)
        self.table.verticalHeader().setDefaultSectionSize(line)
        self.table.setFixedHeight(line * (lines + 1) + 14)
        self._make_room()
        self._on_moved()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Hide what matters least where the list is narrow."""
        super().resizeEvent(event)
        self._make_room()

    def _make_room(self) -> None:
        count = self.table.columnCount()
        wide = {at: self.table.sizeHintForColumn(at) for at in range(count) if at != _CARTRIDGE}
        head = self.table.horizontalHeader()
        needs = {at: max(one, head.sectionSizeHint(at)) for at, one in wide.items()}
        room = self.table.viewport().width() - round(_NAME_EM * theme.em(self))
        gone: set[int] = set()
        for at in _GIVE_WAY:
            if sum(needs.values()) > room:
                needs.pop(at)
                gone.add(at)
        for at in _GIVE_WAY:
            self.table.setColumnHidden(at, at in gone)

    def show_letters(self, letters: Mapping[str, str]) -> None:
        """Prefix the cartridges' names with their letters in the charts, by fitting."""
        several = len(set(letters.values())) > 1
        for place, row in enumerate(self._rows):
            item = self.table.item(place, _CARTRIDGE)
            letter = letters.get(row.id, "")
            if item is not None:
                name = _fitted(row)
                item.setText(f"{letter}: {name}" if several and letter else name)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Open with Enter."""
        if watched is self.table and is_enter(event):
            self._open()
            return True
        return super().eventFilter(watched, event)

    def _on_moved(self) -> None:
        at = self.table.currentRow()
        row = self._rows[at] if 0 <= at < len(self._rows) else None
        self.open_button.setEnabled(row is not None)
        self.open_button.setText(
            tr("history.fittings_list.open")
            if row is None or row.finished
            else tr("history.fittings_list.resume")
        )
        self.swap_button.setEnabled(row is not None and row.finished)
        self._rest.start()

    def _open(self) -> None:
        if self.current_id:
            self.opened.emit(self.current_id)


def _fitted(row: FittingRow) -> str:
    """Return the cartridge, and the arm it was fitted to where the deck has several."""
    if not row.arm_name:
        return row.cartridge_name
    cartridge, arm = Name(row.cartridge_name), Name(row.arm_name)
    return tr("history.fittings_list.on_arm", cartridge=cartridge, arm=arm)
