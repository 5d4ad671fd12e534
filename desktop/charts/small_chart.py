"""A picture so small that many are seen side by side; to be picked, and then shown large."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from core.drawing.chart import Axis, Band, Curve, Item, MarkRole, Picture, Points, Rule, Shape
from core.language import Message, Numbers
from desktop.charts.items import fill_for, paint_symbol, pen_for
from desktop.widgets import theme
from desktop.widgets.language import tr
from desktop.widgets.plain_text import plain_tip

LEAST_EM: Final = 12.0
_NARROWEST_EM: Final = 4.0
_TALL_EM: Final = 8.0
_USUAL_LINES: Final = 2
"""Lines of words that are part of that height."""
_DOT_PX: Final = 3.0
_TICKS: Final = 3
_TYPE: Final = 0.8


class SmallChart(QAbstractButton):
    """A picture with its figure and unit above it, dates below, and what was wanted in words.

    Arrows, tags and legends are left to the large picture.
    """

    def __init__(self, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self._picture: Picture | None = None
        self._label = self._unit = ""
        self._words: tuple[str, ...] = ()
        self._is_open = False
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setCursor(Qt.CursorShape.PointingHandCursor)

    @property
    def picture(self) -> Picture | None:
        """The picture on show."""
        return self._picture

    def draw(self, picture: Picture, words: Sequence[Message]) -> None:
        """Draw a picture; ``words`` say what it comes to, three short lines at most."""
        self._picture = picture
        self._label = self._numbers.text(picture.y.label)
        self._unit = f" ({picture.y.unit})" if picture.y.unit else ""
        self._words = tuple(map(self._numbers.text, words))
        summary = self._numbers.text(picture.summary)
        self.setAccessibleName(". ".join((f"{self._label}{self._unit}", *self._words)))
        self.setAccessibleDescription(summary)
        self.setToolTip(plain_tip(summary))
        self.updateGeometry()
        self.update()

    def mark_open(self, *, is_open: bool) -> None:
        """Show that this is the one on show in large."""
        self._is_open = is_open
        self.update()

    def sizeHint(self) -> QSize:
        """Return a size at which the words can be read."""
        line = theme.em(self)
        return QSize(round(line * LEAST_EM), round(line * self._tall_em()))

    def minimumSizeHint(self) -> QSize:
        """Return less: a row that has grown too wide must be able to become narrower."""
        line = theme.em(self)
        return QSize(round(line * _NARROWEST_EM), round(line * self._tall_em()))

    def _tall_em(self) -> float:
        return _TALL_EM + max(0, len(self._words) - _USUAL_LINES)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint frame, words, axes and items."""
        picture, look = self._picture, theme.appearance_of(self)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        line = theme.em(self)
        frame = QRectF(self.rect()).adjusted(1.5, 1.5, -1.5, -1.5)
        strong = self.hasFocus() or self._is_open
        edge = QPen(QColor(look.accent if strong else look.line), 2.0 if strong else 1.0)
        painter.setPen(edge)
        painter.setBrush(QColor(look.base))
        painter.drawRoundedRect(frame, 4.0, 4.0)
        if picture is None:
            return
        inner = frame.adjusted(0.35 * line, 0.2 * line, -0.35 * line, -0.2 * line)
        title = theme.scaled(self.font(), 0.95, bold=True)
        small = theme.scaled(self.font(), _TYPE)
        at = inner.top()
        room = QFontMetricsF(title).horizontalAdvance(self._unit)
        label = QFontMetricsF(title).elidedText(
            self._label, Qt.TextElideMode.ElideRight, inner.width() - room
        )
        lines = [(f"{label}{self._unit}", title, look.text)]
        lines += [(text, small, look.muted) for text in self._words]
        for text, font, colour in lines:
            metrics = QFontMetricsF(font)
            painter.setFont(font)
            painter.setPen(QColor(colour))
            shown = metrics.elidedText(text, Qt.TextElideMode.ElideRight, inner.width())
            painter.drawText(QPointF(inner.left(), at + metrics.ascent()), shown)
            at += metrics.height()
        _SmallPlot(painter, picture, look, small, self._numbers).paint(
            QRectF(inner.left(), at + 0.25 * line, inner.width(), inner.bottom() - at - 0.25 * line)
        )
        painter.end()


