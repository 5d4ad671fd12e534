"""Which cartridge goes on: a list to filter, earlier ones of this deck first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from core.records import Deck
from core.store import FittingRow, Library, RecordRow, Stored
from desktop.swap.plan_words import day, name_words
from desktop.widgets import theme
from desktop.widgets.page_title import PageTitle
from desktop.widgets.panels import button, words
from desktop.widgets.record_list.rows import Column
from desktop.widgets.record_list.shelf import Shelf, ShelfPlan


@dataclass(frozen=True, slots=True)
class Candidate:
    """One cartridge of the list, with what this deck knows of it."""

    id: str
    name: str
    stylus: str
    here: str


_SHELF: Final = ShelfPlan(
    name="cartridges",
    columns=(
        Column("Cartridge", lambda row: row.name, letters=36),
        Column("Stylus", lambda row: row.stylus, letters=18),
        Column("On this deck", lambda row: row.here, letters=44),
    ),
    deeds=(),
    empty="No cartridge is on file. Add one in the library, under Cartridges; then come back.",
)


class PickPage(QWidget):
    """The question which cartridge it is to be.

    Signals
    -------
    picked
        The id of the cartridge.
    latest_wanted
        The id of the fitting that came after the one the person set out from.
    left
        The person backs out.
    """

    picked = Signal(str)
    latest_wanted = Signal(str)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._latest = ""
        line = theme.em(self)
        self.title = PageTitle("Fit another cartridge", self)
        self.lead = words("", "muted")
        self.notice = words("", "problem")
        self.latest_button = button("Plan from the &latest fitting")
        self.shelf = Shelf(_SHELF)
        self.plan_button = button("&Show the plan", tip="Nothing is begun yet", primary=True)
        back = button("&Back", tip="Nothing was changed")
        self.back_button = back
        hint = words(
            "Not on file? Add it in the library, under Cartridges, and come back here.", "muted"
        )
        notice_row = QHBoxLayout()
        notice_row.addWidget(self.notice, 1)
        notice_row.addWidget(self.latest_button)
        bar = QHBoxLayout()
        bar.addWidget(back)
        bar.addWidget(hint, 1)
        bar.addWidget(self.plan_button)
        column = QVBoxLayout(self)
        column.setContentsMargins(round(line * 0.5), round(line * 0.3), round(line * 0.5), 8)
        column.addWidget(self.title)
        column.addWidget(self.lead)
        column.addLayout(notice_row)
        column.addWidget(self.shelf, 1)
        column.addLayout(bar)
        self.title.entered.connect(self.shelf.focus_filter)
        self.shelf.opened.connect(self.picked)
        self.shelf.picked.connect(lambda _one: self._mark())
        self.plan_button.clicked.connect(self._go_on)
        self.latest_button.clicked.connect(lambda: self.latest_wanted.emit(self._latest))
        back.clicked.connect(self.left)

    def show_deck(self, library: Library, deck: Stored[Deck], from_fitting: str) -> None:
        """List the cartridges for a deck, as its fitting ``from_fitting`` left it.

        Raises
        ------
        LibraryProblem
            If the library can't be read.
        """
        rows = library.fittings(deck_id=deck.id)
        finished = [row for row in rows if row.finished]
        fitted = next(row for row in rows if row.id == from_fitting)
        self.lead.setText(
            f"{name_words(deck.thing.name)}. On it by this fitting: "
            f"{name_words(fitted.cartridge_name)}, "
            f"finished {day(fitted.last_at)}. Which cartridge goes on? Type a few letters."
        )
        self._warn(fitted, finished, [row for row in rows if not row.finished])
        self.shelf.set_rows(_candidates(library.cartridges(archived=False), finished, fitted))
        self._mark()

    def begin(self) -> None:
        """Put the cursor into the filter."""
        self.shelf.focus_filter()

    def _warn(
        self, fitted: FittingRow, finished: list[FittingRow], under_way: list[FittingRow]
    ) -> None:
        newer = [row for row in finished if row.started_at > fitted.started_at]
        latest = max(newer, key=lambda row: row.started_at, default=None)
        self._latest = latest.id if latest else ""
        said = []
        if latest is not None:
            said.append(
                f"⚠ Not the latest: {name_words(latest.cartridge_name)} was fitted after it, "
                f"{day(latest.last_at)}. A plan from this fitting fits only if the deck was set "
                "back to it."
            )
        if under_way:
            other = under_way[0]
            said.append(
                f"⚠ A fitting of {name_words(other.cartridge_name)} on this deck is under way "
                f"since {day(other.started_at)}; what was moved there is not in this plan."
            )
        self.notice.setText("\n".join(said))
        self.notice.setVisible(bool(said))
        self.latest_button.setVisible(latest is not None)

    def _mark(self) -> None:
        self.plan_button.setEnabled(bool(self.shelf.current_id))

    def _go_on(self) -> None:
        if self.shelf.current_id:
            self.picked.emit(self.shelf.current_id)


def _candidates(
    rows: tuple[RecordRow, ...], finished: list[FittingRow], fitted: FittingRow
) -> list[Candidate]:
    """Return the cartridges, those that were on this deck first, the latest of them on top."""
    last: dict[str, FittingRow] = {}
    for fitting in finished:  # the one last worked on comes first
        last.setdefault(fitting.cartridge_id, fitting)
    made = []
    for row in rows:
        here = ""
        if row.id == fitted.cartridge_id:
            here = "on the deck by this fitting"
        elif row.id in last:
            here = f"was fitted here on {day(last[row.id].last_at)}, its settings are known"
        made.append(Candidate(row.id, row.name, row.feature, here))
    order = {one: place for place, one in enumerate(last)}
    return sorted(
        made,
        key=lambda one: (
            one.id == fitted.cartridge_id,
            order.get(one.id, len(order)),
            one.name.casefold(),
        ),
    )
