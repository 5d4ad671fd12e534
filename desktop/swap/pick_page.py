"""Which cartridge goes on: a list to filter, earlier ones of this deck first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from core.language import Name, message
from core.records import Deck, arm_of, seen_with_arm
from core.store import FittingRow, Library, RecordRow, Stored
from desktop.widgets import theme
from desktop.widgets.language import tr
from desktop.widgets.local_time import day
from desktop.widgets.page import Page, PageTitle
from desktop.widgets.panels import add_all, button, text_label
from desktop.widgets.plan_words import name_words
from desktop.widgets.record_table import Column, RecordTable, TableSpec


@dataclass(frozen=True, slots=True)
class Candidate:
    """One cartridge of the list, with what this deck knows of it."""

    id: str
    name: str
    stylus: str
    here: str
    was_here: bool
    """Whether it was on this deck before, and is not now."""


_TABLE: Final = TableSpec(
    name="cartridges",
    columns=(
        Column(message("swap.pick_page.cartridge"), lambda row: row.name),
        Column(message("swap.pick_page.stylus"), lambda row: row.stylus),
        Column(message("swap.pick_page.on_this_deck"), lambda row: row.here),
    ),
    actions=(),
    empty=message("swap.pick_page.no_cartridge_is_on_file"),
)


class PickPage(Page):
    """The list of cartridges."""

    picked = Signal(str)  # the id of the cartridge
    # The id of the fitting that came after the one the person set out from
    latest_wanted = Signal(str)
    # The name that was looked for, for a cartridge that is not on file
    add_wanted = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._latest = ""
        line = theme.em(self)
        self.title = PageTitle(tr("swap.pick_page.fit_another_cartridge"), self)
        self.lead = text_label("", "muted")
        self.notice = text_label("", "problem")
        self.latest_button = button(tr("swap.pick_page.plan_from_the_latest_fitting"))
        self.records = RecordTable(_TABLE)
        self.plan_button = button(
            tr("swap.pick_page.show_the_plan"),
            tip=tr("swap.pick_page.nothing_is_begun_yet"),
            primary=True,
        )
        back = button(tr("swap.pick_page.back"), tip=tr("swap.pick_page.nothing_was_changed"))
        self.back_button = back
        self.add_button = button(
            tr("swap.pick_page.new_cartridge"), tip=tr("swap.pick_page.new_cartridge_tip")
        )
        self.add_button.clicked.connect(self._add)
        notice_row = add_all(QHBoxLayout(), (self.notice, 1), self.latest_button)
        bar = add_all(QHBoxLayout(), back, self.add_button, 1, self.plan_button)
        column = QVBoxLayout(self)
        column.setContentsMargins(round(line * 0.5), round(line * 0.3), round(line * 0.5), 8)
        add_all(column, self.title, self.lead, notice_row, (self.records, 1), bar)
        self.title.entered.connect(self.records.focus_filter)
        self.records.opened.connect(self.picked)
        self.records.picked.connect(lambda _one: self._mark())
        self.plan_button.clicked.connect(self._go_on)
        self.latest_button.clicked.connect(lambda: self.latest_wanted.emit(self._latest))
        back.clicked.connect(self.closed)

    def show_deck(self, library: Library, deck: Stored[Deck], from_fitting: str) -> None:
        """List the cartridges for a deck, as its fitting ``from_fitting`` left it.

        Raises LibraryProblem if the library can't be read.
        """
        rows = library.fittings(deck_id=deck.id)
        arm = next(row.arm_key for row in rows if row.id == from_fitting)
        rows = tuple(row for row in rows if row.arm_key == arm)
        known = arm_of(deck.thing, arm)
        seen = deck.thing if known is None else seen_with_arm(deck.thing, known)
        finished = [row for row in rows if row.finished]
        fitted = next(row for row in rows if row.id == from_fitting)
        self.lead.setText(
            tr(
                "swap.pick_page.thing_on_it_by_this",
                thing=Name(name_words(seen.name)),
                cartridge_name=Name(name_words(fitted.cartridge_name)),
                day=Name(day(fitted.last_at)),
            )
        )
        self._warn(fitted, finished, [row for row in rows if not row.finished])
        made = _candidates(library.cartridges(archived=False), finished, fitted)
        picked = self.records.current_id
        self.records.set_rows(made)
        if not (picked and self.records.pick(picked)):
            self._pick_first(library, seen, [one.id for one in made if one.was_here])
        self._mark()

    def begin(self) -> None:
        """Put the cursor into the filter."""
        self.records.focus_filter()

    def _pick_first(self, library: Library, deck: Deck, were_here: list[str]) -> None:
        """Make current the one that was on this deck last and fits it; none where there is none."""
        # Imported here: a window that swaps nothing does not need it.
        from core.workflow import misfits

        for one in were_here:
            if not misfits(deck, library.cartridge(one).thing):
                self.records.pick(one)
                return
        self.records.pick_none()

    def _warn(
        self, fitted: FittingRow, finished: list[FittingRow], under_way: list[FittingRow]
    ) -> None:
        newer = [row for row in finished if row.started_at > fitted.started_at]
        latest = max(newer, key=lambda row: row.started_at, default=None)
        self._latest = latest.id if latest else ""
        said = []
        if latest is not None:
            said.append(
                tr(
                    "swap.pick_page.not_the_latest_cartridge_name",
                    cartridge_name=Name(name_words(latest.cartridge_name)),
                    day=Name(day(latest.last_at)),
                )
            )
        if under_way:
            other = under_way[0]
            said.append(
                tr(
                    "swap.pick_page.a_fitting_of_cartridge_name",
                    cartridge_name=Name(name_words(other.cartridge_name)),
                    day=Name(day(other.started_at)),
                )
            )
        self.notice.setText("\n".join(said))
        self.notice.setVisible(bool(said))
        self.latest_button.setVisible(latest is not None)

    def _mark(self) -> None:
        self.plan_button.setEnabled(bool(self.records.current_id))

    def _add(self) -> None:
        nothing_found = not self.records.model.rowCount()
        self.add_wanted.emit(self.records.filter.text().strip() if nothing_found else "")

    def _go_on(self) -> None:
        if self.records.current_id:
            self.picked.emit(self.records.current_id)


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
            here = tr("swap.pick_page.on_the_deck_by_this")
        elif row.id in last:
            here = tr("swap.pick_page.was_fitted_here_on_day", day=Name(day(last[row.id].last_at)))
        was_here = row.id in last and row.id != fitted.cartridge_id
        made.append(Candidate(row.id, row.name, row.feature, here, was_here))
    order = {one: place for place, one in enumerate(last)}
    return sorted(
        made,
        key=lambda one: (
            one.id == fitted.cartridge_id,
            order.get(one.id, len(order)),
            one.name.casefold(),
        ),
    )
