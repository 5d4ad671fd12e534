"""Pieces that the drawings of instruments are made of: rulers, hidden axes, outlines, words."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from core.picture import Axis, Curve, Item, Picture, Role, Shape, Tag, floats


def hidden(low: float, high: float, unit: str = "") -> Axis:
    """Return an axis that is not shown: the drawing carries its own scale."""
    return Axis("", unit, low, high, shown=False)


def line(x: Sequence[float], y: Sequence[float], role: Role = Role.OUTLINE) -> Curve:
    """Return a line through points."""
    return Curve(floats(x), floats(y), role)


def box(x0: float, y0: float, x1: float, y1: float, *, role: Role = Role.OUTLINE) -> Shape:
    """Return an upright rectangle."""
    return Shape(floats([x0, x1, x1, x0]), floats([y0, y0, y1, y1]), role)


def round_box(x0: float, y0: float, x1: float, y1: float, role: Role = Role.OUTLINE) -> Shape:
    """Return a lying rectangle with round ends, as a vial or its bubble."""
    radius = 0.5 * abs(y1 - y0)
    turn = np.linspace(-0.5 * math.pi, 0.5 * math.pi, 17)
    middle = 0.5 * (y0 + y1)
    x = np.concatenate((x1 - radius + radius * np.cos(turn), x0 + radius - radius * np.cos(turn)))
    y = np.concatenate((middle + radius * np.sin(turn), middle - radius * np.sin(turn)))
    return Shape(floats(x), floats(y), role)


def ticks(places: Sequence[float], low: float, high: float, *, upright: bool = False) -> Curve:
    """Return the lines of a scale: across at each place, or level where it stands upright."""
    gap = math.nan
    along = [value for place in places for value in (place, place, gap)]
    across = [value for _ in places for value in (low, high, gap)]
    return line(across, along, Role.GUIDE) if upright else line(along, across, Role.GUIDE)


def steps(low: float, high: float, size: float) -> list[float]:
    """Return every whole step within a range."""
    first, last = math.ceil(low / size - 1e-9), math.floor(high / size + 1e-9)
    return [round(i * size, 9) for i in range(first, last + 1)]


def spread(most_deg: int) -> float:
    """Return how many times as large angles up to this are drawn: a whole number, at most 5."""
    return float(max(1, min(5, 55 // most_deg)))


def fan(x: float, y: float, reach: float, most_deg: int) -> list[Item]:
    """Return the grid of a protractor: a line for each degree, and the true one upright.

    Angles are drawn `spread` times as large; out is to the right.
    """
    items: list[Item] = []
    for degree in range(-most_deg, most_deg + 1):
        turn = math.radians(spread(most_deg) * degree)
        far_x, far_y = x + reach * math.sin(turn), y + reach * math.cos(turn)
        role = Role.TARGET if degree == 0 else Role.GUIDE
        near = 0.0 if degree == 0 else 0.85
        items.append(line([x + near * (far_x - x), far_x], [y + near * (far_y - y), far_y], role))
        if degree % 2 == 0:
            items.append(
                Tag(x + 1.1 * (far_x - x), y + 1.1 * (far_y - y), f"{abs(degree)}", Role.GUIDE)
            )
    return items


def pointer(x: float, y: float, reach: float, drawn_deg: float) -> Curve:
    """Return the line of a head over such a grid, out to the right, at the angle it is drawn."""
    turn = math.radians(drawn_deg)
    return line(
        [x - 0.1 * reach * math.sin(turn), x + reach * math.sin(turn)],
        [y - 0.1 * reach * math.cos(turn), y + reach * math.cos(turn)],
        Role.NOW,
    )


def display(title: str, what: str, text: str) -> Picture:
    """Return an instrument that shows figures."""
    items: tuple[Item, ...] = (
        round_box(-1.6, -0.5, 1.6, 0.5),
        Tag(0.0, 0.0, text, Role.NOW),
        Tag(0.0, -0.75, what, Role.GUIDE),
    )
    return Picture(
        title=title,
        summary=f"{title}, {what}: {text}.",
        x=hidden(-2.0, 2.0),
        y=hidden(-1.1, 0.9),
        items=items,
        fixed_aspect=True,
    )
