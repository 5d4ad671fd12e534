import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.physics.arm_geometry import (
    ParallelArm,
    PivotedArm,
    error_and_slopes_deg,
    null_radii_mm,
    tracking_error_deg,
    tracking_errors_deg,
)
from core.physics.groove_radii import GrooveRadii

ORDINARY = PivotedArm(222.0, 239.296, 22.986)
UNDERHUNG = PivotedArm(222.0, 207.0, 0.0)


def test_error_keeps_the_shape_of_the_radii():
    assert tracking_error_deg(ORDINARY, 100.0).shape == ()
    assert tracking_error_deg(ORDINARY, np.full((2, 3), 100.0)).shape == (2, 3)
    assert tracking_error_deg(ORDINARY, []).shape == (0,)


def test_grooves_out_of_reach_are_nan_and_their_limits_are_not():
    arm = PivotedArm(200.0, 240.0, 20.0)
    error = tracking_error_deg(arm, [39.999, 40.0, 100.0, 440.0, 440.001, 0.0, -100.0])
    assert np.isnan(error).tolist() == [True, False, False, False, True, True, True]


PIVOTED = st.builds(
    PivotedArm, st.floats(20.0, 400.0), st.floats(20.0, 400.0), st.floats(-80.0, 80.0)
)
PARALLEL = st.builds(ParallelArm, st.floats(-80.0, 80.0), st.floats(-80.0, 80.0))
RADIUS = st.one_of(st.just(0.0), st.floats(0.5, 300.0), st.floats(-10.0, -0.5))
RADII = st.lists(RADIUS, max_size=5).map(lambda radii: np.array(radii, dtype=float))


@given(
    st.one_of(
        st.lists(PIVOTED, min_size=1, max_size=5),
        st.lists(st.one_of(PIVOTED, PARALLEL), min_size=1, max_size=5),
    ),
    RADII,
)
def test_several_arms_at_once_err_as_each_does_alone(arms, radius):
    together = tracking_errors_deg(arms, radius)
    assert together.shape == (len(arms), len(radius))
    for arm, errors in zip(arms, together, strict=True):
        np.testing.assert_array_equal(errors, tracking_error_deg(arm, radius))


@given(PIVOTED, RADIUS)
def test_the_error_beside_its_slopes_is_the_error(arm, radius):
    error = error_and_slopes_deg(arm, radius)[0]
    assert error == pytest.approx(float(tracking_error_deg(arm, radius)), abs=1e-12, nan_ok=True)


def test_head_turned_further_in_lowers_the_error_by_as_much():
    turned_in = PivotedArm(222.0, 239.296, 23.986)
    radius = np.linspace(60.0, 146.0, 9)
    np.testing.assert_allclose(
        tracking_error_deg(turned_in, radius), tracking_error_deg(ORDINARY, radius) - 1.0
    )


def test_longer_arm_raises_the_error_everywhere():
    radius = np.linspace(60.0, 146.0, 9)
    longer = PivotedArm(222.0, 240.296, 22.986)
    assert (tracking_error_deg(longer, radius) > tracking_error_deg(ORDINARY, radius)).all()


@pytest.mark.parametrize("arm", [ORDINARY, UNDERHUNG, PivotedArm(300.0, 313.0, 17.0)])
def test_slopes_are_those_of_the_error(arm):
    radius, step = np.linspace(60.0, 146.0, 7), 1e-4
    pivot, length, offset = arm.pivot_to_spindle_mm, arm.effective_length_mm, arm.offset_deg
    by_length = (
        tracking_error_deg(PivotedArm(pivot, length + step, offset), radius)
        - tracking_error_deg(PivotedArm(pivot, length - step, offset), radius)
    ) / (2.0 * step)
    by_pivot = (
        tracking_error_deg(PivotedArm(pivot + step, length, offset), radius)
        - tracking_error_deg(PivotedArm(pivot - step, length, offset), radius)
    ) / (2.0 * step)
    slopes = [error_and_slopes_deg(arm, float(one))[1:] for one in radius]
    np.testing.assert_allclose(slopes, np.column_stack((by_length, by_pivot)), rtol=1e-7)


def test_slopes_at_the_end_of_reach_are_infinite_without_a_warning():
    arm = PivotedArm(200.0, 240.0, 20.0)
    assert np.isinf(error_and_slopes_deg(arm, 40.0)[1:]).all()
    assert np.isnan(error_and_slopes_deg(arm, 30.0)).all()


def test_an_offset_arm_has_two_nulls_an_underhung_one_and_an_overhung_straight_none():
    assert len(null_radii_mm(ORDINARY)) == 2
    # Pivot, stylus and spindle make a right angle there; 222^2 - 207^2 = 15 x 429 = 6435.
    assert null_radii_mm(UNDERHUNG) == pytest.approx((80.218,), abs=5e-4)
    assert null_radii_mm(PivotedArm(222.0, 239.0, 0.0)) == ()
    assert null_radii_mm(PivotedArm(222.0, 245.0, 15.0)) == ()


