"""A chart's items, drawn with graphics items that are used again from chart to chart."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF, QSizeF, Qt
from PySide6.QtGui import QColor, QFont, QPainterPath, QPen, QPolygonF

from core.drawing.chart import (
    Arrow,
    Band,
    Curve,
    Floats,
    Item,
    Picture,
    Points,
    Role,
    Rule,
    Shape,
    Tag,
)
from desktop.charts.items import ArrowItem, DotsItem, PathItem, WordsItem, fill_for, pen_for
from desktop.widgets.theme import Appearance

_LONG_WORDS: Final = 16

_FAR: Final = 5.0
"""How far items are drawn beyond the chart's rectangle, as a multiple of it."""

_CLOSE: Final = 0.12
"""Share of the chart within which words and a dot could cover each other."""


class ItemPool:
    """The graphics items of one plot, used again from chart to chart."""

    def __init__(self, box: Any) -> None:
        self._box = box
        self._items: dict[str, list[Any]] = {}
        self._used: dict[str, int] = {}
        self._depth = 0
        self.type = QFont()

    def draw(self, picture: Picture, look: Appearance, text: QColor) -> None:
        """Draw a chart's items in order, and hide those left over from the last one."""
        self._used = {}
        self._depth = 0
        room = _room(picture)
        for item in picture.items:
            self._draw_one(item, picture, look, text, room)
        for kind, items in self._items.items():
            for extra in items[self._used.get(kind, 0) :]:
                extra.hide()

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
                if arrow.is_news((item, look.is_dark), room):
                    start, end = QPointF(item.x0, item.y0), QPointF(item.x1, item.y1)
                    arrow.set(start, end, pen_for(look, item.role))
            case Band() | Rule():
                self._across(item, look, room)

    def _across(self, item: Band | Rule, look: Appearance, room: QRectF) -> None:
        path = self._take("path", PathItem)
        if not path.is_news((item, look.is_dark), room):
            return
        if isinstance(item, Band):
            path.set(_stripe(item, room), QPen(Qt.PenStyle.NoPen), fill_for(look, item.role))
        else:
            path.set(_line_across(item, room), pen_for(look, item.role))

    def _shape(self, item: Shape, look: Appearance, room: QRectF) -> None:
        path = self._take("path", PathItem)
        shown = (item.x.tobytes(), item.y.tobytes(), item.role, item.filled, look.is_dark)
        if path.is_news(shown, room):
            pen = pen_for(look, item.role, item.x.size)
            if item.filled:
                pen.setWidthF(1)  # the fill is seen; wide edges of long outlines cost much
            path.set(
                _closed(item.x, item.y), pen, fill_for(look, item.role) if item.filled else None
            )

    def _line(
        self, kind: str, x: Floats, y: Floats, role: Role, look: Appearance, room: QRectF
    ) -> None:
        path = self._take("path", PathItem)
        if path.is_news((kind, x.tobytes(), y.tobytes(), role, look.is_dark), room):
            path.set(pg.arrayToQPath(x, y, connect="finite"), pen_for(look, role, x.size))

    def _points(self, item: Points, look: Appearance, room: QRectF) -> None:
        if item.half_height is not None:
            low, high = item.y - item.half_height, item.y + item.half_height
            ends = np.stack([low, high, np.full_like(item.y, np.nan)], axis=1).ravel()
            self._line("bars", np.repeat(item.x, 3), ends, item.role, look, room)
        dots = self._take("dots", DotsItem)
        if dots.is_news((item.x.tobytes(), item.y.tobytes(), item.role, look.is_dark), room):
            seen = np.isfinite(item.x) & np.isfinite(item.y)
            places = [
                QPointF(float(x), float(y)) for x, y in zip(item.x[seen], item.y[seen], strict=True)
            ]
            dots.set(places, item.role, look.role(item.role))

    def _words(
        self, item: Tag, look: Appearance, text: QColor, anchor: tuple[float, float], room: QRectF
    ) -> None:
        words = self._take("words", WordsItem)
        plain = item.role in (Role.NOW, Role.OUTLINE, Role.GUIDE)
        if words.is_news((item, anchor, look.is_dark, self.type.key()), room):
            colour = text if plain else look.role(item.role)
            words.set(_broken(item.text), QPointF(item.x, item.y), anchor, colour, self.type)

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
    """Break a long label after its colon, so that neighbouring labels do not overlap."""
    head, colon, rest = words.partition(": ")
    if not colon or len(words) <= _LONG_WORDS:
        return words
    if len(rest) > _LONG_WORDS:
        rest = rest.replace(" (", "\n(", 1)
    return f"{head}:\n{rest}"


def _anchor(tag: Tag, picture: Picture) -> tuple[float, float]:
    """Return which point of a label is anchored: away from a dot close by."""
    wide = max(picture.x.high - picture.x.low, 1e-9) * _CLOSE
    high = max(picture.y.high - picture.y.low, 1e-9) * _CLOSE
    for item in picture.items:
        if isinstance(item, Points):
            close = (np.abs(item.x - tag.x) < wide) & (np.abs(item.y - tag.y) < high)
            if close.any():
                return (0.5, 1.0) if float(item.y[close].mean()) <= tag.y else (0.5, 0.0)
    return 0.5, 0.5


def _room(picture: Picture) -> QRectF:
    """Return a rectangle far larger than the visible part of the chart."""
    across = max(abs(picture.x.high - picture.x.low), 1e-9)
    up = max(abs(picture.y.high - picture.y.low), 1e-9)
    low = QPointF(min(picture.x.low, picture.x.high), min(picture.y.low, picture.y.high))
    return QRectF(low, QSizeF(across, up)).adjusted(
        -_FAR * across, -_FAR * up, _FAR * across, _FAR * up
    )


def _stripe(band: Band, room: QRectF) -> QPainterPath:
    """Return the stripe across the whole rectangle."""
    path = QPainterPath()
    if band.axis == "x":
        low, high = max(band.low, room.left()), min(band.high, room.right())
        path.addRect(QRectF(QPointF(low, room.top()), QPointF(high, room.bottom())))
    else:
        low, high = max(band.low, room.top()), min(band.high, room.bottom())
        path.addRect(QRectF(QPointF(room.left(), low), QPointF(room.right(), high)))
    return path


def _line_across(rule: Rule, room: QRectF) -> QPainterPath:
    """Return the line across the whole rectangle."""
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
