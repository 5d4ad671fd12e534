"""The questions about a control that did not answer, as lines to tick."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QVBoxLayout, QWidget

from core.fitting import Assessment, ControlChecked, Question
from core.language import Numbers
from desktop.widgets import theme
from desktop.widgets.panels import add_all, button, clear_layout, framed, heading, text_label


class CheckPanel(QWidget):
    """What to look at before a control is moved again; it hides while there is nothing."""

    checked = Signal(object)
    """The questions were answered: a ControlChecked."""

    def __init__(self, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self._questions: tuple[Question, ...] = ()
        self.lines: list[QCheckBox] = []
        column = framed(self)
        add_all(
            column,
            heading("Look at these first"),
            text_label("Tick each that is so. What is not so, put right first.", "muted"),
        )
        self._rows = QVBoxLayout()
        self._rows.setSpacing(round(theme.em(self) * 0.4))
        column.addLayout(self._rows)
        self.done_button = button(
            "All looked at", tip="Keeps in the record that the control does move", primary=True
        )
        self.done_button.clicked.connect(self.confirm)
        column.addWidget(self.done_button)
        self.hide()

    def show_questions(self, assessment: Assessment) -> None:
        """Offer an assessment's questions; ticks stay as long as the questions do."""
        if assessment.questions != self._questions:
            self._questions = assessment.questions
            clear_layout(self._rows)
            self.lines = []
            for question in self._questions:
                line = QCheckBox(self._numbers.text(question.text))
                line.toggled.connect(self._show_button)
                self._rows.addWidget(line)
                self.lines.append(line)
            self._show_button()
        self.setVisible(bool(self._questions))

    def confirm(self) -> None:
        """Emit that the questions were answered, once all are ticked."""
        if self._questions and self._all_ticked:
            asked = self._questions[0]
            self.checked.emit(ControlChecked(control=asked.control, where=asked.where))

    @property
    def _all_ticked(self) -> bool:
        return all(line.isChecked() for line in self.lines)

    def _show_button(self) -> None:
        self.done_button.setEnabled(self._all_ticked)
