"""The wizard: the steps at the side, the page of one of them, and their keys."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Final

from PySide6.QtCore import QEvent, QObject, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QApplication, QHBoxLayout, QStackedWidget, QWidget

from core.fitting import Journey, StepState
from core.language import Name, message
from core.steps import STEP_NAMES
from desktop.forms.number_field import begins_a_number
from desktop.forms.reading_panel import ReadingPanel
from desktop.tasks.fitting_controller import FittingController
from desktop.widgets import theme
from desktop.widgets.keys import bind, is_held_enter
from desktop.widgets.language import tr
from desktop.widgets.messages import Messages
from desktop.widgets.page import Page
from desktop.widgets.panels import add_all, button, column_in, let_go
from desktop.wizard.arm_button import ArmButton
from desktop.wizard.button_bar import ButtonBar
from desktop.wizard.entry_undo import EntryUndo
from desktop.wizard.rail import SUMMARY, Rail
from desktop.wizard.step_page import PaperButtons, StepPage
from desktop.wizard.summary_page import SummaryPage

Beside = Callable[[str, ReadingPanel, QWidget], QWidget]
"""Creates a panel from a step's name, its reading and its page."""
_PLACES = (*STEP_NAMES, SUMMARY)
_WIDE_RAIL_FROM_EM: Final = 30.0


