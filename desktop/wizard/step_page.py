"""The page of one step."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QApplication, QHBoxLayout, QVBoxLayout, QWidget
from shiboken6 import isValid

from core.fitting import (
    KEEP_STYLUS_UP,
    Assessment,
    Body,
    ChoiceMade,
    Choices,
    ControlChecked,
    MoveMade,
    MovePart,
    NoteWritten,
    Reading,
    ReadingTaken,
    StepAccepted,
    StepState,
    StepStatus,
    Verdict,
    Withdrawn,
)
from core.language import Message, Name, StepTitle, Text, message
from core.steps import SPEED, step_named
from core.steps.downforce import FINAL, ROUGH
from core.steps.shared import MayBeRead, Movable, may_be_read
from core.store import LibraryProblem, WorkStoppedError
from core.workflow import home_of, movables, set_back_of, told_of_arm
from desktop.forms.check_panel import CheckPanel
from desktop.forms.move_panel import MovePanel
from desktop.forms.reading_panel import ReadingPanel
from desktop.tasks.blocking_task import run_blocking
from desktop.tasks.deferred_build import DeferredBuild
from desktop.tasks.fitting_controller import FittingController
from desktop.widgets import theme
from desktop.widgets.after_release import AfterRelease
from desktop.widgets.caution_line import CautionLine
from desktop.widgets.columns import Columns
from desktop.widgets.focus_moves import follow_focus
from desktop.widgets.language import local_label, step_words, tr
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.page import PageTitle
from desktop.widgets.panels import (
    add_all,
    announce,
    button,
    column_in,
    heading,
    set_shown,
    text_label,
)
from desktop.widgets.steady_label import activate_layouts
from desktop.widgets.undo_bar import let_undo_through
from desktop.widgets.verdict_badge import IN_PLACE_OF_VERDICT, Badge, VerdictDisplay
from desktop.wizard.caution_strip import CautionStrip
from desktop.wizard.choice_panel import ChoicePanel
from desktop.wizard.guide import Guide
from desktop.wizard.page_cautions import PageCautions
from desktop.wizard.prompt_panels import PromptPanels
from desktop.wizard.step_drafts import NEXT_MOVE, OTHER_MOVE, START_MOVE, MoveForm, StepDrafts
from desktop.wizard.title_row import TitleRow

if TYPE_CHECKING:
    from desktop.wizard.bench_view import BenchView
    from desktop.wizard.side_pane import SidePane
    from desktop.wizard.start_panel import StartPanel

PaperButtons = Callable[[FittingController, str, Messages], QWidget | None]
"""Creates the button that opens a page's sheets; None for a page without any."""

_GUARD: Final = "guard"
"""The caution to leave the stylus guard on."""

_LOW_EM: Final = 46.0
"""In windows lower than this the verdict takes fewer lines."""


