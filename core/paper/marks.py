"""What a sheet of paper is made of: lines, arcs, circles, ring sectors, areas and words.

Millimetres throughout. A sheet's origin is its lower left corner, x to the right and y up; angles
are degrees counted from the x axis toward the y axis. Nothing here knows how it is put on paper.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final, Literal

from core.records import Choice

Align = Literal["left", "middle", "right"]
XY = tuple[float, float]


class PaperProblem(Exception):  # noqa: N818 - it is told to a person, and not only as an error
    """A sheet that can't be drawn or put on paper, told to a person.

    Parameters
    ----------
    sentence
        What is wrong and where, one sentence.
    remedy
        What to do about it.
    """

    def __init__(self, sentence: str, remedy: str = "") -> None:
        super().__init__(f"{sentence} {remedy}".strip())
        self.sentence = sentence
        self.remedy = remedy


class PaperSize(Choice):
    """Sizes of paper, upright."""

    A4 = "a4", "A4 (210 × 297 mm)"
    LETTER = "letter", "Letter (8½ × 11 inches)"

    @property
    def width_mm(self) -> float:
        """Across: ISO 216, or 8.5 inches."""
        return 210.0 if self is PaperSize.A4 else 215.9

    @property
    def height_mm(self) -> float:
        """Along: ISO 216, or 11 inches."""
        return 297.0 if self is PaperSize.A4 else 279.4


MARGIN_MM: Final = 8.0
"""What a printer can't reach at the edges, and a little more (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Pen:
    """How a line is drawn.

    ``dash_mm`` alternates drawn and left out; empty for a line without gaps. ``grey`` is 0 for
    black to 1 for white.
    """

    width_mm: float = 0.2
    dash_mm: tuple[float, ...] = ()
    grey: float = 0.0


HAIR: Final = Pen(0.12)
FINE: Final = Pen(0.2)
STRONG: Final = Pen(0.4)
FAINT: Final = Pen(0.12, grey=0.45)
DASHED: Final = Pen(0.2, (2.0, 1.5))


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line."""

    x0: float
    y0: float
    x1: float
    y1: float
    pen: Pen = FINE

    @property
    def length_mm(self) -> float:
        """Its length."""
        return math.hypot(self.x1 - self.x0, self.y1 - self.y0)


@dataclass(frozen=True, slots=True)
class Polyline:
    """Straight pieces through points."""

    points: tuple[XY, ...]
    pen: Pen = FINE


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
    """A circle; filled with ``fill_grey`` unless None."""

    x: float
    y: float
    radius_mm: float
    pen: Pen | None = FINE
    fill_grey: float | None = None


@dataclass(frozen=True, slots=True)
class Sector:
    """A filled piece of a ring, between two radii and two angles."""

    x: float
    y: float
    inner_mm: float
    outer_mm: float
    start_deg: float
    span_deg: float
    grey: float = 0.0


@dataclass(frozen=True, slots=True)
class Area:
    """A filled polygon, outlined with ``pen`` unless None."""

    points: tuple[XY, ...]
    fill_grey: float | None = None
    pen: Pen | None = None


@dataclass(frozen=True, slots=True)
class Words:
    """One line of text; (x, y) is on its base line. ``size_mm`` is the height of its em square."""

    x: float
    y: float
    text: str
    size_mm: float = 3.2
    align: Align = "left"
    bold: bool = False
    turn_deg: float = 0.0
    grey: float = 0.0


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


Mark = Line | Polyline | Arc | Circle | Sector | Area | Words | RingWords


@dataclass(frozen=True, slots=True)
class CheckLines:
    """The lines on a sheet that a person measures, in mm as drawn; true for both directions."""

    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class Sheet:
    """One side of paper.

    Parameters
    ----------
    title
        What it is, a few words.
    summary
        The same in one or two sentences, for who can't see it.
    size
        The paper.
    marks
        In drawing order, first at the back.
    check
        The check lines of a sheet whose lengths must be true, None on any other.
    """

    title: str
    summary: str
    size: PaperSize
    marks: tuple[Mark, ...]
    check: CheckLines | None = None

    @property
    def is_true_scale(self) -> bool:
        """Whether its lengths must be true."""
        return self.check is not None


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


def on_circle(x: float, y: float, radius_mm: float, angle_deg: float) -> XY:
    """Return the point of a circle at an angle."""
    angle = math.radians(angle_deg)
    return x + radius_mm * math.cos(angle), y + radius_mm * math.sin(angle)


def printable(size: PaperSize) -> Box:
    """Return the part of a sheet that printers reach."""
    return Box(MARGIN_MM, MARGIN_MM, size.width_mm - MARGIN_MM, size.height_mm - MARGIN_MM)


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
