"""Asks for the reason when a verdict is overruled."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from desktop.widgets.language import tr
from desktop.widgets.message_line import MessageLine
from desktop.widgets.panels import add_all, button, text_label


class ReasonPanel(QFrame):
    """A question for the reason, hidden until asked."""

    given = Signal(str)

    def __init__(
        self,
        parent: QWidget | None = None,
        *,
        name: str = "",
        hint: str = "",
        keep: str = "",
    ) -> None:
        super().__init__(parent)
        self.setProperty("panel", "true")
        self._question = text_label()
        self.line = QLineEdit(maxLength=2000)
        self.line.setPlaceholderText(hint or tr("widgets.reason_panel.why_it_is_good_enough"))
        self.line.setAccessibleName(name or tr("widgets.reason_panel.reason_for_keeping_this_as"))
        self._problem = MessageLine()
        self.keep_button = button(
            keep or tr("widgets.reason_panel.keep_with_this_reason"), primary=True
        )
        self._back = button(tr("widgets.reason_panel.back_out"))
        row = add_all(QHBoxLayout(), (self.line, 1), self.keep_button, self._back)
        add_all(QVBoxLayout(self), self._question, row, self._problem)
        self.line.returnPressed.connect(self._give)
        self.keep_button.clicked.connect(self._give)
        self._back.clicked.connect(self.hide)
        self.hide()

    def ask(self, question: str) -> None:
        """Show the question and focus its field."""
        self._question.setText(question)
        self._problem.say("")
        self.show()
        self.line.setFocus(Qt.FocusReason.OtherFocusReason)

    def done(self) -> None:
        """Hide: the reason was saved."""
        self.line.clear()
        self.hide()

    def has_unsaved(self) -> bool:
        """Whether a reason is typed and not cancelled."""
        return not self.isHidden() and bool(self.line.text().strip())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Cancel with Escape; the text stays for the next time."""
        if event.key() == Qt.Key.Key_Escape:
            self.hide()
        else:
            super().keyPressEvent(event)

    def _give(self) -> None:
        reason = self.line.text().strip()
        if not reason:
            self._problem.say(tr("widgets.reason_panel.type_a_few_words_first"))
            self.line.setFocus(Qt.FocusReason.OtherFocusReason)
            return
        self.given.emit(reason)
