"""The graphics items of a chart: a kind for each kind of thing in a picture, and their pool.

The items are used again from picture to picture, so that one that moves while a value is typed
costs no new objects.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any, Final

import numpy as np
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
    QTransform,
)

from core.drawing.chart import (
    Arrow,
    Band,
    Curve,
    Floats,
    Item,
    MarkRole,
    Picture,
    Points,
    Rule,
    Shape,
    Tag,
)
from core.drawing.marks import arrow_head
from core.drawing.words_apart import Spot, apart
from core.language import Numbers
from desktop.widgets.theme import Appearance

_DENSE: Final = 400
"""Points from which a line is drawn one pixel wide: wide dense lines take seconds."""

_LONG_WORDS: Final = 16

_FAR: Final = 5.0
"""How far things are drawn beyond the picture's own rectangle, as a multiple of it."""

_CLOSE: Final = 0.12
"""Share of the picture within which words and a dot could cover each other."""

_DASHES: Final[dict[MarkRole, Qt.PenStyle]] = {
    MarkRole.PREDICTED: Qt.PenStyle.DashLine,
    MarkRole.GUIDE: Qt.PenStyle.DotLine,
    MarkRole.TARGET: Qt.PenStyle.DashDotLine,
}

_DOT_REACH_PX: Final = 5.5
_BESIDE_EDGE_PX: Final = 2.0
_BETWEEN_WORDS_PX: Final = 2.0
_MOST_DOTS: Final = 80
"""The last dots, which words keep off: of more than these no picture has words at all places."""
_AROUND_PX: Final = tuple(
    (across, down) for across in (-1.5, 0.0, 1.5) for down in (-1.5, 0.0, 1.5) if across or down
)
"""Where words are drawn first in the colour of the ground, so that lines keep off their letters."""

_Lines = tuple[tuple[float, float, float, float], ...]
_Corners = tuple[tuple[float, float], ...]

# The symbol of a role at a place, in units of its reach; a round dot where nothing is said.
_SYMBOLS: Final[dict[MarkRole, tuple[_Lines, _Corners]]] = {
    MarkRole.PREDICTED: ((), ((0, -1), (1, 0), (0, 1), (-1, 0))),
    MarkRole.GUIDE: ((), ((-1, -1), (1, -1), (1, 1), (-1, 1))),
    MarkRole.LEFT: ((), ((-1, 0), (1, -1), (1, 1))),
    MarkRole.RIGHT: ((), ((1, 0), (-1, -1), (-1, 1))),
    MarkRole.TARGET: (((-1, 0, 1, 0), (0, -1, 0, 1)), ()),
    MarkRole.DANGER: (((-1, -1, 1, 1), (-1, 1, 1, -1)), ()),
}

FILL_ALPHA: Final[dict[MarkRole, int]] = {
    MarkRole.GOOD: 60,
    MarkRole.ALLOWED: 48,
    MarkRole.DANGER: 44,
    MarkRole.BEFORE: 40,
}


def pen_for(look: Appearance, role: MarkRole, points: int = 2) -> QPen:
    """Return the pen for a role; one pixel wide for dense lines."""
    width = 1 if points > _DENSE or role in (MarkRole.BEFORE, MarkRole.GUIDE) else 2
    pen = QPen(look.role(role))
    pen.setWidthF(width)
    pen.setCosmetic(True)
    pen.setStyle(_DASHES.get(role, Qt.PenStyle.SolidLine))
    return pen


def fill_for(look: Appearance, role: MarkRole) -> QBrush:
    """Return the translucent fill of a band or a filled shape."""
    colour = look.role(role)
    colour.setAlpha(FILL_ALPHA.get(role, 70))
    return QBrush(colour)


class _Drawn(pg.GraphicsObject):
    """One thing of a picture, repainted only when it has changed."""

    def __init__(self) -> None:
        super().__init__()
        self._shown: object = None
        self._room = QRectF()

    def is_changed(self, shown: object, room: QRectF) -> bool:
        """Remember what is to be shown; return whether it has changed."""
        if shown == self._shown and room == self._room:
            return False
        self.prepareGeometryChange()
        self._shown, self._room = shown, room
        self.update()
        return True

    def boundingRect(self) -> QRectF:
        """Return where it may be seen."""
        return self._room


