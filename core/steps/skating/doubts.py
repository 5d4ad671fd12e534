"""Recordings that don't determine the balance, and the questions about them."""

from __future__ import annotations

from core.fitting import Context, NextReading
from core.steps.shared import Doubt, spoilt, without
from core.steps.skating.readings import BY_TONE, NAME, BandsByTone


def doubts_of(context: Context) -> dict[int, Doubt]:
    """Return the questions about recordings, by their indexes among the trials."""
    doubts: dict[int, Doubt] = {}
    for place, trial in enumerate(context.log.get(NAME, ())):
        reading = trial.reading
        if not isinstance(reading, BandsByTone):
            continue
        faults = reading.recorded.faults_on(context.deck.bench)
        spoils = [one for one in reading.recorded.SPOILT_BY if one in faults]
        said = spoilt(spoils[0]) if spoils else reading.recorded.lacks()
        if said is not None:
            doubts[place] = Doubt(said, NextReading(BY_TONE, {"setting": reading.setting}))
    return doubts


def counted(context: Context) -> Context:
    """Return the context with only the readings that determine a balance."""
    return without(context, NAME, doubts_of(context))
