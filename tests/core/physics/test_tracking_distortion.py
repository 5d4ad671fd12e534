import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from core.physics.arm_geometry import ParallelArm, PivotedArm, tracking_error_deg
from core.physics.groove_radii import GROOVES_1958, GrooveRadii
from core.physics.tracking_distortion import (
    _scalar_slope_sign,
    distortion_percent,
    error_for_distortion_deg,
    find_root,
    weighed_extremes_per_mm,
    worst_tracking,
)
from tests.outside.test_alignment_reference import errors_by_vectors


def test_distortion_grows_with_velocity_and_falls_with_speed_and_radius():
    base = float(distortion_percent(1.0, 100.0))
    assert float(distortion_percent(1.0, 100.0, peak_velocity_mm_per_s=200.0)) == (
        pytest.approx(2.0 * base)
    )
    assert float(distortion_percent(1.0, 100.0, rpm=45.0)) == pytest.approx(base / 1.35)
    assert float(distortion_percent(1.0, 50.0)) == pytest.approx(2.0 * base)
    assert float(distortion_percent(-1.0, 100.0)) == base


@pytest.mark.parametrize(
    ("rpm", "velocity"), [(0.0, 100.0), (-1.0, 100.0), (33.0, -1.0), (math.nan, 1.0)]
)
def test_distortion_without_a_turning_disc_is_refused(rpm, velocity):
    with pytest.raises(ValueError, match="above 0 rpm"):
        distortion_percent(1.0, 100.0, rpm=rpm, peak_velocity_mm_per_s=velocity)


@given(st.floats(1e-3, 500.0), st.floats(50.0, 150.0))
def test_the_error_for_a_distortion_has_that_distortion(percent, radius):
    error = float(error_for_distortion_deg(percent, radius))
    assert 0.0 < error < 90.0
    assert float(distortion_percent(error, radius)) == pytest.approx(percent, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(
    st.floats(180.0, 350.0),
    st.floats(-20.0, 30.0),
    st.floats(0.0, 30.0),
    st.floats(52.0, 70.0),
    st.floats(100.0, 150.0),
    st.sampled_from(["angle", "tangent"]),
)
def test_extremes_bound_every_groove(pivot_mm, overhang_mm, offset_deg, inner, outer, weighing):
    arm = PivotedArm(pivot_mm, pivot_mm + overhang_mm, offset_deg)
    radius = np.linspace(inner, outer, 5001)
    error = np.radians(tracking_error_deg(arm, radius))
    weighed = (error if weighing == "angle" else np.tan(error)) / radius
    radii, extremes = weighed_extremes_per_mm(arm, GrooveRadii(inner, outer), weighing)
    assert np.all(np.diff(radii) > 0)
    span = np.ptp(weighed)
    assert np.max(extremes) == pytest.approx(np.max(weighed), abs=1e-5 * span)
    assert np.min(extremes) == pytest.approx(np.min(weighed), abs=1e-5 * span)
    assert np.max(extremes) >= np.max(weighed) - 1e-15
    assert np.min(extremes) <= np.min(weighed) + 1e-15


def test_worst_error_between_the_nulls_is_found_where_it_stands():
    # a strong offset pushes the worst of the error between the nulls; where, is searched for by
    # scipy on errors drawn by vectors
    arm = PivotedArm(222.0, 239.3, 24.5)
    worst = worst_tracking(arm, GROOVES_1958)
    drawn = minimize_scalar(
        lambda radius: errors_by_vectors(222.0, 239.3, 24.5, radius),
        bounds=(GROOVES_1958.inner_mm, GROOVES_1958.outer_mm),
        method="bounded",
    )
    assert worst.error_radius_mm == pytest.approx(drawn.x, abs=0.01)
    assert worst.error_deg == pytest.approx(math.degrees(drawn.fun), abs=1e-6)
    assert worst.error_deg < 0


def test_worst_of_an_arm_that_misses_some_grooves_is_nan():
    worst = worst_tracking(PivotedArm(150.0, 230.0, 20.0), GROOVES_1958)
    assert math.isnan(worst.error_deg)
    assert math.isnan(worst.distortion_percent)


@pytest.mark.parametrize(
    "arm", [ParallelArm(2.0, 1.0), ParallelArm(-3.0, 0.4), ParallelArm(0.0, 0.5)]
)
def test_worst_of_a_parallel_arm_is_that_of_a_scan(arm):
    radius = np.linspace(GROOVES_1958.inner_mm, GROOVES_1958.outer_mm, 20001)
    error = tracking_error_deg(arm, radius)
    worst = worst_tracking(arm, GROOVES_1958)
    assert abs(worst.error_deg) == pytest.approx(np.max(np.abs(error)), rel=1e-7)
    assert worst.distortion_percent == pytest.approx(
        np.max(distortion_percent(error, radius)), rel=1e-7
    )


def test_a_parallel_arm_set_right_distorts_nothing():
    assert worst_tracking(ParallelArm(), GROOVES_1958).distortion_percent == 0.0


@pytest.mark.parametrize(
    ("function", "low", "high", "root"),
    [
        (lambda x: x**3 - 2.0, 0.0, 2.0, 2.0 ** (1.0 / 3.0)),
        (lambda x: math.exp(-x) - 0.5, -2.0, 9.0, math.log(2.0)),
        (lambda x: x, 0.0, 1.0, 0.0),
        (lambda x: 1.0 - x, 0.0, 1.0, 1.0),
    ],
)
def test_roots_are_found_from_either_side(function, low, high, root):
    assert find_root(function, low, high) == pytest.approx(root, abs=1e-9)
    assert find_root(lambda x: -function(x), low, high) == pytest.approx(root, abs=1e-9)


@pytest.mark.parametrize(
    ("function", "low", "high"),
    [(lambda x: x**3 - 2.0, 0.0, 2.0), (lambda x: math.exp(-x) - 0.5, -2.0, 9.0)],
)
def test_a_root_is_closed_in_on_faster_than_by_halving(function, low, high):
    looks = []

    def looked(x: float) -> float:
        looks.append(x)
        return function(x)

    root = find_root(looked, low, high)
    by_halving = math.log2((high - low) / 1e-10)
    assert len(looks) < by_halving / 2
    looks.clear()
    assert find_root(looked, low, high, ends=(function(low), function(high))) == root
    assert not {low, high} & set(looks)


def test_without_a_change_of_sign_the_nearer_end_is_returned():
    assert find_root(lambda x: x + 1.0, 0.0, 5.0) == 0.0
    assert find_root(lambda x: x - 9.0, 0.0, 5.0) == 5.0


@pytest.mark.parametrize("weighing", ["angle", "tangent"])
def test_where_rounding_carries_the_sine_past_the_end_of_reach_the_slope_stays_a_number(weighing):
    # D = L + r: the arm just reaches this radius, and one way of rounding gives a sine below -1
    assert math.isfinite(_scalar_slope_sign(PivotedArm(305.0, 245.0, 0.0), weighing)(60.0))
