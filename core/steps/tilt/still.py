"""Whether the head follows its turns, from leaks that stay as they were."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from core.estimation import COVERAGE_FACTOR, normal_quantile
from core.physics.crosstalk import LeakReading

_CLEARLY: Final = 1.5
"""A change must be this much larger than what reading errs by to be sure to show: our own."""

_FARTHEST_DEG: Final = 5.0
"""No turn is ordered that is longer, so settings this far apart have to do: our own."""

_PLACES: Final = 41

_SURE: Final = 0.99
"""The chance asked for: a turn too many costs less than a head that never turned."""

_LEAST_TURN_DEG: Final = 0.5
"""A smaller turn changes a leak by too little to say anything: our own."""


def are_alike(readings: Sequence[LeakReading], leak_uncertainty_db: float) -> bool:
    """Whether several settings leak the same in both channels, as far as reading tells."""
    tried = [one.setting_deg for one in readings]
    if len(readings) < 2 or max(tried) - min(tried) < _LEAST_TURN_DEG:
        return False
    if any(one.has_phase for one in readings):
        return False  # their signs tell a turn by themselves
    spread = 0.0
    for leaks in ([r.left_in_right_db for r in readings], [r.right_in_left_db for r in readings]):
        mean = math.fsum(leaks) / len(leaks)
        spread += math.fsum((leak - mean) ** 2 for leak in leaks)
    return spread <= leak_uncertainty_db**2 * _most_by_chance(2 * (len(readings) - 1))


def _most_by_chance(freedom: int) -> float:
    """Return the 99 % quantile of chi-square (Wilson and Hilferty's approximation)."""
    share = 2.0 / (9.0 * freedom)
    return freedom * (1.0 - share + normal_quantile(_SURE) * math.sqrt(share)) ** 3


def shows_at(readings: Sequence[LeakReading], leak_uncertainty_db: float) -> float:
    """Return how far from the middle of settings with the same leaks a turn surely shows, degrees.

    Derived: own leaks k and a head at x from the best leak |k + x|^2 and |k - x|^2. Two settings
    leak the same in both channels where x is -w and +w, half their distance; at d it is more by
    d^2 - w^2. That is looked for in the larger of both leaks, which shows it least. 0 where the
    middle shows it, for that is also the best.
    """
    tried = [one.setting_deg for one in readings]
    loudest = max(max(one.left_in_right_db, one.right_in_left_db) for one in readings)
    apart_db = _CLEARLY * COVERAGE_FACTOR * math.sqrt(2.0) * leak_uncertainty_db
    power, times = 10.0 ** (loudest / 10.0), 10.0 ** (apart_db / 10.0)
    half = math.tan(math.radians(0.5 * (max(tried) - min(tried))))
    if half**2 >= power * (1.0 - 1.0 / times):
        return 0.0
    more = power * (times - 1.0)
    return math.degrees(math.atan(math.sqrt(more + half**2)))


def stands_still(readings: Sequence[LeakReading], leak_uncertainty_db: float) -> bool:
    """Whether settings with the same leaks can't lie on both sides of the best.

    Two may, as far from it as each other, unless they leak less than a head that far off. Several
    can't where the leaks of a head that turned would surely differ, wherever the best were.
    """
    tried = [math.radians(one.setting_deg) for one in readings]
    low, high = min(tried), max(tried)
    leaks = [(one.left_in_right_db, one.right_in_left_db) for one in readings]
    margin = COVERAGE_FACTOR * leak_uncertainty_db
    quietest = max(min(one) for one in leaks)
    if quietest + margin < 20.0 * math.log10(math.tan(0.5 * (high - low))):
        return True
    if high - low >= math.radians(_FARTHEST_DEG):
        return True
    power = 10.0 ** (max(max(one) for one in leaks) / 10.0)
    least = power * (10.0 ** (math.sqrt(2.0) * margin / 10.0) - 1.0)
    best = (low + (high - low) * place / (_PLACES - 1) for place in range(_PLACES))
    return all(_differ(tried, one) > least for one in best)


def _differ(tried: Sequence[float], best: float) -> float:
    """Return by how much the leaks of a head at these settings would differ, as powers."""
    across = [math.tan(one - best) ** 2 for one in tried]
    return max(across) - min(across)
