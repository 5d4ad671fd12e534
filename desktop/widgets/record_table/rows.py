"""The model behind a table view: rows are made only for the cells Qt paints.

A Qt proxy model would call Python for every row at every keystroke. Here the listing filters and
sorts (:mod:`core.store.listing`), and a row is made when it becomes visible.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final, Protocol

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    Qt,
    QTimer,
    Signal,
)

from core.language import Name, Text, shown
from core.store import LibraryProblem
from core.store.listing import Listing, distances, plain, spaced
from desktop.widgets.language import said, tr
from desktop.widgets.plain_text import plain_tip

Index = QModelIndex | QPersistentModelIndex
_ROOT: Final = QModelIndex()
"""The invalid index, which stands for the table itself."""

_ROWS_HELD: Final = 500
"""Number of rows cached for repainting: a few screens."""

_AT_ONCE: Final = 32
"""Number of rows made at once, with one query of the library."""

_SPOKEN: Final = int(Qt.ItemDataRole.AccessibleTextRole)
_TOLD: Final = {int(Qt.ItemDataRole.DisplayRole), int(Qt.ItemDataRole.ToolTipRole), _SPOKEN}


class Row(Protocol):
    """What every row has."""

    @property
    def id(self) -> str:
        """The id of the record it stands for."""
        ...


@dataclass(frozen=True, slots=True)
class Column:
    """One column."""

    title: Text  # above the column
    text: Callable[[Any], str]  # what a cell shows; also what a filter of rows held here looks in
    # What rows held here are sorted by; the text without regard to case if None
    order: Callable[[Any], Any] | None = None
    shrinks: bool = True  # whether it may be narrower where there is little room
    # What a listing of the library calls the order of this column; empty if it has none
    key: str = ""
    # Whether it tells only of those that were put away, and is seen with them alone
    of_archived: bool = False
    # Whether it is seen only once it was chosen
    is_extra: bool = False

    @property
    def order_name(self) -> str:
        """The listing's sort name for this column."""
        return self.key or said(self.title)


class InMemoryListing(Listing[Any]):
    """Rows held in memory, as a listing; the filter searches the text of their cells."""

    def __init__(self, rows: Iterable[Row], columns: Sequence[Column]) -> None:
        self._rows = tuple(rows)
        self._columns = columns
        self._words: list[str] = []
        super().__init__([row.id for row in self._rows], bytes(len(self._rows)))

    def row(self, place: int) -> Row:
        """Return the row at an index."""
        return self._rows[place]

    def keys(self, order: str) -> Sequence[Any]:
        """Return the sort key of every row."""
        column = next(column for column in self._columns if column.order_name == order)
        key = column.order or (lambda row: column.text(row).casefold())
        return [key(row) for row in self._rows]

    def prepare(self, most: int) -> bool:
        """Prepare up to this many rows for filtering; return whether all are prepared."""
        texts = [column.text for column in self._columns]
        begin = len(self._words)
        self._words += [
            plain("\n".join([text(row) for text in texts]))
            for row in self._rows[begin : begin + most]
        ]
        return len(self._words) == len(self._rows)

    def _holding(self, places: list[int], word: str) -> list[int]:
        self.prepare(len(self._rows))
        words = self._words
        return [place for place in places if word in words[place]]

    def _distances(self, places: list[int], words: list[str]) -> list[int]:
        return distances(words, [spaced(self._words[place]) for place in places])