class PathItem(_Drawn):
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


class ArrowItem(_Drawn):
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
        head = min(11.0, length * 0.6)
        ends = (start.x(), start.y()), (end.x(), end.y())
        neck, left, right = (QPointF(*place) for place in arrow_head(*ends, head, 0.42 * head))
        painter.drawLine(start, neck)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self._pen.color())
        painter.drawPolygon(QPolygonF([end, left, right]))


class DotsItem(_Drawn):
    """Symbols at places, which keep their size on the screen."""

    def __init__(self) -> None:
        super().__init__()
        self._places: list[QPointF] = []
        self._role = MarkRole.NOW
        self._colour = QColor()

    def set(self, places: list[QPointF], role: MarkRole, colour: QColor) -> None:
        """Show symbols of a role at places."""
        self._places, self._role, self._colour = places, role, colour

    def paint(self, painter: QPainter, *_: Any) -> None:
        """Paint the symbols in pixels."""
        to_screen = painter.worldTransform()
        painter.resetTransform()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for place in self._places:
            paint_symbol(painter, to_screen.map(place), self._role, self._colour)


class WordsItem(_Drawn):
    """Words at a place, upright and of one size at any scale."""

    def __init__(self) -> None:
        super().__init__()
        self._text = ""
        self._place = QPointF()
        self._anchor = (0.5, 0.5)
        self._colour, self._ground = QColor(), QColor()
        self._type = QFont()
        self._size = QSizeF()
        self.together = WordsTogether()

    def set(
        self,
        text: str,
        place: QPointF,
        anchor: tuple[float, float],
        colour: QColor,
        ground: QColor,
        type_: QFont,
    ) -> None:
        """Show words; the anchor is the point of their box, from its top left, at the place.

        An edge in the colour of the ground keeps lines out of the letters.
        """
        self._text, self._place, self._anchor = text, place, anchor
        self._colour, self._ground, self._type = colour, ground, type_
        self._size = QFontMetricsF(type_).size(0, text)

    def wished(self, to_screen: QTransform, seen: QRectF) -> QRectF:
        """Return the box of the words on the screen as if they were alone."""
        return kept_in_sight(self.box(to_screen.map(self._place)), seen)

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
        to_screen = painter.worldTransform()
        box = self.together.box_of(self, to_screen, to_screen.mapRect(self.viewRect()))
        if box is None:
            return
        painter.resetTransform()
        painter.setFont(self._type)
        flags = int(Qt.AlignmentFlag.AlignLeft | Qt.TextFlag.TextDontClip)
        painter.setPen(self._ground)
        for across, down in _AROUND_PX:
            painter.drawText(box.translated(across, down), flags, self._text)
        painter.setPen(self._colour)
        painter.drawText(box, flags, self._text)


class WordsTogether:
    """All words of a picture, which keep off each other and off its dots."""

    def __init__(self) -> None:
        self._words: list[WordsItem] = []
        self._dots: list[QPointF] = []
        self._boxes: dict[WordsItem, QRectF | None] = {}
        self._made_for: object = None

    def show(self, words: Sequence[WordsItem], dots: Sequence[QPointF]) -> None:
        """Take the words and dots of a new picture."""
        self._words, self._dots = list(words), list(dots[-_MOST_DOTS:])
        self._made_for = None
        for one in self._words:
            one.together = self

    def box_of(self, item: WordsItem, to_screen: QTransform, seen: QRectF) -> QRectF | None:
        """Return where words stand on the screen; None if they would have to cover others."""
        made_for = to_screen, seen
        if made_for != self._made_for:
            self._made_for = made_for
            self._boxes = self._placed(to_screen, seen)
        return self._boxes.get(item)

    def _placed(self, to_screen: QTransform, seen: QRectF) -> dict[WordsItem, QRectF | None]:
        wished = [one.wished(to_screen, seen) for one in self._words]
        reach = _DOT_REACH_PX
        dots = [
            Spot(at.x() - reach, at.y() - reach, 2.0 * reach, 2.0 * reach)
            for at in map(to_screen.map, self._dots)
        ]
        spots = apart(
            [_spot(box) for box in wished], _spot(seen), avoid=dots, gap=_BETWEEN_WORDS_PX
        )
        return {
            one: None if spot is None else QRectF(spot.left, spot.low, spot.width, spot.height)
            for one, spot in zip(self._words, spots, strict=True)
        }


