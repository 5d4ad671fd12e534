"""Geometric marks: lines, arcs, circles, ring sectors, areas and words.

One vocabulary for sheets of paper and drawn instruments, and what a chart becomes in print.
Millimetres throughout, from the lower left corner, x to the right and y up; angles are degrees
counted from the x axis toward the y axis. Whoever paints the marks knows paper or screen.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final, Literal

from core.drawing.roles import Colour

Align = Literal["left", "middle", "right"]
XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Pen:
    """How a line is drawn; ``dash_mm`` alternates drawn and left out, empty for no gaps."""

    width_mm: float = 0.2
    dash_mm: tuple[float, ...] = ()
    colour: Colour = 0.0


HAIR: Final = Pen(0.12)
FINE: Final = Pen(0.2)
FAINT: Final = Pen(0.12, colour=0.45)
DASHED: Final = Pen(0.2, (2.0, 1.5))


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line."""

    x0: float
    y0: float
    x1: float
    y1: float
    pen: Pen = FINE


@dataclass(frozen=True, slots=True)
class Polyline:
    """Straight pieces through points."""

    points: tuple[XY, ...]
    pen: Pen = FINE
    name: str = ""


@dataclass(frozen=True, slots=True)
class Arc:
    """Part of a circle, from ``start_deg`` on through ``span_deg`` (positive: toward y)."""

    x: float
    y: float
    radius_mm: float
    start_deg: float
    span_deg: float
    pen: Pen = FINE


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle; filled unless ``fill`` is None."""

    x: float
    y: float
    radius_mm: float
    pen: Pen | None = FINE
    fill: Colour | None = None


@dataclass(frozen=True, slots=True)
class Sector:
    """A filled piece of a ring, between two radii and two angles."""

    x: float
    y: float
    inner_mm: float
    outer_mm: float
    start_deg: float
    span_deg: float
    fill: Colour = 0.0


@dataclass(frozen=True, slots=True)
class Area:
    """A polygon, filled and outlined unless ``fill`` and ``pen`` are None."""

    points: tuple[XY, ...]
    fill: Colour | None = None
    pen: Pen | None = None
    name: str = ""


@dataclass(frozen=True, slots=True)
class Words:
    """One line of text; (x, y) is on its base line, or at half the height of its capitals.

    ``size_mm`` is the height of its em square.
    """

    x: float
    y: float
    text: str
    size_mm: float = 3.2
    align: Align = "left"
    bold: bool = False
    turn_deg: float = 0.0
    colour: Colour = 0.0
    at_height: Literal["base line", "middle"] = "base line"
    name: str = ""


@dataclass(frozen=True, slots=True)
class RingWords:
    """One line of text set round a centre, its base line on the circle, its middle at an angle.

    The letters stand outward and run clockwise.
    """

    x: float
    y: float
    radius_mm: float
    middle_deg: float
    text: str
    size_mm: float = 3.2
    bold: bool = False
    colour: Colour = 0.0


@dataclass(frozen=True, slots=True)
class Bitmap:
    """A picture made of points, as PNG or JPEG; (x, y) is its lower left corner."""

    x: float
    y: float
    width_mm: float
    height_mm: float
    content: bytes


Mark = Line | Polyline | Arc | Circle | Sector | Area | Words | RingWords | Bitmap


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """Across."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Along."""
        return self.top - self.bottom

    @property
    def corners(self) -> tuple[XY, XY, XY, XY]:
        """Its corners, from the lower left one round toward y."""
        left, bottom, right, top = self.left, self.bottom, self.right, self.top
        return (left, bottom), (right, bottom), (right, top), (left, top)


def on_circle(x: float, y: float, radius_mm: float, angle_deg: float) -> XY:
    """Return the point of a circle at an angle."""
    angle = math.radians(angle_deg)
    return x + radius_mm * math.cos(angle), y + radius_mm * math.sin(angle)


def shifted(marks: Iterable[Mark], x_mm: float, y_mm: float) -> tuple[Mark, ...]:
    """Return the same marks moved."""
    moved: list[Mark] = []
    for mark in marks:
        if isinstance(mark, Line):
            moved.append(
                replace(
                    mark, x0=mark.x0 + x_mm, y0=mark.y0 + y_mm, x1=mark.x1 + x_mm, y1=mark.y1 + y_mm
                )
            )
        elif isinstance(mark, Polyline | Area):
            moved.append(replace(mark, points=tuple((x + x_mm, y + y_mm) for x, y in mark.points)))
        else:
            moved.append(replace(mark, x=mark.x + x_mm, y=mark.y + y_mm))
    return tuple(moved)


def extent(marks: Iterable[Mark]) -> Box:
    """Return a box that holds all lines and areas, words aside; arcs count by their ends and poles.

    Raises
    ------
    ValueError
        If there is nothing to hold.
    """
    points: list[XY] = []
    for mark in marks:
        points += _points_of(mark)
    if not points:
        raise ValueError("nothing is drawn here")
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Box(min(xs), min(ys), max(xs), max(ys))


def _points_of(mark: Mark) -> list[XY]:
    match mark:
        case Line():
            return [(mark.x0, mark.y0), (mark.x1, mark.y1)]
        case Polyline() | Area():
            return list(mark.points)
        case Circle():
            r = mark.radius_mm
            return [(mark.x - r, mark.y - r), (mark.x + r, mark.y + r)]
        case Arc():
            return _arc_points(mark.x, mark.y, mark.radius_mm, mark.start_deg, mark.span_deg)
        case Sector():
            return [
                point
                for radius in (mark.inner_mm, mark.outer_mm)
                for point in _arc_points(mark.x, mark.y, radius, mark.start_deg, mark.span_deg)
            ]
        case _:
            return []


def _arc_points(x: float, y: float, radius: float, start: float, span: float) -> list[XY]:
    low, high = sorted((start, start + span))
    poles = [k * 90.0 for k in range(math.ceil(low / 90.0), math.floor(high / 90.0) + 1)]
    return [on_circle(x, y, radius, angle) for angle in (low, high, *poles)]


def arrow_head(start: XY, tip: XY, length: float, half_width: float) -> tuple[XY, XY, XY]:
    """Return where an arrow's head begins on its shaft, and its corners to the left and right."""
    (x0, y0), (x1, y1) = start, tip
    long = math.hypot(x1 - x0, y1 - y0)
    ux, uy = (x1 - x0) / long, (y1 - y0) / long
    x, y = x1 - length * ux, y1 - length * uy
    aside_x, aside_y = -half_width * uy, half_width * ux
    return (x, y), (x + aside_x, y + aside_y), (x - aside_x, y - aside_y)


def whole_steps(low: float, high: float, step: float) -> list[float]:
    """Return every multiple of a step within a range, both ends included."""
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [k * step for k in range(first, last + 1)]
