"""A table of records with a filter above it and actions below it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import partial
from typing import Any, Final

from PySide6.QtCore import (
    QEvent,
    QItemSelection,
    QItemSelectionModel,
    QItemSelectionRange,
    QModelIndex,
    QObject,
    QSize,
    Qt,
    QTimer,
    Signal,
)
from PySide6.QtGui import QContextMenuEvent, QKeyEvent, QKeySequence, QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QMenu,
    QPushButton,
    QStackedWidget,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from core.language import Name, Numbers, Text, Value, shown
from core.store import LibraryProblem
from core.store.listing import Listing
from desktop.widgets.flow_row import FlowRow
from desktop.widgets.language import said, tr
from desktop.widgets.panels import add_all, add_layout, pick_rows_only
from desktop.widgets.plain_text import plain_label
from desktop.widgets.preferences import Preferences
from desktop.widgets.record_table.chips import Chips, toggle
from desktop.widgets.record_table.column_menu import ColumnMenu
from desktop.widgets.record_table.made_late import MadeLate
from desktop.widgets.record_table.rows import Row, RowsModel
from desktop.widgets.record_table.spec import TableSpec
from desktop.widgets.record_table.widths import shared_out
from desktop.widgets.steady_label import SteadyLabel

_CHORDS: Final = (
    Qt.KeyboardModifier.ControlModifier
    | Qt.KeyboardModifier.AltModifier
    | Qt.KeyboardModifier.MetaModifier
)
PICK: Final = QItemSelectionModel.SelectionFlag
_MEASURED: Final = 60
"""Number of rows measured for column widths: measuring all would be slow."""
_USUAL: Final = 0.7
"""The share of a column's texts that count as usual, not long."""
_MOST_SEEN: Final = 60
_LEAST_ROWS: Final = 3
"""Minimum number of visible rows: a page with less room scrolls."""
_AFTER_STROKE_MS: Final = 200
_AHEAD: Final = 50
"""Rows read ahead between two events: some milliseconds."""
_BETWEEN_MS: Final = 10
_AT_ONCE: Final = 200
"""Rows read in one go once a filter waits for them: what people hardly feel."""


