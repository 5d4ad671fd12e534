"""The one window: it shows the library, a fitting or a form, and goes from one to the other."""

from __future__ import annotations

import gc
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QEvent
from PySide6.QtGui import QCloseEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QMainWindow, QStackedWidget, QVBoxLayout, QWidget

from core.language import Numbers
from core.store import Library, LibraryAddress, LibraryProblem, address_of
from desktop.library.screen import LibraryScreen
from desktop.library.start_page import StartPage
from desktop.shell.library_recovery import LibraryRecovery
from desktop.shell.other_window_line import (
    OtherWindowLine,
    look_again,
    others_words,
)
from desktop.shell.recovery_choices import Opening
from desktop.tasks.housekeeping import Housekeeping
from desktop.widgets.messages import (
    Messages,
    NoticeBar,
    QtMessages,
)
from desktop.widgets.preferences import Preferences

if TYPE_CHECKING:
    from desktop.history.due_page import DuePage
    from desktop.history.history_page import HistoryPage
    from desktop.library.backups_page import BackupsPage
    from desktop.library.editor import ThingEditor
    from desktop.rehearsal.rehearsal_page import RehearsalPage
    from desktop.shell.appearance_panel import AppearancePanel
    from desktop.swap.swap_page import SwapPage
    from desktop.widgets.trouble_page import TroublePage
    from desktop.wizard import Wizard

    Page = (
        LibraryScreen
        | StartPage
        | ThingEditor
        | TroublePage
        | Wizard
        | SwapPage
        | BackupsPage
        | RehearsalPage
        | HistoryPage
        | DuePage
    )

_NAME: Final = "Setdown"


