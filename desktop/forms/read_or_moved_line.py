"""Asks whether a number typed for a move was read or moved."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from core.language import Numbers, Quantity, message
from desktop.forms.number_field import begins_a_number
from desktop.widgets.flow_row import FlowRow
from desktop.widgets.keys import is_enter
from desktop.widgets.message_line import MessageLine
from desktop.widgets.panels import add_all, announce, button, column_in


class ReadOrMovedLine(QWidget):
    """The question with its two answers; hidden until asked, then focused.

    Enter answers nothing and digits are ignored, so that typing on without looking does no harm.
    Escape returns to the field.
    """

    was_read = Signal()
    was_moved = Signal()
    left = Signal()
    """The person returns to the number."""

    def __init__(self, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._question = MessageLine(self)
        self.read_button = button("", keys="Ctrl+Return", primary=True)
        self.moved_button = button("", keys="Ctrl+M", primary=True)
        self.read_button.clicked.connect(self.was_read)
        self.moved_button.clicked.connect(self.was_moved)
        answers = FlowRow((self.read_button, self.moved_button))
        add_all(column_in(self), self._question, answers)
        QWidget.setTabOrder(self, self.read_button)
        QWidget.setTabOrder(self.read_button, self.moved_button)
        self.hide()

    def ask(self, read: Quantity, moved: Quantity) -> None:
        """Ask whether a number was read or moved, and take the focus."""
        say = self._numbers.text
        question = say(message("forms.read_or_moved.which", read=read, moved=moved))
        self._question.say("", question)
        self.read_button.setText(say(message("forms.read_or_moved.was_read", read=read)))
        self.moved_button.setText(say(message("forms.read_or_moved.was_moved", moved=moved)))
        self.setAccessibleName(question)
        self.show()
        self.setFocus(Qt.FocusReason.OtherFocusReason)
        announce(self, question)

    def text(self) -> str:
        """Return the question on show, or an empty string."""
        return "" if self.isHidden() else self._question.text()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Ask again if typing goes on; return with Escape."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        elif is_enter(event) or begins_a_number(event.text()):
            announce(self, self.accessibleName())
        else:
            super().keyPressEvent(event)
