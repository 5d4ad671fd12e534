"""The probability that an alignment is right, from the joint distribution of its errors.

The errors of length and angle are correlated, so separate intervals would demand more certainty
than the verdict needs. A fixed cloud of points is scaled to the distribution, and the share of
points that are right is counted.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from core.physics.arm_geometry import Floats

SURE: Final = 0.95
"""Good from this probability on: the usual confidence."""

SURE_WHILE_LOOSE: Final = 0.8
"""Enough to tighten the screws: it is read again after that anyway."""

WORTH_A_MOVE: Final = 0.1
"""A move must raise the probability by this much."""

SURELY_WRONG: Final = 0.2
"""Below this probability it is moved at once."""

ENOUGH_READINGS: Final = 4
"""After this many readings in one place it is moved whenever that is worth it."""

MANY_READINGS: Final = 14
MOST_READINGS: Final = 16
"""After many, if no more would settle it, and after most in any case, it is left as near as hands
can set it: likelier right than not, and no move that makes it clearly more so."""

MANY_MOVES: Final = 6
ENOUGH_AFTER_MOVES: Final = 6
"""After this many moves, tightening included, a probably right alignment is not moved any more, and
this many readings are enough.
"""

ENOUGH_BESIDE_A_LINE: Final = 8
"""The same for a parallel arm: its only way of reading tells the length roughly."""

LIKELIER_RIGHT: Final = 0.5

LONG_READINGS: Final = 22
LONG_MOVES: Final = 8
"""After this many readings, or moves, of one effort only readings after a move are taken, and a
probably right alignment is left.
"""

LAST_READINGS: Final = 28
LAST_MOVES: Final = 12
"""After this many only the screws are tightened, and it is left there."""

NEW_READINGS: Final = 10
NEW_MOVES: Final = 4
"""If something else moves the head, at least this many of each remain of an effort."""

_HALF_CLOUD: Final = 400
_DRAWN: Final = np.random.default_rng(20250101).standard_normal((_HALF_CLOUD, 2))
_CLOUD: Final = np.ascontiguousarray(np.concatenate((_DRAWN, -_DRAWN)).T)
"""Normal deviates with their mirror image, so that the mean is zero; drawn once, so that answers
repeat.
"""


def cloud_of(off: Floats, covariance: Floats) -> Floats:
    """Return points distributed as length (mm) and angle (deg), shape (2, n)."""
    sizes, ways = np.linalg.eigh(covariance)
    root = ways * np.sqrt(np.maximum(sizes, 0.0))
    return np.asarray(off[:, None] + root @ _CLOUD)
