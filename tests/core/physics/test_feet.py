import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.physics.feet import (
    FootTravel,
    plan_feet,
    plan_shims,
    slope_after_lifts,
    slope_per_lift,
    turns_of_lift,
)

THREE = [FootTravel(0, 150), FootTravel(-200, -150), FootTravel(200, -150)]
FOUR = [FootTravel(-200, 150), FootTravel(200, 150), FootTravel(-200, -150), FootTravel(200, -150)]
slopes = st.tuples(st.floats(-20, 20), st.floats(-20, 20))


def slope_after(
    slope: tuple[float, float], feet: list[FootTravel], lifts: tuple[float, ...]
) -> float:
    """Tilt of the plane through the feet's tops as they stand afterwards, built from heights."""
    heights = [
        (slope[0] * f.x_mm + slope[1] * f.y_mm) / 1000 + lift
        for f, lift in zip(feet, lifts, strict=True)
    ]
    a = np.array([[f.x_mm, f.y_mm, 1.0] for f in feet])
    plane, *_ = np.linalg.lstsq(a, np.array(heights), rcond=None)
    return 1000 * math.hypot(plane[0], plane[1])


# corners of a deck, each pushed aside by up to a third of its width: never on one line
corners = st.integers(3, 6).flatmap(
    lambda count: st.lists(
        st.tuples(st.floats(-60, 60), st.floats(-60, 60)), min_size=count, max_size=count
    )
)


@given(pushed=corners, slope=slopes, lifts=st.lists(st.floats(-5, 5), min_size=6, max_size=6))
def test_lifts_change_the_slope_as_the_plane_of_least_squares_does(
    pushed: list[tuple[float, float]], slope: tuple[float, float], lifts: list[float]
) -> None:
    places = [(0, 150), (-200, -150), (200, -150), (-200, 150), (200, 150), (0, 0)]
    feet = [FootTravel(x + dx, y + dy) for (x, y), (dx, dy) in zip(places, pushed, strict=False)]
    design = np.array([[foot.x_mm, foot.y_mm, 1.0] for foot in feet])
    expected = 1000.0 * np.linalg.pinv(design)[:2]
    np.testing.assert_allclose(slope_per_lift(feet), expected.T, atol=1e-10)
    lifted = np.array(lifts[: len(feet)])
    after = slope_after_lifts(slope, lifted.tolist(), feet)
    np.testing.assert_allclose(after, slope + expected @ lifted, atol=1e-9)


@pytest.mark.parametrize("feet", [THREE, FOUR])
@given(slope=slopes)
@settings(max_examples=40, deadline=None)
def test_all_feet_adjustable_level_fully_and_the_highest_stays(
    feet: list[FootTravel], slope: tuple[float, float]
) -> None:
    plan = plan_feet(slope, feet)
    assert slope_after(slope, feet, plan.lifts_mm) < 1e-9
    assert min(plan.lifts_mm) == pytest.approx(0.0, abs=1e-12)
    assert plan.remaining_tilt_mm_per_m < 1e-6


def test_a_foot_without_travel_up_makes_the_others_sink() -> None:
    feet = [FootTravel(-200, 0, travel_up_mm=0.0), FootTravel(200, 150), FootTravel(200, -150)]
    plan = plan_feet((2.0, 0.0), feet)
    assert plan.lifts_mm == pytest.approx((0.0, -0.8, -0.8))
    assert plan.remaining_tilt_mm_per_m < 1e-6


def test_two_adjustable_feet_of_three_still_level_fully() -> None:
    feet = [FootTravel(0, 150, adjustable=False), *THREE[1:]]
    plan = plan_feet((3.0, -4.0), feet)
    assert plan.lifts_mm[0] == 0.0
    assert slope_after((3.0, -4.0), feet, plan.lifts_mm) < 1e-9


def test_one_adjustable_foot_of_three_leaves_the_slope_it_can_not_reach() -> None:
    feet = [
        THREE[0],
        FootTravel(-200, -150, adjustable=False),
        FootTravel(200, -150, adjustable=False),
    ]
    plan = plan_feet((3.0, -4.0), feet)
    assert plan.lifts_mm == pytest.approx((1.2, 0.0, 0.0))
    assert plan.remaining_mm_per_m == pytest.approx((3.0, 0.0), abs=1e-9)
    assert plan.remaining_tilt_mm_per_m > 1e-6


def test_fixed_feet_alone_leave_the_deck_as_it_is() -> None:
    plan = plan_feet((3.0, -4.0), [FootTravel(f.x_mm, f.y_mm, adjustable=False) for f in THREE])
    assert plan.lifts_mm == (0.0, 0.0, 0.0)
    assert plan.remaining_tilt_mm_per_m == pytest.approx(5.0)
    assert plan.remaining_tilt_mm_per_m > 1e-6


def test_travel_that_runs_out_is_kept_and_the_rest_is_said() -> None:
    feet = [FootTravel(f.x_mm, f.y_mm, travel_up_mm=0.3, travel_down_mm=0.2) for f in THREE]
    plan = plan_feet((6.0, 3.0), feet)
    assert plan.remaining_tilt_mm_per_m > 1e-6
    assert all(-0.2 - 1e-9 <= lift <= 0.3 + 1e-9 for lift in plan.lifts_mm)
    assert plan.remaining_tilt_mm_per_m == pytest.approx(
        slope_after((6.0, 3.0), feet, plan.lifts_mm), abs=1e-6
    )


def test_shims_only_raise() -> None:
    plan = plan_shims((3.0, -4.0), [FootTravel(f.x_mm, f.y_mm, adjustable=False) for f in FOUR])
    assert min(plan.lifts_mm) == pytest.approx(0.0)
    assert plan.remaining_tilt_mm_per_m < 1e-9


@pytest.mark.parametrize(
    "feet", [[], THREE[:2], [FootTravel(0, 0), FootTravel(1, 1), FootTravel(2, 2)], [THREE[0]] * 4]
)
def test_feet_on_one_line_are_refused(feet: list[FootTravel]) -> None:
    with pytest.raises(ValueError, match="three feet"):
        plan_feet((1, 1), feet)
    with pytest.raises(ValueError, match="three feet"):
        slope_per_lift(feet)


def test_turns_are_lift_over_pitch() -> None:
    assert turns_of_lift(-0.5, 1.25) == pytest.approx(-0.4)
    with pytest.raises(ValueError, match="pitch above zero"):
        turns_of_lift(1.0, 0.0)
