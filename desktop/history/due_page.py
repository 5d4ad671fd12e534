"""The decks that are due for their check, the one due longest first."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any, Final, NamedTuple

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from core.language import Numbers, Text, message
from core.maintenance.search import DueSearch
from core.store import Library, LibraryProblem
from desktop.widgets import theme
from desktop.widgets.language import tr
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.page import Page
from desktop.widgets.panels import add_all
from desktop.widgets.record_table import Column, InMemoryListing, RecordTable, RowAction, TableSpec

_AT_ONCE: Final = 250
"""Rows made ready to be filtered between two events."""


class _Row(NamedTuple):
    id: str
    name: str
    owner_reference: str
    why: str
    last: str
    on: str


def _column(title: Text, field: str, *, shrinks: bool = True) -> Column:
    def text(row: Any) -> str:
        return str(getattr(row, field))

    return Column(title, text, shrinks=shrinks)


_PLAN: Final = TableSpec(
    name=message("history.due_page.decks_due_for_a_check"),
    columns=(
        _column(message("history.due_page.deck"), "name"),
        _column(message("history.due_page.owners_ref"), "owner_reference"),
        _column(message("history.due_page.why"), "why"),
        _column(message("history.due_page.last_done"), "last", shrinks=False),
        _column(message("history.due_page.due_since"), "on", shrinks=False),
    ),
    actions=(
        RowAction(
            "history",
            message("history.due_page.history"),
            message("history.due_page.what_is_due_on_this"),
        ),
        RowAction(
            "fit",
            message("history.due_page.start_a_fitting_with_it"),
            message("history.due_page.begins_a_fitting_this_deck"),
        ),
    ),
    empty=message("history.due_page.no_deck_is_due_for"),
)


class DuePage(Page):
    """A list to filter, with ways to the history of a deck and to a new fitting."""

    escape_leaves = True
    # The rows on show, to be put on paper, and the day they are due on
    paper_wanted = Signal(object, object)
    history_wanted = Signal(str)  # the id of a deck whose history is to be seen
    # The id of a deck to begin a fitting on, and an empty one for the cartridge
    start_wanted = Signal(str, str)

    def __init__(
        self,
        library: Library,
        numbers: Numbers,
        messages: Messages,
        *,
        today: Callable[[], date] = date.today,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._library, self._messages, self._today = library, messages, today
        self._numbers = numbers
        self._search = DueSearch(library)
        self.setAccessibleName(tr("history.due_page.decks_due_for_a_check_2"))
        self.title = QLabel(tr("history.due_page.due_for_a_check"))
        self.title.setFont(theme.scaled(self.font(), 1.5, bold=True))
        basis = QLabel(tr("history.due_page.by_the_end_of_each"))
        basis.setProperty("kind", "muted")
        basis.setWordWrap(True)
        self.records = RecordTable(_PLAN, numbers=numbers)
        self.close_button = QPushButton(tr("history.due_page.close"))
        self.close_button.setAccessibleDescription(tr("history.due_page.back_to_the_library"))
        self.paper_button = QPushButton(tr("history.due_page.on_paper"))
        self.paper_button.setToolTip(tr("history.due_page.on_paper_tip"))
        bar = add_all(QHBoxLayout(), self.close_button, 1, self.paper_button)
        line = theme.em(self)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(round(line * 0.5), round(line * 0.3), round(line * 0.5), 8)
        add_all(outer, self.title, basis, (self.records, 1), bar)
        self.close_button.clicked.connect(self.closed)
        self.paper_button.clicked.connect(self._put_on_paper)
        self.records.opened.connect(self.history_wanted)
        self.records.action_chosen.connect(self._do)
        self._timer = QTimer(self, interval=0)
        self._timer.timeout.connect(self._go_on)
        self._begin()

    def begin(self) -> None:
        """Put the cursor where the person starts."""
        self.records.focus_filter()

    def look_again(self) -> None:
        """Look for due decks again; what is typed to find one, and the row picked, stay."""
        self._begin()

    def _begin(self) -> None:
        self._is_shown = False
        self._search.begin()
        self._timer.start()

    def finish(self) -> None:
        """Finish the search at once."""
        while self._timer.isActive():
            self._go_on()

    def _go_on(self) -> None:
        try:
            if not self._search.is_done:
                self._search.go_on()
                return
            if not self._is_shown:
                self._is_shown = True
                self._show()
            elif self._is_ready_to_filter():
                self._timer.stop()
        except LibraryProblem as problem:
            self._timer.stop()
            tell_problem(self._messages, problem)

    def _is_ready_to_filter(self) -> bool:
        """Make some more rows ready, so that the first stroke takes no longer than another."""
        listing = self.records.model.listing
        return not isinstance(listing, InMemoryListing) or listing.prepare(_AT_ONCE)

    def _show(self) -> None:
        due = self._search.due(self._today())
        # Of most decks the same is due: thousands of sentences would keep the window waiting.
        kinds = {over.says: over for one in due for over in one.over}
        why = {says: self._numbers.text(over.why) for says, over in kinds.items()}
        known = {row.id: row for row in self._library.decks(archived=False)}
        self.records.set_rows(
            [
                _Row(
                    one.deck_id,
                    known[one.deck_id].name,
                    known[one.deck_id].owner_reference,
                    " ".join(why[over.says] for over in one.over),
                    one.last.isoformat(),
                    one.on.isoformat(),
                )
                for one in due
                if one.deck_id in known
            ]
        )

    def _put_on_paper(self) -> None:
        from core.paper.due_sheet import DueRow  # nobody needs it to see the list

        shown = [
            DueRow(
                row.name,
                row.owner_reference,
                row.why,
                date.fromisoformat(row.last),
                date.fromisoformat(row.on),
            )
            for row in map(self.records.model.row_at, range(self.records.model.rowCount()))
        ]
        self.paper_wanted.emit(shown, self._today())

    def _do(self, key: str, ids: list[str]) -> None:
        if key == "history":
            self.history_wanted.emit(ids[0])
        else:
            self.start_wanted.emit(ids[0], "")
