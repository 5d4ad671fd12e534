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
NO_BREAK: Final = "\u00a0"


class CautionLine(QLabel):
    """One caution, shown by its title.

    It shows its reason when pressed, or when the page opens all of them. A pressing case adds one
    sentence. Beside the words of a line it does not say again what those say.
    """

    def __init__(self, key: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.key = key
        self._caution = caution_words()[key]
        self._is_open = self._is_urgent = self._is_beside = False
        self.setWordWrap(True)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setProperty("kind", "question")
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self._say()
        self._name()

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

    def stand_beside(self, *, words: bool) -> None:
        """Leave out what the words of its line say, or say all of it."""
        if words is not self._is_beside:
            self._is_beside = words
            self._say()
            self._name()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Show or hide the reason."""
        self.open(wide=not self._is_open)
        event.accept()

    def _say(self) -> None:
        caution = self._caution
        if self._is_beside and caution.beside:
            more = f" {self._text()}" if self._is_open and self._text() else ""
            self.setText(f"{SIGN} {caution.beside}{more}")
        elif self._is_open and self._text():
            self.setText(f"{self.title()}. {self._text()}")
        else:
            self.setText(self.short())

    def _text(self) -> str:
        further = self._caution.further
        return self._caution.text if further is None or not self._is_beside else further

    def _name(self) -> None:
        """Say all of it to who can't see it, and its text on demand."""
        beside = self._caution.beside if self._is_beside else ""
        text = " ".join(one for one in (beside, self._text()) if one)
        told = tr("wizard.guide.caution_beside", text=Name(text))
        if not beside:
            title = Name(self._caution.title)
            told = tr("wizard.guide.caution_title_text", title=title, text=Name(text))
        self.setAccessibleName(told)
        self.setToolTip(plain_tip(text))

    def short(self) -> str:
        """Return what it shows while it is closed: about what can hurt at once, a sentence too."""
        return self._with_sentence(self.title())

    def named(self) -> str:
        """Return the same where several are named in a row: no line breaks within a title."""
        return self._with_sentence(self.named_alone())

    def named_alone(self) -> str:
        """Return its sign and title, in which no line breaks."""
        return self.title().replace(" ", NO_BREAK)

    def _with_sentence(self, title: str) -> str:
        more = self._caution.brief if self._is_urgent or self._caution.always else ""
        return f"{title}. {more}" if more else title

    def title(self) -> str:
        """Return its sign and title."""
        return f"{SIGN} {self._caution.title}"
