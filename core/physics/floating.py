"""Downforce without a scale: float the arm level, then set the downforce by its own dial."""

from __future__ import annotations

import math
from typing import Final

from core.estimation import Estimate

DIAL_STEP_GF: Final = 0.05
"""How finely a dial marked in tenths of a gf is set: half a mark, common practice."""


def floated_downforce_gf(put_on_gf: float, float_u_gf: float, dial_share: float) -> Estimate:
    """Return the downforce of an arm that floated and was then set by its dial.

    Floating, the moments about the pivot are in balance; what is put on after that presses
    (derived). Together ±0.15 gf at 2 gf with the usual errors: dials of sound arms are good to
    0.1 to 0.15 gf (common practice, no source).

    Parameters
    ----------
    put_on_gf
        What the dial says, gf, from 0 on.
    float_u_gf
        How near to 0 the arm was as it was seen to float, gf, one standard uncertainty.
    dial_share
        The dial's own error as a share of what it says, one standard uncertainty.
    """
    return Estimate(put_on_gf, math.hypot(float_u_gf, dial_share * put_on_gf))


def surest_setting_gf(
    target_gf: float, low_gf: float, high_gf: float, float_u_gf: float, dial_share: float
) -> float | None:
    """Return the mark nearest to the target at which the whole interval lies in a range, gf.

    Marks are taken in steps of :data:`DIAL_STEP_GF`; None if there is none in the range.
    """
    first, last = math.ceil(low_gf / DIAL_STEP_GF), math.floor(high_gf / DIAL_STEP_GF)
    marks = [DIAL_STEP_GF * count for count in range(max(first, 1), last + 1)]
    marks = [
        mark
        for mark in {target_gf, *marks}
        if is_within(floated_downforce_gf(mark, float_u_gf, dial_share), low_gf, high_gf)
    ]
    return min(marks, key=lambda mark: (abs(mark - target_gf), mark), default=None)


def is_within(value: Estimate, low: float, high: float) -> bool:
    """Whether the whole interval lies in a range."""
    least, most = value.interval()
    return low <= least and most <= high
