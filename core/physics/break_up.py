"""Skating by recorded bands: at which level each channel breaks up, and by how much they differ.

A stylus that holds the groove distorts in step with the level; one that begins to leave a wall
distorts far more on that wall's channel. Both leave that trend by the same law, the one at a lower
level than the other: the difference of levels tells the side force with its sign.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from core.estimation import Estimate

ABOVE_TREND: Final = 4.0
"""A channel has broken up where its distortion's power is so many times its trend's: 6 dB."""

BROKEN_PERCENT: Final = 5.0
"""So much in the quietest band is no trend: it has broken up before (our own allowance)."""

BAND_DB: Final = 0.15
"""How far the level of breaking up wanders from groove to groove, one standard uncertainty: our own
allowance."""

READ_SHARE: Final = 0.03
"""How well a distortion is read, one standard uncertainty as a share of it: our own allowance."""

_LEAST_PERCENT: Final = 0.02
_LEAST_EXCESS: Final = 0.03
_EXCESS: Final = ABOVE_TREND - 1.0


@dataclass(frozen=True, slots=True)
class BreakUp:
    """At which level each channel breaks up, in dB as the bands' levels; None where it does not.

    ``difference`` is left less right: above zero the right breaks up first. It is None unless both
    do, above the quietest band.
    """

    left_db: float | None
    right_db: float | None
    difference: Estimate | None

    @property
    def first(self) -> str:
        """Which breaks up first for certain: ``left``, ``right``, ``together`` or ``neither``."""
        if self.left_db is None and self.right_db is None:
            return "neither"
        if self.left_db is None:
            return "right"
        if self.right_db is None:
            return "left"
        apart = self.left_db - self.right_db
        half = self.difference.half_width() if self.difference is not None else 0.0
        if abs(apart) <= half:
            return "together"
        return "right" if apart > 0.0 else "left"


def break_up(
    levels_db: Sequence[float], left_percent: Sequence[float], right_percent: Sequence[float]
) -> BreakUp:
    """Return where each channel breaks up.

    Parameters
    ----------
    levels_db : sequence of float
        Of the bands, rising, two or more; any reference.
    left_percent, right_percent : sequence of float
        Harmonic distortion of each channel in each band.

    Notes
    -----
    The trend is the quietest band's distortion, growing as the level does (second harmonic, common
    practice). What lies above it is taken to grow as a power of the level from one band to the
    next, so that its logarithm is a straight line between them.
    """
    if len(levels_db) < 2:
        return BreakUp(None, None, None)
    left, right = (_breaks_at(levels_db, one) for one in (left_percent, right_percent))
    difference = None
    if left is not None and right is not None and left[1] is not None and right[1] is not None:
        spread = math.hypot(left[1], right[1])
        difference = Estimate(left[0] - right[0], spread)
    return BreakUp(left[0] if left else None, right[0] if right else None, difference)


def _breaks_at(
    levels_db: Sequence[float], percent: Sequence[float]
) -> tuple[float, float | None] | None:
    """Return level and standard uncertainty; the latter is None if it is broken from the first."""
    quietest = max(percent[0], _LEAST_PERCENT)
    if quietest > BROKEN_PERCENT:
        return levels_db[0], None
    before: tuple[float, float] | None = None
    for level, one in zip(levels_db, percent, strict=True):
        trend = quietest * 10.0 ** ((level - levels_db[0]) / 20.0)
        excess = (max(one, _LEAST_PERCENT) / trend) ** 2 - 1.0
        if excess >= _EXCESS and before is not None:
            rise = math.log(excess / before[1]) / max(level - before[0], 1e-6)
            at = before[0] + math.log(_EXCESS / before[1]) / rise
            read = 2.0 * math.sqrt(2.0) * READ_SHARE * ABOVE_TREND / _EXCESS / rise
            return at, math.hypot(read, BAND_DB)
        before = level, min(max(excess, _LEAST_EXCESS), 0.999 * _EXCESS)
    return None