class StepPage(QWidget):
    """One step."""

    folded = Signal(bool)
    settled = Signal()
    """The person accepted the step or overrode its verdict: on to the next."""
    ready = Signal()
    """Nothing is left to do here: the focus may go to the button for the next step."""
    offer_changed = Signal()
    """What is typed and not saved yet speaks against going on now, or no longer does."""
    step_wanted = Signal(str)
    """The person goes to another step."""
    reopen_wanted = Signal()
    """The person reopens this finished fitting."""

    def __init__(
        self,
        controller: FittingController,
        step: str,
        messages: Messages,
        paper_button: PaperButtons | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.step = step
        self._controller = controller
        self._messages = messages
        arm = controller.journey.context(step).deck.arm
        self._parallel = not arm.is_pivoted
        self._text = step_words(step, parallel=self._parallel)
        module = step_named(step)
        self.title = PageTitle(self._titled(), self)
        self._short = text_label(self._text.short, "muted")
        self._sign = Badge(StepState.TO_DO, round(theme.em(self) * 1.3), self)
        self._state_word = heading("", 1.0)
        self._reason = text_label("", "question")
        self._refused = ""
        """Why the last entry was not kept, as the notice above the page says it."""
        self._set_back = text_label("", "muted")
        """What weighing left at 0: said before the last step, which plays the record; it never
        scrolls away."""
        self._reopen = button(
            tr("wizard.step_page.work_on_it_again"),
            tip=tr("wizard.step_page.opens_this_finished_fitting_once"),
        )
        self.readout = VerdictDisplay(controller.numbers, self)
        self.first_button = button(
            "", tip=tr("wizard.step_page.goes_to_what_comes_first"), primary=True
        )
        """Goes to the step that has to be done before this one."""
        self.first_button.hide()
        self.guide = Guide(self._text)
        self.reading = ReadingPanel(module, controller.numbers)
        self.move_panel = MovePanel(
            controller.numbers, lines=self._text.moving, parallel=self._parallel
        )
        self.cautions = PageCautions()
        self.caution_strip = CautionStrip()
        self._strip_is_for: tuple[object, ...] = ()
        self.check_panel = CheckPanel(controller.numbers, parallel=self._parallel)
        self._start_panel: StartPanel | None = None
        self._choices: ChoicePanel | None = None
        self._side_pane: SidePane | None = None
        self._bench_view: BenchView | None = None
        self._case: tuple[str, ...] = ()
        self._beside: QWidget | None = None
        self._arrived_at: QWidget | None = None
        self._tight_at: set[tuple[QSize, float]] = set()
        self._typed: Verdict | None = None
        self.prompts = PromptPanels(controller.numbers)
        self._drafts = StepDrafts(controller, step, self.reading, self._open_other_move, self)
        self._drafts.add_move_form(NEXT_MOVE, self.move_panel)
        self._lay_out(paper_button(controller, step, messages) if paper_button else None)
        self._connect()
        self.refresh()
        # Verdict, move and reading are usable before the rest is created.
        self.deferred = DeferredBuild(self)
        parts = (self._make_side_pane, self.guide.fill, self._make_choices, self._reveal_focus)
        self._columns.steady()
        self.deferred.put_off(partial(self._make_steadily, part) for part in parts)

    def _titled(self) -> str:
        """Return the title, with the step's number among those of this job."""
        place = self._controller.journey.place_in_job(self.step)
        if place is None:
            return self._text.title
        number, what = place
        text = Name(self._text.title)
        return tr("wizard.step_page.number_of_what_text", number=number, what=what, text=text)

    def refresh(self) -> None:
        """Show the present state of the step."""
        self._columns.steady()
        journey = self._controller.journey
        self.title.setText(self._titled())
        status, works = self.status, self._works
        self._show_state(status)
        waited_for = "" if journey.fitting.is_finished else status.waits_for
        if waited_for:
            go = message("wizard.step_page.go_to", step=StepTitle(waited_for))
            self.first_button.setText(self._controller.numbers.text(go))
        had_focus = self.first_button.hasFocus()
        set_shown(self.first_button, shown=bool(waited_for))
        if works:
            ways = status.applicability.ways if status.applicability.reads else ()
            self.reading.show_ways(ways, status.trials, journey)
            self.reading.show_asked(status.assessment.next_reading)
            self._offer_records()
        set_shown(self.reading, shown=works and status.applicability.reads)
        if self._choices is not None:
            self._show_choices(self._choices)
        focused = QApplication.focusWidget()
        moving = focused is not None and self.move_panel.isAncestorOf(focused)
        self.move_panel.show_move(status.assessment, self._may_be_read(status))
        self.check_panel.show_questions(status.assessment)
        asked = not (self.move_panel.isHidden() and self.check_panel.isHidden())
        focused = QApplication.focusWidget()
        if asked and not (focused is not None and self.reading.isAncestorOf(focused)):
            self.reading.rest()
        if journey.fitting.planned is not None:
            self.start_panel.show_journey(journey, works=works)
        if not works:
            self.move_panel.hide()
            self.check_panel.hide()
            self.prompts.put_away()
        if self._side_pane is not None:
            self._side_pane.trail.show_fitting(
                journey.fitting, is_open=works, parallel=self._parallel, deck=journey.deck
            )
        self._reopen.setVisible(journey.fitting.is_finished)
        at_zero = set_back_of(journey) if self.step == SPEED and works else None
        self._set_back.setText(self._controller.numbers.text(at_zero.said) if at_zero else "")
        set_shown(self._set_back, shown=at_zero is not None)
        able = status.applicability
        self.guide.show_doing(there_is=able.reads or able.adjusts)
        self._drafts.refresh(works=works)
        self._show_live()
        if (moving and self.move_panel.isHidden()) or (had_focus and not waited_for):
            self._take_up()

    # parts created on demand

    @property
    def side_pane(self) -> SidePane:
        """Picture, figures, and the entries so far."""
        return self._side_pane or self._make_side_pane()

    @property
    def start_panel(self) -> StartPanel:
        """The plan, in a fitting that has one."""
        if self._start_panel is None:
            # Imported here: few fittings have a plan.
            from desktop.wizard.start_panel import StartPanel

            made = self._start_panel = StartPanel(
                self.step, self._controller.numbers, self, parallel=self._parallel
            )
            made.made.connect(self._keep_move)
            self._drafts.add_move_form(START_MOVE, made.mover)
            self._work.insertWidget(self._work.indexOf(self.move_panel), made)
        return self._start_panel

    @property
    def choices(self) -> ChoicePanel:
        """The choices of this step apart from readings."""
        return self._choices or self._make_choices()

    def _make_side_pane(self) -> SidePane:
        if self._side_pane is None:
            # Imported here: it imports pyqtgraph, which the first parts don't need.
            from desktop.wizard.side_pane import SidePane

            side_pane = self._side_pane = SidePane(self.step, self._controller.numbers, self)
            side_pane.trail.other_wanted.connect(self.ask_other_move)
            for signal in (side_pane.trail.withdrawn, side_pane.trail.restored):
                signal.connect(self._leave_out_or_back)
            side_pane.trail.noted.connect(self._keep_note)
            # Filled before it is added to the layout, so that it is laid out once.
            side_pane.trail.show_fitting(
                self._controller.fitting,
                is_open=self._works,
                parallel=self._parallel,
                deck=self._controller.journey.deck,
            )
            self._view.addWidget(side_pane)
            self._more.addWidget(side_pane.trail)
            self._make_bench_view()
            self._show_live()
        return self._side_pane

    def _make_bench_view(self) -> BenchView:
        if self._bench_view is None:
            from desktop.wizard.bench_view import BenchView

            self._bench_view = BenchView(self.step, self._controller.numbers, self)
            # A panel beside the reading is read from: it stays above.
            beside = -1 if self._beside is None else self._view.indexOf(self._beside)
            self._view.insertWidget(beside + 1, self._bench_view)
        return self._bench_view

    def _make_steadily(self, make: Callable[[], object]) -> None:
        """Make a part; nothing is painted until the parts beside it have their height again."""
        self._columns.steady()
        make()

    def _make_choices(self) -> ChoicePanel:
        if self._choices is None:
            made = self._choices = ChoicePanel(
                step_named(self.step), self._controller.numbers, self
            )
            made.chosen.connect(self._keep_choice)
            self._show_choices(made)
            self._work.insertWidget(self._work.count() - 1, made)  # above the stretch
        return self._choices

    def _show_choices(self, choices: ChoicePanel) -> None:
        if self._works:
            choices.show_choices(self._controller.journey.context(self.step).chosen[self.step])
        choices.setVisible(self._works and choices.has_any)

    @property
    def _works(self) -> bool:
        """Whether the step can be worked on now."""
        return self.status.is_open and not self._controller.fitting.is_finished

    @property
    def status(self) -> StepStatus:
        """The state of the step."""
        return self._controller.journey.status(self.step)

    def can_accept(self) -> bool:
        """Whether the verdict may be accepted as it is."""
        return self._works and self.status.is_acceptable and not self.is_spoken_against

    @property
    def is_spoken_against(self) -> bool:
        """Whether what is typed, once saved, would not pass."""
        return self._typed is not None and not self._typed.passes

    def can_override(self) -> bool:
        """Whether the verdict may be overridden with a reason."""
        status = self.status
        if status.is_settled or not self._works or self._typed is Verdict.STOP:
            return False
        return not status.is_acceptable and status.assessment.verdict is not Verdict.STOP

    def accept(self) -> None:
        """Accept the verdict and emit the wish to go on."""
        if self._works and self.is_spoken_against:
            self.reading.say_unsaved()
        if not self.can_accept():
            return
        if self.status.state is StepState.DONE:
            self.settled.emit()
            return
        self._settle("")

    def ask_reason(self) -> None:
        """Ask for the reason of an override."""
        if not self.can_override():
            return
        verdict = local_label(self.status.assessment.shown_verdict.label)
        state = self.status.state
        stands = local_label(state.label) if state is StepState.CHECK_AGAIN else verdict
        self.prompts.ask_reason(
            tr("wizard.step_page.this_step_says_stands_why", stands=Name(stands))
        )

    def begin(self) -> None:
        """Have the title read out, and focus the next field to fill in."""
        self.title.setFocus(Qt.FocusReason.OtherFocusReason)
        status = self.status
        headline = self.readout.headline()
        state = local_label(status.shown_state.label)
        announce(self.title, f"{self.title.text()}. {state}. {headline}")
        self._take_up(arriving=True)
        self._arrive()
        self._follow.start()

    def _arrive(self) -> None:
        """Keep the top of the work in view until the person leaves the first field."""
        self._arrived_at = self.focusWidget()

    def _leave_top(self) -> None:
        """Stop that: the person has begun to type. The visible part stays in place."""
        field, self._arrived_at = self._arrived_at, None
        if field is None or not isValid(field):  # a form may be gone since
            return
        if field.visibleRegion().boundingRect() != field.rect():
            self._follow.start()

    @property
    def _is_low(self) -> bool:
        """Whether the window has little room for the work."""
        return self.window().height() < _LOW_EM * theme.em(self)

    def _take_up(self, *, arriving: bool = False) -> None:
        """Focus what comes next.

        That is an open question or a move, the button to go on if all is done, else the field of a
        draft that came back, else the first unanswered field.
        """
        if not self._works:
            if not self.first_button.isHidden():
                self.first_button.setFocus(Qt.FocusReason.OtherFocusReason)
            return
        if not self.check_panel.isHidden():
            self.check_panel.start()
            self.reading.rest()
        elif not self.move_panel.isHidden():
            self.move_panel.start()
            self.reading.rest()
        elif (
            self.can_accept()
            and not self._asks_for_check
            and not self.reading.holds_draft
            and not (arriving and self.status.is_settled)
        ):
            self.reading.rest()
            self._draw_again()
            self.ready.emit()
        elif not self.reading.start_typing() and (not arriving or self.reading.shut()):
            self.start_reading()
        for panel in (self.reading, self.move_panel):
            let_undo_through(panel)

    def take_up_again(self) -> None:
        """Focus what the page asks now that an entry was taken back.

        It stays in what is being typed, and in the list of entries.
        """
        focused, beside = QApplication.focusWidget(), self._side_pane
        in_list = focused is not None and beside is not None and beside.trail.isAncestorOf(focused)
        if not in_list and not self.has_unsaved():
            self._go_on()

    def type_on(self, text: str) -> None:
        """Take what is typed outside any field into the next empty number that waits, if any."""
        if self._works and self.reading.type_on(text):
            self._reveal_focus()

    def start_reading(self) -> None:
        """Focus the field of the reading that waits: the one the page opens with."""
        if not self.reading.isHidden():
            if not self.reading.start_typing():
                self.reading.start()
            self._columns.reveal(self.reading)
        self._reveal_focus()

    def _start_choosing(self) -> None:
        """Bring the choices of the step into view, with the focus in the first."""
        self.choices.form.start()
        self._columns.reveal(self.choices)
        self._reveal_focus()

    def _go_on(self) -> None:
        """Focus what comes next, after something was saved."""
        self._take_up()
        focused = QApplication.focusWidget()
        in_reading = focused is not None and self.reading.isAncestorOf(focused)
        trials = self.status.trials
        if not in_reading or (trials and trials[-1].moves):  # other lines than before
            self._arrive()
        if self.status.assessment.on_trust:  # a new form, of which no line is in hand yet
            self._columns.show_top(self.reading)
        self._reveal_focus()
        self._follow.start()

    def _reveal_focus(self) -> None:
        """Scroll what has the focus into view; name the cautions that are then out of sight."""
        self._scroll_to_focus()
        focused = QApplication.focusWidget()
        if not self.isVisible():
            return
        if focused is not None and self._columns.isAncestorOf(focused):
            self._name_out_of_sight(self._cautions_in_hand(focused))
        elif self._strip_is_for[:1] != (self.size(),):
            self._strip_is_for = ()  # all are named again once the work is in hand
        # A stop is more urgent than any caution.
        least = 0 if self.status.assessment.verdict is Verdict.STOP else 1
        strip = self.caution_strip
        while len(strip.named) > least and (self.readout.is_squeezed or strip.is_squeezed):
            strip.drop_last()
            self._lay_out_again()

    def _follow_in_move(self, now: QWidget | None) -> None:
        """Follow the focus from one control of a move to the next; the lines of a reading tell."""
        if now is not None and self.move_panel.isAncestorOf(now):
            self._follow.start()

    def _name_out_of_sight(self, said: list[tuple[QWidget, str]]) -> None:
        case = (self.size(), self._columns.count, *said)
        if case != self._strip_is_for:
            self._strip_is_for = case
            before = self.caution_strip.named
            self.caution_strip.clear()
            if before:
                self._lay_out_again()
        elif not any(self._columns.hides_above(shown) for shown, _ in said):
            self.caution_strip.clear()  # the person has scrolled or moved up to them
        # The strip takes room itself, so that more may be scrolled out of sight.
        while self.caution_strip.add(
            title for shown, title in said if self._columns.hides_above(shown)
        ):
            self._lay_out_again()

    def _lay_out_again(self) -> None:
        for part in (self.caution_strip, self._columns):
            activate_layouts(part)
        self._scroll_to_focus()

    def _cautions_in_hand(self, focused: QWidget) -> list[tuple[QWidget, str]]:
        """Return what shows the cautions of the work in hand, each with its short form."""
        lines = self.cautions.on_show()
        if self.move_panel.isAncestorOf(focused):
            lines += self.move_panel.cautions()
        said: list[tuple[QWidget, str]] = [(one, one.named()) for one in lines]
        if self.reading.isAncestorOf(focused):
            said += self.reading.cautions_in_hand()
        return said

    def _scroll_to_focus(self) -> None:
        """Scroll the line in hand into view, and above all its field with the words above it."""
        focused = QApplication.focusWidget()
        if focused is None or not self.isAncestorOf(focused):
            return
        if focused is self._arrived_at:
            in_move = self.move_panel.isAncestorOf(focused)
            last = self.move_panel.made_button if in_move else focused
            if self._columns.show_top(last) or (not in_move and self._make_room(focused)):
                return
        else:
            self._arrived_at = None
        if self.reading.isAncestorOf(focused):
            lines = self.reading.line_in_hand()
            here = [one for one in lines if one.isAncestorOf(focused)]
            for line in (*lines, *here):
                self._columns.reveal(line)
            self._columns.reveal(focused, lead=here[0] if here else None)
            return
        if self.move_panel.isAncestorOf(focused):
            self._columns.reveal(self.move_panel.made_button)
        self._columns.reveal(focused)

    def _make_room(self, field: QWidget) -> bool:
        """Bring the first line and a field into view at once, with a smaller verdict if need be."""
        if not self._is_tight and self.status.assessment.verdict is not Verdict.STOP:
            self._tight_at.add((self.window().size(), theme.em(self)))
            self._on_arranged(self._columns.count)
            activate_layouts(self._columns)
            if self._columns.show_top(field):
                return True
        lines = self.reading.line_in_hand()
        return bool(lines) and self._columns.show_top(field, lines[0])

    @property
    def _is_tight(self) -> bool:
        """Whether a window of this size was found too low for a large verdict above the work.

        With type of this size: in larger type less has room.
        """
        return (self.window().size(), theme.em(self)) in self._tight_at

    def put_beside(self, more: QWidget) -> None:
        """Put a further panel beside the reading; below it in a single column."""

        def place(count: int) -> None:
            if count == 1:
                self._work.insertWidget(self._work.indexOf(self.reading) + 1, more)
            else:
                self._view.insertWidget(0, more)

        self._beside = more
        self._columns.keep_two()
        self._columns.arranged.connect(place)
        place(self._columns.count)

    def start_moving(self) -> None:
        """Record the move as entered."""
        if not self.move_panel.isHidden():
            self._columns.reveal(self.move_panel)
            self.move_panel.confirm()
        elif self._start_panel is not None and self._start_panel.is_due:
            self._columns.reveal(self._start_panel)
            self._start_panel.confirm()

    def keep_reading(self) -> None:
        """Save the reading as entered, or a reading that was typed into the move's form."""
        if self.move_panel.asks_which:
            self.move_panel.take_as_read()
        else:
            self.reading.keep()

    def keep_all_done(self) -> None:
        """Tick every line of the list that is asked for, and save it."""
        if self.check_panel.isHidden():
            self.reading.keep_all_done()
        else:
            self.check_panel.keep_all_done()

    def _may_be_read(self, status: StepStatus) -> tuple[MayBeRead, ...]:
        """Return the figures that may be typed next, if a reading can be typed."""
        figures = may_be_read(status.trials, status.assessment)
        return tuple(one for one in figures if self.reading.is_open(one.way))

    def _take_as_read(self, figure: MayBeRead, text: str) -> None:
        """Put a number typed for a move into the reading form, and go on from there."""
        if not self.reading.can_take(figure.way):
            self.move_panel.say_reading_waits()
            return
        self.move_panel.take_back()
        self.reading.take(figure.way, figure.name, text)
        self._reveal_focus()

    def ask_other_move(self) -> None:
        """Ask which unplanned move was made."""
        journey = self._controller.journey
        if self._works:
            order = self.status.assessment.next_move
            parts = order.parts if order is not None else ()
            self.prompts.ask_move(movables(journey.deck, journey.cartridge, self.step), parts)

    def has_unsaved(self) -> bool:
        """Whether there is unsaved input that could still be saved."""
        if self._controller.fitting.is_finished:
            return False
        always = (self.reading, self.move_panel, self.prompts)
        made = () if self._start_panel is None else (self._start_panel,)
        return self.has_unkept() or any(panel.has_unsaved() for panel in (*always, *made))

    def has_unkept(self) -> bool:
        """Whether some of it is not even kept as a draft: a reason, a note, a choice."""
        wanted = (self._choices, self._side_pane)
        made = [panel for panel in wanted if panel is not None]
        return self.prompts.has_reason() or any(panel.has_unsaved() for panel in made)

    def _open_other_move(self) -> MoveForm:
        self.ask_other_move()
        return self.prompts.move

    def _lay_out(self, paper_button: QWidget | None) -> None:
        line = theme.em(self)
        self._state_word.setWordWrap(False)
        buttons = [self._reopen] if paper_button is None else [self._reopen, paper_button]
        state = (self._sign, self._state_word)
        self._top = TitleRow(self.title, self._short, state, buttons, self)
        work = QWidget()
        self._work = column = column_in(work)
        add_all(column, self.cautions, self.check_panel, self.move_panel)
        add_all(column, self.reading, 1)
        view, more = QWidget(), QWidget()
        self._view, self._more = column_in(view), column_in(more)
        self._more.addWidget(self.guide)
        self._columns = Columns((work, view, more), self)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(round(line * 0.5), round(line * 0.3), round(line * 0.5), 0)
        outer.setSpacing(round(line * 0.35))
        first = add_all(QHBoxLayout(), self.first_button, 1)
        add_all(outer, self._top, self._reason, self.readout, first, self._set_back)
        # Not in the panel: its field has the focus, and scrolls what stands far above it away.
        add_all(outer, self.reading.draft_line, self.caution_strip)
        add_all(outer, (self._columns, 1), self.prompts)

    def _connect(self) -> None:
        self.title.entered.connect(self.start_reading)
        self._columns.arranged.connect(self._on_arranged)
        self._on_arranged(self._columns.count)
        self.guide.folded.connect(self.folded)
        self.reading.draft_changed.connect(self._show_live)
        self.reading.draft_changed.connect(self._leave_top)
        self.move_panel.typed.connect(self._leave_top)
        self.reading.way_changed.connect(lambda _way: self._show_live())
        self.reading.way_changed.connect(lambda _way: self._offer_records())
        self._follow = AfterRelease(self)  # once the page is laid out
        self._follow.due.connect(self._reveal_focus)
        follow_focus(self._follow_in_move)
        self.reading.line_moved.connect(self._columns.steady)
        self.reading.line_moved.connect(self._follow.start)
        self._columns.grown.connect(
            self._follow.start
        )  # a problem shown above pushes the field down
        self.reading.line_moved.connect(self._show_cautions)
        self.reading.line_moved.connect(self._draw_again)
        self.reading.kept.connect(self._keep_reading)
        self.reading.weighing_wanted.connect(self._weigh_first)
        self.reading.choice_wanted.connect(self._start_choosing)
        self.check_panel.checked.connect(self._keep_check)
        self.move_panel.made.connect(self._keep_move)
        self.move_panel.was_read.connect(self._take_as_read)
        self.move_panel.other_wanted.connect(self.ask_other_move)
        self.prompts.reason_given.connect(self._settle)
        self.prompts.moved.connect(self._keep_other_move)
        self.prompts.move_asked.connect(
            lambda: self._drafts.add_move_form(OTHER_MOVE, self.prompts.move)
        )
        self._reopen.clicked.connect(self.reopen_wanted)
        self.first_button.clicked.connect(lambda: self.step_wanted.emit(self.status.waits_for))

    def _on_arranged(self, count: int) -> None:
        """Take less room for the verdict in a small window, so that the work is in view."""
        self.readout.set_compact(compact=count == 1 or self._is_low or self._is_tight)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Check again how much room there is."""
        super().resizeEvent(event)
        self._on_arranged(self._columns.count)
        self._follow.start()

    def changeEvent(self, event: QEvent) -> None:
        """Check that for another size of type too."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and hasattr(self, "_follow"):
            self._on_arranged(self._columns.count)
            self._follow.start()

    def _show_state(self, status: StepStatus) -> None:
        self._sign.show_sign(status.shown_state)
        self._state_word.setText(local_label(status.shown_state.label))
        self._top.fit()
        said: list[Text | None] = [] if status.state in IN_PLACE_OF_VERDICT else [status.reason]
        said += told_of_arm(self._controller.journey.arm)
        if not status.applicability.reads or not status.applicability.adjusts:
            said.append(status.applicability.reason)
        asked = self._controller.fitting.work
        if asked is not None and not asked.moves:
            said.insert(0, tr("wizard.step_page.look_only"))
        if self._controller.fitting.is_finished:
            said.insert(0, tr("wizard.step_page.this_fitting_is_finished_it"))
        headline = status.assessment.headline
        told = " ".join(
            dict.fromkeys(
                self._controller.numbers.text(part) for part in said if part and part != headline
            )
        )
        # A reason out of a document may have lines of its own, and would push the page high.
        self._reason.setText(" ".join(line for line in told.splitlines() if line))
        self._reason.setVisible(bool(told))

    def _show_live(self) -> None:
        status = self.status
        draft = None if self.reading.isHidden() else self.reading.draft()
        stop = self.reading.stop()
        if stop is not None:
            self._show(status.assessment.stopped(stop), live=True)
            return
        if draft is None:
            self._show(status.assessment, live=False)
            return
        self._show(self._controller.while_typing(self.step, draft), live=True)

    def _shut(self, assessment: Assessment) -> Message | None:
        """Return why the stylus may not be lowered for the reading that is asked for, else None."""
        asks = assessment.verdict in (Verdict.NO_READING, Verdict.READ_AGAIN)
        if not self._works or assessment.next_move is not None or assessment.questions:
            return None
        if not asks and self.status.state is not StepState.CHECK_AGAIN:
            return None
        return self.reading.shut()

    def _weigh_first(self) -> None:
        """Go to the weighing that opens the closed fields: the last one, where it was read."""
        final = self._controller.journey.status(FINAL)
        self.step_wanted.emit(FINAL if final.is_open and final.trials else ROUGH)

    @property
    def _asks_for_check(self) -> bool:
        """Whether the verdict is good on trust, and the form of the check it asks for is open."""
        asked = self.status.assessment.next_reading
        way = self.reading.way
        on_trust = self.status.assessment.on_trust and not self.status.is_settled
        return on_trust and asked is not None and asked.way == way and self.reading.is_open(way)

    def _draw_bench(self, assessment: Assessment, *, live: bool, raised: bool) -> None:
        """Draw the ordered move; while somebody types, or without a move, the reading.

        With ``raised`` the stylus must stay up, so no reading is drawn that lowers it.
        """
        view, journey = self._bench_view, self._controller.journey
        if view is None:
            return
        move = assessment.next_move
        reads = self._works and self.status.applicability.reads and bool(self.reading.way)
        set_shown(view, shown=self._works and (move is not None or reads))
        if not self._works:
            return
        if move is not None and move.parts and not live:
            trials = self.status.trials
            view.show_move(journey.deck, journey.cartridge, move.parts, trials)
        elif reads:
            typed = self.reading.typed()
            rests = self.reading.is_at_rest() and not live
            deck, cartridge, way = journey.deck, journey.cartridge, self.reading.way
            wanted = {
                one.key: one.value for one in assessment.figures if one.key in view.USED_FIGURES
            }
            asked = assessment.next_reading.values if assessment.next_reading else {}
            wanted |= {
                name: value
                for name, value in asked.items()
                if name in view.USED_VALUES and isinstance(value, float)
            }
            trials = self.status.trials
            raised = raised and self.reading.lowers_stylus
            view.show_reading(
                deck,
                cartridge,
                way,
                typed,
                wanted=wanted,
                at_rest=rests,
                raised=raised,
                trials=trials,
            )

    def _draw_again(self) -> None:
        """Draw the work anew after another line came in hand, or none."""
        if self.reading.draft() is None:
            now = self.status.assessment
            self._draw_bench(now, live=False, raised=self._keeps_up(now))

    def _keeps_up(self, assessment: Assessment) -> bool:
        """Whether the stylus must stay up, for a stop that is saved or typed, or a closed form."""
        stops = Verdict.STOP in (assessment.verdict, self.status.assessment.verdict)
        told = stops or KEEP_STYLUS_UP in assessment.cautions
        return told or self.reading.stop() is not None or self.reading.shut() is not None

    def _show(self, assessment: Assessment, *, live: bool) -> None:
        self._typed, before = (assessment.verdict if live else None), self._typed
        if self._typed is not before:
            self.offer_changed.emit()
        shut = None if live else self._shut(assessment)
        keeps_up = self._keeps_up(assessment)
        self.reading.hold(held=keeps_up)
        self.readout.show_standing(self.status, assessment, live=live, shut=shut)
        self.reading.say_reason(here=shut is None)
        self._draw_bench(assessment, live=live, raised=keeps_up)
        if self._side_pane is not None:
            small = tuple(
                one.sentence
                for one in self.status.disturbances
                if one.sentence and not one.sends_back
            )
            reads = sum(one.reading is not None for one in self.status.trials) + int(live)
            changed = not live and any(one.sentence for one in self.status.disturbances)
            self._side_pane.show_assessment(
                assessment, small, reads=reads, live=live, changed_since=changed
            )
        self._case = assessment.caution_keys if self._works else ()
        self._show_cautions()

    def _show_cautions(self) -> None:
        """Show the cautions of the case; none about the guard while the work has it off."""
        off = self.reading.guard_is_off()
        case = tuple(key for key in self._case if not (off and key == _GUARD))
        self.cautions.show_case(case, self._caution_lines())

    def _caution_lines(self) -> list[CautionLine]:
        """Return the cautions of the visible lines of work."""
        return [*self.move_panel.cautions(), *self.reading.cautions()]

    def toggle_cautions(self) -> None:
        """Show every caution's reason, or its title alone."""
        self.cautions.toggle(self._caution_lines())

    def fold_words(self, *, away: bool) -> None:
        """Show only the fields with short labels, or the words as well."""
        self.guide.fold(away=away)
        self.reading.fold_words(away=away)
        self.move_panel.fold_words(away=away)
        self._show_cautions()
        self._follow.start()

    def _record(self, body: Body) -> bool:
        sentence = self._controller.record(body, page=self.step)
        title = tr("wizard.step_page.not_in_the_record_yet")
        if self._refused:
            self._messages.put_away(title, self._refused)
        self._refused = sentence or ""
        if sentence is not None:
            self._messages.tell(title, sentence)
            return False
        return True

    def _offer_records(self) -> None:
        """List the test records, if sound is to be read."""
        if self.reading.hears_sound:
            self.reading.offer_records(*self._controller.records_to_play())

    def _keep_reading(self, reading: Reading) -> None:
        body = ReadingTaken(step=self.step, reading=reading.as_kept().model_dump(mode="json"))
        sound = self.reading.sound_to_keep()
        if self._record(body):
            self._controller.remember_played(reading)
            if sound is not None:
                self._keep_sound(*sound)
            self.reading.settle()
            self._show_live()
            announce(self.readout, self.readout.accessibleName())
            self._go_on()

    def _keep_sound(self, path: Path, sha256: str) -> None:
        """Keep the sound of a saved reading beside the library."""
        shelf = self._controller.library.address.sounds
        if shelf is None:
            return
        try:
            run_blocking(
                self.window(),
                tr("wizard.step_page.keeping_sound"),
                lambda go_on, _told: shelf.keep(path, sha256, go_on=go_on),
            )
        except WorkStoppedError:
            return
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)

    def _leave_out_or_back(self, entry: str) -> None:
        """Withdraw or restore an entry; the focus then goes to the next reading.

        Enter pressed by habit must not undo it.
        """
        if self._record(Withdrawn(entry=entry)):
            let_undo_through(self.reading)
            if not self.reading.start_typing():
                self.title.setFocus(Qt.FocusReason.OtherFocusReason)
            self._follow.start()

    def _keep_check(self, checked: ControlChecked) -> None:
        body = ReadingTaken(step=self.step, reading=checked.model_dump(mode="json"))
        if self._record(body):
            announce(self.readout, self.readout.accessibleName())
            self._go_on()

    def _keep_move(self, parts: tuple[MovePart, ...], note: str) -> None:
        if self._record(MoveMade(step=self.step, parts=parts, note=note)):
            announce(self.readout, self.readout.accessibleName())
            self._go_on()

    def _keep_other_move(self, moved: Movable, amount: float, note: str) -> None:
        home = home_of(moved, self._controller.journey, self.step)
        if self._record(MoveMade(step=home, parts=(moved.part(amount),), note=note)):
            self.prompts.move.done()
            announce(self.readout, self.readout.accessibleName())
            self._go_on()

    def _keep_choice(self, choices: Choices) -> None:
        self._record(ChoiceMade(step=self.step, choices=choices.model_dump(mode="json")))

    def _keep_note(self, text: str) -> None:
        if self._record(NoteWritten(step=self.step, text=text)):
            self.side_pane.trail.clear_note()

    def _settle(self, reason: str) -> None:
        now = self.status.assessment
        if now.on_trust and not reason:
            reason = tr("wizard.step_page.on_trust")
        body = StepAccepted(step=self.step, verdict=now.verdict, reason=reason)
        if self._record(body):
            self.prompts.reason.done()
            self.settled.emit()
