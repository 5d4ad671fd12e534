"""Questions about a control that did not respond: lines to tick and a choice."""

from __future__ import annotations

from itertools import pairwise

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtWidgets import QButtonGroup, QCheckBox, QRadioButton, QVBoxLayout, QWidget

from core.fitting import FLOATED_ANEW, Assessment, ControlChecked, Question
from core.language import Message, Numbers, message
from core.steps.shared import directions_of
from core.workflow import described_parts
from desktop.widgets import theme
from desktop.widgets.keys import choose_by_arrow, is_enter, is_held_enter
from desktop.widgets.language import tr
from desktop.widgets.message_line import MessageLine
from desktop.widgets.panels import add_layout, button, clear_layout, framed, heading, text_label
from desktop.widgets.wrapping_buttons import WrappedBox, WrappedRadio


class CheckPanel(QWidget):
    """The checks before a control is moved again; hidden while there are none.

    ``parallel`` asks for the words of a parallel-tracking arm.
    """

    checked = Signal(object)
    """The questions were answered: a ControlChecked."""

    def __init__(
        self, numbers: Numbers, parent: QWidget | None = None, *, parallel: bool = False
    ) -> None:
        super().__init__(parent)
        self._parallel = parallel
        self._numbers = numbers
        self._questions: tuple[Question, ...] = ()
        self.lines: list[QCheckBox] = []
        self.ways: tuple[WrappedRadio, ...] = ()
        """The answers about an entry: as entered, the other way, or in which reading two figures
        changed places; empty if none is asked about."""
        self._group = QButtonGroup(self)
        column = framed(self)
        column.addWidget(heading(tr("forms.check_panel.look_at_these_first")))
        self._because = text_label("")
        column.addWidget(self._because)
        self._tick = text_label(tr("forms.check_panel.tick_each"), "muted")
        column.addWidget(self._tick)
        self._rows = QVBoxLayout()
        self._rows.setSpacing(round(theme.em(self) * 0.4))
        add_layout(column, self._rows)
        self._problem = MessageLine()
        column.addWidget(self._problem)
        self.done_button = button("", primary=True)
        self.done_button.clicked.connect(self.confirm)
        column.addWidget(self.done_button)
        self.hide()

    def show_questions(self, assessment: Assessment) -> None:
        """Show an assessment's questions; keep the ticks while the questions stay the same."""
        because = " ".join(self._numbers.text(one) for one in assessment.asked_because)
        self._because.setText(because)
        self._because.setVisible(bool(because))
        if assessment.questions != self._questions:
            self._questions = assessment.questions
            clear_layout(self._rows)
            self.lines, self.ways = [], ()
            self._problem.say("")
            for question in self._questions:
                if question.entry or question.pairs:
                    self._ask_about_entry(question)
                    continue
                line = WrappedBox(self._numbers.text(question.text))
                line.installEventFilter(self)
                line.toggled.connect(self._show_button)
                self._rows.addWidget(line)
                self.lines.append(line)
            # They go before the button, which stays at its place among the fields of the page.
            for before, after in pairwise((self._stop_before(), *self.ways, *self.lines)):
                QWidget.setTabOrder(before, after)
            self._name_button()
            self._show_button()
        self.setVisible(bool(self._questions))

    def _stop_before(self) -> QWidget:
        """Return the last tab stop before the panel."""
        before = self.done_button.previousInFocusChain()
        while before is not None and (
            before.focusPolicy() == Qt.FocusPolicy.NoFocus or self.isAncestorOf(before)
        ):
            before = before.previousInFocusChain()
        return before or self.done_button

    def start(self) -> None:
        """Put the focus on the first question."""
        stops = [*self.ways, *self.lines, self.done_button]
        stops[0].setFocus(Qt.FocusReason.OtherFocusReason)

    def confirm(self) -> None:
        """Emit the answers, once all are given."""
        if not (self._questions and self._is_answered):
            return
        asked = self._questions[0]
        answer = ControlChecked(control=asked.control, where=asked.where)
        if asked.pairs:
            pair = asked.pairs[self._group.checkedId()]
            if pair.fields:
                told: dict[str, object] = {"exchanged": pair.entries, "fields": pair.fields}
            else:
                told = {"as_read": pair.entries[0]}
            answer = answer.model_copy(update=told)
        elif self._was_the_other_way:
            answer = answer.model_copy(update={"reversed_entry": asked.entry})
        self.checked.emit(answer)

    def keep_all_done(self) -> None:
        """Tick every line and save.

        Lines that protect the stylus are looked at one by one; so is an answer chosen by a person.
        """
        if self.isHidden():
            return
        if any(question.where == FLOATED_ANEW for question in self._questions):
            self._problem.say(tr("forms.check_panel.one_by_one"))
            return
        if self._lacks_answer():
            return
        for line in self.lines:
            line.setChecked(True)
        self.confirm()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Go on with Enter: go to the next question, save after the last.

        Enter chooses no answer; an arrow key makes a first choice.
        """
        if is_enter(event) and isinstance(watched, QCheckBox):
            if not is_held_enter(event):
                self._go_on_from(watched)
            return True
        if isinstance(watched, QRadioButton) and choose_by_arrow(self._group, watched, event):
            return True
        if is_enter(event) and isinstance(watched, QRadioButton):
            if self._lacks_answer():
                return True
            left = [] if self._was_the_other_way else self.lines
            (left[0] if left else self.done_button).setFocus(Qt.FocusReason.TabFocusReason)
            return True
        return super().eventFilter(watched, event)

    def _lacks_answer(self) -> bool:
        """Say that an answer is to be chosen first, if one is; return whether it is."""
        lacks = bool(self.ways) and self._group.checkedId() < 0
        if lacks:
            self._problem.say(tr("forms.check_panel.choose_one"))
            self.ways[0].setFocus(Qt.FocusReason.OtherFocusReason)
        return lacks

    def _go_on_from(self, line: QCheckBox) -> None:
        """Go to the next line; after the last, save, or go to the first that is open."""
        after = self.lines[self.lines.index(line) + 1 :]
        if after:
            after[0].setFocus(Qt.FocusReason.TabFocusReason)
        elif self._is_answered:
            self.confirm()
        else:
            is_chosen = not self.ways or self._group.checkedId() >= 0
            left = [one for one in self.lines if not one.isChecked()] if is_chosen else self.ways
            left[0].setFocus(Qt.FocusReason.TabFocusReason)

    def _ask_about_entry(self, question: Question) -> None:
        """Ask which way a move was made, or what changed places; no answer is preselected."""
        if question.moved:
            said = described_parts(question.moved, parallel=self._parallel)
            self._rows.addWidget(text_label(self._numbers.text(message("log.moved", moved=said))))
        self._rows.addWidget(heading(self._numbers.text(question.text), 1.0))
        ways: tuple[Message, ...] = tuple(pair.said for pair in question.pairs)
        ways = ways or _ways_of(question, parallel=self._parallel)
        self.ways = tuple(WrappedRadio(self._numbers.text(words)) for words in ways)
        self._group = QButtonGroup(self)
        for place, way in enumerate(self.ways):
            way.setAccessibleName(f"{self._numbers.text(question.text)} {way.text()}")
            way.installEventFilter(self)
            way.toggled.connect(self._show_button)
            self._group.addButton(way, place)
            self._rows.addWidget(way)

    @property
    def _was_the_other_way(self) -> bool:
        return bool(self.ways) and self._group.checkedId() == 1

    @property
    def _is_answered(self) -> bool:
        """Whether no question is open; a move entered wrongly explains everything."""
        if self.ways and self._group.checkedId() < 0:
            return False
        return self._was_the_other_way or all(line.isChecked() for line in self.lines)

    def _name_button(self) -> None:
        """Say what the button saves: that all lines are true, or one answer."""
        ticks = bool(self.lines)
        self._tick.setVisible(ticks)
        if ticks:
            words = tr("forms.check_panel.all_looked_at"), tr("forms.check_panel.kept_in_record")
        else:
            words = tr("forms.check_panel.save_answer"), tr("forms.check_panel.answer_kept")
        self.done_button.setText(words[0])
        self.done_button.setToolTip(words[1])

    def _show_button(self) -> None:
        self._problem.say("")
        self.done_button.setEnabled(self._is_answered)
        for line in self.lines:
            line.setEnabled(not self._was_the_other_way)


def _ways_of(question: Question, *, parallel: bool) -> tuple[Message, Message]:
    """Return both answers: as entered, and the other way."""
    if len(question.moved) > 1:
        return (
            message("control.which_way.all_as_entered"),
            message("control.which_way.all_other_way"),
        )
    (part,) = question.moved
    ways: tuple[Message, ...] = directions_of(part.control, part.unit, parallel=parallel)
    entered, other = ways if part.amount >= 0.0 else ways[::-1]
    return (
        message("control.which_way.as_entered", way=entered),
        message("control.which_way.other_way", way=other),
    )