def _spot(box: QRectF) -> Spot:
    return Spot(box.left(), box.top(), box.width(), box.height())


def kept_in_sight(box: QRectF, seen: QRectF) -> QRectF:
    """Return a box of words moved sideways until no letter is cut, if it is in sight at all."""
    if box.right() < seen.left() or box.left() > seen.right():
        return box
    left = min(box.left(), seen.right() - box.width() - _BESIDE_EDGE_PX)
    return QRectF(QPointF(max(left, seen.left() + _BESIDE_EDGE_PX), box.top()), box.size())


def paint_symbol(
    painter: QPainter, middle: QPointF, role: MarkRole, colour: QColor, size: float | None = None
) -> None:
    """Paint the symbol of a role in pixels; from its middle to its edge it is ``size`` large."""
    reach = size or (4.0 if role is MarkRole.BEFORE else _DOT_REACH_PX)
    painter.setPen(QPen(colour, 1.5))
    painter.setBrush(QBrush() if role is MarkRole.PREDICTED else colour)
    x, y = middle.x(), middle.y()
    lines, corners = _SYMBOLS.get(role, ((), ()))
    for x0, y0, x1, y1 in lines:
        painter.drawLine(
            QPointF(x + reach * x0, y + reach * y0), QPointF(x + reach * x1, y + reach * y1)
        )
    if corners:
        painter.drawPolygon(QPolygonF([QPointF(x + reach * a, y + reach * b) for a, b in corners]))
    elif not lines:
        painter.drawEllipse(middle, reach, reach)


class ItemPool:
    """The graphics items in the view ``box`` of one plot."""

    def __init__(self, box: Any, numbers: Numbers) -> None:
        self._box, self._numbers = box, numbers
        self._items: dict[str, list[Any]] = {}
        self._used: dict[str, int] = {}
        self._depth = 0
        self.together = WordsTogether()
        self.type = QFont()

    def draw(self, picture: Picture, look: Appearance, text: QColor) -> None:
        """Draw a picture's items in order, and hide those left over from the last one."""
        self._used = {}
        self._depth = 0
        room = _room(picture)
        for item in picture.items:
            self._draw_one(item, picture, look, text, room)
        for kind, items in self._items.items():
            for extra in items[self._used.get(kind, 0) :]:
                extra.hide()
        used = self._items.get("words", [])[: self._used.get("words", 0)]
        self.together.show(used, _dots_of(picture) if len(used) > 1 else ())

    def _draw_one(
        self, item: Item, picture: Picture, look: Appearance, text: QColor, room: QRectF
    ) -> None:
        match item:
            case Shape():
                self._shape(item, look, room)
            case Curve():
                self._line("curve", item.x, item.y, item.role, look, room)
            case Points():
                self._points(item, look, room)
            case Tag():
                self._words(item, look, text, _anchor(item, picture), room)
            case Arrow():
                arrow = self._take("arrow", ArrowItem)
                if arrow.is_changed((item, look.is_dark), room):
                    start, end = QPointF(item.x0, item.y0), QPointF(item.x1, item.y1)
                    arrow.set(start, end, pen_for(look, item.role))
            case Band() | Rule():
                self._across(item, look, room)

    def _across(self, item: Band | Rule, look: Appearance, room: QRectF) -> None:
        path = self._take("path", PathItem)
        if not path.is_changed((item, look.is_dark), room):
            return
        if isinstance(item, Band):
            # Its edge alone has the contrast that a range needs to be seen: the fill is faint.
            edge = QPen(look.role(item.role), 2.0)
            edge.setCosmetic(True)
            path.set(_stripe(item, room), edge, fill_for(look, item.role))
        else:
            path.set(_line_across(item, room), pen_for(look, item.role))

    def _shape(self, item: Shape, look: Appearance, room: QRectF) -> None:
        path = self._take("path", PathItem)
        shown = (item.x.tobytes(), item.y.tobytes(), item.role, item.filled, look.is_dark)
        if path.is_changed(shown, room):
            pen = pen_for(look, item.role, item.x.size)
            if item.filled:
                pen.setWidthF(1)  # the fill is seen; wide edges of long outlines cost much
            path.set(
                _closed(item.x, item.y), pen, fill_for(look, item.role) if item.filled else None
            )

    def _line(
        self, kind: str, x: Floats, y: Floats, role: MarkRole, look: Appearance, room: QRectF
    ) -> None:
        path = self._take("path", PathItem)
        if path.is_changed((kind, x.tobytes(), y.tobytes(), role, look.is_dark), room):
            path.set(pg.arrayToQPath(x, y, connect="finite"), pen_for(look, role, x.size))

    def _points(self, item: Points, look: Appearance, room: QRectF) -> None:
        if item.half_height is not None:
            low, high = item.y - item.half_height, item.y + item.half_height
            ends = np.stack([low, high, np.full_like(item.y, np.nan)], axis=1).ravel()
            self._line("bars", np.repeat(item.x, 3), ends, item.role, look, room)
        dots = self._take("dots", DotsItem)
        if dots.is_changed((item.x.tobytes(), item.y.tobytes(), item.role, look.is_dark), room):
            seen = np.isfinite(item.x) & np.isfinite(item.y)
            places = [
                QPointF(float(x), float(y)) for x, y in zip(item.x[seen], item.y[seen], strict=True)
            ]
            dots.set(places, item.role, look.role(item.role))

    def _words(
        self, item: Tag, look: Appearance, text: QColor, anchor: tuple[float, float], room: QRectF
    ) -> None:
        words = self._take("words", WordsItem)
        plain = item.role in (MarkRole.NOW, MarkRole.OUTLINE, MarkRole.GUIDE)
        if words.is_changed((item, anchor, look.is_dark, self.type.key()), room):
            colour = text if plain else look.role(item.role)
            words.set(
                _broken(self._numbers.text(item.text)),
                QPointF(item.x, item.y),
                anchor,
                colour,
                QColor(look.base),
                self.type,
            )

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


