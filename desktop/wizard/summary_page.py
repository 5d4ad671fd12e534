"""The last page: every step before and after, what was left or overridden, and finishing."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QEvent, QObject, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QAbstractSlider,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from core.fitting import (
    Body,
    Finished,
    ListeningCheck,
    NoteWritten,
    Reopened,
    SkatingAtZero,
    StepState,
    Verdict,
    Withdrawn,
    Work,
)
from core.language import Name
from core.steps import FINAL_DOWNFORCE, ROUGH_DOWNFORCE, STEP_NAMES
from core.workflow import (
    SetBack,
    StepOutcome,
    figure_value,
    listening_of,
    outcome_of,
    set_back_of,
    target_value,
    told_of_arm,
    why_refused,
    work_asked,
    work_of,
)
from desktop.tasks.deferred_build import DeferredBuild
from desktop.tasks.fitting_controller import FittingController
from desktop.widgets import theme
from desktop.widgets.keys import is_held_enter
from desktop.widgets.language import local_label, tr
from desktop.widgets.log_list import LogList
from desktop.widgets.messages import Messages
from desktop.widgets.page import PageTitle
from desktop.widgets.panels import (
    add_all,
    add_layout,
    announce,
    button,
    clear_layout,
    heading,
    panel,
    text_label,
)
from desktop.widgets.plain_text import one_line
from desktop.widgets.verdict_badge import Badge
from desktop.wizard.finished_panel import FinishedPanel
from desktop.wizard.listening_panel import ListeningPanel
from desktop.wizard.rail import SUMMARY
from desktop.wizard.set_back_panel import SetBackPanel
from desktop.wizard.step_page import PaperButtons
from desktop.wizard.title_row import TitleRow
from desktop.wizard.trail import Trail

if TYPE_CHECKING:
    from desktop.wizard.foretold_panel import ForetoldPanel

OWNER: Final = "owner"
"""The index of the owner's sheet."""
_ROWS_AT_ONCE: Final = 2
_ROWS_A_TURN: Final = 3
_SCROLLS: Final = {
    Qt.Key.Key_Home: QAbstractSlider.SliderAction.SliderToMinimum,
    Qt.Key.Key_End: QAbstractSlider.SliderAction.SliderToMaximum,
    Qt.Key.Key_PageUp: QAbstractSlider.SliderAction.SliderPageStepSub,
    Qt.Key.Key_PageDown: QAbstractSlider.SliderAction.SliderPageStepAdd,
}


class _Cell(QLabel):
    """A number on one line that wraps only if there is no room."""

    def __init__(self, text: str) -> None:
        super().__init__(text)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(True)
        self.setAlignment(Qt.AlignmentFlag.AlignRight)

    def sizeHint(self) -> QSize:
        """Return room for one line: Qt would wrap even short text."""
        wide = self.fontMetrics().horizontalAdvance(self.text()) + 2
        return QSize(wide, super().sizeHint().height())


