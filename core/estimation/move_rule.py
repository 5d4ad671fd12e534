"""Choose between reading again and moving, by the expected cost until the result is good.

A reading costs one, a move :data:`PRICE_OF_A_MOVE` readings and at least one reading after it. With
normal errors the spread after each reading is known in advance and only the mean is random, so the
expected cost of each choice is computed by dynamic programming, backward over the next readings.
All lengths are in units of the tolerance.
"""

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from core.estimation.estimate import (
    COVERAGE_FACTOR,
    FEW_ENOUGH_TO_ASK,
    Decision,
    Estimate,
    decide,
)
from core.estimation.gain_filter import MOVE_SHARE

PRICE_OF_A_MOVE: Final = 3.0
"""Cost of a move in readings: our own figure."""

_UNKNOWN: Final = 0.5
"""Relative error of a first move with an unknown control: our own figure."""
_AHEAD: Final = 12
"""Number of readings looked ahead; a case still undecided then counts as a move."""
_WIDEST: Final = 4.0
_NO_LESS: Final = 1e-3
_PASSES: Final = 8

_Grid = NDArray[np.float64]

_MEANS: Final[_Grid] = np.linspace(0.0, _WIDEST, 81)
_SPREADS: Final[_Grid] = np.geomspace(0.03, _WIDEST, 10)
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
_SHARES: Final[_Grid] = _WEIGHTS / _WEIGHTS.sum()


@dataclass(frozen=True, slots=True)
class Prospect:
    """The effect of more readings and of a move, in the unit of the reading.

    ``reading`` is the standard uncertainty of one more reading, ``hand`` what a move adds to the
    spread, through its execution error and the uncertain gain; ``lasting`` the part no reading
    reduces; ``smallest_effect`` what the control's smallest step changes, 0 without steps.
    """

    reading: float
    hand: float
    lasting: float = 0.0
    smallest_effect: float = 0.0


def hand_spread(gain: Estimate | None, deviation: float, made: float) -> float:
    """Return what a move to the target adds to the spread, in the unit of the reading.

    ``gain`` is the control's gain, None if unknown; ``made`` the execution error, one standard
    deviation in control units.
    """
    if gain is None or gain.value == 0.0:
        return _UNKNOWN * abs(deviation)
    share = math.hypot(MOVE_SHARE, min(gain.standard_uncertainty / abs(gain.value), 1.0))
    return math.hypot(gain.value * made, share * deviation)


def settle(now: Estimate, target: float, tolerance: float, prospect: Prospect) -> Decision:
    """Apply the decision rule: good, or else move or read again, whichever costs less.

    Parameters
    ----------
    now : Estimate
        With the lasting part.
    target, tolerance : float
        Wanted reading, and the largest deviation from it that is good enough.
    prospect : Prospect

    Returns
    -------
    Decision
        GOOD and STEP_TOO_COARSE as :func:`decide` says, and all of it where the instrument is too
        coarse to make anything good; else MOVE where a move is worth its price, and no smaller
        than half of the control's smallest step.
    """
    deviation, half = now.value - target, now.half_width()
    rule = decide(deviation, half, tolerance, smallest_effect=prospect.smallest_effect)
    if rule in (Decision.GOOD, Decision.STEP_TOO_COARSE):
        return rule
    room = (tolerance / COVERAGE_FACTOR) ** 2 - prospect.lasting**2
    sd = half / COVERAGE_FACTOR
    if room <= 0.0 or prospect.reading**2 > _AHEAD * room:
        return rule  # the instrument is too coarse to make anything good
    if abs(deviation) < 0.5 * prospect.smallest_effect:
        return Decision.READ_AGAIN  # even the smallest step is more than twice too large
    spread = math.sqrt(max(sd**2 - prospect.lasting**2, 0.0))
    worth = is_worth_moving(deviation, spread, tolerance, prospect)
    return Decision.MOVE if worth else Decision.READ_AGAIN


