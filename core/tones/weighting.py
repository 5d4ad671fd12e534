"""The weighting of speed fluctuation, applied exactly to a spectrum.

Source of the table: AES6-2008, technically the same as IEC 60386:1972 with amendment 1:1988; as
given in a public listing (second-hand; agrees with memory). Between its lines the curve is a
monotone cubic in decibels over the logarithm of frequency; beyond them it falls on as it did at
its end.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from core.tones.frames import Floats

WEIGHTING: Final = (
    *((0.1, -48.0), (0.2, -30.6), (0.315, -19.7), (0.4, -15.0), (0.63, -8.4), (0.8, -6.0)),
    *((1.0, -4.2), (1.6, -1.8), (2.0, -0.9), (4.0, 0.0), (6.3, -0.9), (10.0, -2.1)),
    *((20.0, -5.9), (40.0, -10.4), (63.0, -14.2), (100.0, -17.3), (200.0, -23.0)),
)
"""Frequency in hertz and weight in decibels."""

_X: Final = np.log([hz for hz, _ in WEIGHTING])
_Y: Final = np.array([weight for _, weight in WEIGHTING])
_PER_DB: Final = np.log(10.0) / 20.0


def weighting_db(hz: Floats) -> Floats:
    """Return the weight in decibels at frequencies in hertz, all above zero."""
    x = np.log(np.asarray(hz, dtype=np.float64))
    step, rise = np.diff(_X), np.diff(_Y) / np.diff(_X)
    slope = _slopes(step, rise)
    place = np.clip(np.searchsorted(_X, x) - 1, 0, step.size - 1)
    width = step[place]
    t = np.clip((x - _X[place]) / width, 0.0, 1.0)
    inside = (
        _Y[place]
        + width * slope[place] * t * (1.0 - t) ** 2
        + (_Y[place + 1] - _Y[place]) * t * t * (3.0 - 2.0 * t)
        - width * slope[place + 1] * t * t * (1.0 - t)
    )
    below, above = np.minimum(x - _X[0], 0.0), np.maximum(x - _X[-1], 0.0)
    result: Floats = inside + below * slope[0] + above * slope[-1]
    return result


def weighting(hz: Floats) -> Floats:
    """Return the weight as a factor at frequencies in hertz; nothing passes at zero."""
    hz = np.asarray(hz, dtype=np.float64)
    result = np.zeros_like(hz)
    there = hz > 0.0
    result[there] = np.exp(_PER_DB * weighting_db(hz[there]))
    return result


def _slopes(step: Floats, rise: Floats) -> Floats:
    """Return slopes at the lines of the table that keep a cubic monotone.

    Source: Fritsch and Butland, a method for constructing local monotone piecewise cubic
    interpolants, SIAM Journal on Scientific and Statistical Computing 5 (1984), 300-304.
    """
    slopes = np.concatenate(([rise[0]], np.zeros(rise.size - 1), [rise[-1]]))
    for i in range(1, rise.size):
        if rise[i - 1] * rise[i] > 0.0:
            first, second = 2.0 * step[i] + step[i - 1], step[i] + 2.0 * step[i - 1]
            slopes[i] = (first + second) / (first / rise[i - 1] + second / rise[i])
    return slopes
