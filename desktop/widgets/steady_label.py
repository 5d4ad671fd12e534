"""A label that changes at every keystroke without a layout of the page each time."""

from __future__ import annotations

from math import ceil
from typing import Final

from PySide6.QtCore import QEvent, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPaintEvent, QPalette, QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

_USUAL_LETTERS: Final = 60


class SteadyLabel(QLabel):
    """Plain text, wrapped or on one line.

    A QLabel triggers a layout around it whenever its text changes. This one does so only when its
    text needs another size; with ``keep_size`` not even when it needs less.
    """

    def __init__(
        self, text: str = "", *, wraps: bool = True, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._words = ""
        self._wraps = wraps
        self._held = QSize(0, 0)
        self._asked = 0
        """The height that the layout was last told to ask for, given yet or not."""
        self._is_behind = False
        """Whether the words have changed since."""
        self._heights: dict[int, int] = {}
        self._least: QSize | None = None
        across = QSizePolicy.Policy.Preferred if wraps else QSizePolicy.Policy.Minimum
        policy = QSizePolicy(across, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(wraps)
        self.setSizePolicy(policy)
        self.say(text)

    def text(self) -> str:
        """Return the words shown."""
        return self._words

    def setText(self, text: str) -> None:
        """Show another text."""
        self.say(text)

    def say(self, text: str, *, keep_size: bool = False) -> None:
        """Show another text; with ``keep_size`` keep the size if it needs less."""
        if text != self._words:
            self._words = text
            self._forget_sizes()
            self.setAccessibleName(text)
            self.update()
        elif keep_size == bool(self._held.height()):
            return
        if not self.isVisible():  # it has no size yet to keep
            self._held = QSize(0, 0)
            self._ask()
            return
        self._held = self.size() if keep_size else QSize(0, 0)
        need, has = self._need(), self.size()
        fits = need.width() <= has.width() and need.height() <= min(has.height(), self._asked)
        if not fits or (not keep_size and self._wanted() != self._asked):
            self._ask()
        else:
            self._is_behind = True

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Ask again at another width if the layout has not asked since the words changed.

        It remembers the height of the earlier words for each width.
        """
        super().resizeEvent(event)
        if event.size().width() == event.oldSize().width():
            return
        if self._is_behind:
            self._ask()
        else:
            self._asked = self._wanted()

    def hasHeightForWidth(self) -> bool:
        """Return whether the text wraps."""
        return self._wraps

    def heightForWidth(self, width: int) -> int:
        """Return the height of the text at a width, never less than the kept size."""
        held = self._held.height() if width >= self._held.width() else 0
        return max(self._height_at(width), held)

    def sizeHint(self) -> QSize:
        """Return room for the text in lines of a usual length."""
        metrics = QFontMetricsF(self.font_at(self.width()))
        wide = ceil(metrics.horizontalAdvance(self._words)) + 1
        if not self._wraps:
            return QSize(wide, ceil(metrics.height())).expandedTo(self._held)
        width = min(wide, ceil(metrics.averageCharWidth() * _USUAL_LETTERS))
        return QSize(width, self.heightForWidth(width))

    def minimumSizeHint(self) -> QSize:
        """Return room for the longest word; text that doesn't wrap is never cut."""
        if not self._wraps:
            return self.sizeHint()
        if self._least is None:  # a layout asks many times
            metrics = QFontMetricsF(self.font())
            wide = max((metrics.horizontalAdvance(word) for word in self._words.split()), default=0)
            self._least = QSize(ceil(wide) + 1, ceil(metrics.height()) if self._words else 0)
        return self._least

    def font_at(self, _width: int) -> QFont:
        """Return the font of the text at a width."""
        return self.font()

    def font_drawn(self) -> QFont:
        """Return the font of the text in the room that it has."""
        return self.font_at(self.width())

    def changeEvent(self, event: QEvent) -> None:
        """Measure again after a change of font."""
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._forget_sizes()
        super().changeEvent(event)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the text."""
        painter = QPainter(self)
        painter.setFont(self.font_drawn())
        painter.setPen(self.palette().color(QPalette.ColorRole.WindowText))
        room, flags = self.rect(), self._flags()
        if self._wraps and self._is_cut():  # rather fewer lines than halves of them
            line = ceil(QFontMetricsF(self.font_drawn()).lineSpacing())
            room.setHeight(max(line, self.height() // line * line))
            flags &= ~int(Qt.AlignmentFlag.AlignVCenter)
            painter.setClipRect(room)
        painter.drawText(room, flags, self.words_drawn())
        painter.end()

    def words_drawn(self) -> str:
        """Return the words that are drawn in the room that there is."""
        return self._words

    def _is_cut(self) -> bool:
        """Return whether the words as they are drawn have too little height."""
        if self._height_at(self.width()) <= self.height():
            return False
        room = QRectF(0, 0, max(self.width(), 1), 1e6)
        metrics = QFontMetricsF(self.font_drawn())
        return metrics.boundingRect(room, self._flags(), self._words).height() > self.height()

    def _ask(self) -> None:
        """Have the layout ask for the size again."""
        self._asked, self._is_behind = self._wanted(), False
        self.updateGeometry()

    def _wanted(self) -> int:
        return self.heightForWidth(self.width()) if self._wraps else self.sizeHint().height()

    def _forget_sizes(self) -> None:
        self._heights.clear()
        self._least = None

    def _flags(self) -> int:
        wrap = int(Qt.TextFlag.TextWordWrap) if self._wraps else int(Qt.TextFlag.TextSingleLine)
        return wrap | int(self.alignment())

    def _need(self) -> QSize:
        if not self._wraps:
            metrics = QFontMetricsF(self.font())
            wide = ceil(metrics.horizontalAdvance(self._words)) + 1
            return QSize(wide, ceil(metrics.height()))
        return QSize(0, self._height_at(self.width()))

    def _height_at(self, width: int) -> int:
        if not self._words:
            return 0
        found = self._heights.get(width)
        if found is None:
            room = QRectF(0, 0, max(width, 1), 1e6)
            box = QFontMetricsF(self.font_at(width)).boundingRect(room, self._flags(), self._words)
            found = self._heights[width] = ceil(box.height())
        return found


def activate_layouts(widget: QWidget) -> None:
    """Activate the pending layouts of a widget and its parents now."""
    inner: QWidget | None = widget
    while inner is not None:
        layout = inner.layout()
        if layout is not None:
            layout.activate()
        inner = inner.parentWidget()
