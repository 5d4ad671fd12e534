"""A button whose text shortens to the room there is, names first."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QPushButton, QSizePolicy, QWidget

from desktop.widgets.plain_text import one_line, plain_tip

_LONGEST: Final = 120
_SHORTEST: Final = 8


class ResumeButton(QPushButton):
    """A button that can be narrow without its text being cut off at an edge.

    Screen readers and the tooltip always have the full text.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._words: Callable[[int], str] = lambda _longest: ""
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)

    def say(self, words: Callable[[int], str]) -> None:
        """Show text with names cut to this many characters."""
        self._words = words
        full = words(_LONGEST)
        self.setAccessibleName(full)
        self.setToolTip(plain_tip(full))
        self.setText(full.replace("&", "&&"))
        self.updateGeometry()
        self._fit()

    def minimumSizeHint(self) -> QSize:
        """Return the size of the shortest text."""
        return self._hint_for(self._words(_SHORTEST))

    def sizeHint(self) -> QSize:
        """Return the size of the full text."""
        return self._hint_for(self._words(_LONGEST))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the text to the new width."""
        super().resizeEvent(event)
        self._fit()

    def _hint_for(self, words: str) -> QSize:
        metrics = self.fontMetrics()
        frame = super().sizeHint().width() - metrics.horizontalAdvance(self.text())
        width = metrics.horizontalAdvance(words) + max(frame, 2 * metrics.averageCharWidth())
        return QSize(width, super().sizeHint().height())

    def _fit(self) -> None:
        words = ""
        for longest in range(_LONGEST, _SHORTEST - 1, -1):
            before, words = words, self._words(longest)
            if words != before and self._hint_for(words).width() <= self.width():
                break
        if self.isVisible() and self._hint_for(words).width() > self.width():
            room = max(self.width() - self._hint_for("").width(), 0)
            words = self.fontMetrics().elidedText(words, Qt.TextElideMode.ElideRight, room)
        shown = words.replace("&", "&&")
        if shown != self.text():
            self.setText(shown)


def shortened(text: str, longest: int) -> str:
    """Return a text on one line, cut to this many characters, with an ellipsis where it was cut."""
    text = one_line(text)
    return text if len(text) <= longest else f"{text[: longest - 1].rstrip()}…"