class SummaryPage(QWidget):
    """The outcome of a fitting."""

    step_wanted = Signal(str)
    """The person opens this step."""
    swap_wanted = Signal()
    """The person fits another cartridge after this one."""
    history_wanted = Signal(str)
    """The person opens the history of the deck with this id."""
    reopened = Signal()
    """The finished fitting was reopened."""

    def __init__(
        self,
        controller: FittingController,
        messages: Messages,
        paper_button: PaperButtons | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._controller = controller
        self._messages = messages
        self._refused = ""
        """Why the last entry was not kept, as the notice above the page says it."""
        line = theme.em(self)
        self.title = PageTitle(tr("wizard.summary_page.summary"), self)
        self._state = heading("", 1.2)
        self._things = text_label("", "muted")
        self._work = text_label("")
        self.set_back = SetBackPanel(controller.numbers)
        self.whole_button = button(
            tr("wizard.summary_page.whole"), tip=tr("wizard.summary_page.whole_tip")
        )
        self.finish_button = button(
            tr("wizard.summary_page.finish_fitting"),
            tip=tr("wizard.summary_page.closes_the_fitting_as_done"),
            primary=True,
        )
        self.finished_panel = FinishedPanel()
        self._foretold: ForetoldPanel | None = None
        self._why_not = text_label("", "question")
        self._to_come: list[str] = []
        self.deferred = DeferredBuild(self)
        self._rows = QVBoxLayout()
        self._rows.setSpacing(round(line * 0.4))
        self.listening = ListeningPanel(controller.numbers)
        self.notes = Trail("", controller.numbers)
        self.entries = LogList(controller.numbers)
        inside = QWidget()
        self._column = column = QVBoxLayout(inside)
        add_all(column, self._rows, self.listening, self.notes, self.entries, 1)
        area = self._area = QScrollArea()
        area.setWidgetResizable(True)
        area.setWidget(inside)
        area.setAccessibleName(tr("wizard.summary_page.summary_of_all_steps"))
        places = (OWNER, SUMMARY) if paper_button else ()
        papers = [paper_button(controller, place, messages) for place in places if paper_button]
        papers_shown = [one for one in papers if one is not None]
        buttons = [self.whole_button, *papers_shown, self.finish_button]
        top = TitleRow(self.title, text_label(), (), buttons, self)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(round(line * 0.5), round(line * 0.3), round(line * 0.5), 0)
        add_all(
            outer,
            top,
            self._things,
            self._work,
            self.set_back,
            self._state,
            self._why_not,
            self.finished_panel,
            (area, 1),
        )
        self._connect()
        self.refresh()

    @property
    def foretold(self) -> ForetoldPanel:
        """Predictions and findings, in a fitting with a plan."""
        if self._foretold is None:
            # Imported here: few fittings have a plan.
            from desktop.wizard.foretold_panel import ForetoldPanel

            self._foretold = ForetoldPanel(self._controller.numbers)
            self._column.insertWidget(0, self._foretold)
        return self._foretold

    def _connect(self) -> None:
        self.finish_button.clicked.connect(self.finish)
        self.finish_button.installEventFilter(self)
        self.whole_button.clicked.connect(self._make_whole)
        self.finished_panel.swap_wanted.connect(self.swap_wanted)
        self.finished_panel.history_wanted.connect(
            lambda: self.history_wanted.emit(self._controller.fitting.deck_id)
        )
        self.finished_panel.reopen_wanted.connect(self._reopen)
        self.notes.noted.connect(self._note)
        self.listening.given.connect(self._listened)
        self.set_back.given.connect(self._told_skating)
        self.notes.withdrawn.connect(lambda entry: self._record(Withdrawn(entry=entry)))
        self.notes.restored.connect(lambda entry: self._record(Withdrawn(entry=entry)))

    def refresh(self) -> None:
        """Show the fitting's present state."""
        journey = self._controller.journey
        finished = journey.fitting.is_finished
        asked = [one for one in journey.statuses if one.state is not StepState.NOT_ASKED]
        settled = sum(status.is_settled for status in asked)
        self._state.setText(
            tr("wizard.summary_page.this_fitting_is_finished_it")
            if finished
            else tr(
                "wizard.summary_page.settled_of_statuses_steps_are",
                settled=settled,
                statuses=len(asked),
            )
        )
        number = journey.fitting.job.number
        job = (tr("wizard.summary_page.job", number=Name(number)),) if number else ()
        things = (*job, journey.deck.name, journey.cartridge.name)
        self._things.setText("  ·  ".join(map(one_line, things)))
        work = work_of(journey)
        lines = [*work, *told_of_arm(journey.arm)]
        self._work.setText(" ".join(self._controller.numbers.text(line) for line in lines))
        self._work.setVisible(bool(lines))
        self.set_back.show_open(set_back_of(journey))
        self.whole_button.setVisible(bool(work) and not finished)
        refusal = None if finished else why_refused(journey, Finished())
        self._why_not.setText(self._controller.numbers.text(refusal or ""))
        self._why_not.setVisible(bool(refusal))
        self.finish_button.setVisible(not finished)
        self.finish_button.setEnabled(refusal is None)
        self.finished_panel.setVisible(finished)
        if journey.fitting.planned is not None:
            self.foretold.show_journey(journey)
        clear_layout(self._rows)
        self._to_come = [status.step for status in asked]
        self._add_rows(_ROWS_AT_ONCE)
        rest = partial(self._add_rows, len(self._to_come))
        self.deferred.put_off((partial(self._add_rows, _ROWS_A_TURN), rest, self._show_entries))
        if self.isVisible():  # a visible page is updated at once, without flicker
            self.deferred.finish()
        else:
            self.notes.hide()
            self.listening.hide()
            self.entries.hide()

    def _show_entries(self) -> None:
        """Show the notes, and for a finished fitting every entry."""
        fitting = self._controller.fitting
        deck = self._controller.journey.deck
        parallel = not deck.arm.is_pivoted
        is_open = not fitting.is_finished
        self.notes.show_fitting(fitting, is_open=is_open, parallel=parallel, deck=deck)
        self.notes.show()
        said = [
            self._controller.numbers.text(line) for line in listening_of(self._controller.journey)
        ]
        journey = self._controller.journey
        self.listening.show_heard(
            said,
            is_open=not fitting.is_finished,
            shut="" if journey.gate.is_open else self._controller.numbers.text(journey.gate.reason),
            in_job=any(map(journey.place_in_job, (ROUGH_DOWNFORCE, FINAL_DOWNFORCE))),
        )
        self.entries.setVisible(fitting.is_finished)
        if fitting.is_finished:
            self.entries.show_fitting(fitting, parallel=parallel, deck=deck)

    def _add_rows(self, count: int) -> None:
        """Add rows for the next steps."""
        journey = self._controller.journey
        for step in self._to_come[:count]:
            number = STEP_NAMES.index(step) + 1
            self._rows.addWidget(self._row(number, outcome_of(journey, step)))
        del self._to_come[:count]

    def begin(self) -> None:
        """Focus what is still to be set back, else the button that finishes, else the title."""
        self.title.setFocus(Qt.FocusReason.OtherFocusReason)
        announce(self.title, f"{self.title.text()}. {self._state.text()}")
        if not self.set_back.isHidden():
            self.set_back.tick.setFocus(Qt.FocusReason.TabFocusReason)
        elif not self.finish_button.isHidden() and self.finish_button.isEnabled():
            self.finish_button.setFocus(Qt.FocusReason.TabFocusReason)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Ignore Enter still held down from the last step."""
        return is_held_enter(event) or super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Scroll with the keys that turn pages."""
        act = _SCROLLS.get(Qt.Key(event.key()))
        if act is None:
            super().keyPressEvent(event)
            return
        self.deferred.finish()
        self._area.verticalScrollBar().triggerAction(act)

    def finish(self) -> None:
        """Finish the fitting; what was typed or chosen on this page is saved first."""
        if self.listening.has_unsaved():
            self.listening.keep()
        self.notes.keep_note()
        self.set_back.keep_typed()
        if self._has_typed():
            return
        still = set_back_of(self._controller.journey)
        if still is None or self._leaves_at_zero(still):
            self._record(Finished(skating_at_zero=still is not None))

    def _leaves_at_zero(self, still: SetBack) -> bool:
        """Ask once whether the skating compensation stays at 0; Enter by habit goes back."""
        said = Name(self._controller.numbers.text(still.said))
        answer = self._messages.ask(
            tr("wizard.set_back_panel.title"),
            tr("wizard.set_back_panel.finish_so", said=said),
            [tr("widgets.messages.go_back"), tr("wizard.set_back_panel.finish_anyway")],
            stays=0,
        )
        if answer == 1:
            return True
        self.set_back.tick.setFocus(Qt.FocusReason.TabFocusReason)
        return False

    def _make_whole(self) -> None:
        """Ask for all nine steps from now on, and go to the first that is due."""
        if self._record(work_asked(Work.WHOLE)):
            self.step_wanted.emit(self._controller.journey.due or SUMMARY)

    def ask_why_again(self) -> None:
        """Ask why this finished fitting is reopened."""
        if not self.finished_panel.isHidden():
            self.finished_panel.ask_why()

    def has_unsaved(self) -> bool:
        """Whether there is an unsaved note or reason."""
        return self._has_typed() or self.finished_panel.reason.has_unsaved()

    def _has_typed(self) -> bool:
        """Whether a note, what was heard or a setting is not saved yet."""
        typed = self.listening.has_unsaved() or self.set_back.has_unsaved()
        return bool(self.notes.note_line.text().strip()) or typed

    def _row(self, number: int, outcome: StepOutcome) -> QWidget:
        frame, column = panel()
        say = self._controller.numbers
        title, headline = say.value(outcome.title), say.text(outcome.headline)
        line = theme.em(self)
        top = QHBoxLayout()
        top.addWidget(Badge(outcome.shown_state, round(line * 1.3)))
        top.addWidget(heading(f"{number}  {title}", 1.05), 1)
        state = text_label(
            f"{local_label(outcome.state.label)} · {local_label(outcome.shown_verdict.label)}"
        )
        state.setWordWrap(False)
        top.addWidget(state)
        show = button(
            tr("wizard.summary_page.open"),
            tip=tr("wizard.summary_page.shows_the_step_title", title=Name(title)),
            quiet=True,
        )
        show.setAccessibleName(tr("wizard.summary_page.open_title", title=Name(title)))
        show.clicked.connect(lambda: self.step_wanted.emit(outcome.step))
        top.addWidget(show)
        add_all(column, top, text_label(headline))
        said = [title, state.text(), headline]
        if outcome.figures:
            add_layout(column, self._figures(outcome, said))
        for text in self._sentences(outcome):
            column.addWidget(text_label(text, "muted"))
            said.append(text)
        frame.setAccessibleName(". ".join(part.rstrip(".") for part in said if part))
        return frame

    def _figures(self, outcome: StepOutcome, said: list[str]) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(round(theme.em(self) * 1.2))
        grid.setColumnStretch(0, 1)
        titles = (
            "",
            tr("wizard.summary_page.as_found"),
            tr("wizard.summary_page.as_left"),
            tr("wizard.figures.wanted"),
        )
        for column, title in enumerate(titles):
            if title:
                grid.addWidget(heading(title, 0.9), 0, column, Qt.AlignmentFlag.AlignRight)
        for place, pair in enumerate(outcome.figures, start=1):
            numbers = self._controller.numbers
            before, after, target = pair.before, pair.after, target_value(pair.either)
            was = (
                numbers.value(figure_value(before))
                if before
                else tr("wizard.summary_page.not_known")
            )
            now = tr("wizard.summary_page.not_read_since")
            if after:
                now = numbers.value(figure_value(after))
            elif pair.foretold:
                expected = Name(numbers.value(figure_value(pair.foretold)))
                now = tr("wizard.summary_page.expected", value=expected)
            wanted = "" if target is None else numbers.value(target)
            label = numbers.text(pair.label)
            grid.addWidget(text_label(label), place, 0)
            for column, text in enumerate((was, now, wanted), start=1):
                grid.addWidget(_Cell(text), place, column)
            places = {"label": Name(label), "was": Name(was), "now": Name(now)}
            said.append(
                tr("wizard.summary_page.label_as_found_was_as", **places, wanted=Name(wanted))
                if wanted
                else tr("wizard.summary_page.label_without_target", **places)
            )
        return grid

    def _sentences(self, outcome: StepOutcome) -> list[str]:
        found, say = [], self._controller.numbers.text
        if outcome.was_overridden:
            found.append(
                tr("wizard.summary_page.overruled_because_reason", reason=Name(say(outcome.reason)))
            )
        elif outcome.reason:
            found.append(say(outcome.reason))
        if outcome.method and outcome.verdict is not Verdict.NO_READING:
            moved = {
                0: tr("wizard.summary_page.set_here")
                if outcome.was_set
                else tr("wizard.summary_page.not_moved"),
                1: tr("wizard.summary_page.moved_once"),
            }.get(
                outcome.moves,
                tr("wizard.summary_page.moved_moves_times", moves=outcome.moves),
            )
            found.append(
                tr(
                    "wizard.summary_page.read_by_method_moved",
                    method=Name(say(outcome.method)),
                    moved=Name(moved),
                )
            )
        if outcome.when_found:
            found.append(say(outcome.when_found))
        found.extend(say(doubt) for doubt in outcome.doubts)
        found.extend(tr("wizard.summary_page.note_note", note=Name(note)) for note in outcome.notes)
        return found

    def _reopen(self, reason: str) -> None:
        if self._record(Reopened(reason=reason)):
            self.finished_panel.done()
            self.reopened.emit()

    def _listened(self, heard: ListeningCheck) -> None:
        if self._record(heard):
            self.listening.close_form()
            self.refresh()
            self.listening.open_button.setFocus(Qt.FocusReason.OtherFocusReason)

    def _told_skating(self, body: SkatingAtZero) -> None:
        had_focus = self.set_back.tick.hasFocus()
        if not self._record(body):
            self.set_back.untick()
        elif had_focus and not self.finish_button.isHidden():
            self.finish_button.setFocus(Qt.FocusReason.OtherFocusReason)

    def _note(self, text: str) -> None:
        if self._record(NoteWritten(text=text)):
            self.notes.clear_note()

    def _record(self, body: Body) -> bool:
        sentence = self._controller.record(body)
        title = tr("wizard.summary_page.not_in_the_record_yet")
        if self._refused:
            self._messages.put_away(title, self._refused)
        self._refused = sentence or ""
        if sentence is not None:
            self._messages.tell(title, sentence)
        return sentence is None
