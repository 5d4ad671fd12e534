"""What single feet do of what is asked, against the same posterior by another road."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from core.estimation import Estimate
from core.physics.feet import FootTravel, slope_after_lifts
from core.physics.plane import PlaneFit
from core.steps.level import learned_gains

FEET = [FootTravel(-180.0, -140.0), FootTravel(180.0, -140.0), FootTravel(0.0, 150.0)]
U_MM_PER_M = 0.1


def plane(slope: tuple[float, float]) -> PlaneFit:
    gx, gy = (Estimate(value, U_MM_PER_M) for value in slope)
    return PlaneFit(
        gx=gx,
        gy=gy,
        covariance=((U_MM_PER_M**2, 0.0), (0.0, U_MM_PER_M**2)),
        zero_error=Estimate(0.0, 0.0),
        zero_error_solved=True,
        residuals_mm_per_m=(),
        worst=None,
    )


def after(shares: list[float], moves: list[tuple[float, ...]]) -> list[PlaneFit | None]:
    """Level stands before, between and after moves of which each foot makes its share."""
    slope, planes = (0.0, 0.0), [plane((0.0, 0.0))]
    for lifts in moves:
        made = [share * lift for share, lift in zip(shares, lifts, strict=True)]
        slope = slope_after_lifts(slope, made, FEET)
        planes.append(plane(slope))
    return list(planes)


def by_planes(
    shares: list[float], moves: list[tuple[float, ...]]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return what each move should change, what it did, and its spread.

    A foot lifted by so much alone tips the plane through the three: solved for its two slopes.
    """
    through = np.array([(foot.x_mm, foot.y_mm, 1.0) for foot in FEET])
    alone = 1000.0 * np.linalg.solve(through, np.eye(3))[:2]
    rows = [alone[axis] * lifts for lifts in map(np.array, moves) if any(lifts) for axis in (0, 1)]
    table = np.array(rows).reshape(-1, 3)
    read = U_MM_PER_M * np.sqrt(2.0)  # before and after
    hand = 0.08 * np.linalg.norm(table, axis=1)  # 7 degrees on a quarter turn
    return table, table @ np.array(shares), np.hypot(read, hand)


def likeliest(
    table: NDArray[np.float64], found: NDArray[np.float64], sigma: NDArray[np.float64]
) -> list[NDArray[np.float64]]:
    """Posterior by covariance (not by information), one foot turned round at a time, or all.

    More than one where it is a tie: two feet always moved alike can't be told apart.
    """
    costs, gains = [], []
    for turned in (None, [0], [1], [2], [0, 1, 2]):
        signs = np.ones(3)
        if turned is not None:
            signs[turned] = -1.0
        prior = 0.1**2 * np.eye(3) + 0.35**2 * np.outer(signs, signs)
        spread = table @ prior @ table.T + np.diag(sigma**2)
        surprise = found - table @ signs
        weighed = np.linalg.solve(spread, surprise)
        costs.append(surprise @ weighed - 9.0 * (turned is None))
        gains.append(signs + prior @ table.T @ weighed)
    return [gain for gain, cost in zip(gains, costs, strict=True) if cost < min(costs) + 1e-6]


lift = st.one_of(st.just(0.0), st.floats(-3.0, 3.0))
moves_made = st.lists(st.tuples(lift, lift, lift), min_size=1, max_size=4)


@given(
    shares=st.lists(st.sampled_from([-1.0, 0.5, 0.8, 1.0, 1.4]), min_size=3, max_size=3),
    moves=moves_made,
)
def test_shares_are_those_of_the_likeliest_signs(
    shares: list[float], moves: list[tuple[float, ...]]
) -> None:
    fits = after(shares, moves)
    rows = by_planes(shares, moves)
    learned = learned_gains(fits, moves, FEET)
    if not rows[0].size:
        assert learned == (1.0, 1.0, 1.0)
        return
    assert any(
        learned == pytest.approx(np.copysign(np.maximum(np.abs(best), 0.3), best), abs=1e-6)
        for best in likeliest(*rows)
    )


def test_a_left_hand_thread_is_found_out() -> None:
    moves = [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)]
    assert learned_gains(after([1.0, -1.0, 1.0], moves), moves, FEET) == pytest.approx(
        (1.0, -1.0, 1.0), abs=0.05
    )


def test_a_foot_that_made_half_of_what_was_asked_worked_by_hand() -> None:
    """The rear foot alone, 290 mm behind the front ones, is asked to rise by 1 mm.

    That is 1000 / 290 = 3.448 mm/m; 1.724 are read, each reading to 0.1 and the turn to 0.08 of
    itself: a spread squared of 2 x 0.01 + (0.08 x 3.448)^2 = 0.0961. Beforehand a share is 1 to
    within 0.35 in common and 0.1 of its own: 0.1225 + 0.01 = 0.1325 squared. So the reading's own
    spread squared is 3.448^2 x 0.1325 + 0.0961 = 1.671, and 1.724 mm/m too little take
    0.1325 x 3.448 x 1.724 / 1.671 = 0.471 off the rear foot's share and, by what all have in
    common, 0.1225 x 3.448 x 1.724 / 1.671 = 0.436 off the others'.
    """
    moves = [(0.0, 0.0, 1.0)]
    assert learned_gains(after([1.0, 1.0, 0.5], moves), moves, FEET) == pytest.approx(
        (0.564, 0.564, 0.529), abs=1e-3
    )
