"""The chance that an alignment is right is the share of a cloud that passes the rule as written."""

from __future__ import annotations

import cmath
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from core.estimation import Decision
from core.fitting import Reading
from core.physics.arm_geometry import Floats, PivotedArm
from core.physics.tracking_distortion import distortion_percent
from core.records import Deck
from core.steps import step_named
from core.steps.alignment import (
    AlignmentChoices,
    AlignmentDecider,
    Landing,
    NoTarget,
    ParallelPath,
    aim_of,
    cloud_of,
    where_of,
)
from core.steps.shared import history
from tests.core.steps.alignment.kit import both, context
from tests.examples import deck

PARALLEL: dict[str, Any] = {
    "kind": "parallel tracking",
    "effective_length_mm": 60.0,
    "offset_deg": 0.0,
    "pivot_to_spindle_mm": None,
}


def judge_of(of_deck: Deck, *events: Reading) -> AlignmentDecider:
    entered = context(events, of_deck=of_deck)
    aim = aim_of(
        entered, AlignmentChoices(), history(entered, step_named("alignment").disturbed_by)
    )
    assert not isinstance(aim, NoTarget)
    where = where_of(entered, aim, history(entered, step_named("alignment").disturbed_by))
    tolerances = of_deck.tolerances
    return AlignmentDecider(aim, where, tolerances.landing_mm, tolerances.twist_deg)


def passes(judge: AlignmentDecider, point: Floats) -> bool:
    """Apply both tests of the rule to one length and one angle off, the arm made linear."""
    length, angle = (abs(float(v)) for v in point)
    if length <= judge.length_mm and angle <= judge.angle_deg:
        return True
    error = judge.error + judge.slopes @ (point - judge.off)
    at_nulls = np.abs(error - judge.wanted_error)[:2]
    heard = distortion_percent(np.clip(error, -89.0, 89.0), judge.radius_mm)[2:]
    return bool((at_nulls <= judge.angle_deg).all() and heard.max() <= judge.worst_limit)


def head_errors_deg(pivot_mm: float, length_mm: float, offset_deg: float, radii: Floats) -> Floats:
    """Head to groove by vectors: the stylus is where the arm's circle meets the groove's.

    The spindle is the origin, the pivot lies along x. The head is the arm's own direction turned
    toward the spindle by the offset; a groove runs square to the line from spindle to stylus.
    """
    found = []
    for radius in radii:
        east = (radius**2 - length_mm**2 + pivot_mm**2) / (2.0 * pivot_mm)  # on both circles
        stylus = complex(east, -math.sqrt(radius**2 - east**2))
        arm = (stylus - pivot_mm) / length_mm
        head = arm * cmath.exp(-1j * math.radians(offset_deg))
        groove = stylus / radius * -1j
        found.append(math.degrees(cmath.phase(head / groove)))
    return np.array(found)


def test_the_arm_made_linear_is_the_arm_of_vectors() -> None:
    judge = judge_of(deck(), both(0.8, 0.6, -0.4))
    target = judge.aim.target
    assert isinstance(target, PivotedArm)
    pivot, length, offset = (
        target.pivot_to_spindle_mm,
        target.effective_length_mm,
        target.offset_deg,
    )

    def errors(off_mm: float, off_deg: float) -> Floats:
        return head_errors_deg(pivot, length + off_mm, offset + off_deg, judge.radius_mm)

    mm, deg = (float(value) for value in judge.off)
    sign = np.sign(errors(0.0, 0.0)[-1]) * np.sign(judge.wanted_error[-1])
    assert sign * errors(0.0, 0.0) == pytest.approx(judge.wanted_error, abs=1e-9)
    assert sign * errors(mm, deg) == pytest.approx(judge.error, abs=1e-9)
    longer = sign * (errors(mm + 1e-3, deg) - errors(mm - 1e-3, deg)) / 2e-3
    further_in = sign * (errors(mm, deg + 1e-3) - errors(mm, deg - 1e-3)) / 2e-3
    assert judge.slopes == pytest.approx(np.column_stack((longer, further_in)), abs=1e-5)


small = st.floats(-3.0, 3.0)


@settings(max_examples=40, deadline=None)
@given(landing=small, inner=small, outer=small, spread=st.floats(0.1, 5.0))
@pytest.mark.parametrize("parallel", [False, True])
def test_the_chance_counts_what_passes_either_test(
    *, parallel: bool, landing: float, inner: float, outer: float, spread: float
) -> None:
    if parallel:
        path = ParallelPath(inner_landing_mm=landing, outer_landing_mm=outer, head_deg=inner)
        judge = judge_of(deck(arm=PARALLEL), path)
    else:
        judge = judge_of(deck(), both(landing, inner, outer))
    assume(judge.where.knows_offset and np.isfinite(judge.slopes).all())
    covariance = spread**2 * judge.where.covariance
    plain = [passes(judge, point) for point in cloud_of(judge.off, covariance).T]
    assert judge.chance(judge.off, covariance) == np.mean(plain)


