"""The graphics items of a chart: one class for each kind of chart element.

Items are reused with other data, so that a chart that changes while a value is typed allocates
no new objects.
"""

from __future__ import annotations

import math
from typing import Any, Final

import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF, QSizeF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontMetricsF,
    QPainter,
    QPainterPath,
    QPen,
    QPolygonF,
)

from core.drawing.chart import Role
from desktop.widgets.theme import Appearance

_DENSE: Final = 400
"""Points from which a line is drawn one pixel wide: wide dense lines take seconds."""


_DASHES: Final[dict[Role, Qt.PenStyle]] = {
    Role.PREDICTED: Qt.PenStyle.DashLine,
    Role.GUIDE: Qt.PenStyle.DotLine,
    Role.TARGET: Qt.PenStyle.DashDotLine,
}

_DOT_REACH_PX: Final = 5.5

_Lines = tuple[tuple[float, float, float, float], ...]
_Corners = tuple[tuple[float, float], ...]

# The mark of a role, in units of the mark's radius; a round dot by default.
_MARKS: Final[dict[Role, tuple[_Lines, _Corners]]] = {
    Role.PREDICTED: ((), ((0, -1), (1, 0), (0, 1), (-1, 0))),
    Role.GUIDE: ((), ((-1, -1), (1, -1), (1, 1), (-1, 1))),
    Role.LEFT: ((), ((-1, 0), (1, -1), (1, 1))),
    Role.RIGHT: ((), ((1, 0), (-1, -1), (-1, 1))),
    Role.TARGET: (((-1, 0, 1, 0), (0, -1, 0, 1)), ()),
    Role.DANGER: (((-1, -1, 1, 1), (-1, 1, 1, -1)), ()),
}

FILL_ALPHA: Final[dict[Role, int]] = {
    Role.GOOD: 60,
    Role.ALLOWED: 48,
    Role.DANGER: 44,
    Role.BEFORE: 40,
}


def pen_for(look: Appearance, role: Role, points: int = 2) -> QPen:
    """Return the pen for a role; one pixel wide for dense lines."""
    width = 1 if points > _DENSE or role in (Role.BEFORE, Role.GUIDE) else 2
    pen = QPen(look.role(role))
    pen.setWidthF(width)
    pen.setCosmetic(True)
    pen.setStyle(_DASHES.get(role, Qt.PenStyle.SolidLine))
    return pen


def fill_for(look: Appearance, role: Role) -> QBrush:
    """Return the translucent fill of a band or a filled shape."""
    colour = look.role(role)
    colour.setAlpha(FILL_ALPHA.get(role, 70))
    return QBrush(colour)


class _PictureItem(pg.GraphicsObject):
    """One element of a chart; unchanged data is not drawn again."""

    def __init__(self) -> None:
        super().__init__()
        self._shown: object = None
        self._room = QRectF()

    def is_news(self, shown: object, room: QRectF) -> bool:
        """Store what is to be shown; return whether it changed."""
        if shown == self._shown and room == self._room:
            return False
        self.prepareGeometryChange()
        self._shown, self._room = shown, room
        self.update()
        return True

    def boundingRect(self) -> QRectF:
        """Return the area it may cover."""
        return self._room