def _dots_of(picture: Picture) -> list[QPointF]:
    return [
        QPointF(float(x), float(y))
        for item in picture.items
        if isinstance(item, Points)
        for x, y in zip(item.x[-_MOST_DOTS:], item.y[-_MOST_DOTS:], strict=True)
        if math.isfinite(x) and math.isfinite(y)
    ]


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


def _room(picture: Picture) -> QRectF:
    """Return the picture's own rectangle, far wider than any view of it reaches."""
    across = max(abs(picture.x.high - picture.x.low), 1e-9)
    up = max(abs(picture.y.high - picture.y.low), 1e-9)
    low = QPointF(min(picture.x.low, picture.x.high), min(picture.y.low, picture.y.high))
    return QRectF(low, QSizeF(across, up)).adjusted(
        -_FAR * across, -_FAR * up, _FAR * across, _FAR * up
    )


def _stripe(band: Band, room: QRectF) -> QPainterPath:
    """Return the stripe across all the room."""
    path = QPainterPath()
    if band.axis == "x":
        low, high = max(band.low, room.left()), min(band.high, room.right())
        path.addRect(QRectF(QPointF(low, room.top()), QPointF(high, room.bottom())))
    else:
        low, high = max(band.low, room.top()), min(band.high, room.bottom())
        path.addRect(QRectF(QPointF(room.left(), low), QPointF(room.right(), high)))
    return path


def _line_across(rule: Rule, room: QRectF) -> QPainterPath:
    """Return the line across all the room."""
    path = QPainterPath()
    if rule.axis == "x":
        path.moveTo(rule.at, room.top())
        path.lineTo(rule.at, room.bottom())
    else:
        path.moveTo(room.left(), rule.at)
        path.lineTo(room.right(), rule.at)
    return path


def _closed(x: Any, y: Any) -> QPainterPath:
    path = QPainterPath()
    fine = np.isfinite(x) & np.isfinite(y)
    corners = [QPointF(float(a), float(b)) for a, b in zip(x[fine], y[fine], strict=True)]
    if corners:
        path.addPolygon(QPolygonF(corners))
        path.closeSubpath()
    return path
