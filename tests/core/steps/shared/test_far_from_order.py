"""Whether an amount entered for a move is asked about; the allowance is the house's own."""

from __future__ import annotations

import pytest

from core.fitting import Control, MovePart
from core.steps.shared import is_far_from_order, ordered_for


@pytest.mark.parametrize(
    ("amount", "ordered", "unit", "is_far"),
    [
        (20.0, 4.75, "turns", True),  # a point left out, or another foot
        (4.75, 20.0, "turns", True),
        (-20.0, 4.75, "turns", True),  # whichever way it went
        (5.0, 4.75, "turns", False),
        (9.5, 4.75, "turns", False),  # just twice
        (1.2, 0.25, "turns", True),
        (0.3, 0.1, "turns", False),  # a fifth of a turn: the next reading tells
        (0.0, 4.75, "turns", False),  # not moved
        (15.0, 1.5, "mm", True),
        (1.9, 1.5, "mm", False),
        (0.2, 1.5, "gf", True),
        (7.0, 3.0, "", True),
        (2.0, 1.0, "", False),
    ],
)
def test_more_than_twice_or_less_than_half_the_order_is_far(
    amount: float, ordered: float, unit: str, is_far: bool
) -> None:
    assert is_far_from_order(amount, ordered, unit) is is_far


def test_the_order_for_the_same_control_at_the_same_place_is_what_it_is_set_beside() -> None:
    def turned(where: str, amount: float) -> MovePart:
        return MovePart(control=Control.FOOT, amount=amount, unit="turns", where=where)

    order = turned("front left", 4.75), turned("rear", 2.375)
    assert ordered_for(turned("rear", 20.0), order) == order[1]
    assert ordered_for(turned("front right", 20.0), order) is None
    slid = MovePart(control=Control.SLIDE, amount=1.0, unit="mm")
    assert ordered_for(slid, order) is None
