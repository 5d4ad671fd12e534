"""Everything of rehearsals in one page: it keeps them in a library file of their own."""

from __future__ import annotations

import tempfile
from contextlib import ExitStack
from pathlib import Path
from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QStackedWidget, QVBoxLayout, QWidget

from core.language import Numbers
from core.practice.debrief import debrief_of, misleading_controls
from core.practice.rehearsal import Rehearsal
from core.practice.saved_rehearsals import (
    Wish,
    begin,
    fresh_one,
    gone_on_with,
    half_way,
    wish_of,
)
from core.store import Library, LibraryAddress, LibraryProblem, address_of
from desktop.rehearsal.bench_page import RehearsalBench
from desktop.rehearsal.start_page import RehearsalStart, fresh_number
from desktop.rehearsal.truth_page import TruthPage
from desktop.tasks.fitting_controller import FittingController
from desktop.widgets.messages import Messages
from desktop.widgets.trouble_page import TroublePage, Way

_WAYS: Final = (
    Way("anew", "&Begin the rehearsals anew", "What is there now is set aside; it holds no work."),
    Way("again", "&Try again", "When the cause is out of the way."),
    Way("unkept", "Rehearse &without keeping", "Nothing is there any more once you leave."),
    Way("back", "Back to the &library", "Your own decks are as they were."),
)
_REMEDY: Final = (
    "Only rehearsals are kept in that file, none of your decks: begin them anew, or rehearse "
    "without keeping anything."
)


class RehearsalPage(QWidget):
    """The rehearsals of one person: begun, gone on with, ended.

    Parameters
    ----------
    address
        The library of rehearsals; never the one with real decks in it.
    numbers
        How numbers are written.
    messages
        Where a person is told and asked.
    who
        Who stands at the bench.
    """

    closed = Signal()
    look_wanted = Signal()
    """The person wants other colours or another size of type."""

    def __init__(
        self,
        address: LibraryAddress,
        numbers: Numbers,
        messages: Messages,
        who: str = "",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._address, self._numbers, self._messages, self._who = address, numbers, messages, who
        self._library: Library | None = None
        self._fitting_id = ""
        self.pages = QStackedWidget()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.pages)
        self._held = ExitStack()  # what is to be closed once the page is gone, however it went
        self.destroyed.connect(self._held.close)
        self._open(address)

    @property
    def library(self) -> Library | None:
        """The library of rehearsals, or None while it can't be opened."""
        return self._library

    def begin(self) -> None:
        """Put the focus where the page on show wants it."""
        page = self.pages.currentWidget()
        if isinstance(page, RehearsalStart | RehearsalBench | TruthPage | TroublePage):
            page.begin()

    def may_leave(self) -> bool:
        """Whether nothing typed would be lost, or the person says it may be."""
        page = self.pages.currentWidget()
        return not isinstance(page, RehearsalBench) or page.may_leave()

    def leave(self) -> None:
        """Go back to the real library."""
        self._let_go()
        self.closed.emit()

    # the library of rehearsals

    def _open(self, address: LibraryAddress) -> None:
        try:
            self._library = Library.open(address, self._who, begin_anew=True)
        except LibraryProblem as problem:
            self._show_trouble(problem)
            return
        self._held.callback(self._library.close)
        self.show_start()

    def _show_trouble(self, problem: LibraryProblem) -> None:
        told = LibraryProblem(problem.kind, problem.sentence, _REMEDY)
        backups = self._address.backups
        ways = [way for way in _WAYS if backups is not None or way.key != "anew"]
        page = TroublePage(told, ways)
        page.chosen.connect(self._take)
        self._show(page)

    def _take(self, key: str) -> None:
        if key == "back":
            self.leave()
        elif key == "again":
            self._open(self._address)
        elif key == "unkept":
            folder = self._held.enter_context(tempfile.TemporaryDirectory(prefix="rehearsal"))
            self._open(address_of(Path(folder) / "rehearsals.library"))
        elif self._address.backups is not None:
            try:
                self._address.backups.set_aside()
            except LibraryProblem as problem:
                self._tell(problem)
                return
            self._open(self._address)

    def _let_go(self) -> None:
        self._library = None
        try:
            self._held.close()
        except LibraryProblem as problem:
            self._tell(problem)

    # the pages

    def show_start(self, wish: Wish | None = None) -> None:
        """Show where a rehearsal is begun or gone on with."""
        if self._library is None:
            return
        try:
            kept = half_way(self._library)
        except LibraryProblem as problem:
            self._show_trouble(problem)
            return
        page = RehearsalStart(kept, self._numbers, wish)
        page.begin_wanted.connect(self.begin_rehearsal)
        page.go_on_wanted.connect(self.open_rehearsal)
        page.left.connect(self.leave)
        self._show(page)

    def begin_rehearsal(self, wish: Wish) -> None:
        """Begin a rehearsal and show its bench."""
        if self._library is None:
            return
        try:
            fitting_id, rehearsal = begin(self._library, wish, self._who)
        except LibraryProblem as problem:
            self._tell(problem)
            return
        except ValueError as problem:
            page = self.pages.currentWidget()
            if isinstance(page, RehearsalStart):
                page.say(str(problem))
            return
        self._show_bench(fitting_id, rehearsal, wish)

    def open_rehearsal(self, fitting_id: str) -> None:
        """Go on with a rehearsal as it was left."""
        if self._library is None:
            return
        try:
            rehearsal = gone_on_with(self._library, fitting_id)
            wish = wish_of(self._library, fitting_id)
        except LibraryProblem as problem:
            self._tell(problem)
            return
        if wish is not None:
            self._show_bench(fitting_id, rehearsal, wish)

    def show_truth(self) -> None:
        """Show the hidden truth of the rehearsal on the bench."""
        page = self.pages.currentWidget()
        if self._library is None or not isinstance(page, RehearsalBench):
            return
        try:
            fresh = fresh_one(self._library, self._fitting_id)
        except LibraryProblem as problem:
            self._tell(problem)
            return
        endings = debrief_of(fresh, page.rehearsal, page.desk.journey, self._numbers)
        misleading = misleading_controls(page.rehearsal.world)
        truth = TruthPage(endings, misleading, page.wish, self._numbers)
        truth.another_wanted.connect(self._another)
        truth.same_wanted.connect(self._same)
        truth.go_on_wanted.connect(lambda: self.open_rehearsal(self._fitting_id))
        truth.left.connect(self._leave_ended)
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
        if self._library is None:
            return
        try:
            self._library.archive_fitting(self._fitting_id)
        except LibraryProblem as problem:
            self._tell(problem)

    def _show_bench(self, fitting_id: str, rehearsal: Rehearsal, wish: Wish) -> None:
        if self._library is None:
            return
        try:
            desk = FittingController(
                self._library, fitting_id, who=self._who, numbers=self._numbers
            )
        except LibraryProblem as problem:
            self._tell(problem)
            return
        self._fitting_id = fitting_id
        page = RehearsalBench(desk, rehearsal, wish, self._messages)
        page.closed.connect(self.leave)
        page.ended.connect(self.show_truth)
        page.wizard.look_wanted.connect(self.look_wanted)
        self._show(page)

    def _show(self, page: QWidget) -> None:
        for index in reversed(range(self.pages.count())):
            other = self.pages.widget(index)
            if other is not None:
                self.pages.removeWidget(other)
                other.deleteLater()
        self.pages.addWidget(page)
        self.pages.setCurrentWidget(page)
        self.begin()

    def _tell(self, problem: LibraryProblem) -> None:
        self._messages.tell(problem.kind.label, problem.sentence, problem.remedy)
