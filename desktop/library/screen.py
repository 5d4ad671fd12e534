"""The first screen: resume or start a fitting, and four tables of what is on file."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QPushButton,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from core.language import Name, Numbers
from core.records import arm_of, seen_with_arm
from core.store import FittingRow, Library, LibraryProblem
from core.store.listing import Listing
from desktop.library.acts import LibraryActs
from desktop.library.due_button import DueButton
from desktop.library.export_progress import ExportProgress
from desktop.library.lists_reader import ListsReader, Load
from desktop.library.other_fittings import MOST, OtherFittings
from desktop.library.tables import (
    CARTRIDGES,
    DECKS,
    FINISHED,
    HEADSHELLS,
    TEST_RECORDS,
    UNDER_WAY,
    with_jobs,
)
from desktop.library.welcome import Welcome
from desktop.widgets import theme
from desktop.widgets.following_area import FollowingArea
from desktop.widgets.keys import bind
from desktop.widgets.language import step_words, tr
from desktop.widgets.local_time import moment, today
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.page import Page
from desktop.widgets.panels import add_all, column_in
from desktop.widgets.plain_text import plain_label
from desktop.widgets.preferences import Preferences
from desktop.widgets.record_table import RecordTable, TableSpec
from desktop.widgets.resume_button import ResumeButton, shortened
from desktop.widgets.technician_box import TechnicianBox
from desktop.widgets.undo_bar import UndoBar, let_undo_through

if TYPE_CHECKING:
    from core.records import Cartridge, Deck
    from desktop.library.import_export import ImportExport

_AFTER_PAINT_MS: Final = 50
_TOO_SHORT: Final = 16
"""With fewer letters than these two names tell nothing: the deck's has the room of both."""
_LOW_EM: Final = 30.0
"""A window lower than so many lines of type has no room for drawings."""
_MOST_AT_ONCE: Final = 3000
"""Records in the library whose lists are read again without a noticeable wait."""


