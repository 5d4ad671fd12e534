import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.physics.alignment_solutions import (
    NullRadii,
    Solution,
    arm_for_nulls,
    lofgren_a_nulls,
    solve,
    stevenson_nulls,
)
from core.physics.arm_geometry import null_radii_mm
from core.physics.groove_radii import GROOVES_1958, GrooveRadii
from core.physics.tracking_distortion import weighed_extremes_per_mm

grooves = st.builds(GrooveRadii, st.floats(45.0, 75.0), st.floats(95.0, 150.0))
pivots_mm = st.floats(160.0, 450.0)


@settings(max_examples=60, deadline=None)
@given(pivots_mm, grooves)
def test_exact_minimax_swings_evenly_to_both_sides(pivot_mm, radii):
    arm = solve(Solution.EXACT_MINIMAX, pivot_mm, radii)
    _, weighed = weighed_extremes_per_mm(arm, radii, "angle")
    assert len(weighed) == 3
    assert np.sign(weighed).tolist() == [1.0, -1.0, 1.0]
    np.testing.assert_allclose(np.abs(weighed), np.abs(weighed[0]), rtol=1e-9)


@settings(max_examples=60, deadline=None)
@given(pivots_mm, grooves, st.sampled_from([Solution.EXACT_MINIMAX, Solution.EXACT_LEAST_SQUARES]))
def test_exact_solutions_stay_near_their_small_angle_forms(pivot_mm, radii, solution):
    published = {
        Solution.EXACT_MINIMAX: Solution.LOFGREN_A,
        Solution.EXACT_LEAST_SQUARES: Solution.FREE_LEAST_SQUARES,
    }[solution]
    exact = solve(solution, pivot_mm, radii)
    near = solve(published, pivot_mm, radii)
    assert abs(exact.effective_length_mm - near.effective_length_mm) < 0.3
    assert abs(exact.offset_deg - near.offset_deg) < 0.3


@settings(max_examples=40, deadline=None)
@given(pivots_mm, grooves, st.sampled_from(list(Solution)[:-1]))
def test_every_solution_has_both_nulls_within_the_grooves(pivot_mm, radii, solution):
    nulls = null_radii_mm(solve(solution, pivot_mm, radii))
    assert len(nulls) == 2
    assert radii.inner_mm - 1e-6 <= nulls[0] < nulls[1] < radii.outer_mm


@settings(max_examples=40, deadline=None)
@given(grooves)
def test_stevenson_and_minimax_scale_with_the_record(radii):
    double = GrooveRadii(2.0 * radii.inner_mm, 2.0 * radii.outer_mm)
    for rule in (stevenson_nulls, lofgren_a_nulls):
        assert rule(double).outer_mm == pytest.approx(2.0 * rule(radii).outer_mm)


@settings(max_examples=40, deadline=None)
@given(st.floats(160.0, 450.0), st.floats(50.0, 90.0), st.floats(91.0, 150.0))
def test_own_null_radii_come_back_from_the_arm(pivot_mm, inner, outer):
    arm = solve(Solution.OWN_NULLS, pivot_mm, GROOVES_1958, NullRadii(inner, outer))
    assert null_radii_mm(arm) == pytest.approx((inner, outer), abs=1e-9)


@pytest.mark.parametrize("pivot_mm", [146.05, 100.0, math.nan, math.inf])
@pytest.mark.parametrize("solution", list(Solution)[:-1])
def test_a_pivot_over_the_record_is_refused(solution, pivot_mm):
    with pytest.raises(ValueError, match="further out than the outermost groove"):
        solve(solution, pivot_mm, GROOVES_1958)


def test_a_pivot_within_the_null_radii_is_refused():
    with pytest.raises(ValueError, match="outer null radius"):
        arm_for_nulls(110.0, NullRadii(66.0, 121.0))


def test_own_nulls_without_radii_are_refused():
    with pytest.raises(ValueError, match="needs both radii"):
        solve(Solution.OWN_NULLS, 222.0, GROOVES_1958)


@pytest.mark.parametrize(
    ("inner", "outer"), [(0.0, 120.0), (121.0, 66.0), (66.0, math.inf), (math.nan, 120.0)]
)
def test_impossible_null_radii_are_refused(inner, outer):
    with pytest.raises(ValueError, match="inner null radius"):
        NullRadii(inner, outer)
