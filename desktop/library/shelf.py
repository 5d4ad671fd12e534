"""One shelf of the library: a field to filter by, a table, and what can be done with a row."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QItemSelectionModel, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCheckBox,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QPushButton,
    QStackedWidget,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from desktop.library.rows import Column, Row, RowsModel


@dataclass(frozen=True, slots=True)
class Deed:
    """A button under a shelf.

    Parameters
    ----------
    key
        What :attr:`Shelf.asked` reports.
    words, hint
        On the button, and said by a screen reader.
    least, most
        How many rows must be picked for it; 0 and None for a deed that needs none.
    """

    key: str
    words: str
    hint: str
    least: int = 1
    most: int | None = 1


@dataclass(frozen=True, slots=True)
class ShelfPlan:
    """What one shelf holds.

    Parameters
    ----------
    name
        For screen readers, and in the filter's hint: "decks".
    columns, deeds
        The table's columns and the buttons under it.
    empty
        Said while there is nothing on the shelf: what it is for and how to fill it.
    has_archive
        Whether rows can be archived, so that there is a box to show those too.
    """

    name: str
    columns: tuple[Column, ...]
    deeds: tuple[Deed, ...]
    empty: str
    has_archive: bool = False


class Shelf(QWidget):
    """A shelf.

    Signals
    -------
    opened
        The id of the row that was opened, by Enter or a double click.
    asked
        The key of a deed and the ids of the rows picked.
    picked
        The id of the current row, empty if there is none.
    archive_wanted
        Whether archived rows are to be shown too.
    """

    opened = Signal(str)
    asked = Signal(str, list)
    picked = Signal(str)
    archive_wanted = Signal(bool)

    def __init__(self, plan: ShelfPlan, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.plan = plan
        self.model = RowsModel(plan.columns, self)
        self._current = ""
        self._build_table()
        self._build_filter()
        self._build_deeds()
        self._arrange_widgets()
        self._refresh()

    def set_rows(self, rows: Iterable[Row]) -> None:
        """Show these rows; the current one stays current if it is still there."""
        self.model.set_rows(rows)
        self._settle()

    @property
    def current_id(self) -> str:
        """The id of the current row, empty if there is none."""
        return self._current

    def current_words(self) -> str:
        """Return what the first column says of the current row, empty if there is none."""
        index = self.table.currentIndex()
        return str(index.siblingAtColumn(0).data()) if index.isValid() else ""

    def pick(self, record_id: str) -> bool:
        """Make a row current; return whether it is shown."""
        position = self.model.position_of(record_id)
        if position is None:
            return False
        index = self.model.index(position, 0)
        self.table.selectionModel().setCurrentIndex(
            index,
            QItemSelectionModel.SelectionFlag.ClearAndSelect
            | QItemSelectionModel.SelectionFlag.Rows,
        )
        self.table.scrollTo(index)
        return True

    def picked_ids(self) -> list[str]:
        """Return the ids of every row picked, from the top."""
        rows = sorted(index.row() for index in self.table.selectionModel().selectedRows())
        return [self.model.row_at(row).id for row in rows]

    def focus_filter(self) -> None:
        """Put the cursor into the filter."""
        self.filter.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.filter.selectAll()

    # building

    def _build_filter(self) -> None:
        self.filter = QLineEdit()
        self.filter.setPlaceholderText(f"Filter the {self.plan.name}: type any words")
        self.filter.setAccessibleName(f"Filter the {self.plan.name}")
        self.filter.setAccessibleDescription(
            "Rows that hold every word stay. Down goes to the list, Enter opens the first row."
        )
        self.filter.setClearButtonEnabled(True)
        self.filter.textChanged.connect(self._sift)
        self.filter.returnPressed.connect(self._open_current)
        self.filter.installEventFilter(self)
        self.count = QLabel()
        self.count.setObjectName("shelfCount")
        self.archived = QCheckBox("Show archived")
        if not self.plan.has_archive:
            self.archived.hide()
        self.archived.toggled.connect(self.archive_wanted)

    def _build_table(self) -> None:
        self.table = QTableView()
        self.table.setAccessibleName(f"List of {self.plan.name}")
        self.table.setModel(self.model)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setTabKeyNavigation(False)
        self.table.setAlternatingRowColors(True)
        self.table.setShowGrid(False)
        self.table.setWordWrap(False)
        self.table.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        down = self.table.verticalHeader()
        down.setVisible(False)
        # Fixed heights: with 20,000 rows Qt must not ask each for its own.
        down.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        down.setDefaultSectionSize(self.fontMetrics().height() + 12)
        across = self.table.horizontalHeader()
        across.setHighlightSections(False)
        across.setSortIndicatorShown(True)
        across.setSortIndicatorClearable(True)
        across.setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
        across.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.table.setSortingEnabled(True)
        self.table.doubleClicked.connect(lambda _index: self._open_current())
        self.table.installEventFilter(self)
        self.table.viewport().installEventFilter(self)
        self.table.selectionModel().currentRowChanged.connect(lambda *_rows: self._note_current())
        self.table.selectionModel().selectionChanged.connect(lambda *_rows: self._refresh())

    def _build_deeds(self) -> None:
        self.buttons: dict[str, QPushButton] = {}
        for deed in self.plan.deeds:
            button = QPushButton(deed.words)
            button.setObjectName(f"deed:{deed.key}")
            button.setAccessibleDescription(deed.hint)
            button.setToolTip(deed.hint)
            button.clicked.connect(lambda _checked=False, key=deed.key: self._ask(key))
            self.buttons[deed.key] = button

    def _arrange_widgets(self) -> None:
        self.empty = QLabel(self.plan.empty)
        self.empty.setObjectName("shelfEmpty")
        self.empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.empty.setWordWrap(True)
        self._pages = QStackedWidget()
        self._pages.addWidget(self.table)
        self._pages.addWidget(self.empty)
        top = QHBoxLayout()
        top.addWidget(self.filter, stretch=1)
        top.addWidget(self.count)
        top.addWidget(self.archived)
        bottom = QHBoxLayout()
        for button in self.buttons.values():
            bottom.addWidget(button)
        bottom.addStretch(1)
        layout = QVBoxLayout(self)
        layout.addLayout(top)
        layout.addWidget(self._pages, stretch=1)
        layout.addLayout(bottom)

    # living

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt's own name
        """Open by Enter in the list; go from the filter to the list by Down, back by Up."""
        if watched is self.table.viewport() and event.type() == QEvent.Type.Resize:
            self._share_out_width()
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            key = event.key()
            if watched is self.filter and key == Qt.Key.Key_Down and self.model.rowCount():
                self.table.setFocus(Qt.FocusReason.TabFocusReason)
                if not self._current:
                    self.pick(self.model.row_at(0).id)
                return True
            if watched is self.table:
                if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                    self._open_current()
                    return True
                if key == Qt.Key.Key_Up and self.table.currentIndex().row() <= 0:
                    self.focus_filter()
                    return True
        return super().eventFilter(watched, event)

    def _share_out_width(self) -> None:
        letter = self.fontMetrics().averageCharWidth()
        room = self.table.viewport().width()
        fixed = sum(column.letters * letter for column in self.plan.columns if not column.shrinks)
        shares = sum(column.letters for column in self.plan.columns if column.shrinks)
        header = self.table.horizontalHeader()
        for index, column in enumerate(self.plan.columns):
            width = column.letters * letter
            if column.shrinks:
                width = max(6 * letter, (room - fixed) * column.letters // shares)
            header.resizeSection(index, width)

    def _sift(self, text: str) -> None:
        self.model.set_filter(text)
        self._settle()

    def _settle(self) -> None:
        """Keep the current row, else take the first one."""
        wanted = self._current
        if not (wanted and self.pick(wanted)) and self.model.rowCount():
            self.pick(self.model.row_at(0).id)
        self._note_current()
        self._refresh()

    def _note_current(self) -> None:
        index = self.table.currentIndex()
        current = self.model.row_at(index.row()).id if index.isValid() else ""
        if current != self._current:
            self._current = current
            self.picked.emit(current)

    def _open_current(self) -> None:
        if self._current:
            self.opened.emit(self._current)

    def _ask(self, key: str) -> None:
        self.asked.emit(key, self.picked_ids())

    def _refresh(self) -> None:
        shown, total = self.model.rowCount(), self.model.total
        self.count.setText(f"{shown} of {total}" if shown != total else f"{total}")
        self.count.setAccessibleName(f"{shown} of {total} {self.plan.name} shown")
        if total == 0:
            self.empty.setText(self.plan.empty)
        elif shown == 0:
            self.empty.setText(
                f"None of the {total} {self.plan.name} holds all these words. "
                "Take a word out of the filter to see more."
            )
        self._pages.setCurrentWidget(self.table if shown else self.empty)
        picked = len(self.table.selectionModel().selectedRows())
        for deed in self.plan.deeds:
            fits = picked >= deed.least and (deed.most is None or picked <= deed.most)
            self.buttons[deed.key].setEnabled(deed.least == 0 or fits)