class LibraryScreen(Page):
    """The library."""

    is_list = True
    sign_shows = None

    # Ids of a deck and a cartridge that are picked already; both may be empty
    start_wanted = Signal(str, str)
    fitting_wanted = Signal(str)  # the id of a fitting to open
    # deck or cartridge, and the id of the one to correct, empty for a new one
    edit_wanted = Signal(str, str)
    copy_wanted = Signal(str, str)  # the same, for a new one that starts as a copy
    swap_wanted = Signal(str)  # the id of a finished fitting whose deck gets another cartridge
    rehearsal_wanted = Signal()  # the person wants to rehearse on a simulated deck
    history_wanted = Signal(str)  # the id of a deck whose history is to be seen
    paper_wanted = Signal(str)  # the id of a deck whose sheets are to be seen
    # deck, cartridge or fitting, and the id of the one whose pictures are to be seen
    pictures_wanted = Signal(str, str)
    jobs_wanted = Signal()  # the person wants to see the jobs
    due_wanted = Signal()  # the person wants to see the decks that are due for their check

    def __init__(
        self,
        library: Library,
        numbers: Numbers,
        messages: Messages,
        preferences: Preferences,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._library = library
        self._numbers = numbers
        self._messages = messages
        self._preferences = preferences
        self.export_progress = ExportProgress(library.address, messages)
        self.undo_bar = UndoBar()
        self.acts = LibraryActs(
            library, numbers, messages, self.undo_bar, lambda: preferences.who, self
        )
        self.acts.changed.connect(self.refresh_beside)
        bind(self, "Ctrl+Z", self.acts.undo)
        self._latest = ""
        self._wrote: int | None = None
        """What the library said of others' writing before long lists were read last."""
        # The words for the latest fitting, valid while its row stays the same.
        self._latest_row: FittingRow | None = None
        self._latest_words: tuple[FittingRow | None, Callable[[int], str], str] | None = None
        self._is_painted = self._waits_for_paint = False
        self._timer = QTimer(self, singleShot=True, interval=_AFTER_PAINT_MS)
        self._timer.timeout.connect(self.say_where_the_latest_stands)
        self._stale: list[RecordTable] = []
        """Lists to read when they are seen."""
        self._rest = QTimer(self, singleShot=True, interval=0)
        self._rest.timeout.connect(self._show_rest)
        self.setAccessibleName(tr("library.screen.library"))
        self._build_tables()
        self._build_head()
        self._arrange_widgets()
        let_undo_through(self, self.undo_bar)
        self.refresh()

    @cached_property
    def _exchange(self) -> ImportExport:
        """What takes documents in and writes them."""
        # Imported here: the first screen is shown without it.
        from desktop.library.import_export import ImportExport

        return ImportExport(
            self._library,
            self._numbers,
            self._messages,
            self.export_progress,
            lambda: self._preferences.who,
        )

    @property
    def numbers(self) -> Numbers:
        """How it writes numbers."""
        return self._numbers

    @property
    def is_idle(self) -> bool:
        """Whether nothing is under way, and there is nothing to undo."""
        return not (self.export_progress.is_busy or self.acts.is_busy or self.undo_bar.can_undo)

    def look_as(self, other: LibraryScreen) -> None:
        """Show the same shelf with the same search as another."""
        self.tabs.setCurrentIndex(other.tabs.currentIndex())
        for records, theirs in zip(self._loads, other._loads, strict=True):
            if theirs.filter.text():
                records.look_for(theirs.filter.text())

    def refresh(self) -> None:
        """Read the library again."""
        self._reader.give_up()
        self._rest.stop()
        try:
            self.under_way.read()  # the first screen needs it; the others are read when shown
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        self._show_anew(
            (self.finished, self.decks, self.cartridges, self.headshells, self.test_records)
        )

    def refresh_beside(self) -> None:
        """Read the library again; long lists are read beside the window and shown once they are."""
        tables = [one for one in self._loads if one is self.under_way or one.isVisible()]
        try:
            if not self._library.has_more_than(_MOST_AT_ONCE):
                self.refresh()
                return
            self._wrote = self._library.others_wrote()  # before anything is read
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        self._reader.start(tables)

    def _show_read(self, found: dict[RecordTable, Listing[Any]]) -> None:
        """Show the lists, and what follows from them after whatever waits: together it is long."""
        for records, listing in found.items():
            records.show_listing(listing)
        self._stale = [one for one in self._loads if one not in found]
        self._rest.start()

    def _show_rest(self) -> None:
        stale, self._stale = self._stale, []
        self._show_anew(stale)

    def _not_read(self, problem: LibraryProblem) -> None:
        self._wrote = None
        tell_problem(self._messages, problem)

    def _show_anew(self, stale: Sequence[RecordTable]) -> None:
        """Show what follows from the fittings under way; read these lists when they are seen."""
        for records in stale:
            records.refresh()
        self.who.refresh()
        listing = self.under_way.model.listing
        newest = listing.find()  # they come with the one last worked on first
        latest = listing.row(newest[0]) if newest else None
        others = newest[1:]
        self._latest = latest.id if latest else ""
        self._show_welcome(is_new=latest is None and self._is_new())
        self._show_others(listing.rows(others[:MOST]), len(others))
        self._say_what_is_next(latest)
        self.due.look()
        self._say_jobs()
        self._show_headshells()

    def _show_headshells(self) -> None:
        """Show the headshells once there are any: most decks have none that comes off."""
        try:
            are_kept = bool(self._library.headshells())
        except LibraryProblem:
            return  # the lists say what is wrong
        self.tabs.setTabVisible(self.tabs.indexOf(self.headshells), are_kept)

    def _show_others(self, rows: list[FittingRow], count: int) -> None:
        """Show what else is in progress."""
        try:
            of_jobs = [row.job_id for row in rows if row.job_id]
            jobs = {one.id: one.number for one in self._library.jobs.rows_of(of_jobs)}
        except LibraryProblem:
            jobs = {}  # the cards do without; the jobs' page says what is wrong
        self.others.show_rows(rows, count, jobs)

    def _say_jobs(self) -> None:
        """Say what is promised, on the button to the jobs; an owner at home never sees it."""
        try:
            overdue, due, here = self._library.jobs.waiting(today())
        except LibraryProblem:
            return  # only the button depends on it; the jobs' page says what is wrong
        kinds = {(True, True): "both", (True, False): "overdue", (False, True): "today"}
        kind = kinds.get((overdue > 0, due > 0), "here")
        counts = {"count": here, "overdue": overdue, "today": due}
        self.jobs.setText(tr("jobs.waiting", kind=kind, **counts))
        self.jobs.setVisible(here > 0)

    def _is_new(self) -> bool:
        """Whether nobody has fitted anything here yet."""
        try:
            return not self._library.fittings(limit=1)
        except LibraryProblem:
            return False  # only the welcome depends on it; the lists say what is wrong

    def _show_welcome(self, *, is_new: bool) -> None:
        shown, away = (self.welcome, self.under_way) if is_new else (self.under_way, self.welcome)
        place = self.tabs.indexOf(away)
        if place >= 0:
            words = self.tabs.tabText(place)
            was_current = self.tabs.currentIndex() == place
            # The new one first: without it the next tab would come to the front and be read.
            self.tabs.insertTab(place, shown, words)
            if was_current:
                self.tabs.setCurrentIndex(place)
            self.tabs.removeTab(place + 1)
            # Asked for, a hidden bar is laid out now: it would keep the room of both when shown.
            self.tabs.tabBar().tabRect(place)
        self.primary.setVisible(not is_new)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Once what it holds is painted, have time for what imports much.

        The area covers the page, which is never painted itself.
        """
        if watched is self.area.widget() and event.type() == QEvent.Type.Paint:
            self._is_painted = True
            if self._waits_for_paint:
                self._waits_for_paint = False
                self._timer.start()
        return super().eventFilter(watched, event)

    def look_again(self) -> None:
        """Show what another window has written, unless that is what was read last.

        Whoever watches for others takes a thread of one's own for another window.
        """
        try:
            wrote = self._library.others_wrote()
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        if wrote is None or wrote != self._wrote:
            self.refresh_beside()

    def say_where_the_latest_stands(self) -> None:
        """Show which step is next in the fitting to resume, without waiting for the timer."""
        self._timer.stop()
        if not self._latest:
            return
        try:
            self._say_step()
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)

    def show_deck(self, deck_id: str) -> None:
        """Bring a deck into view."""
        self.tabs.setCurrentWidget(self.decks)
        self.decks.pick(deck_id)

    def show_cartridge(self, cartridge_id: str) -> None:
        """Bring a cartridge into view."""
        self.tabs.setCurrentWidget(self.cartridges)
        self.cartridges.pick(cartridge_id)

    def show_headshell(self, headshell_id: str) -> None:
        """Bring a headshell into view."""
        self.tabs.setCurrentWidget(self.headshells)
        self.headshells.pick(headshell_id)

    def show_test_record(self, record_id: str) -> None:
        """Bring a test record into view."""
        self.tabs.setCurrentWidget(self.test_records)
        self.test_records.pick(record_id)

    def begin(self) -> None:
        """Put the focus on the one large button."""
        (self.welcome.start if self.primary.isHidden() else self.primary).setFocus()

    def end(self) -> None:
        """Stop all background queries: the library is about to be closed."""
        self.setEnabled(False)  # the second half of a double click may still come
        self._timer.stop()
        self._rest.stop()
        self.due.stop()
        for records in self._loads:
            records.stop()
        self._reader.stop()
        self.export_progress.stop()
        self.acts.end()
        super().end()

    def may_leave(self) -> bool:
        """Whether nothing is under way that would be lost, or the person gives it up."""
        return self.export_progress.may_leave()

    def subject(self) -> tuple[str, str] | None:
        """Return the deck, cartridge or fitting that is picked, if it is one."""
        sorts = {
            self.under_way: "fitting",
            self.finished: "fitting",
            self.decks: "deck",
            self.cartridges: "cartridge",
        }
        records = self.tabs.currentWidget()
        sort = sorts.get(records) if isinstance(records, RecordTable) else None
        picked = records.picked_ids() if isinstance(records, RecordTable) and sort else []
        return (sort, picked[0]) if sort and len(picked) == 1 else None

    def export_everything(self) -> None:
        """Write the whole library to one document."""
        self._exchange.export_library()

    def export_figures(self) -> None:
        """Write every figure of all fittings to tables."""
        self._exchange.export_figures(())

    # construction

    def _has_jobs(self) -> bool:
        """Whether the bench works with jobs; a library that can't be read says so elsewhere."""
        try:
            return self._library.jobs.are_kept()
        except LibraryProblem:
            return False

    def _build_tables(self) -> None:
        of_fittings = with_jobs if self._has_jobs() else lambda spec: spec
        loads: tuple[tuple[TableSpec, Load], ...] = (
            (of_fittings(UNDER_WAY), lambda library: library.log.listing(finished=False)),
            (of_fittings(FINISHED), lambda library: library.log.listing(finished=True)),
            (DECKS, lambda library: library.deck_listing()),
            (CARTRIDGES, lambda library: library.cartridge_records.listing()),
            (HEADSHELLS, lambda library: library.headshell_records.listing()),
            (TEST_RECORDS, lambda library: library.test_records.listing()),
        )
        self._loads = {
            RecordTable(
                spec,
                load=partial(load, self._library),
                numbers=self._numbers,
                preferences=self._preferences,
            ): load
            for spec, load in loads
        }
        self.under_way, self.finished, self.decks, *others = self._loads
        self.cartridges, self.headshells, self.test_records = others
        self._reader = ListsReader(self._library, self._loads, self)
        self._reader.done.connect(self._show_read)
        self._reader.failed.connect(self._not_read)
        for records in (self.under_way, self.finished):
            records.opened.connect(self.fitting_wanted)
            records.action_chosen.connect(lambda key, ids: self._do("fitting", key, ids))
        for records, kind in (
            (self.decks, "deck"),
            (self.cartridges, "cartridge"),
            (self.headshells, "headshell"),
            (self.test_records, "test record"),
        ):
            records.opened.connect(lambda one, kind=kind: self.edit_wanted.emit(kind, one))
            records.action_chosen.connect(lambda key, ids, kind=kind: self._do(kind, key, ids))
        for records in self._loads:
            records.failed.connect(partial(tell_problem, self._messages))
            records.made.connect(partial(let_undo_through, self, self.undo_bar))
        self.under_way.other_table_wanted.connect(lambda words: self._look_on(self.finished, words))
        self.finished.other_table_wanted.connect(lambda words: self._look_on(self.under_way, words))
        self.tabs = QTabWidget()
        self.welcome = Welcome(self._numbers, self.tabs)  # it ends with the screen, shown or not
        self.welcome.hide()
        self.welcome.start_wanted.connect(lambda: self.start_wanted.emit("", ""))
        self.tabs.setAccessibleName(tr("library.screen.shelves_of_the_library"))
        self.tabs.setDocumentMode(True)
        for words, records in (
            (tr("library.screen.fittings_under_way"), self.under_way),
            (tr("library.screen.finished"), self.finished),
            (tr("library.screen.decks"), self.decks),
            (tr("library.screen.cartridges"), self.cartridges),
            (tr("library.screen.headshells"), self.headshells),
            (tr("library.screen.test_records"), self.test_records),
        ):
            self.tabs.addTab(records, words)
        find = QShortcut(QKeySequence.StandardKey.Find, self)
        find.activated.connect(self._find)

    def _build_head(self) -> None:
        self.title = QLabel("Setdown")
        self.title.setFont(theme.scaled(self.font(), 1.6, bold=True))
        self.primary = ResumeButton()
        self.primary.setObjectName("primaryWay")
        self.primary.setProperty("primary", "true")
        self.primary.setFont(theme.scaled(self.font(), 1.25, bold=True))
        self.primary.setAutoDefault(True)
        self.primary.clicked.connect(self._go_on)
        self.another = QPushButton(tr("library.screen.start_a_fitting"))
        self.another.setObjectName("startAnother")
        self.another.setAccessibleDescription(tr("library.screen.pick_a_deck_and_a"))
        self.another.clicked.connect(lambda: self.start_wanted.emit("", ""))
        self.next = plain_label(wraps=True)
        self.next.setObjectName("whatIsNext")
        self.next.setProperty("kind", "muted")
        self.due = DueButton(self._library)
        self.due.clicked.connect(self.due_wanted)
        self.due.failed.connect(partial(tell_problem, self._messages))
        for records in self._loads:
            records.rows_shown.connect(self.due.wait)
        self.jobs = _quiet("", tr("jobs.button.tip"), self.jobs_wanted.emit)
        self.jobs.setObjectName("jobsLine")
        self.jobs.setToolTip(tr("jobs.button.tip"))
        self.who = TechnicianBox(self._preferences)
        self.who.changed.connect(self._ask_anew)
        self.take_in = _quiet(
            tr("library.screen.import"),
            tr("library.screen.takes_in_a_document_with"),
            self._take_in,
        )
        self.rehearse = QPushButton(tr("library.screen.rehearse_on_a_simulated_deck"))
        self.rehearse.setAccessibleDescription(tr("library.screen.the_whole_job_on_a"))
        self.rehearse.clicked.connect(lambda _checked: self.rehearsal_wanted.emit())
        self.others = OtherFittings()
        self.others.wanted.connect(self.fitting_wanted)
        self.others.list_wanted.connect(self._show_all_in_progress)
        self.picture = QWidget()
        self.picture.setFixedSize(round(theme.em(self) * 8.4), round(theme.em(self) * 5.6))

    def _arrange_widgets(self) -> None:
        who_label = QLabel(tr("library.screen.at_the_bench"))
        # Qt measures a label with a key narrower than it draws it, and cuts the last word.
        who_label.setMinimumWidth(who_label.sizeHint().width() + round(0.6 * theme.em(self)))
        who_label.setBuddy(self.who)
        top = add_all(QHBoxLayout(), self.title, 1, who_label, self.who)
        buttons = add_all(QHBoxLayout(), self.primary, self.another)
        buttons.addStretch(1)  # takes only the room the buttons leave
        said_row = add_all(QHBoxLayout(), (self.next, 1), self.rehearse)
        doors = add_all(QVBoxLayout(), said_row, buttons)
        card = add_all(QHBoxLayout(), self.picture, (doors, 1))
        foot = add_all(QHBoxLayout(), self.jobs, self.due, 1, self.take_in)
        # Three rows of a list need more than a small window has with large type: then it scrolls.
        held = QWidget()
        self.area = FollowingArea(held)
        held.installEventFilter(self)
        column_in(self).addWidget(self.area)
        add_all(
            QVBoxLayout(held),
            top,
            card,
            self.others,
            (self.tabs, 1),
            self.undo_bar,
            self.export_progress,
            foot,
        )

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Leave the drawings out where the lists need their room."""
        super().resizeEvent(event)
        self._show_drawings()

    def _show_drawings(self) -> None:
        is_low = self.height() < _LOW_EM * theme.em(self)
        self.picture.setVisible(self._latest_row is not None and not is_low)
        self.others.show_pictures(shown=not is_low)

    # behaviour

    def _look_on(self, records: RecordTable, words: str) -> None:
        self.tabs.setCurrentWidget(records)
        records.look_for(words)

    def _show_all_in_progress(self) -> None:
        self.tabs.setCurrentWidget(self.under_way)
        self.under_way.table.setFocus(Qt.FocusReason.OtherFocusReason)

    def _ask_anew(self) -> None:
        for records in self._loads:
            records.ask_anew()

    def _find(self) -> None:
        records = self.tabs.currentWidget()
        if isinstance(records, RecordTable):
            records.focus_filter()

    def _go_on(self) -> None:
        if self._latest:
            self.fitting_wanted.emit(self._latest)
        else:
            self.start_wanted.emit("", "")

    def _say_what_is_next(self, latest: FittingRow | None) -> None:
        self.another.setVisible(latest is not None)
        self._latest_row = latest
        self._show_drawings()
        if latest is None:
            self.primary.say(lambda _longest: tr("library.screen.start_a_fitting_2"))
            self.next.setText(tr("library.screen.nine_steps_one_reading_at"))
            return
        if self._latest_words is not None and self._latest_words[0] == latest:
            self._timer.stop()
            self.primary.say(self._latest_words[1])
            self.next.setText(self._latest_words[2])
            return
        deck, cartridge = latest.deck_and_arm, latest.cartridge_name
        self.primary.say(
            lambda longest: tr(
                "library.screen.resume_names", names=Name(_names(deck, cartridge, longest))
            )
        )
        self.next.setText(
            tr("library.screen.last_entry_moment", moment=Name(moment(latest.last_at)))
        )
        self._waits_for_paint = not self._is_painted
        if self._is_painted:
            self._timer.start()  # the window is shown first: the steps import half of the core

    def _say_step(self) -> None:
        # Imported here: an empty library does not need it.
        from core.workflow import journey_of

        fitting = self._library.fitting(self._latest)
        deck_revision, cartridge_revision = fitting.revisions
        deck = self._library.deck(fitting.deck_id, deck_revision).thing
        cartridge = self._library.cartridge(fitting.cartridge_id, cartridge_revision).thing
        journey = journey_of(deck, cartridge, fitting)
        deck, due = journey.deck, journey.due
        self._draw(self.picture, deck, cartridge, due or "")
        self.others.draw(self._draw_other)
        if due is None:
            where, what = (
                tr("library.screen.all_nine_steps_settled"),
                tr("library.screen.what_is_left_is_to"),
            )
        else:
            index, count = journey.place_in_job(due) or (1, 1)
            where = tr("library.screen.step_index_of_what", index=index, what=count)
            what = tr("library.screen.next_title", title=Name(step_words(due).title))

        def words(longest: int) -> str:
            names = _names(deck.name, cartridge.name, longest)
            return tr("library.screen.resume_names_where", names=Name(names), where=Name(where))

        self.primary.say(words)
        last = fitting.entries[-1] if fitting.entries else None
        if last is None:
            self.next.setText(
                tr(
                    "library.screen.what_started_moment",
                    what=Name(what),
                    moment=Name(moment(fitting.started_at)),
                )
            )
        else:
            by = tr("library.screen.by_who", who=Name(last.who)) if last.who else ""
            self.next.setText(
                tr(
                    "library.screen.what_last_entry_moment_by",
                    what=Name(what),
                    moment=Name(moment(last.at)),
                    by=Name(by),
                )
            )
        self._latest_words = self._latest_row, words, self.next.text()

    def _draw_other(self, row: FittingRow, into: QWidget) -> None:
        """Draw the deck of another fitting in progress, with the number of its step."""
        try:
            deck = self._library.deck(row.deck_id)
            cartridge = self._library.cartridge(row.cartridge_id)
        except LibraryProblem:
            return  # the card says in words what it stands for
        arm = arm_of(deck.thing, row.arm_key)
        seen = deck.thing if arm is None else seen_with_arm(deck.thing, arm)
        self._draw(into, seen, cartridge.thing, row.reached.partition(" ")[2])

    def _draw(self, into: QWidget, deck: Deck, cartridge: Cartridge, step: str) -> None:
        """Draw the deck of the fitting to resume, with the number of its step."""
        # Imported here: the window is shown first.
        from core.steps.bench_drawing import BenchScene
        from core.steps.explained import draw_places
        from desktop.charts.instrument_view import InstrumentView

        view = into.findChild(InstrumentView)
        if view is None:
            view = InstrumentView(into)
            view.setMinimumWidth(0)
            view.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        view.resize(into.size())
        view.show_drawing(draw_places(BenchScene(deck, cartridge, self._numbers), only=step))
        view.show()

    def _do(self, kind: str, key: str, ids: list[str]) -> None:
        of_one = {
            "open": self.fitting_wanted,
            "history": self.history_wanted,
            "swap": self.swap_wanted,
            "paper": self.paper_wanted,
        }
        if key in of_one:
            of_one[key].emit(ids[0])
        elif key == "add":
            self.edit_wanted.emit(kind, "")
        elif key == "edit":
            self.edit_wanted.emit(kind, ids[0])
        elif key == "pictures":
            self.pictures_wanted.emit(kind, ids[0])
        elif key == "copy":
            self.copy_wanted.emit(kind, ids[0])
        elif key == "fit":
            self.start_wanted.emit(*((ids[0], "") if kind == "deck" else ("", ids[0])))
        elif key == "export":
            self._exchange.export_records(kind, ids)
        elif key == "figures":
            self._exchange.export_figures(ids)
        else:
            self.acts.archive(kind, ids, archived=key == "archive")

    @property
    def place(self) -> str:
        """Where the library is, as a person is told."""
        return str(self._library.address)

    def take_in_file(self, path: Path) -> None:
        """Take a document in as Import does, so that it can be taken back."""
        self._note(changed=self._exchange.take_in(path))

    def _take_in(self) -> None:
        self._note(changed=self._exchange.import_document())

    def _note(self, *, changed: bool) -> None:
        if changed:
            self.refresh_beside()
            self.acts.note_import(*self._exchange.brought)


def _names(deck: str, cartridge: str, longest: int) -> str:
    """Return what is resumed, each name of at most so many letters."""
    if longest < _TOO_SHORT < max(len(deck), len(cartridge)):
        return shortened(deck, 2 * longest)
    return tr(
        "library.screen.deck_with_cartridge",
        deck=Name(shortened(deck, longest)),
        cartridge=Name(shortened(cartridge, longest)),
    )


def _quiet(text: str, description: str, act: Callable[[], object]) -> QPushButton:
    button = QPushButton(text)
    button.setAccessibleDescription(description)
    button.setProperty("quiet", "true")
    button.clicked.connect(lambda _checked: act())
    return button
