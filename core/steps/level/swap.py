"""The level with another cartridge: nothing moves, a reading confirms it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from core.estimation import Estimate
from core.fitting import Control
from core.language import Quantity, message
from core.records import Deck
from core.steps.level.feet import feet_of
from core.steps.level.foot_gains import slope_changes
from core.steps.level.judge import NAME, applies
from core.steps.level.state import plane_states_of
from core.steps.shared.gain_samples import GainSource, Sample
from core.steps.shared.swap_part import (
    UNREAD_U,
    Need,
    Past,
    PlanPiece,
    StepForecast,
    SwapCase,
    known,
    start,
)

_SETTLED_MM_PER_M: Final = 0.3
"""Drift of a deck's level while it stands: one standard uncertainty, our own estimate."""

_OF_A_LENGTH: Final = 1.25
"""Two slopes at once: 95 % of a circle reaches 2.45 standard uncertainties, of a line 1.96."""


def forecast(case: SwapCase) -> PlanPiece:
    """Return that the level is confirmed, not set."""
    reads = applies(case.deck, case.new)
    if not reads.reads:
        return PlanPiece(NAME, Need.NOTHING, reads.reason)
    stood = known(case.old, NAME, "tilt", UNREAD_U)
    if stood is None:
        return PlanPiece(NAME, Need.SET, message("swap.level.never_read"))
    spread = math.hypot(_OF_A_LENGTH * stood.standard_uncertainty, _SETTLED_MM_PER_M)
    expected = Estimate(stood.value, spread)
    foreseen = StepForecast(start(NAME, "tilt", "mm/m", expected, "swap.level.why"))
    left = Quantity(stood.value, "mm/m", 1)
    limit = case.deck.tolerances.level_mm_per_m
    if stood.value <= limit:
        return PlanPiece(NAME, Need.CONFIRM, message("swap.level.confirm", left=left), (foreseen,))
    feet = "turn" if reads.adjusts else "fixed"
    said = message("swap.level.out", feet=feet, left=left, limit=Quantity(limit, "mm/m", 1))
    need = Need.SET if reads.adjusts else Need.CONFIRM
    return PlanPiece(NAME, need, said, (foreseen,), warnings=(said,), is_out=True)


def gain_sources(deck: Deck) -> Iterator[GainSource]:
    """Yield the effect of the deck's feet when they were turned."""
    pitch = deck.plinth.pitch_mm_per_turn
    if pitch is None:
        return

    def turned(past: Past) -> Iterator[Sample]:
        stands = plane_states_of(past.journey.context(NAME))
        fits = [stand.fit for stand in stands.all]
        rows = slope_changes(fits, stands.by_thread_alone, feet_of(past.deck, ()))
        both = [
            (math.fsum(row) / pitch, found, sigma) for row, found, sigma in zip(*rows, strict=True)
        ]
        for right, back in zip(both[::2], both[1::2], strict=True):
            yield from _along(right, back)

    yield GainSource(NAME, Control.FOOT, "", "mm/turn", pitch, lambda one: one.plinth, turned)


def _along(*slopes: tuple[float, float, float]) -> Iterator[Sample]:
    """Yield one sample of a move of the feet, along its intended tilt.

    Each slope is asked for, found, and its standard uncertainty; they are weighed together along
    the direction that was asked for (least squares, derived).
    """
    weight = math.fsum((asked / sigma) ** 2 for asked, _, sigma in slopes)
    size = math.hypot(*(asked for asked, _, _ in slopes))
    if weight > 0.0:
        share = math.fsum(asked * found / sigma**2 for asked, found, sigma in slopes) / weight
        yield Sample(size, share * size, size / math.sqrt(weight), made_share=0.0)