class Wizard(Page):
    """One fitting from the first step to the last page.

    Nothing advances by itself; a page that was left keeps its input.

    ``beside`` creates a further panel beside each reading; without ``offers_next`` a finished
    fitting offers neither another cartridge nor the deck's history, as in a rehearsal.
    """

    escape_leaves = True
    sign_shows = message("shell.appearance_panel.after_the_fitting")

    swap_wanted = Signal(str)
    """The person fits another cartridge after the finished fitting with this id."""
    history_wanted = Signal(str)
    """The person opens the history of the deck with this id."""
    words_folded = Signal(bool)
    """The person folded the words of the work away (True) or opened them (False)."""

    def __init__(
        self,
        controller: FittingController,
        messages: Messages,
        parent: QWidget | None = None,
        *,
        paper_button: PaperButtons | None = None,
        beside: Beside | None = None,
        offers_next: bool = True,
        folds_words: bool = False,
    ) -> None:
        super().__init__(parent)
        self.controller = controller
        self._messages = messages
        self._paper_button, self._beside = paper_button, beside
        self._words_are_folded = folds_words
        self._offers_next = offers_next
        self.rail = Rail(controller.numbers, self)
        self._pages: dict[str, StepPage | SummaryPage] = {}
        self._shown: dict[str, Journey] = {}
        self._stack = QStackedWidget(self)
        self.entry_undo = EntryUndo(controller, messages, self)
        self.place = ""
        self._make_bar()
        self._arm_key = controller.fitting.arm_key
        self.arm_button = ArmButton(controller, messages, self)
        self.rail.put_above(self.arm_button)
        self.arm_button.clicked.connect(self._ask_for_arm)
        self._lay_out()
        self._bind_keys()
        if parent is not None:  # at its final size at once, so that the page is laid out once
            self.resize(parent.size())
            self._frame.activate()
        self.rail.chosen.connect(self.go)
        controller.changed.connect(self._refresh)
        self.go(SUMMARY if controller.fitting.is_finished else controller.journey.due or SUMMARY)

    @property
    def page(self) -> StepPage | SummaryPage:
        """The page on show."""
        return self._pages[self.place]

    def go(self, place: str) -> None:
        """Show a step or the last page at the person's request."""
        page = self._pages.get(place)
        if page is None:
            page = self._make_page(place)
            self._shown[place] = self.controller.journey
        self.place = place
        if isinstance(page, StepPage):
            page.fold_words(away=self._words_are_folded)
        self._stack.setCurrentWidget(page)
        self._refresh()
        self.rail.mark(place)
        self.begin()

    def begin(self) -> None:
        """Put the focus on the title of the page on show."""
        self.page.begin()

    def step_by(self, steps: int) -> None:
        """Show the page this many places further down."""
        place = _PLACES.index(self.place) + steps
        if 0 <= place < len(_PLACES):
            self.go(_PLACES[place])

    def may_leave(self) -> bool:
        """Whether nothing typed would be lost, or the person agrees to lose it."""
        typed = [page for page in self._pages.values() if page.has_unsaved()]
        drafts = self.controller.drafts
        if not typed:
            drafts.leave()
            return True
        # A page that is not a step's keeps no drafts.
        lasts = all(isinstance(page, StepPage) and not page.has_unkept() for page in typed)
        where = Name(", ".join(page.title.text() for page in typed))
        later = [tr("wizard.wizard.leave_it_for_later")] if lasts else []
        answer = self._messages.ask(
            tr("wizard.wizard.typed_but_not_kept"),
            tr("wizard.wizard.a_draft_is_kept", where=where)
            if lasts
            else tr("wizard.wizard.something_is_typed_but_not", where=where),
            [
                tr("wizard.wizard.go_back_to_it"),
                *later,
                tr("wizard.wizard.leave_without_it"),
            ],
            stays=0,
        )
        if answer is not None and answer > 0:
            if answer > len(later):
                drafts.throw_away()
            drafts.leave()
            return True
        place = next(name for name, page in self._pages.items() if page is typed[0])
        self.go(place)
        return False

    def subject(self) -> tuple[str, str]:
        """Return the fitting."""
        return "fitting", self.controller.fitting.id

    def look_again(self) -> None:
        """Show what another window has written."""
        sentence = self.controller.look()
        if sentence:
            self._messages.tell(tr("wizard.wizard.not_read_again"), sentence)
        self.arm_button.look_again()

    def _ask_for_arm(self) -> None:
        self.arm_button.ask(is_typed=any(page.has_unsaved() for page in self._pages.values()))

    def _take_other_arm(self) -> None:
        """Create the pages again: their forms depend on the arm."""
        self._arm_key = self.controller.fitting.arm_key
        before = list(self._pages.values())
        self._pages.clear()
        self._shown.clear()
        self.go(self.controller.journey.due or SUMMARY)
        for page in before:
            let_go(self._stack, page)

    def _make_page(self, place: str) -> StepPage | SummaryPage:
        page: StepPage | SummaryPage
        if place == SUMMARY:
            page = SummaryPage(self.controller, self._messages, self._paper_button, self._stack)
            page.step_wanted.connect(self.go)
            page.swap_wanted.connect(lambda: self.swap_wanted.emit(self.controller.fitting.id))
            page.history_wanted.connect(self.history_wanted)
            page.reopened.connect(self._go_on)
            page.finished_panel.offer_next(away=self._offers_next)
        else:
            page = StepPage(self.controller, place, self._messages, self._paper_button, self._stack)
            if self._beside is not None:
                page.put_beside(self._beside(place, page.reading, page))
            page.folded.connect(lambda away: self._fold_words(away=away))
            page.ready.connect(self._on_ready)
            page.offer_changed.connect(self._show_offers)
            page.step_wanted.connect(self.go)
            page.settled.connect(self._go_on)
            page.reopen_wanted.connect(self._ask_why_again)
        self._pages[place] = page
        page.resize(self._stack.size())
        self._stack.addWidget(page)
        return page

    def _make_bar(self) -> None:
        self.close_button = button(
            tr("wizard.wizard.close"), keys="Ctrl+W", tip=tr("wizard.wizard.back_to_the_library")
        )
        self.back_button = button(
            tr("wizard.wizard.back"), keys="Ctrl+Up", tip=tr("wizard.wizard.the_step_before")
        )
        self.next_button = button(
            tr("wizard.wizard.next"),
            keys="Ctrl+Down",
            tip=tr("wizard.wizard.the_next_step_only_to"),
        )
        self.override_button = button(
            tr("wizard.wizard.keep_anyway"),
            keys="Ctrl+Shift+K",
            tip=tr("wizard.wizard.keep_the_step_as_it"),
        )
        self.accept_button = button(
            tr("wizard.wizard.accept_and_go_on"),
            keys="Ctrl+Shift+Return",
            tip=tr("wizard.wizard.accept_the_verdict_and_open"),
            primary=True,
        )
        self.appearance_button = button(
            tr("wizard.wizard.look"),
            keys="Ctrl+Shift+L",
            tip=tr("wizard.wizard.colours_and_size_of_type"),
            quiet=True,
        )
        self.appearance_button.clicked.connect(self.appearance_wanted)
        self.accept_button.installEventFilter(self)
        self.close_button.clicked.connect(self.leave)
        self.back_button.clicked.connect(lambda: self.step_by(-1))
        self.next_button.clicked.connect(lambda: self.step_by(1))
        self.override_button.clicked.connect(self._ask_reason)
        self.accept_button.clicked.connect(self._accept)

    def _lay_out(self) -> None:
        self._bar = ButtonBar(
            (self.close_button, self.appearance_button),
            (self.back_button, self.next_button),
            (self.override_button, self.accept_button),
            self,
        )
        middle = QHBoxLayout()
        middle.setContentsMargins(0, 0, 0, 0)
        middle.setSpacing(0)
        add_all(middle, self.rail, (self._stack, 1))
        self._frame = outer = column_in(self)
        outer.setSpacing(0)
        add_all(outer, (middle, 1), self.entry_undo.bar, self._bar)

    def minimumSizeHint(self) -> QSize:
        """Return the width with the narrow rail: it narrows before the page is cut."""
        beside = self.rail.narrow_width() + self._stack.minimumSizeHint().width()
        least = super().minimumSizeHint()
        return QSize(max(beside, self._bar.minimumSizeHint().width()), least.height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Narrow the rail in a narrow window."""
        super().resizeEvent(event)
        self._fit_rail()

    def changeEvent(self, event: QEvent) -> None:
        """See again how much room there is after a change of font."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and hasattr(self, "_bar"):
            self._fit_rail()

    def _fit_rail(self) -> None:
        self.rail.narrow(narrow=self.width() < _WIDE_RAIL_FROM_EM * theme.em(self))

    def _bind_keys(self) -> None:
        for number, name in enumerate(STEP_NAMES, start=1):
            bind(self, f"Ctrl+{number}", partial(self.go, name))
        bind(self, "Ctrl+0", lambda: self.go(SUMMARY))
        bind(self, "Ctrl+Up", lambda: self.step_by(-1))
        bind(self, "Ctrl+Down", lambda: self.step_by(1))
        bind(self, "Ctrl+Shift+Return", self._accept)
        bind(self, "Ctrl+Shift+K", self._ask_reason)
        bind(self, "Ctrl+W", self.leave)
        bind(self, "Ctrl+Z", self.entry_undo.undo)
        self.entry_undo.undone.connect(self._take_up_again)
        bind(self, "Ctrl+R", lambda: self._on_step(StepPage.start_reading))
        bind(self, "Ctrl+Return", lambda: self._on_step(StepPage.keep_reading))
        bind(self, "Ctrl+M", lambda: self._on_step(StepPage.start_moving))
        bind(self, "Ctrl+Shift+M", lambda: self._on_step(StepPage.ask_other_move))
        bind(self, "Ctrl+T", lambda: self._on_step(StepPage.toggle_cautions))
        bind(self, "Ctrl+D", lambda: self._on_step(StepPage.keep_all_done))
        bind(self, "Ctrl+Shift+A", self._ask_for_arm)
        bind(self, "F2", lambda: self._fold_words(away=not self._words_are_folded))

    def _on_step(self, act: Callable[[StepPage], None]) -> None:
        if isinstance(self.page, StepPage):
            act(self.page)

    def _fold_words(self, *, away: bool) -> None:
        self._words_are_folded = away
        page = self.page
        if isinstance(page, StepPage):
            page.fold_words(away=away)
        self.words_folded.emit(away)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Ignore Enter still held down from the last field."""
        return is_held_enter(event) or super().eventFilter(watched, event)

    def _on_ready(self) -> None:
        self._refresh()
        if self.accept_button.isEnabled():
            self.accept_button.setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take a number typed outside every field into the next unanswered one."""
        typed, page = event.text(), self.page
        if begins_a_number(typed) and isinstance(page, StepPage):
            page.type_on(typed)
        else:
            super().keyPressEvent(event)

    def _take_up_again(self) -> None:
        """Go to what the page asks after an entry was taken back, unless that offers to go on."""
        focused = QApplication.focusWidget()
        offers = focused is not None and self.entry_undo.bar.isAncestorOf(focused)
        if isinstance(self.page, StepPage) and not offers:
            self.page.take_up_again()

    def _refresh(self) -> None:
        if self.controller.fitting.arm_key != self._arm_key:
            self._take_other_arm()
            return
        journey, page = self.controller.journey, self.page
        self.rail.show_journey(journey)
        self.arm_button.refresh()
        if self._shown.get(self.place) is not journey:  # a page just created shows it already
            self._shown[self.place] = journey
            page.refresh()
        at = _PLACES.index(self.place)
        self.back_button.setEnabled(at > 0)
        self.next_button.setEnabled(at < len(_PLACES) - 1)
        is_step = isinstance(page, StepPage)
        self.accept_button.setVisible(is_step)
        self.override_button.setVisible(is_step)
        self._show_offers()

    def _show_offers(self) -> None:
        """Offer to go on, unless what is typed speaks against it."""
        page = self._pages.get(self.place)
        if isinstance(page, StepPage):
            settled = page.status.is_settled
            self.accept_button.setText(
                tr("wizard.wizard.go_on") if settled else tr("wizard.wizard.accept_and_go_on")
            )
            may_go = settled and not page.is_spoken_against
            self.accept_button.setEnabled(may_go or page.can_accept())
            self.override_button.setEnabled(page.can_override())

    def _accept(self) -> None:
        page = self.page
        if not isinstance(page, StepPage):
            return
        if page.status.state is StepState.KEPT and not page.is_spoken_against:
            self._go_on()
        else:
            page.accept()

    def _ask_reason(self) -> None:
        page = self.page
        if isinstance(page, StepPage):
            page.ask_reason()

    def _ask_why_again(self) -> None:
        self.go(SUMMARY)
        page = self.page
        if isinstance(page, SummaryPage):
            page.ask_why_again()

    def _go_on(self) -> None:
        self.go(self.controller.journey.due or SUMMARY)
