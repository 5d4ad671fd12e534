"""When a few more readings are better advice than a move."""

from __future__ import annotations

import math

from core.estimation.estimate import (
    CONFIDENCE,
    Decision,
    decide,
)
from core.estimation.quantiles import two_sided_factor

CHEAPER_THAN_A_MOVE = 3
"""So many further readings cost a person less than a move and the readings after it: our own."""


def worth_reading(
    deviation: float,
    tolerance: float,
    sigma: float,
    n: float,
    *,
    calibration_standard_uncertainty: float = 0.0,
    most: int = CHEAPER_THAN_A_MOVE,
) -> int | None:
    """How many further readings would make it good as it stands, if the mean stays where it is.

    A deviation inside the tolerance may be larger than its uncertainty, so that its direction is
    certain, and yet a move is poor advice: a hand does no better than the next few readings, and
    undoes what was nearly right.

    Parameters
    ----------
    deviation, tolerance, sigma, n, calibration_standard_uncertainty
        As in `readings_needed`.
    most : int
        More than this cost as much as a move.

    Returns
    -------
    int or None
        None when a move is the better advice.
    """
    if not n >= 1.0:
        raise ValueError("At least one reading is needed before more can be foretold.")
    factor = two_sided_factor(CONFIDENCE)
    for more in range(1, most + 1):
        half_width = factor * math.hypot(
            sigma / math.sqrt(n + more), calibration_standard_uncertainty
        )
        if decide(deviation, half_width, tolerance) is Decision.GOOD:
            return more
    return None