class _SmallPlot:
    """The axes and items of one small picture."""

    def __init__(
        self,
        painter: QPainter,
        picture: Picture,
        look: theme.Appearance,
        font: QFont,
        numbers: Numbers,
    ) -> None:
        self.painter, self.picture, self.look, self.numbers = painter, picture, look, numbers
        self.font, self.metrics = font, QFontMetricsF(font)
        self.room = QRectF()
        self._stripes: list[QRectF] = []

    def paint(self, room: QRectF) -> None:
        ticks = _ticks(self.picture.y)
        written = [self.numbers.plain(tick, _decimals(ticks)) for tick in ticks]
        left = max((self.metrics.horizontalAdvance(text) for text in written), default=0.0) + 5.0
        below = self.metrics.height() + 2.0
        self.room = room.adjusted(left, 0.5 * self.metrics.ascent(), -2.0, -below)
        painter = self.painter
        painter.save()
        painter.setClipRect(self.room.adjusted(-4.0, -4.0, 4.0, 4.0))
        for item in self.picture.items:
            self._item(item)
        painter.restore()
        painter.setFont(self.font)
        self._frame()
        for tick, text in zip(ticks, written, strict=True):
            y = self._at(self.picture.x.low, tick).y()
            painter.drawLine(QPointF(self.room.left() - 3.0, y), QPointF(self.room.left(), y))
            wide = self.metrics.horizontalAdvance(text)
            drop = 0.5 * self.metrics.capHeight()
            painter.drawText(QPointF(self.room.left() - 5.0 - wide, y + drop), text)
        self._dates()
        if self._stripes:
            self._name(self._stripes[-1])

    def _name(self, stripe: QRectF) -> None:
        """Say in the stripe, or beside one that is too narrow, that it is what was wanted."""
        text, tall = tr("charts.small_chart.wanted"), self.metrics.ascent()
        if stripe.height() < 1.2 * tall:
            above = stripe.top() - 3.0
            y = above if above - tall > self.room.top() else stripe.bottom() + tall
        else:
            y = stripe.top() + tall  # the dots mostly lie about its middle
        wide = self.metrics.horizontalAdvance(text)
        x = min(stripe.right(), self.room.right()) - wide - 4.0
        self.painter.setPen(QColor(self.look.muted))
        self.painter.drawText(QPointF(x, y), text)

    def _frame(self) -> None:
        painter, room = self.painter, self.room
        painter.setPen(QPen(QColor(self.look.muted), 1.0))
        painter.drawLine(room.topLeft(), room.bottomLeft())
        painter.drawLine(room.bottomLeft(), room.bottomRight())

    def _dates(self) -> None:
        """Write as many dates as have room, from the left."""
        free = -math.inf
        base = self.room.bottom() + 2.0 + self.metrics.ascent()
        for place, words in self.picture.x.ticks:
            text = self.numbers.text(words)
            x = self._at(place, self.picture.y.low).x()
            wide = self.metrics.horizontalAdvance(text)
            start = min(x - 0.5 * wide, self.room.right() - wide)
            if start < free:
                continue
            self.painter.drawLine(
                QPointF(x, self.room.bottom()), QPointF(x, self.room.bottom() + 3.0)
            )
            self.painter.drawText(QPointF(start, base), text)
            free = start + wide + self.metrics.horizontalAdvance("  ")

    def _at(self, x: float, y: float) -> QPointF:
        across, up = self.picture.x, self.picture.y
        return QPointF(
            self.room.left() + (x - across.low) / (across.high - across.low) * self.room.width(),
            self.room.bottom() - (y - up.low) / (up.high - up.low) * self.room.height(),
        )

    def _item(self, item: Item) -> None:
        painter = self.painter
        painter.setPen(pen_for(self.look, item.role))
        match item:
            case Band("y"):
                painter.setPen(Qt.PenStyle.NoPen)
                painter.setBrush(fill_for(self.look, item.role))
                x = self.picture.x
                corners = QRectF(self._at(x.low, item.high), self._at(x.high, item.low))
                painter.drawRect(corners)
                self._stripes.append(corners)
            case Shape():
                painter.setPen(Qt.PenStyle.NoPen)
                painter.setBrush(fill_for(self.look, item.role))
                painter.drawPolygon(self._polygon(item))
                self._stripes.append(self._polygon(item).boundingRect())
            case Curve():
                painter.drawPolyline(self._polygon(item))
            case Rule("x"):
                y = self.picture.y
                painter.drawLine(self._at(item.at, y.low), self._at(item.at, y.high))
            case Points():
                self._points(item)
            case _:
                pass  # words and arrows have no room here

    def _polygon(self, item: Shape | Curve) -> QPolygonF:
        places = zip(item.x.tolist(), item.y.tolist(), strict=True)
        return QPolygonF([self._at(x, y) for x, y in places])

    def _points(self, item: Points) -> None:
        colour = self.look.role(item.role)
        halves = item.half_height.tolist() if item.half_height is not None else [0.0] * len(item.x)
        for x, y, half in zip(item.x.tolist(), item.y.tolist(), halves, strict=True):
            self.painter.setPen(QPen(colour, 1.0))
            if half:
                self.painter.drawLine(self._at(x, y - half), self._at(x, y + half))
            size = _DOT_PX if item.role is not MarkRole.PREDICTED else _DOT_PX + 1.0
            paint_symbol(self.painter, self._at(x, y), item.role, colour, size)


def _ticks(axis: Axis) -> list[float]:
    """Return two or three round numbers within an axis."""
    rough = (axis.high - axis.low) / _TICKS
    power = 10.0 ** math.floor(math.log10(rough))
    step = next((m * power for m in (1.0, 2.0, 5.0) if m * power >= rough), 10.0 * power)
    if math.floor(axis.high / step) - math.ceil(axis.low / step) < 1:
        step /= 2.0
    first, last = math.ceil(axis.low / step - 1e-9), math.floor(axis.high / step + 1e-9)
    return [step * place for place in range(first, last + 1)]


def _decimals(ticks: list[float]) -> int:
    """Return the decimals that tell the ticks apart."""
    for places in range(4):
        if all(abs(tick - round(tick, places)) < 1e-9 * max(1.0, abs(tick)) for tick in ticks):
            return places
    return 4
