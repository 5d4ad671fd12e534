"""Whether an amount entered for a move is so far from the order that a slip is likely.

The form of every move asks about such an amount before it is kept, so nothing is learned from it
until the person has said that it is so.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from core.fitting import MovePart

_TIMES: Final = 2.0
"""Hands are seldom off by this factor where they meant to do as ordered: our own allowance."""

_APART: Final[Mapping[str, float]] = {"turns": 0.25, "mm": 0.5, "°": 1.0, "gf": 0.3}
_STEPS_APART: Final = 2.0
"""Smaller differences than these are left to the next reading, by unit: our own allowance."""


def is_far_from_order(amount: float, ordered: float, unit: str) -> bool:
    """Return whether an amount is beyond twice what was ordered, or below half of it.

    Both are in ``unit``, without regard to their direction. 0 says that nothing was moved, and a
    difference that is small in itself is none.
    """
    size, order = abs(amount), abs(ordered)
    if not size or abs(size - order) <= _APART.get(unit, _STEPS_APART):
        return False
    return max(size, order) > _TIMES * min(size, order)


def ordered_for(moved: MovePart, order: tuple[MovePart, ...]) -> MovePart | None:
    """Return the part of an order for the same control at the same place, None if there is none."""
    return next(
        (
            part
            for part in order
            if (part.control, part.where, part.unit) == (moved.control, moved.where, moved.unit)
        ),
        None,
    )
