"""Pieces that the drawings of instruments are made of: scales, rulers, boxes, displays."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from core.practice.drawings.sheet import (
    Area,
    Ink,
    Part,
    Stroke,
    Words,
)

Point = tuple[float, float]


def steps(low: float, high: float, size: float) -> list[float]:
    """Return every whole step within a range."""
    first, last = math.ceil(low / size - 1e-9), math.floor(high / size + 1e-9)
    return [round(i * size, 9) for i in range(first, last + 1)]


def window(value: float, span: float, *, whole: float = 1.0) -> tuple[float, float]:
    """Return a stretch of a scale of that span around a value, beginning on a whole step."""
    low = math.floor((value - 0.5 * span) / whole + 0.5) * whole
    return low, low + span


def box(x0: float, y0: float, x1: float, y1: float, ink: Ink = Ink.BODY, name: str = "") -> Area:
    """Return an upright rectangle."""
    return Area(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), ink, name)


def bent(
    middle: Point, reach: float, start_deg: float, end_deg: float, count: int = 25
) -> list[Point]:
    """Return points on an arc; degrees run clockwise from upright."""
    turns = [start_deg + (end_deg - start_deg) * i / (count - 1) for i in range(count)]
    return [at(middle, reach, turn) for turn in turns]


def at(middle: Point, reach: float, turn_deg: float) -> Point:
    """Return the point so far from a middle, clockwise from upright."""
    turn = math.radians(turn_deg)
    return middle[0] + reach * math.sin(turn), middle[1] + reach * math.cos(turn)


def disc(middle: Point, radius: float, ink: Ink, name: str = "") -> Area:
    """Return a filled circle."""
    return Area(tuple(bent(middle, radius, 0.0, 345.0, 24)), ink, name)


def rounded(
    x0: float, y0: float, x1: float, y1: float, radius: float, ink: Ink, name: str = ""
) -> Area:
    """Return a rectangle with round corners."""
    radius = min(radius, 0.5 * (x1 - x0), 0.5 * (y1 - y0))
    corners = (
        ((x1 - radius, y1 - radius), 0.0),
        ((x1 - radius, y0 + radius), 90.0),
        ((x0 + radius, y0 + radius), 180.0),
        ((x0 + radius, y1 - radius), 270.0),
    )
    points = [p for middle, turn in corners for p in bent(middle, radius, turn, turn + 90.0, 9)]
    return Area(tuple(points), ink, name)


def line(*points: Point, ink: Ink = Ink.EDGE, width: float = 0.35, name: str = "") -> Stroke:
    """Return a line through points."""
    return Stroke(tuple(points), ink, width, name)


@dataclass(frozen=True, slots=True)
class DrawnScale:
    """A straight scale: where two of its values stand on the sheet.

    Parameters
    ----------
    name
        What its parts are named by.
    low, high
        The values at ``start`` and ``end``.
    side
        1 has its lines to the left of the way from start to end, -1 to the right.
    """

    name: str
    low: float
    high: float
    start: Point
    end: Point
    side: int = 1

    def place(self, value: float, aside: float = 0.0) -> Point:
        """Return where a value stands, so far aside toward the side of the lines."""
        (x0, y0), (x1, y1) = self.start, self.end
        share = (value - self.low) / (self.high - self.low)
        long = math.hypot(x1 - x0, y1 - y0)
        away = self.side * aside / long
        return (
            x0 + share * (x1 - x0) - away * (y1 - y0),
            y0 + share * (y1 - y0) + away * (x1 - x0),
        )

    def lines(self, fine: float, middle: float, coarse: float, reach: float = 5.0) -> list[Part]:
        """Return its lines: the longer the rounder; the coarse ones are ``reach`` long."""
        found: list[Part] = []
        for value in steps(self.low, self.high, fine):
            whole, half = _is_whole(value, coarse), _is_whole(value, middle)
            size = reach if whole else 0.72 * reach if half else 0.45 * reach
            width = 0.5 if whole else 0.3
            found.append(
                line(self.place(value), self.place(value, size), ink=Ink.TICK, width=width)
            )
        return found

    def figures(
        self, every: float, aside: float, say: Callable[[float], str], size: float = 4.0
    ) -> list[Part]:
        """Return its figures, so far aside."""
        found: list[Part] = []
        for value in steps(self.low, self.high, every):
            x, y = self.place(value, aside)
            found.append(Words(x, y, say(value), size, name=f"{self.name}:{value:g}"))
        return found


def _is_whole(value: float, size: float) -> bool:
    return abs(value / size - round(value / size)) < 1e-6


def dimension(start: Point, end: Point, text: str) -> list[Part]:
    """Return a line with arrow heads at both ends and its length in words above it."""
    (x0, y0), (x1, y1) = start, end
    found: list[Part] = [line(start, end, ink=Ink.FAINT, width=0.4)]
    for (x, y), way in ((start, 1.0), (end, -1.0)):
        tip = ((x, y), (x + way * 2.0, y + 0.9), (x + way * 2.0, y - 0.9))
        found.append(Area(tip, Ink.FAINT, edged=False))
    found.append(Words(0.5 * (x0 + x1), 0.5 * (y0 + y1) + 3.2, text, 4.0))
    return found


def arrow(start: Point, end: Point, ink: Ink = Ink.FAINT, width: float = 0.5) -> list[Part]:
    """Return an arrow."""
    (x0, y0), (x1, y1) = start, end
    long = math.hypot(x1 - x0, y1 - y0)
    along, up = ((x1 - x0) / long, (y1 - y0) / long), (-(y1 - y0) / long, (x1 - x0) / long)
    neck = (x1 - 2.4 * along[0], y1 - 2.4 * along[1])
    tip = (
        (x1, y1),
        (neck[0] + 1.1 * up[0], neck[1] + 1.1 * up[1]),
        (neck[0] - 1.1 * up[0], neck[1] - 1.1 * up[1]),
    )
    return [line(start, neck, ink=ink, width=width), Area(tip, ink, edged=False)]


def shown_in(
    x0: float, y0: float, x1: float, y1: float, text: str, size: float, name: str
) -> list[Part]:
    """Return figures in a display."""
    return [
        rounded(x0, y0, x1, y1, 1.5, Ink.GLASS),
        Words(0.5 * (x0 + x1), 0.5 * (y0 + y1), text, size, name=name, strong=True),
    ]


def wave(
    x0: float, x1: float, y: float, tall: float, shape: Callable[[float], float]
) -> list[Point]:
    """Return a wave between two places; ``shape`` takes periods and gives -1 to 1."""
    count = 145
    return [
        (x0 + (x1 - x0) * i / (count - 1), y + tall * shape(3.0 * i / (count - 1)))
        for i in range(count)
    ]


def joined(*groups: Sequence[Part]) -> tuple[Part, ...]:
    """Return the parts of all groups in order."""
    return tuple(part for group in groups for part in group)
