"""Every fit gets a random truth, simulated readings with error, and must find the truth again."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.estimation import Estimate
from core.physics.alignment_fit import (
    AngleReading,
    ArmFit,
    KnownOffset,
    LandingReading,
    NoFit,
    arm_from_two_angles,
    fit_arm,
    landing_beyond_mm,
)
from core.physics.alignment_move import ParallelFit, StylusOffsetReading, fit_parallel_arm, move_to
from core.physics.alignment_solutions import Solution, solve
from core.physics.arm_geometry import (
    ParallelArm,
    PivotedArm,
    error_and_slopes_deg,
    tracking_error_deg,
)
from core.physics.groove_radii import GROOVES_1958
from tests.truth import TruthComesBack, held_by

NULLS_MM = (65.998, 120.891)
TARGET = solve(Solution.LOFGREN_A, 222.0, GROOVES_1958)

near_arms = st.builds(
    lambda pivot, overhang, offset: PivotedArm(pivot, pivot + overhang, offset),
    st.floats(180.0, 320.0),
    st.floats(-25.0, 25.0),
    st.floats(-2.0, 30.0),
)


def angle(arm, radius_mm, u_deg=0.3, off_deg=0.0):
    return AngleReading(radius_mm, float(tracking_error_deg(arm, radius_mm)) + off_deg, u_deg)


def disagree(fit):
    """Whether some reading stands off by more than chance gives once in a hundred times."""
    return any(abs(z) > 2.6 for z in fit.standardised_residuals)


def length_u_mm(fit):
    return math.sqrt(fit.covariance[0][0])


def offset_u_deg(fit):
    return None if fit.offset_deg is None else math.sqrt(fit.covariance[1][1])


def landing(arm, radius_mm=95.0, u_mm=0.3, off_mm=0.0, drawn_for=TARGET):
    beyond, _, _ = landing_beyond_mm(
        drawn_for, radius_mm, arm.pivot_to_spindle_mm, arm.effective_length_mm
    )
    return LandingReading(beyond + off_mm, u_mm, radius_mm, drawn_for)


@settings(max_examples=60, deadline=None)
@given(near_arms, st.floats(55.0, 80.0), st.floats(100.0, 145.0))
def test_two_angles_give_back_the_arm(arm, inner, outer):
    found = arm_from_two_angles(arm.pivot_to_spindle_mm, angle(arm, inner), angle(arm, outer))
    assert found.effective_length_mm == pytest.approx(arm.effective_length_mm, abs=1e-8)
    assert found.offset_deg == pytest.approx(arm.offset_deg, abs=1e-8)


@settings(max_examples=40, deadline=None)
@given(near_arms, st.permutations([60.0, 75.0, 100.0, 120.0, 140.0]), st.booleans())
def test_perfect_readings_give_back_the_arm_however_many(arm, radii, with_landing):
    fit = fit_arm(
        arm.pivot_to_spindle_mm,
        0.5,
        [angle(arm, r) for r in radii],
        [landing(arm)] if with_landing else [],
    )
    assert fit.effective_length_mm == pytest.approx(arm.effective_length_mm, abs=1e-6)
    assert fit.offset_deg == pytest.approx(arm.offset_deg, abs=1e-6)
    assert not disagree(fit)


def test_the_fit_of_two_angles_is_the_exact_one():
    readings = (AngleReading(66.0, 1.3, 0.3), AngleReading(121.0, -0.4, 0.2))
    exact = arm_from_two_angles(222.0, *readings)
    fit = fit_arm(222.0, 0.7, readings)
    assert fit.effective_length_mm == pytest.approx(exact.effective_length_mm, abs=1e-9)
    assert fit.offset_deg == pytest.approx(exact.offset_deg, abs=1e-9)
    assert fit.standardised_residuals == (0.0, 0.0)


def test_landing_is_length_less_drawn_length_when_the_pivot_is_where_it_was_drawn():
    for radius_mm in (20.0, 66.0, 121.0):
        beyond, by_length, _ = landing_beyond_mm(TARGET, radius_mm, 222.0, 241.0)
        assert beyond == pytest.approx(241.0 - TARGET.effective_length_mm, abs=1e-9)
        assert by_length == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("pivot_mm", "length_mm"), [(222.0, 239.0), (223.5, 241.0), (219.0, 238.0)]
)
def test_landing_slopes_are_those_of_the_landing(pivot_mm, length_mm):
    step = 1e-4
    _, by_length, by_pivot = landing_beyond_mm(TARGET, 90.0, pivot_mm, length_mm)
    up = landing_beyond_mm(TARGET, 90.0, pivot_mm, length_mm + step)[0]
    down = landing_beyond_mm(TARGET, 90.0, pivot_mm, length_mm - step)[0]
    assert by_length == pytest.approx((up - down) / (2.0 * step), rel=1e-7)
    up = landing_beyond_mm(TARGET, 90.0, pivot_mm + step, length_mm)[0]
    down = landing_beyond_mm(TARGET, 90.0, pivot_mm - step, length_mm)[0]
    assert by_pivot == pytest.approx((up - down) / (2.0 * step), rel=1e-7)


def test_a_stylus_1_5_mm_beyond_the_mark_is_slid_back_1_5_mm():
    # practice: landing 1 to 1.5 mm off is a slide of as much
    fit = fit_arm(222.0, 0.0, [], [LandingReading(1.5, 0.3, 90.0, TARGET)])
    move = move_to(TARGET, fit)
    assert move.slide_mm == pytest.approx(-1.5, abs=1e-9)
    assert move.slide_u_mm == pytest.approx(0.3, abs=1e-9)
    assert move.twist_deg is None
    assert move.twist_u_deg is None
    assert fit.offset_deg is None
    assert offset_u_deg(fit) is None
    assert fit.arm is None


def test_a_head_that_stands_turned_out_at_both_nulls_is_turned_in():
    out = PivotedArm(222.0, TARGET.effective_length_mm, TARGET.offset_deg - 1.2)
    readings = [angle(out, r) for r in NULLS_MM]
    assert [r.error_deg for r in readings] == pytest.approx([1.2, 1.2], abs=1e-3)
    move = move_to(TARGET, fit_arm(222.0, 0.0, readings))
    assert move.twist_deg == pytest.approx(1.2, abs=1e-3)
    assert move.slide_mm == pytest.approx(0.0, abs=1e-2)


def test_a_wrong_pivot_distance_hardly_spoils_a_slide_found_by_landing():
    sure = move_to(TARGET, fit_arm(222.0, 0.0, [], [landing(TARGET)]))
    unsure = move_to(TARGET, fit_arm(222.0, 2.0, [], [landing(TARGET)]))
    assert unsure.slide_u_mm < sure.slide_u_mm * 1.1
    assert length_u_mm(fit_arm(222.0, 2.0, [], [landing(TARGET)])) > 1.8


def test_an_unsure_pivot_distance_leaves_the_twist_as_open_as_the_target_moves_with_it():
    fit = fit_arm(222.0, 5.0, [], [landing(TARGET)], KnownOffset(22.0))
    per_mm = TARGET.moved_to_pivot(222.5).offset_deg - TARGET.moved_to_pivot(221.5).offset_deg
    assert move_to(TARGET, fit).twist_u_deg == pytest.approx(5.0 * abs(per_mm), rel=1e-4)


@pytest.mark.parametrize("pivot_u_mm", [0.5, 4.0])
def test_slide_and_twist_are_as_open_as_draws_of_the_arm_leave_them(pivot_u_mm):
    """Reference: 400,000 arms drawn from what the readings leave open, each with its own target.

    Its length and angle follow from its null radii (published): r1 r2 = L^2 - D^2 and
    r1 + r2 = 2 L sin b. Length, angle and distance are not drawn one by one: they go together.
    """
    arm = PivotedArm(222.0, 237.0, 25.0)
    fit = fit_arm(222.0, pivot_u_mm, [angle(arm, r, u_deg=0.1) for r in NULLS_MM])
    middle = [fit.effective_length_mm, fit.offset_deg, fit.pivot_to_spindle_mm]
    drawn = np.random.default_rng(6).multivariate_normal(middle, fit.covariance, 400_000)
    length, offset, pivot = drawn.T
    wanted = np.sqrt(pivot**2 + NULLS_MM[0] * NULLS_MM[1])
    turned = np.degrees(np.arcsin(sum(NULLS_MM) / (2.0 * wanted)))
    move = move_to(TARGET, fit)
    assert move.slide_u_mm == pytest.approx(np.std(wanted - length), rel=0.01)
    assert move.twist_u_deg == pytest.approx(np.std(turned - offset), rel=0.01)


def test_after_the_move_the_error_at_both_nulls_is_gone():
    arm = PivotedArm(222.0, 237.0, 25.0)
    move = move_to(TARGET, fit_arm(222.0, 0.5, [angle(arm, r) for r in NULLS_MM]))
    moved = PivotedArm(222.0, 237.0 + move.slide_mm, 25.0 + move.twist_deg)
    np.testing.assert_allclose(tracking_error_deg(moved, NULLS_MM), 0.0, atol=1e-3)


def test_angles_alone_leave_the_length_as_open_as_their_difference_does():
    fit = fit_arm(222.0, 0.0, [angle(TARGET, r, u_deg=0.3) for r in NULLS_MM])
    # A common turn of the head looks the same at both radii: sqrt(2) u / (difference of de/dL).
    inner, outer = (error_and_slopes_deg(TARGET, radius)[1] for radius in NULLS_MM)
    assert length_u_mm(fit) == pytest.approx(math.sqrt(2.0) * 0.3 / abs(inner - outer), rel=1e-6)


@pytest.mark.parametrize(
    ("angles", "landings", "known", "reason"),
    [
        ([], [], None, NoFit.TOO_FEW),
        ([AngleReading(66.0, 1.0, 0.3)], [], None, NoFit.TOO_FEW),
        ([AngleReading(66.0, 1.0, 0.3), AngleReading(66.0, 1.2, 0.3)], [], None, NoFit.TOO_FEW),
        ([], [], KnownOffset(23.0), NoFit.TOO_FEW),
        ([AngleReading(66.0, 1.0, 0.3), AngleReading(67.0, 1.0, 0.3)], [], None, NoFit.TOO_COARSE),
        ([AngleReading(250.0, -89.0, 0.3), AngleReading(300.0, 89.0, 0.3)], [], None, NoFit.NO_ARM),
        ([AngleReading(240.0, -23.0, 0.3)], [], KnownOffset(23.0), NoFit.NO_ARM),
        ([], [LandingReading(-300.0, 0.3, 90.0, TARGET)], None, NoFit.NO_ARM),
        (
            [AngleReading(66.0, 1.0, 0.3)],
            [LandingReading(90.0, 0.3, 90.0, TARGET)],
            None,
            NoFit.NO_ARM,
        ),
    ],
)
def test_readings_that_cannot_answer_say_what_is_missing(angles, landings, known, reason):
    assert fit_arm(222.0, 0.5, angles, landings, known) is reason


def test_one_angle_and_a_landing_are_enough():
    arm = PivotedArm(222.0, 240.5, 21.5)
    fit = fit_arm(222.0, 0.5, [angle(arm, 66.0)], [landing(arm)])
    assert fit.effective_length_mm == pytest.approx(240.5, abs=1e-8)
    assert fit.offset_deg == pytest.approx(21.5, abs=1e-8)


def test_one_angle_is_enough_on_a_straight_arm():
    arm = PivotedArm(222.0, 205.0, 0.0)
    fit = fit_arm(222.0, 0.5, [angle(arm, 90.0)], known_offset=KnownOffset(0.0))
    assert fit.effective_length_mm == pytest.approx(205.0, abs=1e-8)
    assert fit.offset_deg == 0.0
    assert offset_u_deg(fit) == 0.0


def test_a_landing_and_a_makers_offset_carry_both_uncertainties():
    fit = fit_arm(222.0, 0.0, [], [landing(TARGET)], KnownOffset(23.0, 0.5))
    assert (length_u_mm(fit), offset_u_deg(fit)) == pytest.approx((0.3, 0.5))


def test_a_slip_in_one_reading_is_noticed():
    good = [angle(TARGET, r, off_deg=o) for r, o in zip(NULLS_MM, (0.2, -0.1), strict=True)]
    assert not disagree(fit_arm(222.0, 0.5, good, [landing(TARGET, off_mm=0.2)]))
    assert disagree(fit_arm(222.0, 0.5, good, [landing(TARGET, off_mm=10.0)]))


@pytest.mark.parametrize(
    ("pivot_mm", "u_mm"), [(0.0, 0.5), (-1.0, 0.5), (math.nan, 0.5), (222.0, -0.1)]
)
def test_an_impossible_pivot_distance_is_refused(pivot_mm, u_mm):
    with pytest.raises(ValueError, match="above 0 mm"):
        fit_arm(pivot_mm, u_mm)


@pytest.mark.parametrize(
    "bad",
    [
        (0.0, 1.0, 0.3),
        (66.0, math.nan, 0.3),
        (66.0, 90.0, 0.3),
        (66.0, 1.0, 0.0),
        (66.0, 1.0, math.inf),
    ],
)
def test_impossible_angle_readings_are_refused(bad):
    with pytest.raises(ValueError, match="head angle needs"):
        AngleReading(*bad)


@pytest.mark.parametrize("bad", [(math.nan, 0.3, 90.0), (1.0, 0.0, 90.0), (1.0, 0.3, 0.0)])
def test_impossible_landing_readings_are_refused(bad):
    with pytest.raises(ValueError, match="landing error needs"):
        LandingReading(*bad, TARGET)


def within(truth, estimate, u):
    return held_by(truth, Estimate(estimate, u))


class PivotedTruth(TruthComesBack):
    """An arm somewhere near its target, read with honest errors of 0.3 deg, 0.3 mm and 0.5 mm."""

    radii_mm = NULLS_MM
    lands = False
    offset_known = False

    def fit(self, rng):
        arm = PivotedArm(
            222.0 + rng.normal(0.0, 0.5),
            TARGET.effective_length_mm + rng.uniform(-3.0, 3.0),
            TARGET.offset_deg + rng.uniform(-3.0, 3.0),
        )
        angles = [angle(arm, r, off_deg=rng.normal(0.0, 0.3)) for r in self.radii_mm]
        lands = [landing(arm, off_mm=rng.normal(0.0, 0.3))] if self.lands else []
        known = KnownOffset(arm.offset_deg + rng.normal(0.0, 0.4), 0.4)
        return arm, fit_arm(222.0, 0.5, angles, lands, known if self.offset_known else None)

    def attempt(self, rng):
        arm, fit = self.fit(rng)
        assert isinstance(fit, ArmFit)
        move, wanted = move_to(TARGET, fit), TARGET.moved_to_pivot(arm.pivot_to_spindle_mm)
        slide_mm = wanted.effective_length_mm - arm.effective_length_mm
        held = {
            "length": within(arm.effective_length_mm, fit.effective_length_mm, length_u_mm(fit)),
            "slide": within(slide_mm, move.slide_mm, move.slide_u_mm),
        }
        if fit.arm is not None:
            twist_deg = wanted.offset_deg - arm.offset_deg
            held["offset"] = within(arm.offset_deg, fit.offset_deg, offset_u_deg(fit))
            held["twist"] = within(twist_deg, move.twist_deg, move.twist_u_deg)
        return held


class TestTwoAngles(PivotedTruth):
    pass


class TestThreeAngles(PivotedTruth):
    radii_mm = (62.0, 100.0, 140.0)


class TestTwoAnglesAndLanding(PivotedTruth):
    lands = True

    def test_the_alarm_for_a_slip_stays_quiet_when_nothing_is_wrong(self):
        fits = [self.fit(np.random.default_rng([5, k]))[1] for k in range(1000)]
        # one redundancy, so all three readings cry together: about 1 in 100
        assert 0 < sum(map(disagree, fits)) <= 22


class TestLandingAlone(PivotedTruth):
    radii_mm = ()
    lands = True


class TestOneAngleAndAKnownOffset(PivotedTruth):
    radii_mm = (66.0,)
    offset_known = True


class TestParallelArm(TruthComesBack):
    def attempt(self, rng):
        arm = ParallelArm(rng.uniform(-4.0, 4.0), rng.uniform(-3.0, 3.0))
        angles = [angle(arm, r, off_deg=rng.normal(0.0, 0.3)) for r in (62.0, 100.0, 140.0)]
        ruler = StylusOffsetReading(arm.stylus_offset_mm + rng.normal(0.0, 0.5), 0.5)
        fit = fit_parallel_arm(angles, [ruler])
        assert isinstance(fit, ParallelFit)
        x_mm, b_deg = fit.arm.stylus_offset_mm, fit.arm.head_angle_deg
        return {
            "stylus offset": within(arm.stylus_offset_mm, x_mm, fit.stylus_offset_u_mm),
            "head angle": within(arm.head_angle_deg, b_deg, fit.head_angle_u_deg),
        }


@settings(max_examples=40, deadline=None)
@given(st.floats(-8.0, 8.0), st.floats(-6.0, 6.0))
def test_two_angles_give_back_a_parallel_arm(x_mm, b_deg):
    arm = ParallelArm(x_mm, b_deg)
    fit = fit_parallel_arm([angle(arm, 62.0), angle(arm, 140.0)])
    assert fit.arm.stylus_offset_mm == pytest.approx(x_mm, abs=1e-8)
    assert fit.arm.head_angle_deg == pytest.approx(b_deg, abs=1e-8)
    # the closed form for two angles
    e1, e2 = (math.radians(float(tracking_error_deg(arm, r))) for r in (62.0, 140.0))
    tan_b = (140.0 * math.sin(e2) - 62.0 * math.sin(e1)) / (
        62.0 * math.cos(e1) - 140.0 * math.cos(e2)
    )
    assert fit.arm.head_angle_deg == pytest.approx(math.degrees(math.atan(tan_b)), abs=1e-8)


def test_one_angle_and_a_ruler_are_enough_on_a_parallel_arm():
    arm = ParallelArm(1.5, -0.8)
    fit = fit_parallel_arm([angle(arm, 70.0)], [StylusOffsetReading(1.5, 0.4)])
    assert fit.arm.stylus_offset_mm == pytest.approx(1.5)
    assert fit.arm.head_angle_deg == pytest.approx(-0.8)
    assert fit.stylus_offset_u_mm == pytest.approx(0.4)


@pytest.mark.parametrize(
    ("angles", "reason"),
    [
        ([], NoFit.TOO_FEW),
        ([AngleReading(66.0, 1.0, 0.3)], NoFit.TOO_FEW),
        ([AngleReading(66.0, 1.0, 0.3), AngleReading(66.0, 2.0, 0.3)], NoFit.TOO_FEW),
        ([AngleReading(66.0, 80.0, 0.3), AngleReading(70.0, -80.0, 0.3)], NoFit.NO_ARM),
    ],
)
def test_parallel_readings_that_cannot_answer_say_so(angles, reason):
    assert fit_parallel_arm(angles) is reason


@pytest.mark.parametrize("bad", [(math.nan, 0.3), (1.0, 0.0), (1.0, -1.0)])
def test_impossible_stylus_offsets_are_refused(bad):
    with pytest.raises(ValueError, match="stylus offset needs"):
        StylusOffsetReading(*bad)
