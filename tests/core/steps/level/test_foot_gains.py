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
from core.steps.level import learned_gains, slope_changes

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
    rows = slope_changes(fits, moves, FEET)
    learned = learned_gains(fits, moves, FEET)
    if not rows[0]:
        assert learned == (1.0, 1.0, 1.0)
        return
    assert any(
        learned == pytest.approx(np.copysign(np.maximum(np.abs(best), 0.3), best), abs=1e-6)
        for best in likeliest(*(np.array(row) for row in rows))
    )


def test_a_left_hand_thread_is_found_out() -> None:
    moves = [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)]
    assert learned_gains(after([1.0, -1.0, 1.0], moves), moves, FEET) == pytest.approx(
        (1.0, -1.0, 1.0), abs=0.05
    )
