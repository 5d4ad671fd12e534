"""The prior gain of a control: as stated, or as learned on this deck."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from core.estimation import COVERAGE_FACTOR
from core.fitting import Control, Gain

LEAST_SHARE: Final = 0.03
"""Least relative error of a gain: our own allowance."""

LEARNED: Final = "learned"
"""The source text of a gain learned in earlier fittings."""


@dataclass(frozen=True, slots=True)
class Prior:
    """A prior gain, None if unknown.

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
    """Return a control's learned gain if it is the better one, else the stated one.

    ``unit`` is the step's; ``share`` is the relative error of the stated gain, one standard
    uncertainty.
    """
    for gain in gains:
        if gain.control is control and gain.where == where and gain.unit == unit and gain.value:
            known = share_of(gain)
            if stated is None or known <= share:
                return Prior(gain.value, known, learned=True)
    return Prior(stated, share)


def share_of(gain: Gain) -> float:
    """Return the relative error of a learned gain, one standard uncertainty."""
    spread = gain.half_width / COVERAGE_FACTOR
    return max(spread / abs(gain.value), LEAST_SHARE)
