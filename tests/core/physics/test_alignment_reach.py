import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.physics.alignment_reach import Edge, Reach, best_for, length_for_null, offset_for_null_deg
from core.physics.alignment_solutions import NullRadii, Solution, groove_nodes, solve
from core.physics.arm_geometry import (
    PivotedArm,
    null_radii_mm,
    tracking_error_deg,
    tracking_error_rad,
)
from core.physics.groove_radii import GROOVES_1958
from core.physics.tracking_distortion import weighed_extremes_per_mm, worst_tracking

D = 222.0
STRAIGHT = Reach(least_offset_deg=0.0, greatest_offset_deg=0.0)
RULES = list(Solution)[:-1]


@pytest.mark.parametrize("solution", RULES)
def test_a_free_arm_gets_the_solution_itself(solution):
    best = best_for(D, GROOVES_1958, solution)
    assert best.arm == best.solution_arm == solve(solution, D, GROOVES_1958)
    assert best.held_by == ()
    assert best.nulls_mm == null_radii_mm(best.arm)
    assert best.worst == worst_tracking(best.arm, GROOVES_1958)


@pytest.mark.parametrize("solution", RULES)
def test_a_reach_that_just_holds_the_solution_holds_nothing_back(solution):
    arm = solve(solution, D, GROOVES_1958)
    reach = Reach(
        arm.effective_length_mm, arm.effective_length_mm + 5, arm.offset_deg - 3, arm.offset_deg
    )
    assert best_for(D, GROOVES_1958, solution, reach).held_by == ()


@pytest.mark.parametrize("solution", RULES)
def test_slots_that_end_short_are_used_to_their_end_and_the_head_turned_to_suit(solution):
    best = best_for(D, GROOVES_1958, solution, Reach(longest_mm=236.0))
    assert best.arm.effective_length_mm == 236.0
    assert best.held_by == (Edge.LONGEST,)
    assert best.arm.offset_deg < best.solution_arm.offset_deg


@pytest.mark.parametrize("solution", RULES)
@pytest.mark.parametrize("offset_deg", [18.0, 26.0])
def test_a_fixed_head_gets_the_best_length_for_its_offset(solution, offset_deg):
    reach = Reach(least_offset_deg=offset_deg, greatest_offset_deg=offset_deg)
    best = best_for(D, GROOVES_1958, solution, reach)
    assert best.arm.offset_deg == offset_deg
    assert best.held_by == (Edge.FIXED_OFFSET,)


def minimax_cost(arm):
    return float(np.max(np.abs(weighed_extremes_per_mm(arm, GROOVES_1958, "angle")[1])))


def square_cost(arm):
    radius, weight = groove_nodes(GROOVES_1958, 60)
    return float(np.sum(weight * (tracking_error_rad(arm, radius) / radius) ** 2))


@pytest.mark.parametrize(
    ("solution", "cost"),
    [
        (Solution.LOFGREN_A, minimax_cost),
        (Solution.EXACT_MINIMAX, minimax_cost),
        (Solution.LOFGREN_B, square_cost),
        (Solution.FREE_LEAST_SQUARES, square_cost),
        (Solution.EXACT_LEAST_SQUARES, square_cost),
    ],
)
@pytest.mark.parametrize("offset_deg", [0.0, 18.0, 26.0])
def test_no_neighbouring_length_does_better_under_the_same_measure(solution, cost, offset_deg):
    reach = Reach(least_offset_deg=offset_deg, greatest_offset_deg=offset_deg)
    best = best_for(D, GROOVES_1958, solution, reach).arm
    for shift in (-1.0, -0.01, 0.01, 1.0):
        other = PivotedArm(D, best.effective_length_mm + shift, offset_deg)
        assert cost(other) > cost(best)


@pytest.mark.parametrize(
    ("solution", "cost"),
    [(Solution.EXACT_MINIMAX, minimax_cost), (Solution.EXACT_LEAST_SQUARES, square_cost)],
)
@pytest.mark.parametrize("length_mm", [234.0, 243.0])
def test_no_neighbouring_offset_does_better_under_the_same_measure(solution, cost, length_mm):
    best = best_for(D, GROOVES_1958, solution, Reach(length_mm, length_mm))
    assert best.held_by == (Edge.FIXED_LENGTH,)
    for shift in (-1.0, -0.01, 0.01, 1.0):
        assert cost(PivotedArm(D, length_mm, best.arm.offset_deg + shift)) > cost(best.arm)


def test_stevenson_keeps_its_inner_null_whichever_control_is_fixed():
    for reach in (
        Reach(236.0, 236.0),
        Reach(240.0, 240.0),
        Reach(least_offset_deg=20.0, greatest_offset_deg=20.0),
        Reach(least_offset_deg=0.0, greatest_offset_deg=0.0),
    ):
        arm = best_for(D, GROOVES_1958, Solution.STEVENSON, reach).arm
        assert abs(float(tracking_error_deg(arm, GROOVES_1958.inner_mm))) < 1e-9