class PathItem(_PictureItem):
    """A line or an area in data coordinates."""

    def __init__(self) -> None:
        super().__init__()
        self._path = QPainterPath()
        self._pen = QPen(Qt.PenStyle.NoPen)
        self._brush = QBrush(Qt.BrushStyle.NoBrush)

    def set(self, path: QPainterPath, pen: QPen, brush: QBrush | None = None) -> None:
        """Show an outline."""
        self._path, self._pen = path, pen
        self._brush = brush or QBrush(Qt.BrushStyle.NoBrush)

    def paint(self, painter: QPainter, *_: Any) -> None:
        """Draw the outline."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(self._pen)
        painter.setBrush(self._brush)
        painter.drawPath(self._path)


class ArrowItem(_PictureItem):
    """An arrow whose head keeps its size on the screen."""

    def __init__(self) -> None:
        super().__init__()
        self._from, self._to = QPointF(), QPointF()
        self._pen = QPen()

    def set(self, start: QPointF, end: QPointF, pen: QPen) -> None:
        """Show an arrow."""
        self._from, self._to, self._pen = start, end, pen

    def paint(self, painter: QPainter, *_: Any) -> None:
        """Draw the shaft and the head in pixels."""
        to_screen = painter.worldTransform()
        start, end = to_screen.map(self._from), to_screen.map(self._to)
        painter.resetTransform()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(self._pen)
        length = math.hypot(end.x() - start.x(), end.y() - start.y())
        if not math.isfinite(length) or length < 1.0:
            return
        along = QPointF((end.x() - start.x()) / length, (end.y() - start.y()) / length)
        head = min(11.0, length * 0.6)
        back = end - along * head
        side = QPointF(-along.y(), along.x()) * (head * 0.42)
        painter.drawLine(start, back)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self._pen.color())
        painter.drawPolygon(QPolygonF([end, back + side, back - side]))


class DotsItem(_PictureItem):
    """Marks that keep their size on the screen."""

    def __init__(self) -> None:
        super().__init__()
        self._places: list[QPointF] = []
        self._role = Role.NOW
        self._colour = QColor()

    def set(self, places: list[QPointF], role: Role, colour: QColor) -> None:
        """Show marks of a role at places."""
        self._places, self._role, self._colour = places, role, colour

    def paint(self, painter: QPainter, *_: Any) -> None:
        """Draw the marks in pixels."""
        to_screen = painter.worldTransform()
        painter.resetTransform()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for place in self._places:
            paint_mark(painter, to_screen.map(place), self._role, self._colour)


class WordsItem(_PictureItem):
    """Words at a place, upright and of one size at any scale."""

    def __init__(self) -> None:
        super().__init__()
        self._text = ""
        self._place = QPointF()
        self._anchor = (0.5, 0.5)
        self._colour = QColor()
        self._type = QFont()
        self._size = QSizeF()

    def set(
        self, text: str, place: QPointF, anchor: tuple[float, float], colour: QColor, type_: QFont
    ) -> None:
        """Show words; the anchor is the point of their box, from its top left, at the place."""
        self._text, self._place, self._anchor = text, place, anchor
        self._colour, self._type = colour, type_
        self._size = QFontMetricsF(type_).size(0, text)

    def box(self, place: QPointF) -> QRectF:
        """Return the box of the words on the screen, whose anchor stands at a place there.

        Words above or below their place keep clear of a dot there.
        """
        wide, high = self._size.width(), self._size.height()
        across, down = self._anchor
        clear = (1.0 - 2.0 * down) * _DOT_REACH_PX
        return QRectF(place.x() - across * wide, place.y() - down * high + clear, wide, high)

    def paint(self, painter: QPainter, *_: Any) -> None:
        """Draw the words in pixels."""
        box = self.box(painter.worldTransform().map(self._place))
        painter.resetTransform()
        painter.setPen(self._colour)
        painter.setFont(self._type)
        flags = Qt.AlignmentFlag.AlignLeft | Qt.TextFlag.TextDontClip
        painter.drawText(box, int(flags), self._text)


def paint_mark(
    painter: QPainter, middle: QPointF, role: Role, colour: QColor, size: float | None = None
) -> None:
    """Draw the mark of a role in pixels, from its middle to its edge ``size`` large."""
    reach = size or (4.0 if role is Role.BEFORE else _DOT_REACH_PX)
    painter.setPen(QPen(colour, 1.5))
    painter.setBrush(QBrush() if role is Role.PREDICTED else colour)
    x, y = middle.x(), middle.y()
    lines, corners = _MARKS.get(role, ((), ()))
    for x0, y0, x1, y1 in lines:
        painter.drawLine(
            QPointF(x + reach * x0, y + reach * y0), QPointF(x + reach * x1, y + reach * y1)
        )
    if corners:
        painter.drawPolygon(QPolygonF([QPointF(x + reach * a, y + reach * b) for a, b in corners]))
    elif not lines:
        painter.drawEllipse(middle, reach, reach)
