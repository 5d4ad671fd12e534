"""Readings that determine no speed: bars too fast to count, contradictions, bad recordings."""

from __future__ import annotations

from typing import Final

from core.fitting import Context, Reading
from core.steps.shared import Doubt, without
from core.steps.speed.readings import SpeedSeen

NAME: Final = "speed"


def doubts_of(context: Context) -> dict[int, Doubt]:
    """Return the questions about bars and tones, by their indexes among the trials."""
    doubts: dict[int, Doubt] = {}
    before: list[Reading] = []
    for place, trial in enumerate(context.log.get(NAME, ())):
        reading = trial.reading
        if isinstance(reading, SpeedSeen):
            doubt = reading.doubt(context.deck, before)
            if doubt is not None:
                doubts[place] = doubt
            before.append(reading)
    return doubts


def counted(context: Context) -> Context:
    """Return the context with only the readings that determine a speed."""
    return without(context, NAME, doubts_of(context))
