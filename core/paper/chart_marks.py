"""A step's picture in black and white: kinds of line and dot stand in for colour."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from core.drawing.chart import (
    Arrow,
    Axis,
    Band,
    Curve,
    Item,
    MarkRole,
    Picture,
    Points,
    Rule,
    Shape,
    Tag,
    swatch_of,
)
from core.drawing.marks import (
    XY,
    Area,
    Box,
    Circle,
    Line,
    Mark,
    Pen,
    Polyline,
    Words,
    arrow_head,
    whole_steps,
)
from core.drawing.words_apart import Spot, apart
from core.language import Numbers
from core.paper.lettering import LEADING, Measure, wrapped

_PENS: Final[dict[MarkRole, Pen]] = {
    MarkRole.NOW: Pen(0.4),
    MarkRole.BEFORE: Pen(0.15, colour=0.45),
    MarkRole.PREDICTED: Pen(0.3, (1.2, 0.8)),
    MarkRole.TARGET: Pen(0.3, (2.2, 0.7, 0.5, 0.7)),
    MarkRole.GOOD: Pen(0.15),
    MarkRole.ALLOWED: Pen(0.15, (0.6, 0.6)),
    MarkRole.DANGER: Pen(0.35, (3.0, 0.8)),
    MarkRole.GUIDE: Pen(0.2, (0.3, 0.8)),
    MarkRole.LEFT: Pen(0.3),
    MarkRole.RIGHT: Pen(0.3, (1.0, 0.6)),
    MarkRole.OUTLINE: Pen(0.25),
}
_FILLS: Final[dict[MarkRole, float]] = {
    MarkRole.GOOD: 0.84,
    MarkRole.ALLOWED: 0.93,
    MarkRole.DANGER: 0.72,
}
_DOT_MM: Final = 0.75
_SMALL_MM: Final = 2.1
_BELOW_MM: Final = 0.25 * _SMALL_MM
"""How far letters reach below their line."""
_FRAME: Final = Pen(0.15)


def chart_marks(
    picture: Picture, box: Box, measure: Measure, numbers: Numbers | None = None
) -> tuple[Mark, ...]:
    """Draw a picture into a box: title, plot with axes and units, legend, and its scale note."""
    return _Chart(picture, box, measure, numbers or Numbers()).marks()


@dataclass(frozen=True, slots=True)
class _View:
    """From the units of the axes to the sheet."""

    plot: Box
    x: Axis
    y: Axis

    def at(self, x: float, y: float) -> XY:
        plot = self.plot
        return (
            plot.left + (x - self.x.low) / (self.x.high - self.x.low) * plot.width,
            plot.bottom + (y - self.y.low) / (self.y.high - self.y.low) * plot.height,
        )

    def held(self, x: float, y: float) -> XY:
        """Return the nearest place inside the plot."""
        px, py = self.at(x, y)
        plot = self.plot
        return min(max(px, plot.left), plot.right), min(max(py, plot.bottom), plot.top)

    def holds(self, x: float, y: float) -> bool:
        return self.x.low <= x <= self.x.high and self.y.low <= y <= self.y.high


class _Chart:
    def __init__(self, picture: Picture, box: Box, measure: Measure, numbers: Numbers) -> None:
        self.picture, self.box, self.measure, self.numbers = picture, box, measure, numbers
        self.x, self.y = _sane(picture.x), _sane(picture.y)
        self.view = _View(box, self.x, self.y)

    def marks(self) -> tuple[Mark, ...]:
        top = self.box.top
        head: list[Mark] = []
        size = 2.6
        for line in wrapped(
            self.numbers.text(self.picture.title), self.box.width, size, self.measure, bold=True
        ):
            top -= size * LEADING
            head.append(Words(self.box.left, top + 0.8, line, size, bold=True))
        foot, bottom = self._foot()
        plot = self._plot(Box(self.box.left, bottom, self.box.right, top - 1.0))
        self.view = _View(plot, self.x, self.y)
        drawn: list[Mark] = []
        for item in self.picture.items:
            drawn += self._item(item)
        return (*head, *drawn, *self._tags(), *self._axes(), *foot)

    def _plot(self, room: Box) -> Box:
        left = room.left
        if self.y.shown:
            widest = max(
                (self.measure(self._tick(t, self.y), _SMALL_MM) for t in _ticks(self.y)),
                default=0.0,
            )
            left += widest + 4.6
        bottom = room.bottom + (6.6 if self.x.shown else 0.5)
        plot = Box(left, bottom, room.right - 0.5, max(room.top, bottom + 8.0))
        if not self.picture.fixed_aspect:
            return plot
        scale = min(
            plot.width / (self.x.high - self.x.low), plot.height / (self.y.high - self.y.low)
        )
        wide, tall = scale * (self.x.high - self.x.low), scale * (self.y.high - self.y.low)
        x, y = (plot.left + plot.right - wide) / 2.0, (plot.bottom + plot.top - tall) / 2.0
        return Box(x, y, x + wide, y + tall)

    def _axes(self) -> list[Mark]:
        plot = self.view.plot
        marks: list[Mark] = []
        if self.x.shown or self.y.shown:
            marks.append(Area(plot.corners, None, _FRAME))
        if self.x.shown:
            for tick in _ticks(self.x):
                x, _ = self.view.at(tick, self.y.low)
                marks.append(Line(x, plot.bottom, x, plot.bottom - 0.8, _FRAME))
                text = self._tick(tick, self.x)
                marks.append(Words(x, plot.bottom - 3.1, text, _SMALL_MM, "middle"))
            middle = (plot.left + plot.right) / 2.0
            marks.append(
                Words(middle, plot.bottom - 5.8, _named(self.x, self.numbers), _SMALL_MM, "middle")
            )
        if self.y.shown:
            for tick in _ticks(self.y):
                _, y = self.view.at(self.x.low, tick)
                marks.append(Line(plot.left, y, plot.left - 0.8, y, _FRAME))
                text = self._tick(tick, self.y)
                marks.append(Words(plot.left - 1.2, y - 0.7, text, _SMALL_MM, "right"))
            marks.append(
                Words(
                    self.box.left + 1.8,
                    (plot.bottom + plot.top) / 2.0,
                    _named(self.y, self.numbers),
                    _SMALL_MM,
                    "middle",
                    turn_deg=90.0,
                )
            )
        return marks

    def _tick(self, value: float, axis: Axis) -> str:
        step = _step(axis)
        return self.numbers.plain(value, max(0, -math.floor(math.log10(step) + 1e-9)))

    def _foot(self) -> tuple[list[Mark], float]:
        """Set legend and scale note at the bottom; return them and the height they end at."""
        rows: list[list[tuple[float, Item, str]]] = [[]]
        x = 0.0
        for label, item in self._legend().items():
            width = 6.5 + self.measure(label, _SMALL_MM) + 2.5
            if x and x + width > self.box.width:
                rows.append([])
                x = 0.0
            rows[-1].append((x, item, label))
            x += width
        note = self.numbers.text(self.picture.scale_note)
        notes = wrapped(note, self.box.width, _SMALL_MM, self.measure) if note else []
        marks: list[Mark] = []
        y = self.box.bottom
        for line in reversed(notes):
            marks.append(Words(self.box.left, y + 0.6, line, _SMALL_MM, colour=0.2))
            y += _SMALL_MM * LEADING
        for row in reversed([row for row in rows if row]):
            for x, item, label in row:
                left = self.box.left + x
                marks += _sample(item, left, y + 1.2)
                marks.append(Words(left + 6.0, y + 0.6, label, _SMALL_MM))
            y += _SMALL_MM * 1.5
        return marks, y + 0.8

    def _legend(self) -> dict[str, Item]:
        entries: dict[str, Item] = {}
        for item in self.picture.items:
            if not isinstance(item, Tag | Arrow) and item.label:
                entries.setdefault(self.numbers.text(item.label), item)
        return entries

    def _item(self, item: Item) -> list[Mark]:
        marks: list[Mark]
        match item:
            case Band():
                marks = self._band(item)
            case Rule():
                marks = self._rule(item)
            case Curve():
                marks = self._curve(item)
            case Points():
                marks = self._points(item)
            case Shape():
                marks = self._shape(item)
            case Arrow():
                marks = self._arrow(item)
            case Tag():
                marks = []  # words stand on all else, each beside the others
        return marks

    def _rule(self, rule: Rule) -> list[Mark]:
        view, plot, pen = self.view, self.view.plot, _PENS[rule.role]
        axis = self.x if rule.axis == "x" else self.y
        if not axis.low <= rule.at <= axis.high:
            return []
        if rule.axis == "x":
            x, _ = view.at(rule.at, self.y.low)
            return [Line(x, plot.bottom, x, plot.top, pen)]
        _, y = view.at(self.x.low, rule.at)
        return [Line(plot.left, y, plot.right, y, pen)]

    def _shape(self, shape: Shape) -> list[Mark]:
        if len(shape.x) < 2:
            return []
        points = tuple(
            self.view.held(x, y)
            for x, y in zip(shape.x.tolist(), shape.y.tolist(), strict=True)
            if math.isfinite(x) and math.isfinite(y)
        )
        fill = _FILLS.get(shape.role, 0.8) if shape.filled else None
        return [Area(points, fill, _PENS[shape.role])]

    def _tags(self) -> list[Mark]:
        """Set the words at places on a white ground, none of them on another."""
        plot = self.view.plot
        wished, texts = [], []
        for tag in self.picture.items:
            if not isinstance(tag, Tag):
                continue
            x, y = self.view.held(tag.x, tag.y)
            low = y + 1.3 if y + 1.3 + _SMALL_MM < plot.top else y - 1.3 - _SMALL_MM * 0.7
            text = self.numbers.text(tag.text)
            wide = self.measure(text, _SMALL_MM)
            left = min(max(x - 0.5 * wide, plot.left + 0.4), plot.right - wide - 0.4)
            wished.append(Spot(left, low - _BELOW_MM, wide, _SMALL_MM + _BELOW_MM))
            texts.append(text)
        room = Spot(plot.left, plot.bottom, plot.width, plot.height)
        marks: list[Mark] = []
        for spot, text in zip(apart(wished, room, gap=0.2), texts, strict=True):
            if spot is None:
                continue
            middle = spot.left + 0.5 * spot.width
            ground = Box(spot.left, spot.low, spot.left + spot.width, spot.low + spot.height)
            marks.append(Area(ground.corners, 1.0, None))
            marks.append(Words(middle, spot.low + _BELOW_MM, text, _SMALL_MM, "middle"))
        return marks

    def _band(self, band: Band) -> list[Mark]:
        low, high = sorted((band.low, band.high))
        if band.axis == "x":
            (x0, _), (x1, _) = self.view.held(low, self.y.low), self.view.held(high, self.y.low)
            y0, y1 = self.view.plot.bottom, self.view.plot.top
        else:
            (_, y0), (_, y1) = self.view.held(self.x.low, low), self.view.held(self.x.low, high)
            x0, x1 = self.view.plot.left, self.view.plot.right
        if x1 - x0 < 0.01 or y1 - y0 < 0.01:
            return []
        corners = Box(x0, y0, x1, y1).corners
        return [Area(corners, _FILLS.get(band.role, 0.9), _PENS[band.role])]

    def _curve(self, curve: Curve) -> list[Mark]:
        pieces: list[list[XY]] = [[]]
        for x, y in zip(curve.x.tolist(), curve.y.tolist(), strict=True):
            if math.isfinite(x) and math.isfinite(y) and self.view.holds(x, y):
                pieces[-1].append(self.view.at(x, y))
            elif math.isfinite(x) and math.isfinite(y) and pieces[-1]:
                pieces[-1].append(self.view.held(x, y))
                pieces.append([])
            elif pieces[-1]:
                pieces.append([])
        return [Polyline(tuple(piece), _PENS[curve.role]) for piece in pieces if len(piece) > 1]

    def _points(self, points: Points) -> list[Mark]:
        marks: list[Mark] = []
        halves = points.half_height.tolist() if points.half_height is not None else None
        for index, (x, y) in enumerate(zip(points.x.tolist(), points.y.tolist(), strict=True)):
            if not (math.isfinite(x) and math.isfinite(y) and self.view.holds(x, y)):
                continue
            half = halves[index] if halves is not None else 0.0
            if math.isfinite(half) and half > 0.0:
                px, low = self.view.held(x, y - half)
                _, high = self.view.held(x, y + half)
                pen = Pen(0.2, colour=_PENS[points.role].colour)
                marks.append(Line(px, low, px, high, pen))
                marks += [Line(px - 0.8, end, px + 0.8, end, pen) for end in (low, high)]
            marks += _dot(points.role, *self.view.at(x, y))
        return marks

    def _arrow(self, arrow: Arrow) -> list[Mark]:
        x0, y0 = self.view.held(arrow.x0, arrow.y0)
        x1, y1 = self.view.held(arrow.x1, arrow.y1)
        length = math.hypot(x1 - x0, y1 - y0)
        if length < 0.3:
            return []
        back, left, right = arrow_head((x0, y0), (x1, y1), min(1.8, length), 0.6)
        return [
            Line(x0, y0, *back, _PENS[arrow.role]),
            Area(((x1, y1), left, right), _PENS[arrow.role].colour),
        ]


def _dot(role: MarkRole, x: float, y: float) -> list[Mark]:
    """Draw a place: full for now, hollow before, a lozenge foretold, a cross for targets."""
    r, pen = _DOT_MM, Pen(0.2, colour=_PENS[role].colour)
    if role is MarkRole.BEFORE:
        return [Circle(x, y, r, pen, 1.0)]
    if role is MarkRole.PREDICTED:
        return [Area(((x - r, y), (x, y - r), (x + r, y), (x, y + r)), 1.0, pen)]
    if role is MarkRole.TARGET:
        return [Line(x - r, y, x + r, y, pen), Line(x, y - r, x, y + r, pen)]
    if role is MarkRole.DANGER:
        return [Line(x - r, y - r, x + r, y + r, pen), Line(x - r, y + r, x + r, y - r, pen)]
    if role is MarkRole.RIGHT:
        return [Area(Box(x - r, y - r, x + r, y + r).corners, 1.0, pen)]
    return [Circle(x, y, r, None, 0.0)]


def _sample(item: Item, x: float, y: float) -> list[Mark]:
    role, swatch = item.role, swatch_of(item)
    if swatch == "dot":
        return _dot(role, x + 2.5, y)
    corners = Box(x, y - 0.8, x + 5.0, y + 0.8).corners
    if swatch == "frame":
        return [Area(corners, 1.0, _PENS[role])]
    if swatch == "stripe":
        return [Area(corners, _FILLS.get(role, 0.9), _PENS[role])]
    return [Line(x, y, x + 5.0, y, _PENS[role])]


def _named(axis: Axis, numbers: Numbers) -> str:
    name = numbers.text(axis.label)
    return f"{name}, {axis.unit}" if axis.unit else name


def _sane(axis: Axis) -> Axis:
    low, high = axis.low, axis.high
    if not (math.isfinite(low) and math.isfinite(high)) or high <= low:
        return Axis(axis.label, axis.unit, 0.0, 1.0, axis.shown)
    return axis


def _step(axis: Axis) -> float:
    """Return 1, 2 or 5 times a power of ten so that four to eight steps make the axis."""
    rough = (axis.high - axis.low) / 5.0
    power = 10.0 ** math.floor(math.log10(rough))
    return next((m * power for m in (1.0, 2.0, 5.0) if m * power >= rough), 10.0 * power)


def _ticks(axis: Axis) -> list[float]:
    return whole_steps(axis.low, axis.high, _step(axis))
