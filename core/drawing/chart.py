"""A chart or a drawing as data: what is to be seen, in the units of its axes, with no screen.

A step makes a :class:`Picture`; a screen, a sheet of paper or a test looks at it. Colour, pen and
font belong to whoever draws; here each thing only says what it stands for (:class:`Role`).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from core.drawing.roles import Role
from core.language import Text

__all__ = [
    "Arrow",
    "Axis",
    "Band",
    "Curve",
    "Floats",
    "Item",
    "Picture",
    "Points",
    "Role",
    "Rule",
    "Shape",
    "Tag",
    "floats",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis.

    ``low`` and ``high`` are the range shown; ``shown`` is False in a drawing; ``whole`` is True
    where only whole numbers mean anything, as for the first, second, third reading; ``ticks`` are
    places and words, for an axis of dates; without them whoever draws picks numbers.
    """

    label: Text
    unit: str
    low: float
    high: float
    shown: bool = True
    whole: bool = False
    ticks: tuple[tuple[float, Text], ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """A line through points, x and y of shape (n,); NaN breaks it."""

    x: Floats
    y: Floats
    role: Role
    label: Text = ""  # in the legend, unless empty


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """Dots with optional error bars: ``half_height`` of shape (n,) or None."""

    x: Floats
    y: Floats
    role: Role
    label: Text = ""
    half_height: Floats | None = None


@dataclass(frozen=True, slots=True)
class Band:
    """A stripe between two values of one axis ('x' or 'y'), the full length of the other."""

    axis: str
    low: float
    high: float
    role: Role
    label: Text = ""


@dataclass(frozen=True, slots=True)
class Rule:
    """A straight line across the whole picture at one value of one axis ('x' or 'y')."""

    axis: str
    at: float
    role: Role
    label: Text = ""


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """A closed outline, x and y of shape (n,), filled when ``filled``."""

    x: Floats
    y: Floats
    role: Role
    label: Text = ""
    filled: bool = False


@dataclass(frozen=True, slots=True)
class Arrow:
    """An arrow from (x0, y0) to (x1, y1)."""

    x0: float
    y0: float
    x1: float
    y1: float
    role: Role
    label: Text = ""


@dataclass(frozen=True, slots=True)
class Tag:
    """Words at a place, centred."""

    x: float
    y: float
    text: Text
    role: Role


Item = Curve | Points | Band | Rule | Shape | Arrow | Tag


@dataclass(frozen=True, slots=True)
class Picture:
    """Everything a drawing needs.

    Parameters
    ----------
    title
        What is shown, a few words.
    summary
        The same picture in one or two sentences, for a screen reader and for the log.
    x, y
        The axes.
    items
        In drawing order, first at the back.
    fixed_aspect
        One unit is as long in x as in y.
    scale_note
        Said under the picture when lengths are not true: ``Tilt drawn 20 times as large``.
    """

    title: Text
    summary: Text
    x: Axis
    y: Axis
    items: tuple[Item, ...] = field(default=())
    fixed_aspect: bool = False
    scale_note: Text = ""


def floats(values: object) -> Floats:
    """Return values as a float array, for building items."""
    return np.asarray(values, dtype=np.float64)