def test_a_landing_alone_is_judged_by_its_length() -> None:
    judge = judge_of(deck(), Landing(landing_mm=0.3))
    assert not judge.where.knows_offset
    points = cloud_of(judge.off, judge.where.covariance)
    right = (np.abs(points.T) <= [judge.length_mm, judge.angle_deg]).all(axis=1)
    assert judge.chance(judge.off, judge.where.covariance) == np.mean(right)


def test_what_is_off_by_less_than_a_hand_slides_is_good_inside_the_tolerance_and_left_outside() -> (
    None
):
    """Nobody slides by 0.07 mm on purpose: surely off by so much is left, if that is not enough.

    Read so finely that the direction is certain (derived: 0.07 mm is 14 times 0.005).
    """
    fine = {"protractor_read_mm": 0.01, "protractor_read_deg": 0.01}
    for wanted_mm, decision in ((0.05, Decision.STEP_TOO_COARSE), (0.075, Decision.GOOD)):
        tolerances = {"landing_mm": wanted_mm, "twist_deg": 0.05}
        of = deck(bench=fine, tolerances=tolerances)
        judge = judge_of(of, both(0.07, 0.059, 0.029))
        assert judge.certain(judge.where.covariance)
        assert judge._wanted(judge.where.covariance).nothing
        assert judge._too_fine() is decision


def by_axes(judge: AlignmentDecider, covariance: Floats) -> bool:
    """Apply the second test anew: the ellipse's axes by the angle they are turned by."""
    (a, c), (_, b) = covariance
    turn = 0.5 * math.atan2(2.0 * c, a - b)
    middle, half = 0.5 * (a + b), math.hypot(0.5 * (a - b), c)
    axes = (
        math.sqrt(middle + half) * np.array([math.cos(turn), math.sin(turn)]),
        math.sqrt(max(middle - half, 0.0)) * np.array([-math.sin(turn), math.cos(turn)]),
    )
    for end in (sign * 1.96 * axis for axis in axes for sign in (1.0, -1.0)):
        error = judge.error + judge.slopes @ end
        groove_mm_per_s = 2.0 * math.pi * judge.radius_mm * (100.0 / 3.0) / 60.0
        percent = 100.0 * 100.0 * np.abs(np.tan(np.radians(error))) / groove_mm_per_s
        if percent[2:].max() > judge.worst_limit:
            return False
    for place in (0, 1):
        # The error's own spread at a null: the farthest that the ellipse reaches along its slope.
        slope = judge.slopes[place]
        reach = 1.96 * math.sqrt(sum((slope @ axis) ** 2 for axis in axes))
        if abs(judge.error[place] - judge.wanted_error[place]) + reach > judge.angle_deg:
            return False
    return True


@settings(max_examples=80, deadline=None)
@given(
    landing=st.floats(-0.6, 0.6),
    inner=st.floats(-0.6, 0.6),
    outer=st.floats(-0.6, 0.6),
    spread=st.floats(0.05, 1.2),
)
def test_the_second_test_looks_at_both_ends_of_both_axes(
    landing: float, inner: float, outer: float, spread: float
) -> None:
    judge = judge_of(deck(), both(landing, inner, outer))
    covariance = spread**2 * judge.where.covariance
    assert judge.by_effect(covariance) is by_axes(judge, covariance)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_either_side_alone_can_spoil_the_second_test(sign: float) -> None:
    """Just inside, then an ellipse along the length that passes the limit on one side only."""
    judge = judge_of(deck(), both(sign * 0.3, 0.0, 0.0))
    seen = set()
    for size in np.linspace(0.001, 0.6, 60):
        covariance = np.diag([float(size) ** 2, 1e-8])
        seen.add(judge.by_effect(covariance))
        assert judge.by_effect(covariance) is by_axes(judge, covariance)
    assert seen == {True, False}


@pytest.mark.parametrize(
    ("length", "angle", "length_u", "angle_u", "right"),
    [
        (0.3, 0.2, 0.05, 0.05, True),  # 0.3 + 0.098 of 0.5, 0.2 + 0.098 of 0.5
        (0.3, 0.2, 0.12, 0.05, False),  # 0.3 + 0.235
        (0.3, 0.2, 0.05, 0.17, False),  # 0.2 + 0.333
        (-0.3, -0.2, 0.05, 0.05, True),
        (-0.45, 0.0, 0.05, 0.05, False),
    ],
)
def test_the_first_test_holds_each_interval_to_its_tolerance(
    length: float, angle: float, length_u: float, angle_u: float, right: bool
) -> None:
    judge = judge_of(deck(), both(0.1, 0.1, 0.1))
    judge.length_mm, judge.angle_deg = 0.5, 0.5
    judge.off = np.array([length, angle])
    assert judge.by_numbers(np.diag([length_u**2, angle_u**2])) is right
