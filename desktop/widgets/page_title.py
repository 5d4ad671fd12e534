"""The title of a page, where reading it out and going through it by keyboard begin."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLabel, QWidget

from desktop.widgets import theme
from desktop.widgets.keys import ENTER_KEYS


class PageTitle(QLabel):
    """The title of a page; it takes the focus so that it is read out. Enter goes on from it."""

    entered = Signal()

    def __init__(self, text: str, parent: QWidget | None = None) -> None:
        super().__init__(text, parent)
        self.setFont(theme.scaled(self.font(), 1.5, bold=True))
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setTextFormat(Qt.TextFormat.PlainText)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go on to the first field with Enter."""
        if event.key() in ENTER_KEYS:
            self.entered.emit()
            return
        super().keyPressEvent(event)
