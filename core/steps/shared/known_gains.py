"""What a control is believed to do before it is tried: as stated, or as this deck has taught."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from core.estimation import COVERAGE_FACTOR
from core.fitting import Control, Gain

LEAST_SHARE: Final = 0.03
"""No control is known better than this, as a share of its gain: our own allowance."""

LEARNED: Final = "learned"
"""Where a gain comes from that earlier fittings of the deck have taught."""


@dataclass(frozen=True, slots=True)
class Prior:
    """A gain believed beforehand, None where nothing is known.

    ``share`` is its standard uncertainty as a share of it; ``learned`` says that it comes from
    the deck's own history.
    """

    value: float | None
    share: float
    learned: bool = False


def stated_or_learned(
    gains: Sequence[Gain],
    control: Control,
    where: str,
    unit: str,
    stated: float | None,
    share: float,
) -> Prior:
    """Return the learned gain of a control where there is a better one, else the stated.

    ``unit`` is the one the step works in; ``share`` is how far the stated gain may be off, one
    standard uncertainty as a share of it.
    """
    for gain in gains:
        if gain.control is control and gain.where == where and gain.unit == unit and gain.value:
            known = share_of(gain)
            if stated is None or known <= share:
                return Prior(gain.value, known, learned=True)
    return Prior(stated, share)


def share_of(gain: Gain) -> float:
    """Return how far a learned gain may be off, one standard uncertainty as a share of it."""
    spread = gain.half_width / COVERAGE_FACTOR
    return max(spread / abs(gain.value), LEAST_SHARE)
