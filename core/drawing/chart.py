"""A chart as data: axes and what is to be seen in their units, bound to arrays and values.

A step makes a :class:`Picture`; a screen, a sheet of paper or a test looks at it. Colour, pen and
font belong to whoever draws; here each item only says what it stands for (:class:`MarkRole`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from core.drawing.roles import MarkRole
from core.language import Message

__all__ = [
    "Arrow",
    "Axis",
    "Band",
    "Curve",
    "Floats",
    "Item",
    "MarkRole",
    "Picture",
    "Points",
    "Rule",
    "Shape",
    "Swatch",
    "Tag",
    "floats",
    "swatch_of",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis, shown from ``low`` to ``high``.

    ``shown`` is False where the axis has no numbers; ``whole`` is True where only whole numbers
    mean anything, as for the first, second, third reading; ``ticks`` are places and words, for an
    axis of dates; without them whoever draws picks numbers.
    """

    label: Message
    unit: str
    low: float
    high: float
    shown: bool = True
    whole: bool = False
    ticks: tuple[tuple[float, Message], ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """A line through points, x and y of shape (n,); NaN breaks it."""

    x: Floats
    y: Floats
    role: MarkRole
    label: Message | None = None  # in the legend, unless None


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """Dots with optional error bars: ``half_height`` of shape (n,) or None."""

    x: Floats
    y: Floats
    role: MarkRole
    label: Message | None = None
    half_height: Floats | None = None


@dataclass(frozen=True, slots=True)
class Band:
    """A stripe between two values of one axis ('x' or 'y'), the full length of the other."""

    axis: str
    low: float
    high: float
    role: MarkRole
    label: Message | None = None


@dataclass(frozen=True, slots=True)
class Rule:
    """A straight line across the whole picture at one value of one axis ('x' or 'y')."""

    axis: str
    at: float
    role: MarkRole
    label: Message | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """A closed outline, x and y of shape (n,), filled when ``filled``."""

    x: Floats
    y: Floats
    role: MarkRole
    label: Message | None = None
    filled: bool = False


@dataclass(frozen=True, slots=True)
class Arrow:
    """An arrow from (x0, y0) to (x1, y1)."""

    x0: float
    y0: float
    x1: float
    y1: float
    role: MarkRole
    label: Message | None = None


@dataclass(frozen=True, slots=True)
class Tag:
    """Words at a place, centred."""

    x: float
    y: float
    text: Message
    role: MarkRole


Item = Curve | Points | Band | Rule | Shape | Arrow | Tag
Swatch = Literal["line", "dot", "stripe", "frame"]


def swatch_of(item: Item) -> Swatch:
    """Return what stands for an item in a legend."""
    if isinstance(item, Points):
        return "dot"
    if isinstance(item, Band) or (isinstance(item, Shape) and item.filled):
        return "stripe"
    return "frame" if isinstance(item, Shape) else "line"


@dataclass(frozen=True, slots=True)
class Picture:
    """A chart: axes, and items in drawing order, the first at the back.

    ``summary`` says the same in one or two sentences, for a screen reader and for the log. With
    ``fixed_aspect`` one unit is as long in x as in y. ``scale_note`` is said under the picture
    where lengths are not true: ``Tilt drawn 20 times as large``.
    """

    title: Message
    summary: Message
    x: Axis
    y: Axis
    items: tuple[Item, ...] = ()
    fixed_aspect: bool = False
    scale_note: Message | None = None


def floats(values: object) -> Floats:
    """Return values as a float array, for building items."""
    return np.asarray(values, dtype=np.float64)
