"""The page of rehearsals, stored in their own library file."""

from __future__ import annotations

import tempfile
from contextlib import ExitStack
from functools import partial
from pathlib import Path
from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QStackedWidget, QWidget

from core.language import Numbers, ToldProblem, message
from core.practice import Rehearsal, debrief_of, misleading_controls
from core.practice.own_readings import worst_of_each
from core.practice.saved_rehearsals import (
    Wish,
    begin_rehearsal,
    rehearsal_at_start,
    resume_rehearsal,
    unfinished_rehearsals,
    wish_of,
)
from core.store import Library, LibraryAddress, LibraryProblem, address_of
from desktop.rehearsal.bench_page import MakeWizard, RehearsalBench
from desktop.rehearsal.start_page import RehearsalStart, fresh_number
from desktop.rehearsal.truth_page import TruthPage
from desktop.tasks.change_watch import ChangeWatch
from desktop.tasks.fitting_controller import FittingController
from desktop.tasks.housekeeping import LONGEST_WAIT_S
from desktop.widgets.library_problem_page import LibraryProblemPage, Recovery
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.page import Page
from desktop.widgets.panels import column_in, let_go

_WAYS: Final = (
    Recovery(
        "anew",
        message("rehearsal.rehearsal_page.begin_the_rehearsals_anew"),
        message("rehearsal.rehearsal_page.what_is_there_now_is"),
    ),
    Recovery(
        "again",
        message("rehearsal.rehearsal_page.try_again"),
        message("rehearsal.rehearsal_page.when_the_cause_is_out"),
    ),
    Recovery(
        "unkept",
        message("rehearsal.rehearsal_page.rehearse_without_keeping"),
        message("rehearsal.rehearsal_page.nothing_is_there_any_more"),
    ),
    Recovery(
        "back",
        message("rehearsal.rehearsal_page.back_to_the_library"),
        message("rehearsal.rehearsal_page.your_own_decks_are_as"),
    ),
)
_REMEDY: Final = message("rehearsal.rehearsal_page.only_rehearsals_are_kept_in")


