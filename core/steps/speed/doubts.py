"""What tells no speed: bars too fast to count, or gone a way without going; a spoilt recording."""

from __future__ import annotations

from typing import Final

from core.fitting import Context, NextReading
from core.language import Message, Quantity, message
from core.steps.shared import Doubt, HeardFault, spoilt, without
from core.steps.speed.readings import TONE, BarDrift, Strobe, Tone, TooFastToCount

NAME: Final = "speed"

_COUNTABLE_PER_S: Final = 4.0
"""More bars than this in a second nobody counts past a mark: our own allowance."""

_SPOIL_SPEED: Final = (HeardFault.DROPPED, HeardFault.OTHER_SPEED, HeardFault.TONE_UNKNOWN)
"""As ``core.tones.SPOILS`` says of speed."""


def doubts_of(context: Context) -> dict[int, Doubt]:
    """Return what is asked about bars, by their places among the trials.

    Bars too fast to count say only that the speed is far off. Turns against a watch tell by how
    much, and whether it is this speed at all.
    """
    doubts: dict[int, Doubt] = {}
    for place, trial in enumerate(context.log.get(NAME, ())):
        reading = trial.reading
        if isinstance(reading, Strobe):
            if reading.direction is not BarDrift.STANDING and not reading.drifted_bars:
                doubts[place] = Doubt(message("speed.bars_not_counted"), NextReading("strobe"))
                continue
            if reading.drifted_bars <= _COUNTABLE_PER_S * reading.seconds:
                continue
            rate = Quantity(reading.drifted_bars / reading.seconds, decimals=0)
            question = message("speed.bars_miscounted", rate=rate)
        elif isinstance(reading, Tone):
            question_of_tone = _about_tone(context, reading)
            if question_of_tone is not None:
                doubts[place] = Doubt(question_of_tone, NextReading(TONE))
            continue
        elif isinstance(reading, TooFastToCount):
            question = message("speed.bars_too_fast")
        else:
            continue
        speed = reading.speed_rpm or context.deck.platter.speeds_rpm[0]
        doubts[place] = Doubt(question, NextReading("timed turns", {"speed_rpm": speed}))
    return doubts


def _about_tone(context: Context, tone: Tone) -> Message | None:
    """Return what is wrong with a recording that tells no speed."""
    lacks = tone.recorded.lacks()
    if lacks is not None:
        return lacks
    faults = tone.recorded.known_faults()
    spoils = [one for one in _SPOIL_SPEED if one in faults]
    if spoils:
        return spoilt(spoils[0])
    return spoilt(HeardFault.OTHER_SPEED) if tone.is_far_off(context.deck) else None


def counted(context: Context) -> Context:
    """Return the context with only the readings that tell a speed."""
    return without(context, NAME, doubts_of(context))
