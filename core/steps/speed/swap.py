"""The speed with another cartridge: nothing moves, a reading confirms it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from core.estimation import Estimate
from core.fitting import Control
from core.language import Quantity, message
from core.records import Deck, SpeedTrim
from core.steps.shared import amount
from core.steps.shared.gain_samples import LEAST_MADE, GainSource, Sample, samples_of
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
from core.steps.speed.doubts import counted
from core.steps.speed.judge import NAME, applies
from core.steps.speed.move import gain_unit, stated_percent, trials_of, trim_place
from core.steps.speed.readings import FAST_OR_SLOW, events_of

_DRIFTED_PERCENT: Final = 0.1
"""Drift of a deck's speed over time: one standard uncertainty, our own estimate."""


def forecast(case: SwapCase) -> PlanPiece:
    """Return that the speed is confirmed, not set."""
    reads = applies(case.deck, case.new)
    if not reads.reads:
        return PlanPiece(NAME, Need.NOTHING, reads.reason)
    key = f"speed_error_{int(case.deck.platter.speeds_rpm[0])}"
    stood = known(case.old, NAME, key, UNREAD_U)
    if stood is None:
        return PlanPiece(NAME, Need.SET, message("swap.speed.never_read"))
    spread = math.hypot(stood.standard_uncertainty, _DRIFTED_PERCENT)
    foreseen = StepForecast(start(NAME, key, "%", Estimate(stood.value, spread), "swap.speed.why"))
    left = amount(stood.value, "%", 2, FAST_OR_SLOW)
    limit = case.deck.tolerances.speed_percent
    if abs(stood.value) <= limit:
        return PlanPiece(NAME, Need.CONFIRM, message("swap.speed.confirm", left=left), (foreseen,))
    trim = "trim" if reads.adjusts else "fixed"
    said = message("swap.speed.out", trim=trim, left=left, limit=Quantity(limit, "%", 2))
    need = Need.SET if reads.adjusts else Need.CONFIRM
    return PlanPiece(NAME, need, said, (foreseen,), warnings=(said,), is_out=True)


def gain_sources(deck: Deck) -> Iterator[GainSource]:
    """Yield the effect of each speed trim of the deck when it was turned."""
    platter = deck.platter
    if platter.trim is SpeedTrim.NONE:
        return
    shared = platter.one_trim_for_all
    for index, rpm in enumerate(platter.speeds_rpm[:1] if shared else platter.speeds_rpm):

        def trimmed(past: Past, index: int = index) -> Iterator[Sample]:
            events = events_of(counted(past.journey.context(NAME)))
            least = LEAST_MADE[gain_unit(deck)]
            yield from samples_of(trials_of(events, index), least)

        yield GainSource(
            NAME,
            Control.SPEED,
            trim_place(deck, rpm),
            gain_unit(deck),
            stated_percent(deck, rpm),
            lambda one: one.platter,
            trimmed,
        )