def readings_until(
    now: Estimate, target: float, tolerance: float, prospect: Prospect
) -> int | None:
    """Return how many more readings would settle it if the mean stays; None for too many."""
    variance = max((now.half_width() / COVERAGE_FACTOR) ** 2 - prospect.lasting**2, 0.0)
    if variance <= 0.0 or prospect.reading <= 0.0:
        return None
    for more in range(1, FEW_ENOUGH_TO_ASK + 1):
        then = 1.0 / math.sqrt(1.0 / variance + more / prospect.reading**2)
        told = Estimate(now.value, math.hypot(then, prospect.lasting))
        if settle(told, target, tolerance, prospect) is not Decision.READ_AGAIN:
            return more
    return None


def is_worth_moving(deviation: float, spread: float, tolerance: float, prospect: Prospect) -> bool:
    """Return whether a move is expected to cost less than reading again.

    Parameters
    ----------
    deviation, spread : float
        Estimate less target, and its standard uncertainty without the lasting part.
    tolerance : float
        Largest deviation that is good enough, above zero; all in one unit.
    prospect : Prospect

    Notes
    -----
    The caller checks safety, and whether the result is good already, before. Where readings add no
    information a move is worth making.
    """
    if min(prospect.reading, spread) <= _NO_LESS * tolerance:
        return True
    costs = _Costs(
        max(_coarsely(prospect.reading / tolerance), 0.02),
        _coarsely(prospect.hand / tolerance),
        _coarsely(prospect.lasting / tolerance),
    )
    now = min(spread / tolerance, _WIDEST)
    size = min(abs(deviation) / tolerance, _WIDEST)
    after = _after_moving(costs)
    reading_on = float(np.interp(size, _MEANS, costs.of_reading(now, after)))
    return costs.of_moving(now, after) <= reading_on


def _coarsely(share: float) -> float:
    """Round by an eighth, so that values computed for one deck are reused."""
    if share <= _NO_LESS:
        return 0.0
    return math.exp(round(8.0 * math.log(min(share, _WIDEST))) / 8.0)


@dataclass(frozen=True, slots=True)
class _Costs:
    """Expected costs for given reading and execution errors, in tolerances."""

    reading: float
    hand: float
    lasting: float

    def of_moving(self, spread: float, after: _Grid) -> float:
        """Return the cost of a move and of everything after it."""
        moved = math.log(math.hypot(spread, self.hand))
        return PRICE_OF_A_MOVE + float(np.interp(moved, np.log(_SPREADS), after))

    def of_reading(self, spread: float, after: _Grid) -> _Grid:
        """Return the cost of one more reading and of everything after it, for each mean.

        ``after`` is the cost from a given spread on, once moved.
        """
        spreads = [spread]
        for _ in range(_AHEAD):
            spreads.append(1.0 / math.hypot(1.0 / spreads[-1], 1.0 / self.reading))
        reading_on = value = np.full(_MEANS.size, self.of_moving(spreads[-1], after))
        for then, now in zip(reversed(spreads[1:]), reversed(spreads[:-1]), strict=True):
            good = _MEANS + COVERAGE_FACTOR * math.hypot(then, self.lasting) <= 1.0
            # The mean after a reading is distributed about the mean before it.
            drawn = math.sqrt(max(now**2 - then**2, 0.0))
            means = np.abs(_MEANS[:, None] + drawn * _NODES)
            value = np.where(good, 0.0, value)
            reading_on = 1.0 + np.interp(means, _MEANS, value) @ _SHARES
            value = np.minimum(reading_on, self.of_moving(now, after))
        return np.asarray(reading_on, dtype=float)


@lru_cache(maxsize=256)
def _after_moving(costs: _Costs) -> _Grid:
    """Return the cost once moved, for each spread: at least one reading, perhaps another move."""
    after = np.full(_SPREADS.size, 3.0)
    for _ in range(_PASSES):
        found = np.array([costs.of_reading(float(one), after)[0] for one in _SPREADS])
        done = float(np.abs(found - after).max()) < 0.02
        after = found
        if done:
            break
    return after
