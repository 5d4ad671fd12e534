"""The history of a deck: what is due, what was read over the years, what changed, what was done."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from functools import partial
from typing import Final

from PySide6.QtCore import QSignalBlocker, Qt, Signal, SignalInstance
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from core.fitting import Entry, HoursRead, Withdrawn, new_id
from core.history import group_of, groups_of, timeline_of
from core.language import Numbers, day_of, message
from core.maintenance.due import due_of
from core.maintenance.gathering import on_arms_of
from core.maintenance.model import Due
from core.maintenance.service_due import counting
from core.records import Deck
from core.store import FittingRow, Library, LibraryProblem, Stored
from core.swap import Past
from desktop.history.changes import ChangesPanel
from desktop.history.due_panel import DuePanel
from desktop.history.fittings_list import FittingsList
from desktop.history.group_box import GroupBox
from desktop.history.history_loader import HistoryLoader
from desktop.history.hours_form import HoursForm
from desktop.history.service_panel import ServicePanel
from desktop.history.small_charts import SmallCharts
from desktop.widgets import theme
from desktop.widgets.keys import bind
from desktop.widgets.language import said, told, tr
from desktop.widgets.log_list import LogList
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.page import Page, PageTitle
from desktop.widgets.panels import add_all, announce, button, column_in, text_label
from desktop.widgets.plain_text import one_line
from desktop.widgets.side_by_side import SideBySide

_FIRST_LOOK: Final = 2
_NOTHING: Final = message("history.history_page.no_fitting_of_this_deck")


class HistoryPage(Page):
    """The history of one deck.

    Raises LibraryProblem if the deck or the list of its fittings can't be read.
    """

    escape_leaves = True
    fitting_wanted = Signal(str)  # the id of a fitting to open
    # deck, timeline, what is due and the service record, to be put on paper
    paper_wanted = Signal(object, object, object, object)
    swap_wanted = Signal(str)  # the id of a finished fitting another cartridge is to follow
    pictures_wanted = Signal(str, str)  # "deck" and its id: its pictures are to be seen
    start_wanted = Signal(str, str)  # the ids of a deck and a cartridge to begin a fitting with

    def __init__(
        self,
        library: Library,
        deck_id: str,
        numbers: Numbers,
        messages: Messages,
        *,
        who: str = "",
        today: Callable[[], date] = date.today,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._library, self._deck_id, self._who = library, deck_id, who
        self._numbers, self._messages, self._today = numbers, messages, today
        self._deck: Stored[Deck] = library.deck(deck_id)
        self._unkept: tuple[HoursRead | Withdrawn, str] | None = None
        self._was_loaded = False
        self.loader = HistoryLoader(library, deck_id, numbers, self)
        self.setAccessibleName(tr("history.history_page.history_of_a_deck"))
        self._build()
        self._lay_out()
        self._connect()
        self._read()

    def begin(self) -> None:
        """Put the focus on the title, and announce it."""
        self.title.setFocus(Qt.FocusReason.OtherFocusReason)
        announce(self.title, f"{self.title.text()}. {self._what.text()}")

    def subject(self) -> tuple[str, str]:
        """Return the deck."""
        return "deck", self._deck_id

    def look_again(self) -> None:
        """Show what another window has entered; what is typed and picked here stays."""
        try:
            self._deck = self._library.deck(self._deck_id)
            self._what.setText(self._deck_words())
            self._read()
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)

    def may_leave(self) -> bool:
        """Whether nothing is typed that would be lost, or the person says it may be."""
        typed = self.hours if self.hours.has_unsaved() else self.service
        if not typed.has_unsaved():
            return True
        answer = self._messages.ask(
            tr("history.history_page.typed_but_not_kept"),
            tr("history.history_page.stylus_hours_are_typed_but")
            if typed is self.hours
            else tr("history.history_page.service_is_typed_but"),
            [
                tr("history.history_page.go_back_to_them"),
                tr("history.history_page.leave_without_them"),
            ],
            stays=0,
        )
        if answer == 1:
            self.service.throw_away()
            return True
        typed.form.start()
        return False

    # construction

    def _build(self) -> None:
        self.title = PageTitle(tr("history.history_page.history"), self)
        self._what = text_label(self._deck_words(), "muted")
        self._progress = text_label("", "muted")
        self._progress.setWordWrap(False)
        self.dues = DuePanel(self._numbers)
        self.service = ServicePanel(
            self._library,
            self._deck_id,
            self._numbers,
            self._messages,
            who=self._who,
            today=self._today,
        )
        self.hours_button = button(
            tr("history.history_page.enter_stylus_hours"),
            tip=tr("history.history_page.how_long_the_stylus_has"),
        )
        self.hours = HoursForm(self._numbers)
        self.hours.hide()
        self.group = GroupBox()
        self.group.hide()
        self.over_time = SmallCharts(self._numbers)
        self.changes = ChangesPanel(self._numbers)
        self.fittings = FittingsList()
        self.entries = LogList(
            self._numbers, title=tr("history.history_page.entry_by_entry_the_fitting")
        )
        self.paper_button = button(
            tr("history.history_page.on_paper"), tip=tr("history.history_page.on_paper_tip")
        )
        self.paper_button.setEnabled(False)
        self.close_button = button(
            tr("history.history_page.close"),
            keys="Ctrl+W",
            tip=tr("history.history_page.back_to_where_you_came"),
        )

    def _deck_words(self) -> str:
        deck = self._deck.thing
        archived = " (archived)" if self._deck.archived else ""
        owner = f"  ·  {one_line(deck.owner_reference)}" if deck.owner_reference else ""
        return f"{one_line(deck.name)}{archived}{owner}"

    def _lay_out(self) -> None:
        line = theme.em(self)
        top = QHBoxLayout()
        top.setSpacing(round(line * 0.6))
        add_all(top, self.title, (self._what, 1), self._progress, self.group, self.hours_button)
        first, second = QWidget(), QWidget()
        for side, parts in (
            (first, (self.dues, self.hours, self.service, self.over_time, self.changes)),
            (second, (self.fittings, self.entries)),
        ):
            column = column_in(side)
            column.setSpacing(round(line * 0.4))
            for part in parts:
                column.addWidget(part)
        self.sides = SideBySide(
            first,
            second,
            (
                tr("history.history_page.due_over_time_changes"),
                tr("history.history_page.fittings_and_entries"),
            ),
        )
        bar = add_all(QHBoxLayout(), self.close_button, 1, self.paper_button)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(round(line * 0.5), round(line * 0.3), round(line * 0.5), 8)
        outer.setSpacing(round(line * 0.35))
        add_all(outer, top, (self.sides, 1), bar)

    def _connect(self) -> None:
        self.title.entered.connect(self.over_time.take_focus)
        self.close_button.clicked.connect(self.leave)
        self.service.pictures_button.clicked.connect(
            lambda: self.pictures_wanted.emit("deck", self._deck_id)
        )
        self.hours_button.clicked.connect(self._ask_hours)
        self.group.currentIndexChanged.connect(lambda _place: self._show_group())
        self.paper_button.clicked.connect(self._put_on_paper)
        self.dues.same_wanted.connect(self._fit_the_same)
        self.service.changed.connect(self.look_again)
        self.hours.given.connect(self._keep_hours)
        self.hours.given_up.connect(self._drop_hours)
        self.hours.taken_back.connect(self._take_hours_back)
        self.fittings.opened.connect(lambda one: self._go(self.fitting_wanted, one))
        self.fittings.swap_wanted.connect(lambda one: self._go(self.swap_wanted, one))
        self.fittings.picked.connect(self._show_entries)
        self.loader.went_on.connect(self._on_loaded)
        self.loader.troubled.connect(partial(tell_problem, self._messages))
        bind(self, "Ctrl+W", self.leave)

    def end(self) -> None:
        """Compute nothing more, and wait for what is being computed in a thread."""
        self.loader.stop()
        super().end()

    # behaviour

    def _read(self) -> None:
        rows = self._library.fittings(deck_id=self._deck_id, archived=False)
        self.fittings.show_rows(rows)
        self._services = self._library.service.of_deck(self._deck_id)
        cartridge = None
        if rows:
            latest_row = max(rows, key=lambda row: row.started_at)
            cartridge = self._library.cartridge(latest_row.cartridge_id).thing
        on_arms = on_arms_of(self._library, self._deck.thing, rows)
        self.service.show_record(self._services, self._deck, cartridge, on_arms)
        self.fittings.setVisible(bool(rows))
        for part in (self.over_time, self.changes, self.entries):
            part.setVisible(bool(rows) and self._was_loaded)
        if not self._was_loaded:
            self.dues.show_dues((), tr("history.history_page.loading"))
        self.loader.begin(rows)
        self.hours_button.setEnabled(bool(rows) and not self._library.read_only)
        self._offer_same()

    def _offer_same(self) -> None:
        """Offer to go on with the cartridge that is on the deck, or on the arm shown."""
        latest = self._latest()
        if latest is not None and not self._library.read_only and not self._deck.archived:
            self.dues.offer_same(latest.cartridge_name, goes_on=not latest.finished)
        else:
            self.dues.same_button.hide()

    def _on_loaded(self, count: int, of: int) -> None:
        is_done = self.loader.is_done
        self._progress.setText(
            ""
            if is_done
            else tr(
                "history.history_page.working_out_fitting_count_of",
                count=count + 1,
                of=of,
            )
        )
        if is_done:
            self._was_loaded = True
            self._offer_groups()
        if is_done and self.group.currentIndex() > 0:
            self._show_group()
        elif is_done or count == _FIRST_LOOK:
            self._show()

    def _offer_groups(self) -> None:
        """List the arms and headshells that fittings were made on, if there are several."""
        in_time = sorted(self.loader.pasts, key=lambda past: past.fitting.started_at)
        groups = groups_of(in_time)
        was = self.group.currentData()
        with QSignalBlocker(self.group):
            self.group.clear()
            self.group.addItem(tr("history.history_page.everything"), None)
            for one in reversed(groups):
                self.group.addItem(
                    one_line(self._numbers.value(one.label)), (one.arm, one.headshell)
                )
            keys = [(one.arm, one.headshell) for one in reversed(groups)]
            self.group.setCurrentIndex(keys.index(was) + 1 if was in keys else 0)
        self.group.setVisible(bool(groups))

    def _in_group(self) -> list[Past]:
        """Return the fittings to show: all, or those on one arm in one headshell."""
        wanted = self.group.currentData()
        return [
            past for past in self.loader.pasts if wanted is None or group_of(past) == tuple(wanted)
        ]

    def _show_group(self) -> None:
        shown = {past.fitting.id for past in self._in_group()}
        self.fittings.show_rows([row for row in self.loader.rows if row.id in shown])
        self._offer_same()
        self._show()

    def _show(self) -> None:
        pasts = self.loader.pasts
        timeline = timeline_of(self._in_group())
        self.over_time.show_timeline(timeline)
        self.changes.show_timeline(timeline)
        # What is not loaded yet may hold readings: "none" would be false.
        has_rows = bool(self.loader.rows)
        self.over_time.setVisible(has_rows and (self._was_loaded or bool(timeline.quantities)))
        self.changes.setVisible(has_rows and self._was_loaded)
        self.fittings.show_letters({stand.id: stand.letter for stand in timeline.stands})
        self.paper_button.setEnabled(self.loader.is_done)
        if self.loader.is_done:
            latest = max(pasts, key=lambda past: past.fitting.started_at, default=None)
            self.dues.show_dues(self._dues(pasts, latest), said(_NOTHING))
            self._show_entries(self.fittings.current_id)

    def _put_on_paper(self) -> None:
        pasts = self.loader.pasts
        latest = max(pasts, key=lambda past: past.fitting.started_at, default=None)
        dues = self._dues(pasts, latest)
        self.paper_wanted.emit(self._deck.thing, timeline_of(pasts), dues, self._services)

    def _dues(self, pasts: list[Past], latest: Past | None) -> tuple[Due, ...]:
        try:
            cartridge = (
                None
                if latest is None
                else self._library.cartridge(latest.fitting.cartridge_id).thing
            )
            on_arms = on_arms_of(self._library, self._deck.thing, self.loader.rows)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return ()
        return due_of(
            self._deck.thing,
            cartridge,
            pasts,
            self._today(),
            elsewhere=self.loader.elsewhere,
            services=counting(self._services),
            on_arms=on_arms,
        )

    def _latest(self) -> FittingRow | None:
        """Return the fitting whose cartridge is on the deck, or the arm shown: hours go there."""
        wanted = self.group.currentData()
        shown = {past.fitting.id for past in self._in_group()}
        rows = [row for row in self.loader.rows if wanted is None or row.id in shown]
        return max(rows, key=lambda row: row.started_at, default=None)

    def _fit_the_same(self) -> None:
        """Go to the start with deck and cartridge chosen, or on with what is in progress."""
        latest = self._latest()
        if latest is None or not self.may_leave():
            return
        if latest.finished:
            self.start_wanted.emit(self._deck_id, latest.cartridge_id)
        else:
            self.fitting_wanted.emit(latest.id)

    def _ask_hours(self) -> None:
        latest = self._latest()
        if latest is None:
            return
        here = self._last_hours(latest.cartridge_id)
        elsewhere = [
            hours
            for visit in self.loader.elsewhere
            if visit.cartridge_id == latest.cartridge_id
            for hours in visit.hours
        ]
        last = max(elsewhere, key=lambda hours: hours.day, default=None)
        day = day_of(here[1].at) if here is not None else None
        if last is not None and (day is None or last.day > day):
            self.hours.ask(last.hours)
        elif here is not None and isinstance(here[1].body, HoursRead):
            self.hours.ask(here[1].body.hours, day)
        else:
            self.hours.ask(None)

    def _last_hours(self, cartridge_id: str) -> tuple[str, Entry] | None:
        """Return the last hours entered for a cartridge on this deck, and in which fitting."""
        read = [
            (past.fitting.id, entry)
            for past in self.loader.pasts
            if past.fitting.cartridge_id == cartridge_id
            for entry in past.fitting.counting()
            if isinstance(entry.body, HoursRead)
        ]
        return max(read, key=lambda pair: pair[1].at, default=None)

    def _take_hours_back(self) -> None:
        latest = self._latest()
        last = self._last_hours(latest.cartridge_id) if latest is not None else None
        if last is None:
            return
        fitting_id, entry = last
        self._keep(fitting_id, Withdrawn(entry=entry.id))

    def _keep_hours(self, body: HoursRead) -> None:
        latest = self._latest()
        if latest is not None:
            self._keep(latest.id, body)

    def _keep(self, fitting_id: str, body: HoursRead | Withdrawn) -> None:
        # A retry reuses the id: whatever became of the first attempt, the entry is stored once.
        entry_id = self._unkept[1] if self._unkept and self._unkept[0] == body else new_id()
        self._unkept = body, entry_id
        try:
            self._library.append(fitting_id, body, who=self._who, entry_id=entry_id)
        except LibraryProblem as problem:
            self.hours.refuse(told(problem))
            return
        self._unkept = None
        self._drop_hours()
        try:
            self._read()
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)

    def _drop_hours(self) -> None:
        self.hours.empty()
        self.hours.hide()
        self.hours_button.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_entries(self, fitting_id: str) -> None:
        past = next((one for one in self.loader.pasts if one.fitting.id == fitting_id), None)
        # One that is not loaded may hold entries.
        self.entries.setVisible(past is not None)
        if past is None:
            return
        deck = past.deck
        self.entries.show_fitting(past.fitting, parallel=not deck.arm.is_pivoted, deck=deck)

    def _go(self, wanted: SignalInstance, fitting_id: str) -> None:
        if self.may_leave():
            wanted.emit(fitting_id)