class RowsModel(QAbstractTableModel):
    """The model of a table view."""

    failed = Signal(object)  # A LibraryProblem: data of the rows could not be read

    def __init__(self, columns: Sequence[Column], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._columns = tuple(columns)
        self.listing: Listing[Any] = InMemoryListing((), self._columns)
        self._shown: list[int] = []
        self._rows: dict[int, Any] = {}
        self._filter = ""
        self._with_archived = False
        self._only: frozenset[str] = frozenset()
        self.me: Callable[[], str] = str
        """Returns the technician."""
        self.hidden: frozenset[int] = frozenset()
        """The hidden columns."""
        self.given_away: frozenset[int] = frozenset()
        """Columns without any text, not seen as long as others need the room."""
        self._sorted_by: tuple[int, Qt.SortOrder] | None = None

    # Qt's interface

    def rowCount(self, parent: Index = _ROOT) -> int:
        """Return how many rows pass the filter."""
        return 0 if parent.isValid() else len(self._shown)

    def columnCount(self, parent: Index = _ROOT) -> int:
        """Return how many columns there are."""
        return 0 if parent.isValid() else len(self._columns)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return the text of a cell."""
        if role not in _TOLD or not index.isValid():  # most requests: colours, icons
            return None
        column = self._columns[index.column()]
        words = column.text(self.row_at(index.row()))
        if role == Qt.ItemDataRole.ToolTipRole:
            return plain_tip(words)
        if role != _SPOKEN:
            return words
        title = shown(column.title)
        if not words:
            return tr("widgets.rows.empty_cell", title=title)
        return tr("widgets.rows.cell", title=title, words=Name(words))

    def headerData(
        self,
        section: int,
        orientation: Qt.Orientation,
        role: int = Qt.ItemDataRole.DisplayRole,
    ) -> Any:
        """Return a column's title, and how to sort by it."""
        if orientation == Qt.Orientation.Horizontal:
            if role == Qt.ItemDataRole.DisplayRole:
                return said(self._columns[section].title)
            if role == Qt.ItemDataRole.ToolTipRole:
                unseen = self.hidden | self.given_away
                seen = sum(one not in unseen for one in range(section + 1))
                return tr("widgets.rows.sort_by_this_column_click", section=seen)
        return None

    def sort(self, column: int, order: Qt.SortOrder = Qt.SortOrder.AscendingOrder) -> None:
        """Sort by a column; a negative one restores the original order."""
        sorted_by = (column, order) if 0 <= column < len(self._columns) else None
        if sorted_by != self._sorted_by:
            self._sorted_by = sorted_by
            self._show()

    # the program's interface

    def set_rows(self, rows: Iterable[Row]) -> None:
        """Replace all rows; keep filter and order."""
        self.set_listing(InMemoryListing(rows, self._columns))

    def set_listing(self, listing: Listing[Any]) -> None:
        """Show another listing; keep filter and order."""
        self._show(listing)

    def set_filter(self, text: str) -> None:
        """Show only rows that hold every word of the text, ignoring case."""
        words = " ".join(text.split())
        if words != self._filter:
            self._filter = words
            self._show()

    def set_with_archived(self, *, shown: bool) -> None:
        """Include archived rows, or leave them out."""
        if shown != self._with_archived:
            self._with_archived = shown
            self._show()

    def narrow(self, only: frozenset[str]) -> None:
        """Show only rows to which all of these apply; asked again for another technician."""
        self._only = only
        self._show()

    @property
    def total(self) -> int:
        """The number of rows, without the filter."""
        return self.listing.count(archived=self._with_archived)

    def count_with_archived(self) -> int:
        """Return how many rows would pass the filter with archived ones included."""
        return len(self.listing.find(self._filter, archived=True, only=self._only, me=self.me()))

    def row_at(self, position: int) -> Any:
        """Return the row shown at a position."""
        place = self._shown[position]
        if place not in self._rows:
            if len(self._rows) >= _ROWS_HELD:
                self._rows.clear()
            start = position - position % _AT_ONCE
            nearby = self._shown[start : start + _AT_ONCE]
            places = [one for one in nearby if one not in self._rows]
            self._rows.update(zip(places, self.listing.rows(places), strict=True))
        return self._rows[place]

    def sample(self, most: int) -> list[Any]:
        """Return rows spread over the whole list, without the filter."""
        count = len(self.listing)
        return self.listing.rows(range(0, count, max(1, count // most)))

    def ids_at(self, first: int, last: int) -> list[str]:
        """Return the ids of the rows between two positions, both included."""
        ids = self.listing.ids
        return [ids[place] for place in self._shown[first : last + 1]]

    def archived_between(self, first: int, last: int) -> int:
        """Return how many of the rows between two positions, both included, are archived."""
        return self.listing.archived_among(self._shown[first : last + 1])

    def position_of(self, record_id: str) -> int | None:
        """Return the position of a record, or None if it is not shown."""
        place = self.listing.place_of(record_id)
        try:
            return None if place is None else self._shown.index(place)
        except ValueError:
            return None

    def positions_of(self, record_ids: Iterable[str]) -> list[int]:
        """Return the positions of those records that are shown, in order."""
        place_of = self.listing.place_of
        places = {place_of(one) for one in record_ids}
        return [position for position, place in enumerate(self._shown) if place in places]

    @property
    def asked(self) -> dict[str, Any]:
        """The arguments of the listing's ``find``: filter, order and the rest."""
        order, descending = "", False
        if self._sorted_by is not None:
            order = self._columns[self._sorted_by[0]].order_name
            descending = self._sorted_by[1] == Qt.SortOrder.DescendingOrder
        return {
            "words": self._filter,
            "order": order,
            "descending": descending,
            "archived": self._with_archived,
            "only": self._only,
            "me": self.me(),
        }

    def _show(self, other: Listing[Any] | None = None) -> None:
        listing = other if other is not None else self.listing
        listing.troubled = self._tell_later
        shown = listing.find(**self.asked)
        self.beginResetModel()
        if listing is not self.listing:
            self._rows.clear()
        self.listing, self._shown = listing, shown
        self.endResetModel()

    def _tell_later(self, problem: LibraryProblem) -> None:
        """Emit after painting: a slot may open a window. Rows that lack something are not kept."""

        def tell() -> None:
            self._rows.clear()
            self.failed.emit(problem)

        QTimer.singleShot(0, self, tell)
