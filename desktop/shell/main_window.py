"""The one window: it shows the library, a fitting or a form, and goes from one to the other."""

from __future__ import annotations

import gc
import sys
from collections.abc import Callable
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from PySide6.QtCore import QEvent, QMimeData, QSize, Qt, QTimer
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QApplication, QMainWindow, QStackedWidget, QWidget
from shiboken6 import isValid

from core.fitting import Work
from core.language import Name, Numbers
from core.store import (
    Library,
    LibraryAddress,
    LibraryProblem,
    address_of,
    default_library_path,
)
from desktop.library.screen import LibraryScreen
from desktop.shell.appearance_panel import AppearancePanel, change_scale, change_scheme
from desktop.shell.library_opening import LibraryOpening, tell_how
from desktop.shell.menu_bar import MenuBar
from desktop.shell.other_window_notice import OtherWindowNotice, others_words
from desktop.tasks.housekeeping import LONGEST_WAIT_S, Housekeeping
from desktop.widgets import theme
from desktop.widgets.language import tr
from desktop.widgets.locale_numbers import numbers_of
from desktop.widgets.messages import Messages, NoticeBar, QtMessages, tell_problem
from desktop.widgets.page import Page
from desktop.widgets.panels import add_all, column_in, let_go
from desktop.widgets.preferences import Preferences
from desktop.widgets.scheme import Scheme
from desktop.widgets.tab_order import in_reading_order

if TYPE_CHECKING:
    from core.fitting import Journey
    from desktop.library.start_page import StartPage
    from desktop.paper.leaving import LeavingPaper
    from desktop.pictures.page import PicturesPage
    from desktop.shell.given_files import GivenFiles
    from desktop.shell.library_recovery import LibraryRecovery
    from desktop.tasks.fitting_controller import FittingController
    from desktop.wizard import Beside, Wizard

_NAME: Final = "Setdown"
_WISHED_PX: Final = QSize(1180, 800)