class MainWindow(QMainWindow):
    """The window.

    Parameters
    ----------
    numbers
        How numbers are written.
    remembered
        Conveniences kept between two starts.
    messages
        The channel to the person; its own one in this window if None.
    """

    def __init__(
        self,
        *,
        numbers: Numbers,
        remembered: Preferences,
        messages: Messages | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self._remembered = remembered
        self._library: Library | None = None
        self._screen: LibraryScreen | None = None
        self._house: Housekeeping | None = None
        self.notices = NoticeBar()
        self.messages: Messages = messages or QtMessages(self, self.notices)
        self.pages = QStackedWidget()
        middle = QWidget()
        layout = QVBoxLayout(middle)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.notices)
        layout.addWidget(self.pages, stretch=1)
        self._look: AppearancePanel | None = None
        self._top = layout
        QShortcut(QKeySequence("Ctrl+Shift+L"), self).activated.connect(self.show_look)
        self.others = OtherWindowLine()
        layout.addWidget(self.others)
        self.setCentralWidget(middle)
        self.setWindowTitle(_NAME)
        self.resize(1180, 800)
        self.setMinimumSize(640, 480)
        geometry = remembered.geometry
        if geometry is not None:
            self.restoreGeometry(geometry)
        self._ways = LibraryRecovery(self, numbers, self.messages)

    @property
    def library(self) -> Library | None:
        """The open library, or None while there is none."""
        return self._library

    # the library

    def open_library(self, place: Path | LibraryAddress) -> None:
        """Open a library and show it, or show what is wrong with it and the ways on."""
        self.open(Opening(address_of(place)))

    def open(self, opening: Opening) -> None:
        """Open a library as wished, or show what is wrong with it and the ways on."""
        try:
            library = Library.open(
                opening.address, read_only=opening.read_only, begin_anew=opening.begin_anew
            )
        except LibraryProblem as problem:
            has_library = self._library is not None
            self._ways.show_trouble(problem, opening.address, has_library=has_library)
            return
        self._let_go()
        self._library = library
        self._house = Housekeeping(library, self.messages, parent=self)
        self._house.others_wrote.connect(self._show_what_others_wrote)
        self._screen = LibraryScreen(library, self._numbers, self.messages, self._remembered)
        self._screen.start_wanted.connect(self.show_start)
        self._screen.fitting_wanted.connect(self.open_fitting)
        self._screen.swap_wanted.connect(self.show_swap)
        self._screen.history_wanted.connect(self.show_history)
        self._screen.due_wanted.connect(self.show_due)
        self._screen.edit_wanted.connect(self.show_editor)
        self._screen.copy_wanted.connect(lambda kind, one: self.show_editor(kind, one, copies=True))
        self._screen.other_library_wanted.connect(self._ask_for_another)
        self._screen.backups_wanted.connect(self.show_backups)
        self._screen.look_wanted.connect(self.show_look)
        self._screen.rehearsal_wanted.connect(self.show_rehearsal)
        self.show_page(self._screen, _NAME)
        self._ways.tell_how(library)

    def show_library(self) -> None:
        """Go back to the library."""
        if self._screen is None:
            return
        self._screen.refresh()
        self.show_page(self._screen, _NAME)

    # the pages

    def show_start(self, deck_id: str = "", cartridge_id: str = "") -> None:
        """Show the page that begins a fitting."""
        if self._library is None:
            return
        try:
            page = StartPage(self._library, self._remembered)
        except LibraryProblem as problem:
            self._tell(problem)
            return
        page.pick(deck_id, cartridge_id)
        page.start_wanted.connect(self._start)
        page.resume_wanted.connect(self.open_fitting)
        page.left.connect(self.show_library)
        self.show_page(page, f"Start a fitting – {_NAME}")

    def show_editor(self, kind: str, record_id: str = "", *, copies: bool = False) -> None:
        """Show the form of a deck or a cartridge."""
        if self._library is None:
            return
        # Only now: forms are not needed to look at the library.
        from desktop.library.editor import TRADES, ThingEditor

        try:
            page = ThingEditor(
                TRADES[kind],
                self._library,
                record_id,
                copies=copies,
                who=self._remembered.who,
                numbers=self._numbers,
                messages=self.messages,
            )
        except LibraryProblem as problem:
            self._tell(problem)
            return
        page.left.connect(self.show_library)
        page.kept.connect(lambda kept: self._show_kept(kind, kept))
        self.show_page(page, f"{page.accessibleName()} – {_NAME}")

    def open_fitting(self, fitting_id: str) -> None:
        """Show the wizard for a fitting, where it stood."""
        if self._library is None:
            return
        # Only now: the wizard brings pyqtgraph, which the library can do without at start-up.
        is_first = "desktop.wizard" not in sys.modules
        from desktop.tasks.fitting_controller import FittingController
        from desktop.wizard import Wizard

        if is_first:
            gc.freeze()  # as at start-up

        try:
            desk = FittingController(
                self._library, fitting_id, who=self._remembered.who, numbers=self._numbers
            )
        except LibraryProblem as problem:
            self._tell(problem)
            return
        page = Wizard(desk, self.messages, self.pages)
        page.look_wanted.connect(self.show_look)
        desk.setParent(page)
        page.closed.connect(self.show_library)
        page.swap_wanted.connect(self.show_swap)
        page.history_wanted.connect(lambda deck: self.show_history(deck, from_fitting=fitting_id))
        desk.others_added.connect(lambda added: self.others.say(others_words(added, self._numbers)))
        journey = desk.journey
        self.show_page(page, f"{journey.deck.name} with {journey.cartridge.name} – {_NAME}")

    def show_swap(self, fitting_id: str) -> None:
        """Show the way from a finished fitting to another cartridge."""
        if self._library is None:
            return
        # Only now: the plan brings pyqtgraph and the steps.
        from desktop.swap.swap_page import SwapPage

        from_library = self.pages.currentWidget() is self._screen
        try:
            page = SwapPage(
                self._library,
                fitting_id,
                who=self._remembered.who,
                numbers=self._numbers,
                messages=self.messages,
            )
        except LibraryProblem as problem:
            self._tell(problem)
            return
        page.started.connect(self.open_fitting)
        page.left.connect(
            self.show_library if from_library else lambda: self.open_fitting(fitting_id)
        )
        self.show_page(page, f"Fit another cartridge – {_NAME}")

    def show_history(self, deck_id: str, *, from_fitting: str = "") -> None:
        """Show what is due on a deck, and what was done to it over the years."""
        if self._library is None:
            return
        # Only now: charts and steps are not needed to look at the library.
        from desktop.history.history_page import HistoryPage

        try:
            page = HistoryPage(
                self._library, deck_id, self._numbers, self.messages, who=self._remembered.who
            )
        except LibraryProblem as problem:
            self._tell(problem)
            return
        page.closed.connect(
            (lambda: self.open_fitting(from_fitting))
            if from_fitting
            else lambda: self._show_kept("deck", deck_id)
        )
        page.fitting_wanted.connect(self.open_fitting)
        page.swap_wanted.connect(self.show_swap)
        self.show_page(page, f"{page.accessibleName()} – {_NAME}")

    def show_due(self) -> None:
        """Show the decks that are due for their check."""
        if self._library is None:
            return
        # Only now: the first screen can do without it.
        from desktop.history.due_page import DuePage

        try:
            page = DuePage(self._library, self._numbers, self.messages)
        except LibraryProblem as problem:
            self._tell(problem)
            return
        page.closed.connect(self.show_library)
        page.history_wanted.connect(self.show_history)
        page.start_wanted.connect(self.show_start)
        self.show_page(page, f"{page.accessibleName()} – {_NAME}")

    def show_rehearsal(self) -> None:
        """Show where the job is rehearsed on a simulated deck, apart from the library."""
        if self._library is None:
            return
        # Only now: it brings the practice deck and the wizard.
        from desktop.rehearsal.rehearsal_page import RehearsalPage

        place = self._library.address.for_rehearsals()
        page = RehearsalPage(place, self._numbers, self.messages, self._remembered.who)
        page.closed.connect(self.show_library)
        page.look_wanted.connect(self.show_look)
        self.show_page(page, f"Rehearsal – {_NAME}")

    def show_backups(self) -> None:
        """Show the backups of the open library."""
        if self._library is not None:
            self._ways.show_backups(self._library.address, is_open=True)

    # other windows

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802 - Qt's own name
        """Look at once what other windows have entered when this one comes to the front."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.ActivationChange and self.isActiveWindow() and self._house:
            self._house.look()

    def look_around(self) -> None:
        """Show what other windows have entered, if they have."""
        if self._house is not None:
            self._house.look()

    def _show_what_others_wrote(self) -> None:
        page = self.pages.currentWidget()
        if page is self._screen and self._screen is not None:
            self._screen.refresh()
            return
        if page is not None:
            look_again(page, self.messages)

    def show_look(self) -> None:
        """Show above the page where colours and type are chosen; the page stays as it is."""
        if self._look is None:
            from desktop.shell.appearance_panel import AppearancePanel  # rarely wanted

            self._look = AppearancePanel(self._remembered, self.pages)
            self._top.insertWidget(1, self._look)
        self._look.ask()

    # leaving

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: N802 - Qt's own name
        """Close at any time; ask only if a form holds what was typed and not saved."""
        for page in (self.pages.currentWidget(), self._screen):
            may_leave = getattr(page, "may_leave", None)  # some pages ask
            if may_leave is not None and not may_leave():
                event.ignore()
                return
        self._remembered.remember_geometry(self.saveGeometry())
        self._remembered.save()
        self._let_go()
        event.accept()

    def show_page(self, page: Page, title: str) -> None:
        """Show a page under a title; the one before is let go, unless it is the library."""
        for index in reversed(range(self.pages.count())):
            other = self.pages.widget(index)
            if other is not page and other is not self._screen and other is not None:
                self.pages.removeWidget(other)
                other.deleteLater()
        if self.pages.indexOf(page) < 0:
            self.pages.addWidget(page)
        self.pages.setCurrentWidget(page)
        self.setWindowTitle(title)
        self.others.put_away()
        page.begin()

    def _show_kept(self, kind: str, record_id: str) -> None:
        self.show_library()
        if self._screen is not None:
            show = self._screen.show_deck if kind == "deck" else self._screen.show_cartridge
            show(record_id)

    def _start(self, deck_id: str, cartridge_id: str) -> None:
        if self._library is None:
            return
        try:
            fitting = self._library.start_fitting(deck_id, cartridge_id, who=self._remembered.who)
        except LibraryProblem as problem:
            self._tell(problem)
            return
        self.open_fitting(fitting.id)

    def _ask_for_another(self) -> None:
        if self._library is not None:
            self._ways.ask_for_another(self._library.address)

    def _tell(self, problem: LibraryProblem) -> None:
        self.messages.tell(problem.kind.label, problem.sentence, problem.remedy)

    def _let_go(self) -> None:
        """Close the library that is open, and everything that shows it."""
        if self._house is not None:
            self._house.end()
            self._house = None
        if self._screen is not None:
            self._screen.end()
            self.pages.removeWidget(self._screen)
            self._screen.deleteLater()
            self._screen = None
        if self._library is not None:
            try:
                self._library.close()
            except LibraryProblem as problem:
                self._tell(problem)
            self._library = None
