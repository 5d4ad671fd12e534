"""What a chart is drawn with: one small kind of graphics item for each kind of thing in a picture.

Every kind can be shown anew with other data, so that a picture that moves while a value is typed
costs no new objects.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, Final

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPen, QPolygonF

from core.picture import Arrow, Band, Curve, Item, Picture, Points, Role, Rule, Shape, Tag
from desktop.theme import Look

_DENSE: Final = 400
"""Points from which a line is drawn one pixel wide: wide dense lines take seconds."""

_LONG_WORDS: Final = 16

_CLOSE: Final = 0.12
"""Share of the picture within which words and a dot could cover each other."""

_DASHES: Final[dict[Role, Qt.PenStyle]] = {
    Role.PREDICTED: Qt.PenStyle.DashLine,
    Role.GUIDE: Qt.PenStyle.DotLine,
    Role.TARGET: Qt.PenStyle.DashDotLine,
}

SYMBOLS: Final[dict[Role, str]] = {
    Role.NOW: "o",
    Role.BEFORE: "o",
    Role.PREDICTED: "d",
    Role.TARGET: "+",
    Role.DANGER: "x",
    Role.LEFT: "t3",
    Role.RIGHT: "t2",
    Role.GUIDE: "s",
}

FILL_ALPHA: Final[dict[Role, int]] = {
    Role.GOOD: 60,
    Role.ALLOWED: 48,
    Role.DANGER: 44,
    Role.BEFORE: 40,
}


def pen_for(look: Look, role: Role, points: int = 2) -> QPen:
    """Return the pen for a role; one pixel wide for dense lines."""
    width = 1 if points > _DENSE or role in (Role.BEFORE, Role.GUIDE) else 2
    pen = QPen(look.role(role))
    pen.setWidthF(width)
    pen.setCosmetic(True)
    pen.setStyle(_DASHES.get(role, Qt.PenStyle.SolidLine))
    return pen


def _edge(colour: QColor) -> QPen:
    pen = QPen(colour, 1.5)
    pen.setCosmetic(True)  # symbols are drawn scaled up: another pen would grow to a blot
    return pen


def fill_for(look: Look, role: Role) -> QBrush:
    """Return the translucent fill of a band or a filled shape."""
    colour = look.role(role)
    colour.setAlpha(FILL_ALPHA.get(role, 70))
    return QBrush(colour)


class _Area(pg.GraphicsObject):  # type: ignore[misc] # pyqtgraph ships no type information
    """A filled or hollow outline in data coordinates, without a fresh path when nothing changed."""

    def __init__(self) -> None:
        super().__init__()
        self._path = QPainterPath()
        self._pen = QPen(Qt.PenStyle.NoPen)
        self._brush = QBrush(Qt.BrushStyle.NoBrush)

    def set(self, path: QPainterPath, pen: QPen, brush: QBrush) -> None:
        """Show another outline."""
        self.prepareGeometryChange()
        self._path, self._pen, self._brush = path, pen, brush
        self.update()

    def boundingRect(self) -> QRectF:  # noqa: N802 - Qt's name
        """Return the outline's box, a little larger for the pen."""
        box = self._path.boundingRect()
        more = 0.02 * max(box.width(), box.height(), 1e-9)
        return box.adjusted(-more, -more, more, more)

    def paint(self, painter: QPainter, *_: Any) -> None:
        """Draw the outline."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(self._pen)
        painter.setBrush(self._brush)
        painter.drawPath(self._path)


class _ArrowItem(pg.GraphicsObject):  # type: ignore[misc] # as above
    """An arrow whose head keeps its size on the screen."""

    def __init__(self) -> None:
        super().__init__()
        self._from, self._to = QPointF(), QPointF()
        self._pen = QPen()

    def set(self, start: QPointF, end: QPointF, pen: QPen) -> None:
        """Show another arrow."""
        self.prepareGeometryChange()
        self._from, self._to, self._pen = start, end, pen
        self.update()

    def boundingRect(self) -> QRectF:  # noqa: N802 - Qt's name
        """Return a box large enough for the head."""
        box = QRectF(self._from, self._to).normalized()
        size = self.pixelVectors()
        across = 12 * (abs(size[0].x()) if size[0] else 0.1)
        down = 12 * (abs(size[1].y()) if size[1] else 0.1)
        return box.adjusted(-across, -down, across, down)

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


class Pool:
    """The graphics items of one plot, used again from picture to picture.

    Parameters
    ----------
    box
        The view they live in.
    """

    def __init__(self, box: Any) -> None:
        self._box = box
        self._items: dict[str, list[Any]] = {}
        self._used: dict[str, int] = {}
        self._depth = 0

    def draw(self, picture: Picture, look: Look, text: QColor) -> None:
        """Draw a picture's items in order, and hide those left over from the last one."""
        self._used = {}
        self._depth = 0
        for item in picture.items:
            self._draw_one(item, picture, look, text)
        for kind, items in self._items.items():
            for extra in items[self._used.get(kind, 0) :]:
                extra.hide()

    def _draw_one(self, item: Item, picture: Picture, look: Look, text: QColor) -> None:
        match item:
            case Band():
                self._area(
                    _stripe(item, picture), QPen(Qt.PenStyle.NoPen), fill_for(look, item.role)
                )
            case Shape():
                outline = _closed(item.x, item.y)
                brush = fill_for(look, item.role) if item.filled else QBrush()
                pen = pen_for(look, item.role, item.x.size)
                if item.filled:
                    pen.setWidthF(1)  # the fill is seen; wide edges of long outlines cost much
                self._area(outline, pen, brush)
            case Curve():
                curve = self._take("curve", _new_curve)
                curve.setPen(pen_for(look, item.role, item.x.size))
                curve.setData(item.x, item.y, connect="finite")
            case Points():
                self._points(item, look)
            case Rule():
                rule = self._take("rule", _new_rule)
                rule.setPen(pen_for(look, item.role))
                rule.setAngle(90 if item.axis == "x" else 0)
                rule.setPos(item.at)
            case Arrow():
                arrow = self._take("arrow", _ArrowItem)
                arrow.set(
                    QPointF(item.x0, item.y0), QPointF(item.x1, item.y1), pen_for(look, item.role)
                )
            case Tag():
                self._words(item, look, text, _anchor(item, picture))

    def _area(self, path: QPainterPath, pen: QPen, brush: QBrush) -> None:
        self._take("area", _Area).set(path, pen, brush)

    def _points(self, item: Points, look: Look) -> None:
        colour = look.role(item.role)
        if item.half_height is not None:
            bars = self._take("bars", _new_curve)
            x = np.repeat(item.x, 3)
            y = np.stack(
                [
                    item.y - item.half_height,
                    item.y + item.half_height,
                    np.full_like(item.y, np.nan),
                ],
                axis=1,
            ).ravel()
            bars.setPen(pen_for(look, item.role))
            bars.setData(x, y, connect="finite")
        dots = self._take("dots", _new_dots)
        faint = item.role is Role.BEFORE
        hollow = item.role is Role.PREDICTED
        dots.setData(
            x=item.x,
            y=item.y,
            symbol=SYMBOLS.get(item.role, "o"),
            size=8 if faint else 11,
            pen=_edge(colour),
            brush=QBrush() if hollow else QBrush(colour),
        )

    def _words(self, item: Tag, look: Look, text: QColor, anchor: tuple[float, float]) -> None:
        words = self._take("words", _new_words)
        plain = item.role in (Role.NOW, Role.OUTLINE, Role.GUIDE)
        colour = text if plain else look.role(item.role)
        text_shown = _broken(item.text)
        if words.toPlainText() != text_shown:
            words.setText(text_shown)
        words.setColor(colour)
        words.setAnchor(anchor)
        words.setPos(item.x, item.y)

    def _take(self, kind: str, make: Callable[[], Any]) -> Any:
        items = self._items.setdefault(kind, [])
        place = self._used.get(kind, 0)
        if place == len(items):
            made = make()
            items.append(made)
            self._box.addItem(made, ignoreBounds=True)
        self._used[kind] = place + 1
        item = items[place]
        self._depth += 1
        item.setZValue(self._depth + (1000 if kind == "words" else 0))
        item.show()
        return item


