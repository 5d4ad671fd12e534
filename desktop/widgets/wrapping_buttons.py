"""Radio buttons and tick boxes whose text wraps instead of widening the page."""

from __future__ import annotations

import math

from PySide6.QtCore import QEvent, QRect, Qt, QTimer
from PySide6.QtGui import QFontMetricsF, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QCheckBox, QRadioButton, QSizePolicy, QWidget


class _WrappedText:
    """The text of a button, broken into lines for a width."""

    def __init__(self, button: QAbstractButton) -> None:
        self._button = button
        self.words = ""
        self._soon = QTimer(button, singleShot=True, interval=0)
        self._soon.timeout.connect(self.fit)
        policy = button.sizePolicy()
        policy.setHorizontalPolicy(QSizePolicy.Policy.Ignored)
        button.setSizePolicy(policy)

    def fit_soon(self) -> None:
        """Break the text once the event that is under way is over."""
        self._soon.start()

    def fit(self) -> None:
        """Break the text for the available width, and keep room for the longest word.

        A layout gives a button that ignores its own width none at all if others want it.
        """
        metrics = QFontMetricsF(self._button.font())
        longest, mark = self._longest(metrics), self._mark()
        self._button.setMinimumWidth(math.ceil(longest + mark))
        broken = self._broken(metrics, max(self._button.width() - mark, longest))
        if broken != self._button.text():
            self._button.setText(broken)

    def _broken(self, metrics: QFontMetricsF, room: float) -> str:
        lines: list[str] = []
        for word in self.words.split(" "):
            longer = f"{lines[-1]} {word}" if lines else word
            if lines and metrics.horizontalAdvance(longer) <= room:
                lines[-1] = longer
            else:
                lines.append(word)
        return "\n".join(lines)

    def _longest(self, metrics: QFontMetricsF) -> float:
        return max((metrics.horizontalAdvance(word) for word in self.words.split(" ")), default=0.0)

    def _mark(self) -> int:
        """Return the width of the button beside its text, in any style and whatever it says."""
        metrics, mnemonic = self._button.fontMetrics(), Qt.TextFlag.TextShowMnemonic
        words, style = self._button.text(), self._button.style()
        text = style.itemTextRect(metrics, QRect(), int(mnemonic), False, words)  # noqa: FBT003 - Qt's
        return self._button.sizeHint().width() - text.width()


class WrappedRadio(QRadioButton):
    """A radio button that wraps."""

    def __init__(self, words: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._wrapped = _WrappedText(self)
        self.say(words)

    def say(self, words: str) -> None:
        """Show another text."""
        if words == self._wrapped.words:
            return
        self._wrapped.words = words
        self._wrapped.fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Break the text again."""
        super().resizeEvent(event)
        self._wrapped.fit()

    def changeEvent(self, event: QEvent) -> None:
        """Break the text again for another font, once everything else has its own."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and hasattr(self, "_wrapped"):
            self._wrapped.fit_soon()


class WrappedBox(QCheckBox):
    """A tick box that wraps."""

    def __init__(self, words: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._wrapped = _WrappedText(self)
        self.say(words)

    def say(self, words: str) -> None:
        """Show another text."""
        if words == self._wrapped.words:
            return
        self._wrapped.words = words
        self._wrapped.fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Break the text again."""
        super().resizeEvent(event)
        self._wrapped.fit()

    def changeEvent(self, event: QEvent) -> None:
        """Break the text again for another font, once everything else has its own."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and hasattr(self, "_wrapped"):
            self._wrapped.fit_soon()
