"""Pieces that drawings are made of: scales, rulers, boxes, displays, arrows for the hand."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from core.drawing.marks import (
    XY,
    Align,
    Area,
    Box,
    Mark,
    Pen,
    Polyline,
    Words,
    arrow_head,
    on_circle,
    whole_steps,
)
from core.drawing.roles import Colour, Ink, MarkRole

_EDGE: Final = Pen(0.35, colour=MarkRole.OUTLINE)


def edged(points: Sequence[XY], fill: Colour, name: str = "") -> Area:
    """Return a filled outline with an edge."""
    return Area(tuple(points), fill, _EDGE, name)


def words(
    x: float,
    y: float,
    text: str,
    size: float = 4.0,
    colour: Colour = Ink.WORD,
    align: Align = "middle",
    *,
    name: str = "",
    bold: bool = False,
) -> Words:
    """Return words that stand at half their height beside a place."""
    return Words(x, y, text, size, align, bold, colour=colour, at_height="middle", name=name)


def window(value: float, span: float, *, whole: float = 1.0) -> tuple[float, float]:
    """Return a stretch of a scale of that span around a value, beginning on a whole step."""
    low = math.floor((value - 0.5 * span) / whole + 0.5) * whole
    return low, low + span


def box(
    x0: float, y0: float, x1: float, y1: float, fill: Colour = Ink.BODY, name: str = ""
) -> Area:
    """Return an upright rectangle."""
    return edged(Box(x0, y0, x1, y1).corners, fill, name)


def arc(middle: XY, reach: float, start_deg: float, end_deg: float, count: int = 25) -> list[XY]:
    """Return points on an arc; degrees run clockwise from upright."""
    turns = [start_deg + (end_deg - start_deg) * i / (count - 1) for i in range(count)]
    return [at(middle, reach, turn) for turn in turns]


def at(middle: XY, reach: float, turn_deg: float) -> XY:
    """Return the point so far from a middle, clockwise from upright."""
    return on_circle(*middle, reach, 90.0 - turn_deg)


def disc(middle: XY, radius: float, fill: Colour) -> Area:
    """Return a filled circle."""
    count = max(24, round(3.0 * radius))
    return edged(arc(middle, radius, 0.0, 360.0 - 360.0 / count, count), fill)


def rounded(
    x0: float, y0: float, x1: float, y1: float, radius: float, fill: Colour, name: str = ""
) -> Area:
    """Return a rectangle with round corners."""
    radius = min(radius, 0.5 * (x1 - x0), 0.5 * (y1 - y0))
    corners = (
        ((x1 - radius, y1 - radius), 0.0),
        ((x1 - radius, y0 + radius), 90.0),
        ((x0 + radius, y0 + radius), 180.0),
        ((x0 + radius, y1 - radius), 270.0),
    )
    points = [p for middle, turn in corners for p in arc(middle, radius, turn, turn + 90.0, 9)]
    return edged(points, fill, name)


def line(
    *points: XY, colour: Colour = MarkRole.OUTLINE, width: float = 0.35, name: str = ""
) -> Polyline:
    """Return a line through points."""
    return Polyline(points, Pen(width, colour=colour), name)


@dataclass(frozen=True, slots=True)
class DrawnScale:
    """A straight scale, whose values ``low`` and ``high`` stand at ``start`` and ``end``.

    Its marks are named by ``name``. ``side`` 1 has its lines to the left of the way from start to
    end, -1 to the right.
    """

    name: str
    low: float
    high: float
    start: XY
    end: XY
    side: int = 1

    def place(self, value: float, aside: float = 0.0) -> XY:
        """Return where a value stands, so far aside toward the side of the lines."""
        (x0, y0), (x1, y1) = self.start, self.end
        share = (value - self.low) / (self.high - self.low)
        long = math.hypot(x1 - x0, y1 - y0)
        away = self.side * aside / long
        return (
            x0 + share * (x1 - x0) - away * (y1 - y0),
            y0 + share * (y1 - y0) + away * (x1 - x0),
        )

    def lines(self, fine: float, middle: float, coarse: float, reach: float = 5.0) -> list[Mark]:
        """Return its lines: the longer the rounder; the coarse ones are ``reach`` long."""
        found: list[Mark] = []
        for value in whole_steps(self.low, self.high, fine):
            whole, half = _is_whole(value, coarse), _is_whole(value, middle)
            size = reach if whole else 0.72 * reach if half else 0.45 * reach
            width = 0.5 if whole else 0.3
            found.append(
                line(self.place(value), self.place(value, size), colour=Ink.WORD, width=width)
            )
        return found

    def figures(
        self, every: float, aside: float, say: Callable[[float], str], size: float = 4.0
    ) -> list[Mark]:
        """Return its figures, so far aside."""
        found: list[Mark] = []
        for value in whole_steps(self.low, self.high, every):
            x, y = self.place(value, aside)
            found.append(words(x, y, say(value), size, name=f"{self.name}:{value:g}"))
        return found


def _is_whole(value: float, size: float) -> bool:
    return abs(value / size - round(value / size)) < 1e-6


def dimension(start: XY, end: XY) -> list[Mark]:
    """Return a line with arrow heads at both ends."""
    tips = ((start, end), (end, start))
    heads = [Area((tip, *arrow_head(far, tip, 2.0, 0.9)[1:]), Ink.FAINT) for tip, far in tips]
    return [line(start, end, colour=Ink.FAINT, width=0.4), *heads]


def arrow(start: XY, end: XY, colour: Colour = Ink.FAINT) -> list[Mark]:
    """Return an arrow."""
    neck, left, right = arrow_head(start, end, 2.4, 1.1)
    return [line(start, neck, colour=colour, width=0.5), Area((end, left, right), colour)]


def shown_in(
    x0: float, y0: float, x1: float, y1: float, text: str, size: float, name: str
) -> list[Mark]:
    """Return figures in a display."""
    return [
        rounded(x0, y0, x1, y1, 1.5, Ink.GLASS),
        words(0.5 * (x0 + x1), 0.5 * (y0 + y1), text, size, name=name, bold=True),
    ]


def wave(x0: float, x1: float, y: float, tall: float, shape: Callable[[float], float]) -> list[XY]:
    """Return a wave between two places; ``shape`` takes periods and gives -1 to 1."""
    count = 145
    return [
        (x0 + (x1 - x0) * i / (count - 1), y + tall * shape(3.0 * i / (count - 1)))
        for i in range(count)
    ]


HAND: Final = "hand@"
"""The names of arrows for the hand begin so."""


def push(start: XY, end: XY, colour: Colour = MarkRole.PREDICTED, name: str = HAND) -> list[Mark]:
    """Return a broad straight arrow: push, raise or slide it that way."""
    neck, left, right = arrow_head(start, end, 5.0, 3.2)
    return [
        line(start, neck, colour=colour, width=1.6),
        Area((end, left, right), colour, name=name),
    ]


def turn(
    middle: XY,
    reach: float,
    start_deg: float,
    span_deg: float,
    colour: Colour = MarkRole.PREDICTED,
    name: str = HAND,
) -> list[Mark]:
    """Return a broad round arrow; degrees run clockwise from upright, so does a positive span."""
    end = start_deg + span_deg
    long = math.degrees(5.0 / reach) * math.copysign(1.0, span_deg)
    shaft = arc(middle, reach, start_deg, end - 0.8 * long, 17)
    head = (
        at(middle, reach, end),
        at(middle, reach + 3.2, end - long),
        at(middle, reach - 3.2, end - long),
    )
    return [
        line(*shaft, colour=colour, width=1.6),
        Area(head, colour, name=name),
    ]


def upright(x: float, y: float, *, up: bool, tall: float = 9.0) -> list[Mark]:
    """Return a broad arrow up or down whose middle is at a place."""
    half = 0.5 * tall if up else -0.5 * tall
    return push((x, y - half), (x, y + half))


def turned_by(points: Sequence[XY], about: XY, clockwise_deg: float) -> list[XY]:
    """Return points turned about a place."""
    angle = math.radians(-clockwise_deg)
    cos, sin = math.cos(angle), math.sin(angle)
    x0, y0 = about
    return [
        (x0 + cos * (x - x0) - sin * (y - y0), y0 + sin * (x - x0) + cos * (y - y0))
        for x, y in points
    ]
