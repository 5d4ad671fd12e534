"""Recordings that tell nothing of the balance, and what is asked about them."""

from __future__ import annotations

from typing import Final

from core.fitting import Context, NextReading
from core.steps.shared import Doubt, HeardFault, spoilt, without
from core.steps.skating.readings import BY_TONE, NAME, BandsByTone

_SPOIL: Final = (
    HeardFault.ONE_CHANNEL,
    HeardFault.DEAD_LEFT,
    HeardFault.DEAD_RIGHT,
    HeardFault.MONO,
    HeardFault.SWAPPED,
    HeardFault.CLIPPING,
    HeardFault.OTHER_RECORD,
    HeardFault.GAIN,
    HeardFault.HUM,
    HeardFault.CLICKS,
)
"""As ``core.tones.SPOILS`` says of distortion, and what leaves one channel to tell of."""


def doubts_of(context: Context) -> dict[int, Doubt]:
    """Return what is asked about recordings, by their places among the trials."""
    doubts: dict[int, Doubt] = {}
    for place, trial in enumerate(context.log.get(NAME, ())):
        reading = trial.reading
        if not isinstance(reading, BandsByTone):
            continue
        faults = reading.recorded.faults_on(context.deck.bench)
        spoils = [one for one in _SPOIL if one in faults]
        said = spoilt(spoils[0]) if spoils else reading.recorded.lacks()
        if said is not None:
            doubts[place] = Doubt(said, NextReading(BY_TONE, {"setting": reading.setting}))
    return doubts


def counted(context: Context) -> Context:
    """Return the context with only the readings that tell a balance."""
    return without(context, NAME, doubts_of(context))