class MainWindow(QMainWindow):
    """The window."""

    def __init__(
        self,
        *,
        numbers: Numbers,
        preferences: Preferences,
        messages: Messages | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        theme.mark(self)
        self._numbers = numbers
        self._preferences = preferences
        self.library: Library | None = None
        self._screen: LibraryScreen | None = None
        self._housekeeping: Housekeeping | None = None
        self.notices = NoticeBar()
        self.messages: Messages = messages or QtMessages(self, self.notices)
        self.pages = QStackedWidget()
        middle = QWidget()
        layout = column_in(middle)
        layout.setSpacing(0)
        add_all(layout, self.notices, (self.pages, 1))
        self._appearance_panel: AppearancePanel | None = None
        self._top = layout
        self.menus = MenuBar(self)
        self.menus.chosen.connect(self._on_menu)
        self.menus.recent_chosen.connect(self._open_recent)
        self.menus.scheme_chosen.connect(self._change_scheme)
        self.menus.file.aboutToShow.connect(self._show_what_can_be_done)
        self.menus.view.aboutToShow.connect(self._show_scheme)
        self.setMenuBar(self.menus)
        self.others = OtherWindowNotice()
        layout.addWidget(self.others)
        self.setCentralWidget(middle)
        self.setWindowTitle(_NAME)
        self._fit_screen()
        self.setMinimumSize(640, 480)
        geometry = preferences.geometry
        if geometry is not None:
            self.restoreGeometry(geometry)
        self.setAcceptDrops(True)

    @cached_property
    def given(self) -> GivenFiles:
        """What takes documents and libraries that are dropped or named."""
        # Imported here, as what follows: the first screen needs none of it.
        from desktop.shell.given_files import GivenFiles

        return GivenFiles(self, self.messages)

    @cached_property
    def _recovery(self) -> LibraryRecovery:
        from desktop.shell.library_recovery import LibraryRecovery

        return LibraryRecovery(self, lambda: self._numbers, self.messages)

    def _fit_screen(self) -> None:
        """Take no more than the screen leaves free, less the frame that the system puts round."""
        room = self.screen().availableGeometry()
        self.resize(
            min(_WISHED_PX.width(), room.width() - 2 * theme.FRAME_PX),
            min(_WISHED_PX.height(), room.height() - theme.TITLE_BAR_PX - theme.FRAME_PX),
        )

    # the library

    def open_library(self, place: Path | LibraryAddress) -> None:
        """Open a library and show it, or show what is wrong with it and the ways on."""
        self.open(LibraryOpening(address_of(place)))

    def open(self, opening: LibraryOpening) -> None:
        """Open a library as wished, or show what is wrong with it and the ways on."""
        try:
            library = Library.open(
                opening.address,
                read_only=opening.read_only,
                begin_anew=opening.begin_anew,
                wait_s=LONGEST_WAIT_S,
            )
        except LibraryProblem as problem:
            has_library = self.library is not None
            self._recovery.show_problem(problem, opening.address, has_library=has_library)
            return
        self._close_library()
        self.library = library
        self._housekeeping = Housekeeping(library, self.messages, parent=self)
        self._housekeeping.others_wrote.connect(self._show_what_others_wrote)
        self._housekeeping.damaged.connect(
            lambda problem: self._recovery.ask_about_damage(problem, library.address)
        )
        self._screen = self._new_screen(library)
        self.show_page(self._screen, _NAME)
        self._preferences.remember_library(str(opening.address))
        tell_how(library, self.messages)

    def _new_screen(self, library: Library) -> LibraryScreen:
        screen = LibraryScreen(library, self._numbers, self.messages, self._preferences)
        screen.start_wanted.connect(self.show_start)
        screen.fitting_wanted.connect(self.open_fitting)
        screen.swap_wanted.connect(self.show_swap)
        screen.history_wanted.connect(self.show_history)
        screen.paper_wanted.connect(self.show_paper)
        screen.due_wanted.connect(self.show_due)
        screen.jobs_wanted.connect(self.show_jobs)
        screen.pictures_wanted.connect(self.show_pictures)
        screen.edit_wanted.connect(self.show_editor)
        screen.copy_wanted.connect(lambda kind, one: self.show_editor(kind, one, copies=True))
        screen.rehearsal_wanted.connect(self.show_rehearsal)
        return screen

    def show_library(self) -> None:
        """Go back to the library."""
        if self._screen is None or self.library is None:
            return
        before = self._screen
        if before.numbers == self._numbers or not before.is_idle:
            before.refresh()
        else:  # another decimal sign was chosen since
            self._screen = self._new_screen(self.library)
            self._screen.look_as(before)
            before.end()
        self.show_page(self._screen, _NAME)

    def _write_numbers_anew(self) -> None:
        """Write numbers with the sign that was chosen, on every page that is shown from now on.

        A choice in the window comes after the locale that the program was started with.

        The page that is open stays as it is: half of it with a comma and half with a point would
        be worse. The library, where nothing is typed, is shown anew at once.
        """
        self._numbers = numbers_of("", self._preferences.decimal)
        if self.pages.currentWidget() is self._screen:
            focus = QApplication.focusWidget()
            self.show_library()
            if focus is not None and isValid(focus) and focus.isVisible():
                focus.setFocus(Qt.FocusReason.OtherFocusReason)

    def open_in_place(self, address: LibraryAddress) -> None:
        """Open a library in place of the one that is open, if its pages may be left."""
        if self._may_leave_pages():
            self.open(LibraryOpening(address))

    def library_screen(self) -> LibraryScreen | None:
        """Go back to the library and return its page, as files that are given need it."""
        if self._screen is None or not self._may_leave_pages():
            return None
        if self.pages.currentWidget() is not self._screen:
            self.show_library()
        return self._screen

    # the pages

    def show_start(
        self,
        deck_id: str = "",
        cartridge_id: str = "",
        *,
        job_id: str = "",
        headshell_id: str = "",
        typed: dict[str, Any] | None = None,
    ) -> None:
        """Show the page that begins a fitting, for a job, or with what was typed of a new one."""
        if self.library is None:
            return
        # Imported here: a library is opened far more often than a fitting is begun.
        from desktop.library.start_page import StartPage

        try:
            page = StartPage(self.library, self._preferences, self._numbers, self.messages)
        except LibraryProblem as problem:
            tell_problem(self.messages, problem)
            return
        page.pick(deck_id, cartridge_id)
        page.headshell.choose(headshell_id)
        if typed is not None:
            page.for_customer.type_again(typed)
        elif job_id:
            page.for_customer.choose(job_id)
        page.start_wanted.connect(partial(self._start, page))
        page.add_wanted.connect(lambda kind, name: self._add_for_start(page, kind, name))
        page.headshell_wanted.connect(partial(self._edit_headshell, page))
        page.resume_wanted.connect(self.open_fitting)
        page.closed.connect(self.show_library)
        self.show_page(page, tr("shell.main_window.start_a_fitting_what", what=Name(_NAME)))

    def _add_for_start(self, page: StartPage, kind: str, name: str) -> None:
        """Show a form for a new one, and go on from the page that begins a fitting."""
        picked = page.decks.current_id, page.cartridges.current_id
        typed = page.for_customer.typed()

        def go_on(kept: str = "") -> None:
            deck, cartridge = picked
            if kind == "deck":
                self.show_start(kept or deck, cartridge, typed=typed)
            else:
                self.show_start(deck, kept or cartridge, typed=typed)

        self.show_editor(kind, name=name, then=go_on)

    def _edit_headshell(self, page: StartPage, headshell_id: str) -> None:
        """Show a headshell's form, and go on from the page that begins a fitting."""
        picked = page.decks.current_id, page.cartridges.current_id
        typed = page.for_customer.typed()

        def go_on(kept: str = "") -> None:
            self.show_start(*picked, headshell_id=kept or headshell_id, typed=typed)

        self.show_editor("headshell", headshell_id, then=go_on)

    def _add_for_swap(self, fitting_id: str, name: str, *, from_library: bool) -> None:
        def go_on(kept: str = "") -> None:
            self.show_swap(fitting_id, kept, from_library=from_library)

        self.show_editor("cartridge", name=name, then=go_on)

    def show_editor(
        self,
        kind: str,
        record_id: str = "",
        *,
        copies: bool = False,
        name: str = "",
        then: Callable[[str], None] | None = None,
    ) -> None:
        """Show the form of a deck, a cartridge, a headshell or a test record.

        ``then`` is called with the id of what was saved, or an empty one; else the library shows.
        """
        if self.library is None:
            return
        # Imported here: forms are not needed to look at the library.
        from desktop.library.editor import RECORD_KINDS, RecordEditor

        try:
            page = RecordEditor(
                RECORD_KINDS[kind],
                self.library,
                record_id,
                copies=copies,
                who=self._preferences.who,
                numbers=self._numbers,
                messages=self.messages,
                parent=self.pages,
            )
        except LibraryProblem as problem:
            tell_problem(self.messages, problem)
            return
        if name:
            page.suggest_name(name)
        if then is None:
            page.closed.connect(self.show_library)
            page.kept.connect(lambda kept: self._show_kept(kind, kept))
            page.pictures_wanted.connect(self.show_pictures)
        else:
            page.closed.connect(partial(then, ""))
            page.kept.connect(then)
            page.pictures_wanted.connect(self.show_pictures)
        self.show_page(page, f"{page.accessibleName()} – {_NAME}")

    def show_jobs(self, job_id: str = "", *, is_gone: bool = False) -> None:
        """Show the jobs, one of them picked, which was just handed over if it ``is_gone``."""
        if self.library is None:
            return
        # Imported here: whoever works without jobs needs none of it.
        from desktop.library.jobs_page import JobsPage

        page = JobsPage(self.library, self._numbers, self.messages, self._preferences)
        page.closed.connect(self.show_library)
        page.job_wanted.connect(self.show_job)
        page.pictures_wanted.connect(self.show_pictures)
        page.start_wanted.connect(lambda job: self.show_start(job_id=job))
        self.show_page(page, f"{page.accessibleName()} – {_NAME}")
        if job_id:
            page.pick(job_id)
        if is_gone:
            page.note_handed_over(job_id)

    def show_job(self, job_id: str = "") -> None:
        """Show a job, or the form of a new one."""
        if self.library is None:
            return
        # Imported here: forms are not needed to look at the library.
        from desktop.library.job_page import JobPage

        try:
            page = JobPage(
                self.library,
                job_id,
                who=self._preferences.who,
                numbers=self._numbers,
                messages=self.messages,
                parent=self.pages,
            )
        except LibraryProblem as problem:
            tell_problem(self.messages, problem)
            return
        page.closed.connect(lambda: self.show_jobs(job_id))
        page.done.connect(self.show_jobs)
        page.gone.connect(lambda job: self.show_jobs(job, is_gone=True))
        page.pictures_wanted.connect(self.show_pictures)
        page.start_wanted.connect(lambda job: self.show_start(job_id=job))
        page.fitting_wanted.connect(self.open_fitting)
        self.show_page(page, f"{page.accessibleName()} – {_NAME}")

    def open_fitting(self, fitting_id: str) -> None:
        """Show the wizard for a fitting, at the step that is due."""
        if self.library is None:
            return
        # Imported here: the wizard brings pyqtgraph, which the library can do without at start-up.
        is_first = "desktop.wizard" not in sys.modules
        from desktop.paper.paper_button import paper_button
        from desktop.tasks.fitting_controller import FittingController
        from desktop.wizard import Wizard

        if is_first:
            gc.freeze()  # as at start-up

        try:
            controller = FittingController(
                self.library, fitting_id, who=self._preferences.who, numbers=self._numbers
            )
        except LibraryProblem as problem:
            tell_problem(self.messages, problem)
            return
        page = Wizard(
            controller,
            self.messages,
            self.pages,
            paper_button=paper_button,
            folds_words=self._preferences.folds_words,
        )
        page.words_folded.connect(self._remember_folded_words)
        page.appearance_wanted.connect(self.show_appearance)
        controller.setParent(page)
        page.closed.connect(self.show_library)
        page.swap_wanted.connect(self.show_swap)
        page.history_wanted.connect(lambda deck: self.show_history(deck, from_fitting=fitting_id))
        controller.others_added.connect(
            lambda added: self.others.say(
                others_words(
                    added, self._numbers, parallel=not controller.journey.deck.arm.is_pivoted
                )
            )
        )
        controller.changed.connect(lambda: self._retitle_fitting(page))  # its arm may be another
        self.show_page(page, _title_of_fitting(controller.journey))

    def _retitle_fitting(self, page: Wizard) -> None:
        if self.pages.currentWidget() is page:
            self.setWindowTitle(_title_of_fitting(page.controller.journey))

    def _remember_folded_words(self, away: bool) -> None:  # noqa: FBT001  # a signal's value
        self._preferences.remember_folded_words(away=away)

    def show_swap(
        self, fitting_id: str, cartridge_id: str = "", *, from_library: bool | None = None
    ) -> None:
        """Show the way from a finished fitting to another cartridge, with its plan if it is known.

        ``from_library`` says where the way back leads; None takes the page that is open.
        """
        if self.library is None:
            return
        # Imported here: the plan brings pyqtgraph and the steps.
        from desktop.swap.swap_page import SwapPage

        leads_back = (
            self.pages.currentWidget() is self._screen if from_library is None else from_library
        )
        try:
            page = SwapPage(
                self.library,
                fitting_id,
                who=self._preferences.who,
                numbers=self._numbers,
                messages=self.messages,
            )
        except LibraryProblem as problem:
            tell_problem(self.messages, problem)
            return
        page.started.connect(self.open_fitting)
        page.paper_wanted.connect(lambda swap: self._paper().plan(swap.plan, swap.foretold, self))
        page.add_wanted.connect(
            lambda fitting, name: self._add_for_swap(fitting, name, from_library=leads_back)
        )
        page.closed.connect(
            self.show_library if leads_back else lambda: self.open_fitting(fitting_id)
        )
        self.show_page(page, tr("shell.main_window.fit_another_cartridge_what", what=Name(_NAME)))
        if cartridge_id:
            page.show_plan(cartridge_id)

    def show_history(self, deck_id: str, *, from_fitting: str = "") -> None:
        """Show what is due on a deck, and what was done to it over the years."""
        if self.library is None:
            return
        # Imported here: charts and steps are not needed to look at the library.
        from desktop.history.history_page import HistoryPage

        try:
            page = HistoryPage(
                self.library, deck_id, self._numbers, self.messages, who=self._preferences.who
            )
        except LibraryProblem as problem:
            tell_problem(self.messages, problem)
            return
        page.closed.connect(
            (lambda: self.open_fitting(from_fitting))
            if from_fitting
            else lambda: self._show_kept("deck", deck_id)
        )
        page.fitting_wanted.connect(self.open_fitting)
        page.swap_wanted.connect(self.show_swap)
        page.start_wanted.connect(self.show_start)
        page.pictures_wanted.connect(self.show_pictures)
        page.paper_wanted.connect(
            lambda deck, timeline, dues, services: self._paper().history(
                deck, timeline, dues, services, self
            )
        )
        self.show_page(page, f"{page.accessibleName()} – {_NAME}")

    def show_due(self) -> None:
        """Show the decks that are due for their check."""
        if self.library is None:
            return
        # Imported here: the first screen can do without it.
        from desktop.history.due_page import DuePage

        try:
            page = DuePage(self.library, self._numbers, self.messages)
        except LibraryProblem as problem:
            tell_problem(self.messages, problem)
            return
        page.closed.connect(self.show_library)
        page.history_wanted.connect(self.show_history)
        page.start_wanted.connect(self.show_start)
        page.paper_wanted.connect(lambda rows, day: self._paper().due(rows, day, self))
        self.show_page(page, f"{page.accessibleName()} – {_NAME}")

    def show_paper(self, deck_id: str) -> None:
        """Show the sheets of a deck over the page that is open."""
        if self.library is None:
            return
        # Imported here: printing and drawing are not needed to start.
        from desktop.paper.of_deck import open_paper_of_deck

        try:
            open_paper_of_deck(
                self.library,
                deck_id,
                self,
                numbers=self._numbers,
                messages=self.messages,
                who=self._preferences.who,
            )
        except LibraryProblem as problem:
            tell_problem(self.messages, problem)

    def _paper(self) -> LeavingPaper:
        # Imported here: printing and drawing are not needed to start.
        from desktop.paper.leaving import LeavingPaper

        if self.library is None:
            raise RuntimeError("a page was left open without its library")
        return LeavingPaper(self.library, self._numbers, self.messages, self._preferences.who)

    def show_pictures(self, sort: str, thing_id: str) -> PicturesPage | None:
        """Show the pictures of a thing over the page that is open, which stays as it is."""
        before = self.pages.currentWidget()
        if self.library is None or not thing_id:
            return None
        # Imported here: few look at pictures.
        from desktop.pictures.page import PicturesPage

        if isinstance(before, PicturesPage) and before.owner == (sort, thing_id):
            return before
        try:
            page = PicturesPage(
                self.library,
                (sort, thing_id),
                self._numbers,
                self.messages,
                who=self._preferences.who,
                preferences=self._preferences,
            )
        except LibraryProblem as problem:
            tell_problem(self.messages, problem)
            return None
        page.told_of_others.connect(self.others.say)
        self._lay_over(page, f"{page.accessibleName()} – {_NAME}")
        page.begin()
        return page

    def page_on_show(self) -> Page | None:
        """Return the page on show."""
        page = self.pages.currentWidget()
        return page if isinstance(page, Page) else None

    def subject(self) -> tuple[str, str] | None:
        """Return what pictures that are given to the page on show belong to, if to anything."""
        page = self.page_on_show()
        return None if page is None else page.subject()

    def show_rehearsal(self) -> None:
        """Show where the job is rehearsed on a simulated deck, apart from the library."""
        if self.library is None:
            return
        # Imported here: it brings the practice deck and the wizard.
        from desktop.paper.paper_button import paper_button
        from desktop.rehearsal.rehearsal_page import RehearsalPage
        from desktop.wizard import Wizard

        place = self.library.address.for_rehearsals()

        def wizard(controller: FittingController, beside: Beside) -> Wizard:
            made = Wizard(
                controller,
                self.messages,
                paper_button=paper_button,
                beside=beside,
                offers_next=False,
                folds_words=self._preferences.folds_words,
            )
            made.words_folded.connect(self._remember_folded_words)
            return made

        page = RehearsalPage(
            place,
            self._numbers,
            self.messages,
            wizard,
            self._preferences.who,
        )
        page.closed.connect(self.show_library)
        page.appearance_wanted.connect(self.show_appearance)
        page.others_added.connect(
            lambda added, parallel: self.others.say(
                others_words(added, self._numbers, parallel=parallel)
            )
        )
        self.show_page(page, tr("shell.main_window.rehearsal_what", what=Name(_NAME)))

    def show_backups(self) -> None:
        """Show the backups of the open library."""
        if self.library is not None:
            self._recovery.show_backups(self.library.address, is_open=True)

    # files dropped on the window

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take files of this computer, and nothing else."""
        if _files_of(event.mimeData()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Take the files that were dropped, once whoever they come from has let go."""
        # Imported here: files are seldom dropped.
        from desktop.shell.given_pictures import GivenPictures, parted

        pictures, files = parted(_files_of(event.mimeData()))
        event.acceptProposedAction()
        if pictures:
            QTimer.singleShot(0, self, lambda: GivenPictures(self, self.messages).take(pictures))
        if files:
            QTimer.singleShot(0, self, lambda: self.given.take(files))

    # other windows

    def changeEvent(self, event: QEvent) -> None:
        """Look at once what other windows have entered when this one comes to the front."""
        super().changeEvent(event)
        if (
            event.type() == QEvent.Type.ActivationChange
            and self.isActiveWindow()
            and self._housekeeping
        ):
            self._housekeeping.look()

    def _show_what_others_wrote(self) -> None:
        page = self.pages.currentWidget()
        if isinstance(page, Page):
            page.look_again()

    def show_appearance(self) -> None:
        """Show above the page where colours and type are chosen; the page stays as it is."""
        if self._appearance_panel is None:
            self._appearance_panel = AppearancePanel(self._preferences, self.pages)
            self._appearance_panel.sign_chosen.connect(self._write_numbers_anew)
            self._top.insertWidget(1, self._appearance_panel)
        self._appearance_panel.ask()

    # the menus

    def show_help(self, section: str = "words") -> None:
        """Show Help over the page that is open, which stays as it is."""
        # Imported here: it brings the steps.
        from desktop.help.help_page import HelpPage

        before = self.pages.currentWidget()
        if not isinstance(before, HelpPage):
            page = HelpPage(self._numbers, str(self.library.address) if self.library else "")
            self._lay_over(page, tr("shell.main_window.help_what", what=Name(_NAME)))
            before = page
        before.show_section(section)

    def _lay_over(self, page: Page, title: str) -> None:
        """Show a page over the one that is open, which stays as it is."""
        before, focus = self.pages.currentWidget(), QApplication.focusWidget()
        title_before = self.windowTitle()
        page.closed.connect(lambda: self._lift(page, before, focus, title_before))
        self.pages.addWidget(page)
        self.pages.setCurrentWidget(page)
        self.setWindowTitle(title)

    def _lift(self, page: Page, beneath: QWidget | None, focus: QWidget | None, title: str) -> None:
        """Put a page away that lies over another, and go on there if it is still open."""
        is_open = (
            isinstance(beneath, Page) and isValid(beneath) and self.pages.indexOf(beneath) >= 0
        )
        if is_open and beneath is not None:
            self.pages.setCurrentWidget(beneath)
        let_go(self.pages, page)
        if not is_open or not isinstance(beneath, Page):
            return
        self.setWindowTitle(title)
        beneath.look_again()
        if focus is not None and isValid(focus) and focus.isVisible():
            focus.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            beneath.begin()

    def _on_menu(self, key: str) -> None:
        match key:
            case "words" | "keys" | "without" | "about":
                self.show_help(key)
            case "larger" | "smaller":
                change_scale(self._preferences, 1 if key == "larger" else -1)
                self._show_appearance_again()
            case "appearance":
                self.show_appearance()
            case "pictures":
                self._show_pictures_of_this()
            case "quit":
                self.close()
            case _ if self._may_leave_pages():
                self._act_on_library(key)

    def _act_on_library(self, key: str) -> None:
        """Do what the File menu offers; whatever page was open may be left."""
        if key == "open":
            self._ask_for_another()
        elif key == "backups":
            self.show_backups()
        elif key == "jobs":
            self.show_jobs()
        elif self._screen is not None:
            self.show_library()
            if key == "import":
                self._screen.take_in.click()
            elif key == "export":
                self._screen.export_everything()
            elif key == "figures":
                self._screen.export_figures()

    def _show_pictures_of_this(self) -> None:
        """Show the pictures of what the page on show is about."""
        owner = self.subject()
        if owner is None:
            self.messages.tell(
                tr("shell.given_pictures.of_nothing"), tr("shell.given_pictures.of_nothing_todo")
            )
        else:
            self.show_pictures(*owner)

    def _open_recent(self, address: str) -> None:
        place = address_of(Path(address))
        if not Path(address).exists():
            self.messages.tell(
                tr("shell.main_window.not_opened"),
                tr("shell.main_window.no_such_library", path=Name(address)),
                tr("shell.main_window.no_such_library_todo"),
            )
        else:
            self.open_in_place(place)

    def _show_what_can_be_done(self) -> None:
        library = self.library
        has_backups = library is not None and library.address.backups is not None
        self.menus.offer(
            has_library=library is not None,
            has_backups=has_backups,
            leads_to_library=self.pages.currentWidget() is not self._screen,
        )
        now = str(library.address) if library is not None else ""
        recent = self._preferences.recent_libraries
        self.menus.show_recent([address for address in recent if address != now])

    def _show_scheme(self) -> None:
        self.menus.show_scheme(self._preferences.appearance[0])

    def _change_scheme(self, scheme: Scheme) -> None:
        change_scheme(self._preferences, scheme)
        self._show_appearance_again()

    def _show_appearance_again(self) -> None:
        if self._appearance_panel is not None:
            self._appearance_panel.show_current()

    def _may_leave_pages(self) -> bool:
        """Whether no page holds what would be lost, or the person gives it up."""
        places = (self.pages.widget(place) for place in range(self.pages.count()))
        return all(page.may_leave() for page in places if isinstance(page, Page))

    # leaving

    def focusNextPrevChild(self, forward: bool) -> bool:  # noqa: FBT001 - Qt calls it so
        """Go to the next field as the page is read, whatever was made when."""
        in_reading_order(self.pages)
        return super().focusNextPrevChild(forward)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Close at any time; ask only if a form holds what was typed and not saved."""
        if not self._may_leave_pages():
            event.ignore()
            return
        self._preferences.remember_geometry(self.saveGeometry())
        self._preferences.save()
        self._close_library()
        event.accept()

    def show_page(self, page: Page, title: str) -> None:
        """Show a page under a title; the one before is let go, unless it is the library."""
        if self.pages.indexOf(page) < 0:
            self.pages.addWidget(page)
            page.told_of_others.connect(self.others.say)
        self.pages.setCurrentWidget(page)
        for index in reversed(range(self.pages.count())):
            other = self.pages.widget(index)
            if other is not page and other is not self._screen and other is not None:
                let_go(self.pages, other)
        self.setWindowTitle(title)
        self.others.put_away()
        page.begin()

    def _show_kept(self, kind: str, record_id: str) -> None:
        self.show_library()
        if self._screen is not None:
            shows = {
                "deck": self._screen.show_deck,
                "cartridge": self._screen.show_cartridge,
                "headshell": self._screen.show_headshell,
                "test record": self._screen.show_test_record,
            }
            shows[kind](record_id)

    def _start(self, page: StartPage, deck_id: str, cartridge_id: str, work: str) -> None:
        if self.library is None:
            return
        # Imported here: the window is shown before any fitting is begun.
        from core.workflow import work_asked

        chosen, shell, planned = Work(work), page.headshell.current_id, None
        arm = page.arm.current_key
        asked = None if chosen is Work.WHOLE else work_asked(chosen)
        try:
            if chosen is Work.HEADSHELL:
                from core.swap import headshell_change  # few need it

                change = headshell_change(self.library, deck_id, shell, cartridge_id, arm)
                asked, planned = change.work, change.planned
            with self.library.transaction():  # a new job and its fitting, both or neither
                fitting = self.library.start_fitting(
                    deck_id,
                    cartridge_id,
                    who=self._preferences.who,
                    planned=planned,
                    work=asked,
                    headshell=self.library.used_headshell(shell) if shell else None,
                    job_id=page.for_customer.keep(),
                    arm_key=arm,
                )
        except LibraryProblem as problem:
            tell_problem(self.messages, problem)
            return
        self.open_fitting(fitting.id)

    def _ask_for_another(self) -> None:
        address = self.library.address if self.library else address_of(default_library_path())
        self._recovery.ask_for_another(address)

    def _close_library(self) -> None:
        """Close the library that is open, and everything that shows it."""
        if self._housekeeping is not None:
            self._housekeeping.end()
            self._housekeeping = None
        if self._screen is not None and self.pages.indexOf(self._screen) < 0:
            self._screen.end()
            self._screen.deleteLater()
        self._screen = None  # it goes with the other pages, once a new one is on show
        for place in range(self.pages.count()):
            if isinstance(page := self.pages.widget(place), Page):
                page.end()
        if self.library is not None:
            try:
                self.library.close()
            except LibraryProblem as problem:
                tell_problem(self.messages, problem)
            self.library = None


def _files_of(data: QMimeData) -> list[Path]:
    """Return the files of this computer that are dragged; empty if something else is."""
    return [Path(url.toLocalFile()) for url in data.urls() if url.isLocalFile()]


def _title_of_fitting(journey: Journey) -> str:
    title = tr(
        "shell.main_window.deck_with_cartridge_what",
        deck=Name(journey.deck.name),
        cartridge=Name(journey.cartridge.name),
        what=Name(_NAME),
    )
    number = journey.fitting.job.number
    return (
        tr("shell.main_window.of_job", number=Name(number), title=Name(title)) if number else title
    )