def test_a_straight_arm_over_the_spindle_has_no_null():
    assert null_radii_mm(PivotedArm(222.0, 222.0, 0.0)) == ()


def test_nulls_close_up_and_vanish_as_overhang_grows():
    meeting = 200.0 / math.cos(math.radians(30.0))
    inner, outer = null_radii_mm(PivotedArm(200.0, meeting - 1e-6, 30.0))
    assert 0 < outer - inner < 0.1
    assert (inner + outer) / 2.0 == pytest.approx(meeting / 2.0, rel=1e-6)
    assert null_radii_mm(PivotedArm(200.0, meeting + 1e-6, 30.0)) == ()


@settings(max_examples=80, deadline=None)
@given(st.floats(150.0, 400.0), st.floats(-35.0, 40.0), st.floats(0.0, 40.0))
def test_error_vanishes_at_the_nulls_and_only_there(pivot_mm, overhang_mm, offset_deg):
    arm = PivotedArm(pivot_mm, pivot_mm + overhang_mm, offset_deg)
    nulls = null_radii_mm(arm)
    assert list(nulls) == sorted(nulls)
    for radius in nulls:
        if radius > 1.0:
            assert abs(float(tracking_error_deg(arm, radius))) < 1e-6
    low = abs(overhang_mm) + 0.1
    scan = tracking_error_deg(arm, np.linspace(low, 260.0, 4001))
    changes = int(np.count_nonzero(np.diff(np.sign(scan)) != 0))
    assert changes <= len([r for r in nulls if low <= r <= 260.0])


def test_the_same_nulls_at_another_pivot_distance():
    moved = ORDINARY.moved_to_pivot(231.0)
    assert moved.pivot_to_spindle_mm == 231.0
    assert null_radii_mm(moved) == pytest.approx(null_radii_mm(ORDINARY), abs=1e-10)


def test_a_parallel_arm_is_a_pivoted_one_with_its_pivot_far_away():
    far = 1e8
    radius = np.linspace(60.0, 146.0, 9)
    np.testing.assert_allclose(
        tracking_error_deg(ParallelArm(2.5, 0.8), radius),
        tracking_error_deg(PivotedArm(far, far + 2.5, 0.8), radius),
        atol=1e-4,
    )


def test_a_parallel_arm_set_right_has_no_error_and_names_no_null():
    arm = ParallelArm()
    assert np.count_nonzero(tracking_error_deg(arm, np.linspace(50.0, 150.0, 11))) == 0
    assert null_radii_mm(arm) == ()


def test_a_parallel_arm_out_of_true_can_have_one_null():
    arm = ParallelArm(2.0, 1.2)
    (radius,) = null_radii_mm(arm)
    assert float(tracking_error_deg(arm, radius)) == pytest.approx(0.0, abs=1e-12)
    assert null_radii_mm(ParallelArm(2.0, -1.2)) == ()
    assert null_radii_mm(ParallelArm(2.0, 0.0)) == ()


def test_a_parallel_arm_cannot_reach_inside_its_miss_distance():
    assert np.isnan(tracking_error_deg(ParallelArm(5.0, 0.0), [4.9, 5.1])).tolist() == [True, False]


@pytest.mark.parametrize(
    ("pivot_mm", "length_mm", "offset_deg", "says"),
    [
        (0.0, 239.0, 23.0, "above 0 mm"),
        (222.0, -1.0, 23.0, "above 0 mm"),
        (math.nan, 239.0, 23.0, "finite"),
        (222.0, math.inf, 23.0, "finite"),
        (222.0, 239.0, 90.0, "not a head on an arm"),
    ],
)
def test_an_impossible_arm_is_refused_in_a_sentence(pivot_mm, length_mm, offset_deg, says):
    with pytest.raises(ValueError, match=says):
        PivotedArm(pivot_mm, length_mm, offset_deg)


@pytest.mark.parametrize(("x_mm", "b_deg"), [(math.nan, 0.0), (0.0, 90.0), (math.inf, 0.0)])
def test_an_impossible_parallel_arm_is_refused(x_mm, b_deg):
    with pytest.raises(ValueError, match=r"finite|not a head"):
        ParallelArm(x_mm, b_deg)


@pytest.mark.parametrize(
    ("inner_mm", "outer_mm"),
    [(146.0, 60.0), (60.0, 60.0), (0.0, 146.0), (60.0, math.inf), (math.nan, 146.0)],
)
def test_impossible_groove_radii_are_refused(inner_mm, outer_mm):
    with pytest.raises(ValueError, match="inner groove"):
        GrooveRadii(inner_mm, outer_mm)