def test_own_nulls_out_of_reach_are_missed_evenly():
    best = best_for(
        D, GROOVES_1958, Solution.OWN_NULLS, Reach(236.0, 236.0), NullRadii(66.0, 121.0)
    )
    inner, outer = tracking_error_deg(best.arm, [66.0, 121.0])
    assert inner < 0 < outer
    # least sum of (e / r)^2 over one offset: the errors weighed by 1 / r^2 cancel
    assert inner / 66.0**2 == pytest.approx(-outer / 121.0**2, rel=1e-6)


def test_a_plug_in_head_leaves_nothing_to_set():
    best = best_for(D, GROOVES_1958, Solution.LOFGREN_A, Reach(238.0, 238.0, 22.0, 22.0))
    assert best.arm == PivotedArm(D, 238.0, 22.0)
    assert best.held_by == (Edge.FIXED_LENGTH, Edge.FIXED_OFFSET)


def test_slots_and_twist_that_both_end_are_both_named():
    reach = Reach(230.0, 236.0, 24.0, 30.0)
    best = best_for(D, GROOVES_1958, Solution.EXACT_MINIMAX, reach)
    assert best.held_by == (Edge.LONGEST, Edge.LEAST_OFFSET)
    reach = Reach(242.0, 250.0, 10.0, 20.0)
    best = best_for(D, GROOVES_1958, Solution.EXACT_MINIMAX, reach)
    assert best.held_by == (Edge.SHORTEST, Edge.GREATEST_OFFSET)


@pytest.mark.parametrize("solution", RULES)
def test_a_straight_arm_is_underhung_with_one_null_within_the_grooves(solution):
    best = best_for(D, GROOVES_1958, solution, STRAIGHT)
    assert best.arm.offset_deg == 0.0
    (null,) = best.nulls_mm
    assert GROOVES_1958.inner_mm - 1e-9 <= null < GROOVES_1958.outer_mm


@settings(max_examples=60, deadline=None)
@given(st.floats(150.0, 400.0), st.floats(40.0, 148.0), st.floats(-10.0, 45.0))
def test_length_and_offset_for_a_null_are_each_others_inverse(pivot_mm, radius_mm, offset_deg):
    length = float(length_for_null(pivot_mm, radius_mm, offset_deg))
    arm = PivotedArm(pivot_mm, length, offset_deg)
    assert abs(float(tracking_error_deg(arm, radius_mm))) < 1e-8
    again = float(offset_for_null_deg(pivot_mm, radius_mm, length))
    assert again == pytest.approx(offset_deg, abs=1e-8)


@pytest.mark.parametrize("solution", RULES)
@pytest.mark.parametrize("reach", [Reach(longest_mm=150.0), Reach(shortest_mm=290.0)])
def test_an_arm_that_cannot_reach_the_inner_groove_is_refused_in_a_sentence(solution, reach):
    with pytest.raises(ValueError, match=r"can't reach the groove at 60\.325 mm"):
        best_for(D, GROOVES_1958, solution, reach)


@pytest.mark.parametrize(
    "ends",
    [(240.0, 230.0), (math.nan, 230.0), (230.0, 240.0, 25.0, 20.0), (230.0, 240.0, math.nan, 20.0)],
)
def test_a_reach_with_its_ends_swapped_is_refused(ends):
    with pytest.raises(ValueError, match="lies above"):
        Reach(*ends)


@pytest.mark.parametrize("seed", range(30))
def test_stevenson_loses_its_inner_null_only_where_nothing_within_reach_has_one(seed):
    rng = np.random.default_rng(seed)
    ideal = solve(Solution.STEVENSON, D, GROOVES_1958)
    low_mm, high_mm = np.sort(ideal.effective_length_mm + rng.uniform(-4.0, 4.0, 2)).tolist()
    low_deg, high_deg = np.sort(ideal.offset_deg + rng.uniform(-4.0, 4.0, 2)).tolist()
    best = best_for(D, GROOVES_1958, Solution.STEVENSON, Reach(low_mm, high_mm, low_deg, high_deg))
    # the error rises with length and falls with offset, so two corners bound it
    least, most = (
        float(tracking_error_deg(PivotedArm(D, length, offset), GROOVES_1958.inner_mm))
        for length, offset in ((low_mm, high_deg), (high_mm, low_deg))
    )
    found = float(tracking_error_deg(best.arm, GROOVES_1958.inner_mm))
    assert found == pytest.approx(min(max(0.0, least), most), abs=1e-8)