def _broken(words: str) -> str:
    """Break long words behind a colon, so that neighbours in a picture keep apart."""
    head, colon, rest = words.partition(": ")
    if not colon or len(words) <= _LONG_WORDS:
        return words
    if len(rest) > _LONG_WORDS:
        rest = rest.replace(" (", "\n(", 1)
    return f"{head}:\n{rest}"


def _anchor(tag: Tag, picture: Picture) -> tuple[float, float]:
    """Return what point of the words stands at their place: clear of a dot that is close by."""
    wide = max(picture.x.high - picture.x.low, 1e-9) * _CLOSE
    high = max(picture.y.high - picture.y.low, 1e-9) * _CLOSE
    for item in picture.items:
        if isinstance(item, Points):
            close = (np.abs(item.x - tag.x) < wide) & (np.abs(item.y - tag.y) < high)
            if close.any():
                return (0.5, 1.0) if float(item.y[close].mean()) <= tag.y else (0.5, 0.0)
    return 0.5, 0.5


def _new_curve() -> Any:
    return pg.PlotCurveItem(antialias=True)


def _new_dots() -> Any:
    return pg.ScatterPlotItem(pxMode=True, antialias=True)


def _new_rule() -> Any:
    return pg.InfiniteLine(movable=False)


def _new_words() -> Any:
    return pg.TextItem(anchor=(0.5, 0.5))


def _stripe(band: Band, picture: Picture) -> QPainterPath:
    """Return the stripe, far longer than any view of the picture can reach."""
    other = picture.y if band.axis == "x" else picture.x
    span = max(other.high - other.low, 1e-9)
    start, end = other.low - 5 * span, other.high + 5 * span
    axis = picture.x if band.axis == "x" else picture.y
    reach = 5 * max(axis.high - axis.low, 1e-9)
    low, high = max(band.low, axis.low - reach), min(band.high, axis.high + reach)
    path = QPainterPath()
    if band.axis == "x":
        path.addRect(QRectF(QPointF(low, start), QPointF(high, end)))
    else:
        path.addRect(QRectF(QPointF(start, low), QPointF(end, high)))
    return path


def _closed(x: Any, y: Any) -> QPainterPath:
    path = QPainterPath()
    fine = np.isfinite(x) & np.isfinite(y)
    corners = [QPointF(float(a), float(b)) for a, b in zip(x[fine], y[fine], strict=True)]
    if corners:
        path.addPolygon(QPolygonF(corners))
        path.closeSubpath()
    return path
