"""The chance that an alignment is right, from all that its readings leave open at once.

Length and angle are read together and their errors hang together, so intervals taken one by one
ask for more certainty than the verdict needs. Here a fixed cloud of points is laid over what is
known, and the share of it that is right is counted.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from core.physics.arm_geometry import Floats

SURE: Final = 0.95
"""Right with this chance is good: the confidence of the house."""

SURE_WHILE_LOOSE: Final = 0.8
"""Right with this chance is enough to tighten the screws: it is read again after that anyway."""

WORTH_A_MOVE: Final = 0.1
"""A move is asked for only if it makes the alignment right with so much more chance than now."""

SURELY_WRONG: Final = 0.2
"""Right with less chance than this is moved at once."""

ENOUGH_READINGS: Final = 4
"""After so many readings in one place it is moved whenever that is worth it."""

MANY_READINGS: Final = 14
MOST_READINGS: Final = 16
"""After many, if no more would settle it, and after most in any case, it is left as near as hands
can set it: likelier right than not, and no move that makes it clearly more so."""

MANY_MOVES: Final = 6
ENOUGH_AFTER_MOVES: Final = 6
"""After so many moves, tightening among them, what is likelier right than not is moved no more, and
so many readings there are enough."""

ENOUGH_BESIDE_A_LINE: Final = 8
"""The same for a parallel arm: there is one way to read it, and it tells the length but roughly."""

LIKELIER_RIGHT: Final = 0.5

LONG_READINGS: Final = 22
LONG_MOVES: Final = 8
"""After so many readings, or moves, of one effort nothing is read that a move does not ask for, and
what is likelier right than not is left."""

LAST_READINGS: Final = 28
LAST_MOVES: Final = 12
"""After so many only the screws are tightened: it is left where hands and eyes brought it."""

NEW_READINGS: Final = 10
NEW_MOVES: Final = 4
"""Something else that moves the head leaves at least so many of each, before the effort is long."""

_HALF_CLOUD: Final = 400
_DRAWN: Final = np.random.default_rng(20250101).standard_normal((_HALF_CLOUD, 2))
_CLOUD: Final = np.ascontiguousarray(np.concatenate((_DRAWN, -_DRAWN)).T)
"""Normal, with its mirror image so that its mean is nil; drawn once, so that answers repeat."""


def cloud_of(off: Floats, covariance: Floats) -> Floats:
    """Return points spread as the length (mm) and angle (deg) may lie, shape (2, n)."""
    sizes, ways = np.linalg.eigh(covariance)
    root = ways * np.sqrt(np.maximum(sizes, 0.0))
    return np.asarray(off[:, None] + root @ _CLOUD)
