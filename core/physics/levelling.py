"""Level: the level's own error, which stays the same when the feet are moved."""

import math
from collections.abc import Sequence

from core.estimation import Estimate
from core.physics.plane import SlopeReading


def zero_error_of(readings: Sequence[SlopeReading]) -> Estimate | None:
    """Own error of a level, mm/m, from every line that was read both ways; None where none was.

    The readings are of one level on one plane, no foot moved between them; the lines' estimates are
    weighted by their uncertainties.

    Notes
    -----
    Derived. Along one line a level shows s+ = g.u + b one way and s- = -g.u + b the other, so
    b = (s+ + s-) / 2 whatever the slope. It needs no second direction, and it stays true after
    the feet have been moved, when the slopes themselves no longer count.
    """
    lines: dict[float, tuple[list[SlopeReading], list[SlopeReading]]] = {}
    for reading in readings:
        bearing = (reading.bearing_deg + (180.0 if reading.turned else 0.0)) % 360.0
        ways = lines.setdefault(round(bearing % 180.0, 3) % 180.0, ([], []))
        ways[0 if bearing < 180.0 else 1].append(reading)
    return weighted_mean(
        [_half_sum(one_way, other) for one_way, other in lines.values() if one_way and other]
    )


def weighted_mean(estimates: Sequence[Estimate]) -> Estimate | None:
    """Mean of independent estimates of one thing, weighted by 1 / u^2; None without any.

    Uncertainties must be above zero.
    """
    if not estimates:
        return None
    weights = [1.0 / e.standard_uncertainty**2 for e in estimates]
    total = sum(weights)
    value = sum(w * e.value for w, e in zip(weights, estimates, strict=True)) / total
    return Estimate(value, 1.0 / math.sqrt(total))


def _half_sum(one_way: Sequence[SlopeReading], other: Sequence[SlopeReading]) -> Estimate:
    first, second = (
        weighted_mean(
            [Estimate(r.slope_mm_per_m, r.standard_uncertainty_mm_per_m) for r in readings]
        )
        for readings in (one_way, other)
    )
    if first is None or second is None:
        raise ValueError("A line read both ways has a reading each way.")
    return first.plus(second).scaled(0.5)
