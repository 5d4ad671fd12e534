"""The gain of each foot, learned from the slopes before and after its turns.

A thread is not always the one that was entered, and a foot with a left-hand thread goes down
instead of up. Each foot's share of the ordered lift is fitted to the slopes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from core.estimation import Estimate
from core.physics.feet import FootTravel, slope_after_lifts, slope_per_lift
from core.physics.plane import PlaneFit

Floats = NDArray[np.float64]

COMMON_SPREAD: Final = 0.35
"""Relative error of the entered thread, common to all feet: our allowance."""

_OWN_SPREAD: Final = 0.1
"""Relative difference between single feet."""

_BACKWARD_AFTER: Final = 3.0
"""Standard deviations beyond which a foot is taken to run the other way."""

_SURER: Final = 4.0
"""So much lower must the cost of one foot that went the other way be than that of any other
explanation: two standard deviations, our own."""

_MADE_TO: Final = 0.08
_LEAST_GAIN: Final = 0.3


def learned_gains(
    fits: Sequence[PlaneFit | None],
    lifts_mm: Sequence[tuple[float, ...] | None],
    feet: Sequence[FootTravel],
) -> tuple[float, ...]:
    """Return each foot's real share of an ordered lift; 1 if nothing is known.

    ``fits`` are the planes between the moves, None where none is known; ``lifts_mm`` is what was
    asked of the feet in each move, one fewer.

    The slopes change by the plane through the real lifts, which is linear in the shares. They are
    fitted by least squares with a prior: all threads alike and near the one entered. If one
    reversed foot, or all reversed, explains the slopes far better, that is assumed.
    """
    rows, right, sigma = slope_changes(fits, lifts_mm, feet)
    if not rows:
        return (1.0,) * len(feet)
    gains, cost = _fitted(np.array(rows), np.array(right), np.array(sigma), _signs(len(feet)))
    cost[0] -= _BACKWARD_AFTER**2
    best: list[float] = gains[int(np.argmin(cost))].tolist()
    return tuple(math.copysign(max(abs(gain), _LEAST_GAIN), gain) if gain else 1.0 for gain in best)


def _signs(count: int) -> Floats:
    """Return the signs of all feet as entered, with each reversed in turn, and all reversed."""
    turned = 1.0 - 2.0 * np.eye(count)
    return np.vstack((np.ones(count), turned, -np.ones(count)))


def foot_against(
    before: PlaneFit | None,
    after: PlaneFit | None,
    lifts_mm: tuple[float, ...] | None,
    feet: Sequence[FootTravel],
) -> int | None:
    """Return which one of several feet in a move seems to have gone the other way; None for none.

    Only where that explains the change of slope far better than any other foot, or all.
    """
    turned = [place for place, lift in enumerate(lifts_mm or ()) if lift]
    rows, right, sigma = slope_changes((before, after), (lifts_mm,), feet)
    if not rows or len(turned) < 2:
        return None
    _, cost = _fitted(np.array(rows), np.array(right), np.array(sigma), _signs(len(feet)))
    best, second, *_ = sorted(turned, key=lambda place: float(cost[place + 1]))
    others = min(cost[0] - _BACKWARD_AFTER**2, cost[second + 1] - _SURER, cost[-1] - _SURER)
    return best if cost[best + 1] < others else None


def slope_changes(
    fits: Sequence[PlaneFit | None],
    lifts_mm: Sequence[tuple[float, ...] | None],
    feet: Sequence[FootTravel],
) -> tuple[list[list[float]], list[float], list[float]]:
    """Return the expected change by each move, the change found, and its uncertainty.

    One row for each of the two slopes, mm/m: the change that a lift of each foot would make, the
    change found, and its standard uncertainty.
    """
    rows: list[list[float]] = []
    right: list[float] = []
    sigma: list[float] = []
    alone = slope_per_lift(feet)
    for before, after, lifts in zip(fits, fits[1:], lifts_mm, strict=False):
        if before is None or after is None or lifts is None or not any(lifts):
            continue
        for axis in (0, 1):
            row = [lift * effect[axis] for lift, effect in zip(lifts, alone, strict=True)]
            change = after.slope[axis] - before.slope[axis]
            doubt = before.covariance[axis][axis] + after.covariance[axis][axis]
            made = sum((_MADE_TO * part) ** 2 for part in row)
            rows.append(row)
            right.append(change)
            sigma.append(math.sqrt(doubt + made))
    return rows, right, sigma


def _fitted(table: Floats, found: Floats, sigma: Floats, signs: Floats) -> tuple[Floats, Floats]:
    """Fit the shares with each row of signs as their prior mean.

    Returns the shares, one row for each row of signs, and the cost of each: chi-square and prior
    together.
    """
    alike = COMMON_SPREAD**2 * signs[:, :, None] * signs[:, None, :]
    prior = _OWN_SPREAD**2 * np.eye(signs.shape[1]) + alike
    # Over the shares, which are few, not over the changes, of which a long log has hundreds.
    weighted = table / sigma[:, None] ** 2
    surprise = found - signs @ table.T
    pull = surprise @ weighted
    normal = np.linalg.inv(prior) + table.T @ weighted
    change = np.linalg.solve(normal, pull[:, :, None])[:, :, 0]
    cost = (surprise**2 / sigma**2).sum(axis=1) - (pull * change).sum(axis=1)
    return signs + change, cost


_HAND_MM_PER_M: Final = 0.1
_SURPRISE: Final = 9.2  # chi-square, two degrees of freedom, one in a hundred


def carried_on(
    fits: Sequence[PlaneFit | None],
    lifts_mm: Sequence[tuple[float, ...] | None],
    gains: Sequence[float],
    feet: Sequence[FootTravel],
) -> PlaneFit | None:
    """Return the last plane combined with earlier planes, carried over the moves.

    A fit of None breaks the chain, as does a move that surprised. A predicted plane has the
    uncertainty of the one before it plus that of the move and the thread; it is combined with the
    new readings by their covariances (a Kalman filter, derived).
    """
    known: PlaneFit | None = None
    for place, fit in enumerate(fits):
        if fit is None or known is None:
            known = fit
        else:
            known = _weighed_together(known, fit, lifts_mm[place - 1], gains, feet)
    return known


def _weighed_together(
    before: PlaneFit,
    now: PlaneFit,
    lifts_mm: tuple[float, ...] | None,
    gains: Sequence[float],
    feet: Sequence[FootTravel],
) -> PlaneFit:
    if lifts_mm is None:
        return now
    really = [lift * gain for lift, gain in zip(lifts_mm, gains, strict=True)]
    foretold = np.array(slope_after_lifts(before.slope, really, feet))
    change = float(np.hypot(*(foretold - np.array(before.slope))))
    made = (1.5 * _MADE_TO * change) ** 2 + _HAND_MM_PER_M**2
    prior = np.array(before.covariance) + made * np.eye(2)
    seen = np.array(now.covariance)
    surprise = np.array(now.slope) - foretold
    if float(surprise @ np.linalg.solve(prior + seen, surprise)) > _SURPRISE:
        return now
    gain = prior @ np.linalg.inv(prior + seen)
    slope = foretold + gain @ surprise
    covariance = (np.eye(2) - gain) @ prior
    return replace(
        now,
        gx=Estimate(float(slope[0]), float(np.sqrt(covariance[0, 0]))),
        gy=Estimate(float(slope[1]), float(np.sqrt(covariance[1, 1]))),
        covariance=(
            (float(covariance[0, 0]), float(covariance[0, 1])),
            (float(covariance[1, 0]), float(covariance[1, 1])),
        ),
    )
