"""The choices of a step apart from readings: a solution, a target, a record."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QWidget

from core.fitting import Choices
from core.language import Numbers
from core.records import fields_of
from core.steps import Step
from desktop.forms.form import Form
from desktop.widgets.language import tr
from desktop.widgets.message_line import MessageLine
from desktop.widgets.panels import announce, button, framed


class ChoicePanel(QWidget):
    """The step's choices; hidden if there are none."""

    chosen = Signal(object)
    """The person applies these choices."""

    def __init__(self, step: Step, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.has_any = bool(fields_of(step.Chosen))
        self._shown: Choices | None = None
        column = framed(self, tr("wizard.choice_panel.chosen_for_this_step"))
        self.form = Form(step.Chosen, numbers)
        column.addWidget(self.form)
        self._problem = MessageLine()
        column.addWidget(self._problem)
        self.use_button = button(
            tr("wizard.choice_panel.use_these"),
            tip=tr("wizard.choice_panel.keeps_the_choice_in_the"),
        )
        self.use_button.setEnabled(False)
        self.use_button.clicked.connect(self.form.submit)
        column.addWidget(self.use_button, 0, Qt.AlignmentFlag.AlignLeft)
        self.form.draft_changed.connect(self._on_typed)
        self.form.submitted.connect(self._on_submit)
        self.form.refused.connect(self._on_refused)
        if not self.has_any:
            self.hide()  # not shown before it has a parent: it would flash up as a window

    def show_choices(self, choices: Choices) -> None:
        """Show the present choices; keep unsaved input."""
        if choices == self._shown:
            return
        is_typing = self._shown is not None and self.form.draft() not in (self._shown, choices)
        self._shown = choices
        if not is_typing:
            self.form.put(choices)
            self.use_button.setEnabled(False)

    def has_unsaved(self) -> bool:
        """Whether there are unsaved choices."""
        return self.has_any and self.use_button.isEnabled()

    def _on_typed(self) -> None:
        self._problem.say("")
        self.use_button.setEnabled(self.form.draft() != self._shown)

    def _on_submit(self) -> None:
        draft = self.form.draft()
        if isinstance(draft, Choices) and draft != self._shown:
            self.chosen.emit(draft)

    def _on_refused(self, sentence: str) -> None:
        self._problem.say(tr("wizard.choice_panel.not_used_yet"))
        announce(self.use_button, sentence)
