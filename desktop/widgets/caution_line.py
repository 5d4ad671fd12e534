"""A caution at the act it guards: one line, with its reason on demand."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QLabel, QWidget

from core.language import Name
from desktop.widgets.language import caution_words, tr
from desktop.widgets.plain_text import plain_tip

SIGN: Final = "⚠"


class CautionLine(QLabel):
    """One caution, shown by its title.

    It shows its reason when pressed, or when the page opens all of them. A pressing case adds one
    sentence.
    """

    def __init__(self, key: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.key = key
        self._caution = caution_words()[key]
        self._is_open = self._is_urgent = False
        self.setWordWrap(True)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setProperty("kind", "question")
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setToolTip(plain_tip(self._caution.text))
        title, text = Name(self._caution.title), Name(self._caution.text)
        self.setAccessibleName(tr("wizard.guide.caution_title_text", title=title, text=text))
        self._say()

    def open(self, *, wide: bool) -> None:
        """Show the reason, or the title alone."""
        if wide is not self._is_open:
            self._is_open = wide
            self._say()

    def press(self, *, urgent: bool) -> None:
        """Show or hide the sentence about an immediate danger."""
        if urgent is not self._is_urgent:
            self._is_urgent = urgent
            self._say()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Show or hide the reason."""
        self.open(wide=not self._is_open)
        event.accept()

    def _say(self) -> None:
        if self._is_open and self._caution.text:
            self.setText(f"{self.title()}. {self._caution.text}")
        else:
            self.setText(self.short())

    def short(self) -> str:
        """Return what it shows while it is closed: about what can hurt at once, a sentence too."""
        more = self._caution.brief if self._is_urgent or self._caution.always else ""
        return f"{self.title()}. {more}" if more else self.title()

    def title(self) -> str:
        """Return its sign and title."""
        return f"{SIGN} {self._caution.title}"
