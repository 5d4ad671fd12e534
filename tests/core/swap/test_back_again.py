"""Back to a cartridge that was on this deck before: every control goes back by what was moved.

The deck of the examples; one fitting with the first cartridge, one with a second. What is expected
is added up by hand from the moves between.
"""

from __future__ import annotations

from typing import Any

import pytest

from core.fitting import Body, Control
from core.swap import SwapPlan, plan_swap
from tests.core.swap.swaps import left, moved, past, read, started
from tests.examples import cartridge
from tests.outside.told import pinned

FIRST = cartridge(compliance=None)


def back_again(
    first: dict[str, tuple[Body, ...]],
    second: dict[str, tuple[Body, ...]],
    *,
    other: dict[str, Any] | None = None,
    **on: Any,
) -> SwapPlan:
    """Plan to go back to the first cartridge, after these fittings of both."""
    pillar = {"control": "pillar", "travel_up_mm": 9, "travel_down_mm": 9}
    deck = pinned(**{"height": pillar, **on})
    named = {"name": "Example cartridge, second", "compliance": None}
    changed = cartridge(**{**named, **(other or {})})
    one = past(deck, FIRST, left(**first), cartridge_id="a")
    two = past(deck, changed, left(**second), cartridge_id="b", number=1)
    return plan_swap(deck, two, FIRST, (one, two), new_cartridge_id="a")


def gaps(left_mm: float, right_mm: float) -> Body:
    return read("tilt", way="gaps", left_mm=left_mm, right_mm=right_mm)


def heights(at_pivot: float) -> Body:
    """Heights 180 mm apart of a tube whose rear is so much too high at 239.296 mm."""
    high = at_pivot * 180.0 / 239.296
    return read("arm_height", way="two heights", front_mm=25.0, rear_mm=25.0 + high, spacing_mm=180)


@pytest.mark.parametrize("turned", [1.5, -2.0])
def test_a_head_that_was_rolled_since_is_rolled_back(turned: float) -> None:
    rolled = (moved("tilt", Control.TILT, turned, "°"), gaps(2.0, 2.0))
    plan = back_again({}, {"tilt": (gaps(2.5, 2.0), *rolled)})
    amount, foretold, half = started(plan, "tilt", "tilt")
    assert amount == pytest.approx(-turned)
    assert foretold == pytest.approx(0.0, abs=1e-6)  # as it stood with the first one
    (start,) = [one for one in plan.starts if one.step == "tilt"]
    assert start.part is not None
    assert (start.part.control, start.part.unit) == (Control.TILT, "°")
    assert start.gain == pytest.approx(1.0)
    # As read then; turned by hand to 6 % and a tenth, and to 0.3 degrees of a seat.
    assert 1.96 * 0.3 < half < 1.96 * 0.7


def test_a_head_that_was_not_rolled_since_stays() -> None:
    plan = back_again({"tilt": (gaps(2.2, 2.0),)}, {})
    amount, foretold, _ = started(plan, "tilt", "tilt")
    assert amount is None
    assert foretold == pytest.approx(0.674, abs=2e-3)  # atan(0.2 / 17)


def test_a_shim_that_held_the_first_one_upright_goes_back_under_it() -> None:
    shimmed = (gaps(2.0, 2.4), moved("tilt", Control.TILT_SHIM, -0.4, "mm"), gaps(2.0, 2.0))
    plan = back_again({"tilt": shimmed}, {}, tilt={"control": "shim"})
    (start,) = [one for one in plan.starts if one.step == "tilt"]
    assert start.part is not None
    assert (start.part.control, start.part.amount) == (Control.TILT_SHIM, pytest.approx(-0.4))


@pytest.mark.parametrize("raised", [2.0, -1.5])
def test_a_pillar_that_was_moved_for_the_second_goes_back(raised: float) -> None:
    # The second body is as much taller, so that what was moved was right.
    since = (heights(-raised), moved("arm_height", Control.PILLAR, raised, "mm"), heights(0.0))
    plan = back_again({}, {"arm_height": since}, other={"body_height_mm": 17.0 + raised})
    amount, foretold, _ = started(plan, "arm_height", "pillar")
    assert amount == pytest.approx(-raised)
    assert foretold == pytest.approx(0.0, abs=1e-6)
    (start,) = [one for one in plan.starts if one.step == "arm_height" and one.key == "pillar"]
    assert start.reason == "swap.height.back"


@pytest.mark.parametrize("shim", [1.0, 2.0])
def test_a_shim_over_the_first_one_goes_back_with_it(shim: float) -> None:
    # The first stood right with a shim in the head; for the second, as tall without one, the
    # pillar was lowered by as much: both are undone.
    first = (heights(shim), moved("arm_height", Control.HEAD_SHIM, shim, "mm"), heights(0.0))
    since = (heights(shim), moved("arm_height", Control.PILLAR, -shim, "mm"), heights(0.0))
    plan = back_again({"arm_height": first}, {"arm_height": since})
    parts = {
        one.part.control: one.part.amount
        for one in plan.starts
        if one.step == "arm_height" and one.part is not None
    }
    assert parts == {
        Control.HEAD_SHIM: pytest.approx(shim),
        Control.PILLAR: pytest.approx(shim),
    }
    _, foretold, _ = started(plan, "arm_height", "pillar")
    assert foretold == pytest.approx(0.0, abs=1e-6)
    assert not [one for one in plan.warnings if one.key == "swap.height.moves_missing"]


@pytest.mark.parametrize("lowered", [3.0, 6.0])
def test_a_pillar_moved_off_the_record_is_noticed(lowered: float) -> None:
    # As tall as each other, and the pillar lower all the same: a move is missing. Two heights each
    # to 0.25 mm are 0.35 over 180 mm, 0.47 at the pillar; two such readings differ by 0.66, with
    # the bodies and seats by 0.8: in 95 of 100 cases by less than 1.6 mm.
    since = (heights(0.0), moved("arm_height", Control.PILLAR, -lowered, "mm"), heights(0.0))
    plan = back_again({}, {"arm_height": since})
    assert [one for one in plan.warnings if one.key == "swap.height.moves_missing"]


def test_a_counterweight_goes_back_by_the_turns_it_was_given() -> None:
    # The second weighs 2 g more and presses by as much more: 4.786 mm of 100 g, a turn each.
    turned = (
        read("rough_downforce", way="scale", downforce_gf=4.0),
        moved("rough_downforce", Control.COUNTERWEIGHT, -4.75, "turns", equivalent_mm=-4.75),
        read("rough_downforce", way="scale", downforce_gf=2.0),
    )
    plan = back_again({}, {"rough_downforce": turned}, other={"mass_g": 8.0})
    amount, foretold, _ = started(plan, "rough_downforce", "downforce")
    assert amount == pytest.approx(4.75)
    assert foretold == pytest.approx(2.0, abs=0.02)
