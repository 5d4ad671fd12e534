"""Alignment against figures worked out for this project, each twice: by closed form and by a
brute-force optimiser, before the code was written. Nobody printed them; all derived.
"""

import math

import pytest

from core.physics.alignment_fit import AngleReading, fit_arm
from core.physics.alignment_solutions import (
    Solution,
    arm_for_nulls,
    free_least_squares_nulls,
    lofgren_a_nulls,
    lofgren_b_nulls,
    solve,
    stevenson_nulls,
)
from core.physics.arm_geometry import (
    error_and_slopes_deg,
    null_radii_mm,
)
from core.physics.groove_radii import GROOVES_1958, GROOVES_1981
from core.physics.tracking_distortion import worst_tracking


# Derived: computed twice, closed form and brute-force minimisation. The first row's minimax,
# Löfgren B and Stevenson figures are also the ones in common use (memory: 66.0/120.9, 70.3/116.6,
# 60.3/117.4).
@pytest.mark.parametrize(
    ("grooves", "rule", "inner_mm", "outer_mm"),
    [
        (GROOVES_1958, lofgren_a_nulls, 65.998, 120.891),
        (GROOVES_1958, lofgren_b_nulls, 70.285, 116.604),
        (GROOVES_1958, stevenson_nulls, 60.325, 117.421),
        (GROOVES_1958, free_least_squares_nulls, 70.164, 116.193),
        (GROOVES_1981, lofgren_a_nulls, 63.103, 119.173),
        (GROOVES_1981, lofgren_b_nulls, 67.414, 114.862),
        (GROOVES_1981, stevenson_nulls, 57.500, 115.526),
        (GROOVES_1981, free_least_squares_nulls, 67.305, 114.470),
    ],
)
def test_null_radii_of_the_solutions(grooves, rule, inner_mm, outer_mm):
    nulls = rule(grooves)
    assert (nulls.inner_mm, nulls.outer_mm) == pytest.approx((inner_mm, outer_mm), abs=5.1e-4)


# Derived twice; 60.325-146.05 mm, 33 1/3 rpm, 100 mm/s peak.
@pytest.mark.parametrize(
    ("pivot_mm", "solution", "length_mm", "overhang_mm", "offset_deg", "worst_percent"),
    [
        (212.0, Solution.LOFGREN_A, 230.049, 18.049, 23.966, 0.648),
        (220.0, Solution.LOFGREN_A, 237.442, 17.442, 23.175, 0.624),
        (222.0, Solution.LOFGREN_A, 239.296, 17.296, 22.986, 0.618),
        (212.0, Solution.STEVENSON, 228.095, 16.095, 22.932, 0.792),
        (220.0, Solution.STEVENSON, 235.549, 15.549, 22.167, 0.762),
        (222.0, Solution.STEVENSON, 237.418, 15.418, 21.983, 0.755),
    ],
)
def test_arms_worked_out_for_this_project(
    pivot_mm, solution, length_mm, overhang_mm, offset_deg, worst_percent
):
    arm = solve(solution, pivot_mm, GROOVES_1958)
    assert arm.effective_length_mm == pytest.approx(length_mm, abs=5.1e-4)
    assert arm.overhang_mm == pytest.approx(overhang_mm, abs=5.1e-4)
    assert arm.offset_deg == pytest.approx(offset_deg, abs=5.1e-4)
    worst = worst_tracking(arm, GROOVES_1958)
    assert worst.distortion_percent == pytest.approx(worst_percent, abs=5.1e-4)


def test_minimax_at_222_mm_in_full():
    # derived twice
    arm = solve(Solution.LOFGREN_A, 222.0, GROOVES_1958)
    assert arm.linear_offset_mm == pytest.approx(93.445, abs=5.1e-4)
    assert abs(worst_tracking(arm, GROOVES_1958).error_deg) == pytest.approx(1.806, abs=5.1e-4)


def test_lofgren_b_at_222_mm():
    # derived twice
    arm = solve(Solution.LOFGREN_B, 222.0, GROOVES_1958)
    assert arm.effective_length_mm == pytest.approx(239.749, abs=5.1e-4)
    assert arm.overhang_mm == pytest.approx(17.749, abs=5.1e-4)
    assert arm.offset_deg == pytest.approx(22.940, abs=5.1e-4)


def test_exact_minimax_at_222_mm():
    # derived: brute-force minimisation of the worst |e / r|
    arm = solve(Solution.EXACT_MINIMAX, 222.0, GROOVES_1958)
    assert null_radii_mm(arm) == pytest.approx((65.976, 121.036), abs=5.1e-4)
    assert arm.overhang_mm == pytest.approx(17.3105, abs=5.1e-5)
    assert arm.offset_deg == pytest.approx(23.0000, abs=5.1e-5)


def test_exact_least_squares_at_222_mm():
    # The integral of (e / r) squared over the grooves, not a mean over sampled radii.
    arm = solve(Solution.EXACT_LEAST_SQUARES, 222.0, GROOVES_1958)
    assert null_radii_mm(arm) == pytest.approx((70.1512, 116.2423), abs=5.1e-4)
    assert arm.overhang_mm == pytest.approx(17.6634, abs=1e-4)
    assert arm.offset_deg == pytest.approx(22.8839, abs=1e-4)


@pytest.mark.parametrize(("radius_mm", "deg_per_mm"), [(66.0, 0.84), (121.0, 0.41)])
def test_what_a_millimetre_of_length_does_to_the_head_angle(radius_mm, deg_per_mm):
    # derived; D = 222 mm
    arm = solve(Solution.LOFGREN_A, 222.0, GROOVES_1958)
    slope = error_and_slopes_deg(arm, radius_mm)[1]
    assert slope == pytest.approx(deg_per_mm, abs=0.005)


def test_angles_alone_fix_the_length_to_a_millimetre_or_so():
    # practice: a head angle is read to a third of a degree or so
    fit = fit_arm(222.0, 0.0, [AngleReading(66.0, 0.0, 0.33), AngleReading(121.0, 0.0, 0.33)])
    assert 0.7 < math.sqrt(fit.covariance[0][0]) < 1.5
    # derived from the two rounded slopes above
    by_hand = math.sqrt(2.0) * 0.33 / (0.84 - 0.41)
    assert math.sqrt(fit.covariance[0][0]) == pytest.approx(by_hand, rel=0.02)


def test_own_nulls_become_the_null_radii():
    # derived: r1 r2 = L^2 - D^2 and r1 + r2 = 2 L sin b
    nulls = lofgren_a_nulls(GROOVES_1958)
    arm = arm_for_nulls(222.0, nulls)
    assert null_radii_mm(arm) == pytest.approx((nulls.inner_mm, nulls.outer_mm), abs=1e-10)
    assert arm.null_product_mm2 == pytest.approx(65.99804637 * 120.8914757, rel=1e-9)