class RecordTable(QWidget):
    """A table of records, read when it is first shown or asked about; its parts are made then."""

    opened = Signal(str)  # the id of the row that was opened, by Enter or a double click
    action_chosen = Signal(str, list)  # the key of a action and the ids of the rows picked
    picked = Signal(str)  # the id of the current row, empty if there is none
    other_table_wanted = Signal(str)  # the words to look for on the table beside this one
    nothing_found = Signal(str)  # no row holds these words: another place may be offered
    offer_wanted = Signal(str)  # the words to look for in the place that was offered
    failed = Signal(object)  # A LibraryProblem: what is on the table could not be read
    made = Signal()  # the parts are there
    rows_shown = Signal()  # other rows are shown, or the same in another order

    columns = MadeLate[ColumnMenu]()
    table = MadeLate["_LowTable"]()
    filter = MadeLate[QLineEdit]()
    count = MadeLate[SteadyLabel]()
    archived = MadeLate[QPushButton]()
    chips = MadeLate[Chips]()
    choose_columns = MadeLate[QPushButton]()
    buttons = MadeLate[dict[str, QPushButton]]()
    nothing = MadeLate["NothingFound"]()
    empty = MadeLate[QLabel]()
    _pages = MadeLate[QStackedWidget]()

    def __init__(
        self,
        spec: TableSpec,
        parent: QWidget | None = None,
        *,
        load: Callable[[], Listing[Any]] | None = None,
        numbers: Numbers | None = None,
        preferences: Preferences | None = None,
    ) -> None:
        super().__init__(parent)
        self.spec = spec
        self._load = load
        self._is_stale = False
        self._numbers = numbers or Numbers()
        self._model = RowsModel(spec.columns, self)
        self._model.failed.connect(self.failed)
        self._preferences = preferences
        if preferences is not None:
            self._model.me = lambda: preferences.who
        self.menu: QMenu | None = None
        self._current = ""
        self._held: list[str] = []
        self._was_at = 0
        self._takes_first = False
        self._narrows = False
        """Whether chosen filters wait until what they ask for is read."""
        # The widths of each column's texts, in pixels: of most of them, and of all measured
        self._usual = [0] * len(spec.columns)
        self._longest = list(self._usual)
        self._seen_timer = QTimer(self, singleShot=True, interval=_AFTER_STROKE_MS)
        self._seen_timer.timeout.connect(self._make_room_for_those_seen)
        self._ready_timer = QTimer(self, singleShot=True)
        self._ready_timer.timeout.connect(self._make_ready)
        self._model.modelReset.connect(self._wait)

    def make(self) -> None:
        """Make the parts: most tables of a library are never looked at."""
        self.columns = ColumnMenu(self.spec.key, self.spec.columns, self._preferences, self)
        self.columns.changed.connect(self._show_columns)
        self._build_table()
        self._build_filter()
        self._build_actions()
        self._arrange_widgets()
        self._hide_columns()
        self._model.modelAboutToBeReset.connect(self._hold_picks)
        self._model.modelReset.connect(self._settle)
        self._refresh()
        self._put_parts_in_tab_order()
        self.made.emit()

    def _put_parts_in_tab_order(self) -> None:
        """Let Tab reach the parts where the table stands: what is made late would come last."""
        before = self.previousInFocusChain()
        while before not in (None, self) and before.focusPolicy() == Qt.FocusPolicy.NoFocus:
            before = before.previousInFocusChain()
        if before in (None, self):
            return  # nothing else in the window takes the focus
        for part in self.findChildren(QWidget):
            if part.focusPolicy() != Qt.FocusPolicy.NoFocus:
                QWidget.setTabOrder(before, part)
                before = part

    def set_rows(self, rows: Iterable[Row]) -> None:
        """Show these rows; keep current row and selection if still there."""
        MadeLate.ensure(self)
        self._model.set_rows(rows)
        self._measure_anew()

    def refresh(self) -> None:
        """Read the table again, at once if it is visible, else when it is shown."""
        self._is_stale = self._load is not None
        if self.isVisible():
            self._read_if_stale()

    def read(self) -> None:
        """Read the table again now; after a LibraryProblem it is unchanged."""
        self._is_stale = False
        if self._load is not None:
            self.show_listing(self._load())

    def show_listing(self, listing: Listing[Any]) -> None:
        """Show a listing read elsewhere; keep current row, selection and scroll position."""
        self._is_stale = False
        bar = self.table.verticalScrollBar()
        seen_from, picked = bar.value(), picked_ranges(self.table)
        self._was_at = picked[0].top() if picked else 0
        self._model.set_listing(listing)
        self._measure_anew()
        self._was_at = 0
        bar.setValue(seen_from)
        self.table.scrollTo(self.table.currentIndex())

    @property
    def model(self) -> RowsModel:
        """The rows, read again if stale."""
        self._read_if_stale()
        return self._model

    @property
    def current_id(self) -> str:
        """The id of the current row, empty if none."""
        self._read_if_stale()
        return self._current

    def current_words(self) -> str:
        """Return the first cell of the current row, empty if none."""
        index = self.table.currentIndex()
        return str(index.siblingAtColumn(0).data()) if index.isValid() else ""

    def pick(self, record_id: str) -> bool:
        """Make a row the current and only selected one; return whether it is shown."""
        position = self.model.position_of(record_id)
        if position is None:
            return False
        pick_rows(self.table, self._model, position, [])
        return True

    def pick_none(self) -> None:
        """Clear current row and selection, so that Enter opens nothing unasked."""
        self._read_if_stale()
        self.table.setCurrentIndex(QModelIndex())
        self.table.clearSelection()
        self._note_current()
        self._refresh()

    def picked_ids(self) -> list[str]:
        """Return the ids of all selected rows from the top, including those out of sight."""
        self._read_if_stale()
        return picked_ids(self.table, self._model)

    def stop(self) -> None:
        """Read nothing more by itself: the library is about to be closed."""
        self._narrows = False
        self._ready_timer.stop()

    def ask_anew(self) -> None:
        """Filter again: the technician changed."""
        self._narrow()

    def look_for(self, words: str) -> None:
        """Filter by these words, with the cursor at their end."""
        self.filter.setFocus(Qt.FocusReason.OtherFocusReason)
        self.filter.setText(words)

    def focus_filter(self) -> None:
        """Put the focus into the filter."""
        self.filter.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.filter.selectAll()

    # construction

    def _build_filter(self) -> None:
        self.filter = QLineEdit()
        self.filter.setPlaceholderText(
            tr("widgets.table.filter_the_spec_type_any", spec=shown(self.spec.name))
        )
        self.filter.setAccessibleName(
            tr("widgets.table.filter_the_spec", spec=shown(self.spec.name))
        )
        self.filter.setAccessibleDescription(tr("widgets.table.rows_that_hold_every_word"))
        self.filter.setClearButtonEnabled(True)
        self.filter.setAcceptDrops(False)  # the window handles dropped files
        self.filter.textChanged.connect(self._search)
        self.filter.returnPressed.connect(self._open_current)
        self.filter.installEventFilter(self)
        self.count = SteadyLabel(wraps=False)  # it changes at every stroke; the page need not
        self.count.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.count.setObjectName("shelfCount")
        self.archived = toggle(
            tr("widgets.table.show_archived"), tr("widgets.table.show_archived_tip")
        )
        self.chips = Chips(self.spec.chips, (self.archived,))
        self.chips.changed.connect(self._narrow)
        if not self.spec.has_archive:
            self.archived.hide()
        self.archived.toggled.connect(self._show_archived)
        self.choose_columns = QPushButton(tr("widgets.table.columns"))
        self.choose_columns.setAccessibleDescription(tr("widgets.table.columns_tip"))
        self.choose_columns.setToolTip(tr("widgets.table.columns_tip"))
        self.choose_columns.setProperty("quiet", "true")
        if not self.spec.key:
            self.choose_columns.hide()
        self.choose_columns.clicked.connect(self._choose_columns)

    def _build_table(self) -> None:
        self.table = _LowTable()
        self.table.setAccessibleName(tr("widgets.table.list_of_spec", spec=shown(self.spec.name)))
        self.table.setAccessibleDescription(tr("widgets.table.control_and_a_digit_sorts"))
        self.table.setModel(self._model)
        pick_rows_only(self.table)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.table.setAlternatingRowColors(True)
        self.table.setWordWrap(False)
        self.table.setTextElideMode(Qt.TextElideMode.ElideMiddle)  # numbers stand at the end
        self.table.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        down = self.table.verticalHeader()
        # Fixed heights: with 20,000 rows Qt must not ask each for its own.
        down.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        across = self.table.horizontalHeader()
        across.setSortIndicatorShown(True)
        across.setSortIndicatorClearable(True)
        across.setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
        across.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        # A selection model of its own, always empty: with the table's it would ask every row.
        across.setSelectionModel(QItemSelectionModel(self._model, across))
        self.table.setSortingEnabled(True)
        self.table.doubleClicked.connect(lambda _index: self._open_current())
        self.table.installEventFilter(self)
        self.table.viewport().installEventFilter(self)
        across.viewport().installEventFilter(self)
        self._keep_room()
        self.table.selectionModel().currentRowChanged.connect(lambda *_rows: self._note_current())
        self.table.selectionModel().selectionChanged.connect(lambda *_rows: self._refresh())

    def _build_actions(self) -> None:
        self.buttons = {}
        for action in self.spec.actions:
            button = QPushButton(said(action.words))
            button.setObjectName(f"deed:{action.key}")
            button.setAccessibleDescription(said(action.hint))
            button.setToolTip(said(action.hint))
            button.clicked.connect(lambda _checked=False, key=action.key: self._ask(key))
            self.buttons[action.key] = button

    def _arrange_widgets(self) -> None:
        self.nothing = NothingFound(self.spec.other_table)
        self.nothing.clear_wanted.connect(self._clear_filter)
        self.nothing.archived_wanted.connect(lambda: self.archived.setChecked(True))
        self.nothing.other_table_wanted.connect(
            lambda: self.other_table_wanted.emit(self.filter.text())
        )
        self.nothing.offer_wanted.connect(lambda: self.offer_wanted.emit(self.filter.text()))
        self.empty = self.nothing.words
        self._pages = QStackedWidget()
        self._pages.addWidget(self.table)
        self._pages.addWidget(self.nothing)
        self.nothing.all_wanted.connect(self._show_all)
        top = add_all(QHBoxLayout(), (self.filter, 1), self.count)
        narrowing = add_all(QHBoxLayout(), (self.chips, 1), self.choose_columns)
        bottom = FlowRow(self.buttons.values())
        page = add_all(QVBoxLayout(self), top)
        if self.spec.has_archive or self.spec.chips or self.spec.key:
            add_layout(page, narrowing)
        else:  # without a parent it would outlive the page
            for unwanted in (self.chips, self.archived, self.choose_columns):
                unwanted.setParent(self)
                unwanted.hide()
        add_all(page, (self._pages, 1), bottom)

    # behaviour

    def setVisible(self, visible: bool) -> None:  # noqa: FBT001 - as Qt has it
        """Make the parts before the table is shown by itself, as a tab shows it."""
        if visible:
            MadeLate.ensure(self)
        super().setVisible(visible)

    def showEvent(self, event: QShowEvent) -> None:
        """Make the parts of a table that is shown with its page, and read it."""
        MadeLate.ensure(self)
        for part in self.findChildren(QWidget, options=Qt.FindChildOption.FindDirectChildrenOnly):
            # Qt shows with a page what it holds by then; this is made later.
            was_told = part.testAttribute(Qt.WidgetAttribute.WA_WState_ExplicitShowHide)
            if not was_told and not part.isWindow():  # a menu is a window
                part.show()
        self._read_if_stale()
        self._ready_timer.start(_AFTER_STROKE_MS)
        super().showEvent(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Open with Enter in the list; go from the filter to the list with Down, back with Up."""
        if watched is self.table.viewport() and event.type() == QEvent.Type.Resize:
            self._share_out_width()
        elif watched is self.table and event.type() == QEvent.Type.FontChange:
            self._keep_room()
            self._measure_anew()
        if isinstance(event, QContextMenuEvent):
            self._open_menu(watched, event)
            return True
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            return self._takes_key(watched, event) or super().eventFilter(watched, event)
        return super().eventFilter(watched, event)

    def _takes_key(self, watched: QObject, event: QKeyEvent) -> bool:
        key, typed = event.key(), "" if event.modifiers() & _CHORDS else event.text()
        column = key - Qt.Key.Key_1
        seen = [at for at in range(len(self.spec.columns)) if not self.table.isColumnHidden(at)]
        if event.modifiers() == Qt.KeyboardModifier.ControlModifier and 0 <= column < len(seen):
            self._sort_further(seen[column])
        elif watched is self.filter and key == Qt.Key.Key_Down and self._model.rowCount():
            self.table.setFocus(Qt.FocusReason.TabFocusReason)
            if not self.table.currentIndex().isValid():  # else the first press would show nothing
                self.table.selectRow(0)
        elif watched is not self.table:
            return False
        elif key == Qt.Key.Key_Menu or (
            key == Qt.Key.Key_F10 and event.modifiers() == Qt.KeyboardModifier.ShiftModifier
        ):
            self._open_row_menu()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._open_current()
        elif key == Qt.Key.Key_Up and self.table.currentIndex().row() <= 0:
            self.focus_filter()
        elif typed.isprintable() and typed.strip():
            self.look_for(f"{self.filter.text()}{typed}")  # instead of Qt's own search, row by row
        else:
            return False
        return True

    def _keep_room(self) -> None:
        """Set the row height for the type, and keep room for some rows."""
        high = self.table.fontMetrics().height() + 12
        self.table.verticalHeader().setDefaultSectionSize(high)
        head = self.table.horizontalHeader().sizeHint().height()
        frame = 2 * self.table.frameWidth()
        self.table.setMinimumHeight(head + _LEAST_ROWS * high + frame)

    def _search(self, words: str) -> None:
        """Show the hits for these words; Enter opens the first."""
        self._takes_first = bool(words.strip()) and picked_count(self.table) <= 1
        self._model.set_filter(words)
        self._takes_first = False
        self._seen_timer.start()

    def _show_archived(self, shown: bool) -> None:  # noqa: FBT001 - of a signal
        """Include archived rows, with the column of when that was."""
        self._model.set_with_archived(shown=shown)
        self._show_columns()

    def _show_columns(self) -> None:
        self._hide_columns()
        self._measure_anew()

    def _hide_columns(self) -> None:
        across, away = self.table.horizontalHeader(), self.archived.isChecked()
        hidden = set()
        for index, column in enumerate(self.spec.columns):
            seen = away if column.of_archived else self.columns.is_seen(column)
            if not seen:
                hidden.add(index)
                if across.sortIndicatorSection() == index:
                    across.setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
            self.table.setColumnHidden(index, not seen)
        self._model.hidden = frozenset(hidden)

    def _choose_columns(self) -> None:
        corner = self.choose_columns.rect().bottomLeft()
        self.columns.popup(self.choose_columns.mapToGlobal(corner))

    def _open_menu(self, watched: QObject, event: QContextMenuEvent) -> None:
        if watched is self.table.horizontalHeader().viewport():
            if self.spec.key:
                self.columns.popup(event.globalPos())
        elif event.reason() == QContextMenuEvent.Reason.Keyboard:
            self._open_row_menu()
        else:
            self.row_menu().popup(event.globalPos())

    def _open_row_menu(self) -> None:
        """Open the menu of the current row, below it."""
        if self.menu is not None and self.menu.isVisible():
            return
        row = self.table.visualRect(self.table.currentIndex())
        place = self.table.viewport().mapToGlobal(row.bottomLeft())
        self.row_menu().popup(place)

    def row_menu(self) -> QMenu:
        """Return a menu with the actions of the buttons below, with their keys."""
        if self.menu is not None:
            self.menu.deleteLater()
        self.menu = QMenu(self)
        self.menu.setAccessibleName(tr("widgets.table.row_menu"))
        for key, button in self.buttons.items():
            letter = button.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
            act = self.menu.addAction(f"{button.text()}\t{letter}" if letter else button.text())
            act.setEnabled(button.isEnabled())
            act.setToolTip(button.toolTip())
            act.triggered.connect(partial(self._ask, key))
        if self.spec.key:
            self.menu.addSeparator()
            self.menu.addMenu(self.columns)
        return self.menu

    def _sort_further(self, column: int) -> None:
        """Cycle a column through ascending, descending and the default order."""
        across = self.table.horizontalHeader()
        up, down = Qt.SortOrder.AscendingOrder, Qt.SortOrder.DescendingOrder
        if across.sortIndicatorSection() != column:
            across.setSortIndicator(column, up)
        elif across.sortIndicatorOrder() == up:
            across.setSortIndicator(column, down)
        else:
            across.setSortIndicator(-1, up)

    def _wide(self, rows: Iterable[Any]) -> list[list[int]]:
        """Return for each column the widths of its texts in these rows, ascending."""
        wide = self.table.fontMetrics().horizontalAdvance
        rows = list(rows)
        return [
            [] if index in self._model.hidden else sorted(wide(column.text(row)) for row in rows)
            for index, column in enumerate(self.spec.columns)
        ]

    def _measure_anew(self) -> None:
        measured = self._wide(self._model.sample(_MEASURED))
        columns = zip(measured, self.spec.columns, strict=True)
        # A column that must not be narrowed is short, and whole in every row.
        self._usual = [
            one[int(len(one) * _USUAL) if column.shrinks else -1] if one else 0
            for one, column in columns
        ]
        self._longest = [one[-1] if one else 0 for one in measured]
        self._share_out_width()

    def _make_room_for_those_seen(self) -> None:
        """Widen columns that are cut in the visible rows; nothing moves if none is."""
        first = max(0, self.table.rowAt(0))
        last = min(self._model.rowCount(), first + _MOST_SEEN)
        seen = self._wide(self._model.row_at(position) for position in range(first, last))
        longest = [
            max([known, *of_those]) for known, of_those in zip(self._longest, seen, strict=True)
        ]
        if longest != self._longest:
            self._longest = longest
            self._share_out_width()

    def _share_out_width(self) -> None:
        chosen = [at for at in range(len(self.spec.columns)) if at not in self._model.hidden]
        widths = self._widths(chosen)
        if any(width < self._longest[at] for at, width in widths.items()):
            # Texts are cut: an empty column gives its room away until a row has a text in it.
            sorted_by = self.table.horizontalHeader().sortIndicatorSection()
            stay = [at for at in chosen if at in (0, sorted_by) or self._longest[at]]
            widths = self._widths(stay)
        self._model.given_away = frozenset(chosen) - widths.keys()
        for index in chosen:
            self.table.setColumnHidden(index, index in self._model.given_away)
        for index, width in widths.items():
            self.table.horizontalHeader().resizeSection(index, width)

    def _widths(self, shown: Sequence[int]) -> dict[int, int]:
        """Return how wide these columns are if they have all the room."""
        header = self.table.horizontalHeader()
        em = self.table.fontMetrics().height()
        titles = [
            header.fontMetrics().horizontalAdvance(said(self.spec.columns[index].title)) + 2 * em
            for index in shown
        ]
        widths = shared_out(
            self.table.viewport().width(),
            [self._usual[index] + em for index in shown],
            [self._longest[index] + em for index in shown],
            titles,
            [self.spec.columns[index].shrinks for index in shown],
        )
        return dict(zip(shown, widths, strict=True))

    def _read_if_stale(self) -> None:
        if self._is_stale:
            try:
                self.read()
            except LibraryProblem as problem:
                self.failed.emit(problem)

    def _wait(self) -> None:
        """Read ahead once nobody types or presses anything for a moment."""
        self._ready_timer.start(_AFTER_STROKE_MS)
        self.rows_shown.emit()

    def _narrow(self) -> None:
        """Filter by the chips, once what they ask for is read: of many rows, a part at a time."""
        chosen = self.chips.chosen
        self._narrows = bool(chosen) and not self._model.listing.prepare(_AT_ONCE)
        if self._narrows:
            self.count.say(tr("widgets.table.looking"), keep_size=True)
            self._ready_timer.start(0)
        else:
            self._model.narrow(chosen)

    def _make_ready(self) -> None:
        """Read ahead what a filter would ask for, a few rows at a time."""
        if self._narrows:
            self._narrow()
        elif self.isVisible() and not self._is_stale and not self._model.listing.prepare(_AHEAD):
            self._ready_timer.start(_BETWEEN_MS)

    def _show_all(self) -> None:
        """Clear every filter."""
        self.chips.clear()
        self._clear_filter()

    def _clear_filter(self) -> None:
        self.filter.clear()
        self.filter.setFocus(Qt.FocusReason.OtherFocusReason)

    def _hold_picks(self) -> None:
        """Remember the selection before the rows change."""
        self._held = picked_ids(self.table, self._model)

    def _settle(self) -> None:
        """Restore current row and selection as far as shown, else select the row in that place.

        That is the first row; after archiving it is the next one.
        """
        model = self._model
        at = model.position_of(self._current) if self._current and not self._takes_first else None
        positions = model.positions_of(self._held) if len(self._held) > 1 else []
        waits = not (self.spec.picks_first or self._current or self._takes_first)
        if at is None and model.rowCount() and (positions or not waits):
            at = positions[0] if positions else min(self._was_at, model.rowCount() - 1)
        if at is not None:
            pick_rows(self.table, model, at, positions)
        self._note_current()
        self._refresh()

    def _note_current(self) -> None:
        index = self.table.currentIndex()
        current = self._model.ids_at(index.row(), index.row())[0] if index.isValid() else ""
        if current != self._current:
            self._current = current
            self.picked.emit(current)

    def _open_current(self) -> None:
        if self._current:
            self.opened.emit(self._current)

    def _ask(self, key: str) -> None:
        """Emit an action; not if its rows are gone since its button was enabled."""
        picked = self.picked_ids()
        if any(action.key == key and len(picked) < action.least for action in self.spec.actions):
            self._refresh()
            return
        self.action_chosen.emit(key, picked)

    def _refresh(self) -> None:
        there, total = self._model.rowCount(), self._model.total
        picked = picked_count(self.table)
        counted, seen = self._counted(total), self._counted(there)
        how = "many picked" if picked > 1 else "none picked"
        values: dict[str, Value] = {
            "how": how,
            "seen": Name(seen),
            "counted": Name(counted),
            "picked": Name(self._counted(picked)),
        }
        part = tr("widgets.table.seen", **values)
        words = part if there != total else tr("widgets.table.all_seen", **values)
        self.count.say(words, keep_size=True)
        self.count.setAccessibleName(
            tr("widgets.table.seen_spoken", **values, spec=shown(self.spec.name))
        )
        if not there:
            self._say_why_nothing(total)
        self._pages.setCurrentWidget(self.table if there else self.nothing)
        away = self._picked_archived() if self.spec.has_archive else 0
        for action in self.spec.actions:
            fits = picked >= action.least and (action.most is None or picked <= action.most)
            if action.archived is not None and picked:
                fits = fits and (away if action.archived else picked - away) > 0
            self.buttons[action.key].setEnabled(action.least == 0 or fits)

    def _picked_archived(self) -> int:
        """Return how many of the selected rows are archived."""
        ranges = picked_ranges(self.table)
        return sum(self._model.archived_between(part.top(), part.bottom()) for part in ranges)

    def _say_why_nothing(self, total: int) -> None:
        away = 0 if self.archived.isChecked() else self._model.count_with_archived()
        archived = self._counted(away) if away and self.spec.has_archive else ""
        narrowed = self.chips.words()
        if total and narrowed:
            words = tr(
                "widgets.table.nothing_passes",
                total=total,
                counted=Name(self._counted(total)),
                spec=shown(self.spec.name),
                filters=Name(narrowed),
            )
        elif total:
            words = tr(
                "widgets.table.nothing_holds_the_words",
                total=total,
                counted=Name(self._counted(total)),
                spec=shown(self.spec.name),
            )
        elif away:
            words = tr("widgets.table.all_spec_that_were_on", spec=shown(self.spec.name))
        else:
            words = said(self.spec.empty)
        self.nothing.say(
            words,
            filtered=bool(self.filter.text().strip()),
            archived=archived,
            narrowed=bool(narrowed),
        )
        self.nothing_found.emit(self.filter.text())

    def _counted(self, count: int) -> str:
        sign = "," if self._numbers.decimal == "." else "\u202f"
        return f"{count:,}".replace(",", sign)


class _LowTable(QTableView):
    """A table with a small size hint that expands into the room there is."""

    def sizeHint(self) -> QSize:
        """Return room for some rows."""
        return QSize(super().sizeHint().width(), self.minimumHeight())


class NothingFound(QWidget):
    """A sentence about an empty list, with buttons while a filter hides rows."""

    # The person clears the filter, includes archived rows, or wants the same search on the table
    # beside this one
    clear_wanted = Signal()
    archived_wanted = Signal()
    other_table_wanted = Signal()
    offer_wanted = Signal()  # as the place was offered
    all_wanted = Signal()  # neither words nor another filter

    def __init__(self, other_table: Text, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.words = plain_label()
        self.words.setObjectName("shelfEmpty")
        self.words.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.words.setWordWrap(True)
        self.clear = QPushButton(tr("widgets.table.clear_the_filter"))
        self.clear.clicked.connect(self.clear_wanted)
        self.all = QPushButton(tr("widgets.table.show_all"))
        self.all.clicked.connect(self.all_wanted)
        self.archived = QPushButton()
        self.archived.clicked.connect(self.archived_wanted)
        self.other_table = QPushButton(
            tr("widgets.table.look_among_the_other_table", other_table=shown(other_table))
        )
        self.other_table.clicked.connect(self.other_table_wanted)
        self._has_other_table = bool(other_table)
        self.offered = QPushButton()
        self.offered.clicked.connect(self.offer_wanted)
        ways = QHBoxLayout()
        ways.addStretch(1)
        for button in (self.all, self.clear, self.archived, self.other_table, self.offered):
            button.setAutoDefault(True)
            ways.addWidget(button)
        ways.addStretch(1)
        add_all(QVBoxLayout(self), 2, self.words, ways, 3)
        self.say("", filtered=False)

    def say(
        self, words: str, *, filtered: bool, archived: str = "", narrowed: bool = False
    ) -> None:
        """Say why nothing is shown."""
        self.words.setText(words)
        self.all.setVisible(narrowed)
        self.clear.setVisible(filtered)
        self.other_table.setVisible(filtered and self._has_other_table)
        self.archived.setVisible(bool(archived))
        self.archived.setText(tr("widgets.table.show_archived_archived", archived=Name(archived)))
        self.offer("")

    def offer(self, words: str) -> None:
        """Offer another place to look, on a button with these words; none without."""
        self.offered.setText(words)
        self.offered.setVisible(bool(words))


def picked_ranges(table: QTableView) -> list[QItemSelectionRange]:
    """Return the selected ranges from the top; each spans whole rows."""
    selection = table.selectionModel().selection()
    # Not selectedRows(): it would make an index for every row.
    ranges = [selection.at(at) for at in range(selection.count())]
    return sorted((one for one in ranges if one.isValid()), key=QItemSelectionRange.top)


def picked_count(table: QTableView) -> int:
    """Return how many rows are selected."""
    return sum(one.height() for one in picked_ranges(table))


def picked_ids(table: QTableView, model: RowsModel) -> list[str]:
    """Return the ids of all selected rows from the top, including those out of sight."""
    ranges = picked_ranges(table)
    return [one for part in ranges for one in model.ids_at(part.top(), part.bottom())]


def pick_rows(table: QTableView, model: RowsModel, current: int, positions: list[int]) -> None:
    """Make one row current and select these, from the top; without any only the current one."""
    index = model.index(current, 0)
    chosen = table.selectionModel()
    if positions:
        chosen.setCurrentIndex(index, PICK.NoUpdate)
        chosen.select(_together(model, positions), PICK.ClearAndSelect | PICK.Rows)
    else:
        chosen.setCurrentIndex(index, PICK.ClearAndSelect | PICK.Rows)
    table.scrollTo(index)


def _together(model: RowsModel, positions: list[int]) -> QItemSelection:
    """Return rows as a selection, with neighbours in one range."""
    found = QItemSelection()
    last = model.columnCount() - 1
    start = before = positions[0]
    for position in [*positions[1:], -1]:
        if position != before + 1:
            found.append(QItemSelectionRange(model.index(start, 0), model.index(before, last)))
            start = position
        before = position
    return found
