"""Radio buttons and tick boxes whose words wrap instead of pushing the page wide."""

from __future__ import annotations

from PySide6.QtCore import QSize
from PySide6.QtGui import QFontMetricsF, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QCheckBox, QRadioButton, QSizePolicy, QStyle, QWidget


class _WrappedText:
    """The words of a button, broken into lines for a width."""

    def __init__(self, button: QAbstractButton) -> None:
        self._button = button
        self.words = ""
        policy = button.sizePolicy()
        policy.setHorizontalPolicy(QSizePolicy.Policy.Ignored)
        button.setSizePolicy(policy)

    def broken(self) -> str:
        """Return the words in lines that fit beside the mark at the width at hand."""
        metrics = QFontMetricsF(self._button.font())
        room = max(self._button.width() - self._mark(), self._longest(metrics))
        lines: list[str] = []
        for word in self.words.split(" "):
            longer = f"{lines[-1]} {word}" if lines else word
            if lines and metrics.horizontalAdvance(longer) <= room:
                lines[-1] = longer
            else:
                lines.append(word)
        return "\n".join(lines)

    def least(self, own: QSize) -> QSize:
        """Return the least size: the longest word, in as many lines as it takes now."""
        longest = self._longest(QFontMetricsF(self._button.font()))
        return QSize(round(longest + self._mark()), own.height())

    def _longest(self, metrics: QFontMetricsF) -> float:
        return max((metrics.horizontalAdvance(word) for word in self.words.split(" ")), default=0.0)

    def _mark(self) -> float:
        metric = QStyle.PixelMetric.PM_ExclusiveIndicatorWidth
        mark = self._button.style().pixelMetric(metric, None, self._button)
        return mark + 1.2 * QFontMetricsF(self._button.font()).height()


class WrappedRadio(QRadioButton):
    """A radio button that wraps."""

    def __init__(self, words: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._wrapped = _WrappedText(self)
        self.say(words)

    def say(self, words: str) -> None:
        """Show other words."""
        if words == self._wrapped.words:
            return
        self._wrapped.words = words
        self.setText(self._wrapped.broken())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Break the words again."""
        super().resizeEvent(event)
        if self._wrapped.broken() != self.text():
            self.setText(self._wrapped.broken())

    def minimumSizeHint(self) -> QSize:
        """Return room for the longest word."""
        return self._wrapped.least(super().minimumSizeHint())


class WrappedBox(QCheckBox):
    """A tick box that wraps."""

    def __init__(self, words: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._wrapped = _WrappedText(self)
        self._wrapped.words = words
        self.setText(self._wrapped.broken())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Break the words again."""
        super().resizeEvent(event)
        if self._wrapped.broken() != self.text():
            self.setText(self._wrapped.broken())

    def minimumSizeHint(self) -> QSize:
        """Return room for the longest word."""
        return self._wrapped.least(super().minimumSizeHint())