class RehearsalPage(Page):
    """Begins, resumes and ends rehearsals."""

    sign_shows = message("shell.appearance_panel.after_the_rehearsal")

    others_added = Signal(object, bool)
    """Entries that another window has added, and whether the arm has no pivot."""

    def __init__(
        self,
        address: LibraryAddress,
        numbers: Numbers,
        messages: Messages,
        make_wizard: MakeWizard,
        who: str = "",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._address, self._numbers, self._messages, self._who = address, numbers, messages, who
        self._make_wizard = make_wizard
        self.library: Library | None = None
        self._fitting_id = ""
        self._watch: ChangeWatch | None = None
        self.pages = QStackedWidget()
        column = column_in(self)
        column.addWidget(self.pages)
        self._resources = ExitStack()  # closed with the page, however it ends
        self.destroyed.connect(self._resources.close)
        self._open(address)

    def begin(self) -> None:
        """Put the focus where the page on show wants it."""
        page = self.pages.currentWidget()
        if isinstance(page, Page):
            page.begin()

    def may_leave(self) -> bool:
        """Whether nothing typed would be lost, or the person says it may be."""
        page = self.pages.currentWidget()
        return not isinstance(page, Page) or page.may_leave()

    def look_again(self) -> None:
        """Follow what another window has written to the rehearsals; what is typed stays."""
        page = self.pages.currentWidget()
        if isinstance(page, RehearsalStart) and self.library is not None:
            try:
                page.show_kept(unfinished_rehearsals(self.library))
            except LibraryProblem as problem:
                tell_problem(self._messages, problem)
        elif isinstance(page, Page):
            page.look_again()

    def leave(self) -> None:
        """Go back to the real library."""
        self._close_library()
        self.closed.emit()

    # the library of rehearsals

    def _open(self, address: LibraryAddress) -> None:
        try:
            self.library = Library.open(address, self._who, begin_anew=True, wait_s=LONGEST_WAIT_S)
        except LibraryProblem as problem:
            self._show_problem(problem)
            return
        self._resources.callback(self.library.close)
        watch = ChangeWatch(self.library, parent=self)
        watch.others_wrote.connect(self.look_again)
        watch.lost.connect(partial(tell_problem, self._messages))
        self._watch = watch
        self.show_start()

    def _show_problem(self, problem: LibraryProblem) -> None:
        told = LibraryProblem(problem.kind, problem.what, _REMEDY)
        backups = self._address.backups
        ways = [way for way in _WAYS if backups is not None or way.key != "anew"]
        page = LibraryProblemPage(told, ways)
        page.chosen.connect(self._take)
        self._show(page)

    def _take(self, key: str) -> None:
        if key == "back":
            self.leave()
        elif key == "again":
            self._open(self._address)
        elif key == "unkept":
            folder = self._resources.enter_context(tempfile.TemporaryDirectory(prefix="rehearsal"))
            self._open(address_of(Path(folder) / "rehearsals.library"))
        elif self._address.backups is not None:
            try:
                self._address.backups.set_aside()
            except LibraryProblem as problem:
                tell_problem(self._messages, problem)
                return
            self._open(self._address)

    def _close_library(self) -> None:
        self.library = None
        if self._watch is not None:
            self._watch.stop()
        try:
            self._resources.close()
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)

    # the pages

    def show_start(self, wish: Wish | None = None) -> None:
        """Show where a rehearsal is begun or gone on with."""
        if self.library is None:
            return
        try:
            kept = unfinished_rehearsals(self.library)
        except LibraryProblem as problem:
            self._show_problem(problem)
            return
        page = RehearsalStart(kept, self._numbers, wish)
        page.begin_wanted.connect(self.begin_rehearsal)
        page.go_on_wanted.connect(self.open_rehearsal)
        page.closed.connect(self.leave)
        self._show(page)

    def begin_rehearsal(self, wish: Wish) -> None:
        """Begin a rehearsal and show its bench."""
        if self.library is None:
            return
        try:
            fitting_id, rehearsal = begin_rehearsal(self.library, wish, self._who)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        except ToldProblem as problem:
            page = self.pages.currentWidget()
            if isinstance(page, RehearsalStart):
                page.say(self._numbers.text(problem.what))
            return
        self._show_bench(fitting_id, rehearsal, wish)

    def open_rehearsal(self, fitting_id: str) -> None:
        """Go on with a rehearsal as it was left."""
        if self.library is None:
            return
        try:
            rehearsal = resume_rehearsal(self.library, fitting_id)
            wish = wish_of(self.library, fitting_id)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        if wish is not None:
            self._show_bench(fitting_id, rehearsal, wish)

    def show_truth(self) -> None:
        """Show the hidden truth of the rehearsal on the bench."""
        page = self.pages.currentWidget()
        if self.library is None or not isinstance(page, RehearsalBench):
            return
        try:
            fresh = rehearsal_at_start(self.library, self._fitting_id)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        endings = debrief_of(fresh, page.rehearsal, page.controller.journey)
        misleading = misleading_controls(page.rehearsal.world)
        counted = [entry.id for entry in page.controller.fitting.counting()]
        own = worst_of_each(page.rehearsal.own, counted)
        truth = TruthPage(endings, misleading, own, page.wish, self._numbers)
        truth.another_wanted.connect(self._another)
        truth.same_wanted.connect(self._same)
        truth.go_on_wanted.connect(lambda: self.open_rehearsal(self._fitting_id))
        truth.closed.connect(self._leave_ended)
        self._wish = page.wish
        self._show(truth)

    def _another(self) -> None:
        self._put_away()
        self.show_start(self._wish.model_copy(update={"number": fresh_number()}))

    def _same(self) -> None:
        self._put_away()
        self.begin_rehearsal(self._wish)

    def _leave_ended(self) -> None:
        self._put_away()
        self.leave()

    def _put_away(self) -> None:
        """Take the ended rehearsal off the list of those to go on with."""
        if self.library is None:
            return
        try:
            self.library.archive_fitting(self._fitting_id)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)

    def _show_bench(self, fitting_id: str, rehearsal: Rehearsal, wish: Wish) -> None:
        if self.library is None:
            return
        try:
            controller = FittingController(
                self.library, fitting_id, who=self._who, numbers=self._numbers
            )
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        self._fitting_id = fitting_id
        page = RehearsalBench(controller, rehearsal, wish, self._make_wizard)
        page.closed.connect(self.leave)
        page.ended.connect(self.show_truth)
        controller.others_added.connect(
            lambda added: self.others_added.emit(added, not controller.journey.deck.arm.is_pivoted)
        )
        page.wizard.appearance_wanted.connect(self.appearance_wanted)
        self._show(page)

    def _show(self, page: Page) -> None:
        before = [self.pages.widget(index) for index in range(self.pages.count())]
        self.pages.addWidget(page)
        self.pages.setCurrentWidget(page)
        for other in before:
            if other is not None:
                let_go(self.pages, other)
        self.begin()
