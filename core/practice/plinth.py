"""The plinth on its feet, from the balance of forces and moments."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from core.practice.vectors import Vector, plus, solved

WEIGHT_GF: Final = 8000.0
"""Of the whole deck, over the middle of the plinth: an ordinary one, our assumption."""

FOOT_GIVES_GF_PER_MM: Final = 20000.0
"""Feet are a little springy: 2 kg on one press it by 0.1 mm. Our assumption."""

_TOUCHING_MM: Final = 1e-9


@dataclass(frozen=True, slots=True)
class SupportPoint:
    """A point that the plinth stands on: its place from above, and its height."""

    x_mm: float
    y_mm: float
    height_mm: float


def surface_of(stands: Sequence[SupportPoint]) -> tuple[float, float, float]:
    """Return the plane of the plinth: rise per mm to the right and back, height at the middle.

    Every foot presses back with its stiffness times how far it is compressed; the three unknowns
    follow from the balance of forces and of moments about both axes. A foot can't pull, so the set
    of feet is sought of which each presses while the others hang free below the plane: four hard
    feet that don't agree so stand on three.
    """
    for count in range(len(stands), 2, -1):
        for bearing in combinations(stands, count):
            try:
                plane = _balanced(bearing)
            except ValueError:
                continue  # these stand in one line
            pressed = [foot.height_mm - _height(plane, foot) for foot in stands]
            if all(
                (depth >= -_TOUCHING_MM) if foot in bearing else (depth <= _TOUCHING_MM)
                for foot, depth in zip(stands, pressed, strict=True)
            ):
                return plane
    return _balanced(stands)


def _height(plane: tuple[float, float, float], foot: SupportPoint) -> float:
    return plane[0] * foot.x_mm + plane[1] * foot.y_mm + plane[2]


def _balanced(feet: Sequence[SupportPoint]) -> tuple[float, float, float]:
    give = FOOT_GIVES_GF_PER_MM
    levers = [(foot.x_mm, foot.y_mm, 1.0) for foot in feet]
    # Sum over the feet of give x (height - plane) x lever = the weight's moment: none but the sum.
    rows = [
        [math.fsum(give * one[i] * one[j] for one in levers) for j in range(3)] for i in range(3)
    ]
    right = [
        math.fsum(
            give * foot.height_mm * lever[i] for foot, lever in zip(feet, levers, strict=True)
        )
        - (WEIGHT_GF if i == 2 else 0.0)
        for i in range(3)
    ]
    gx, gy, height = solved(rows, right)
    return gx, gy, height


def rise_along(plane: tuple[float, float, float], bearing_deg: float) -> float:
    """Return the slope along a bearing (clockwise from the back), mm/m, up positive.

    From the difference in height of two points of the surface.
    """
    turn = math.radians(bearing_deg)
    ahead: Vector = (math.sin(turn), math.cos(turn), 0.0)
    there = plus(ahead, (0.0, 0.0, plane[0] * ahead[0] + plane[1] * ahead[1]))
    return 1000.0 * there[2]
