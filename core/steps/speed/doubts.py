"""Readings that determine no speed: bars too fast to count, contradictions, bad recordings."""

from __future__ import annotations

from typing import Final

from core.fitting import Context, NextReading
from core.language import Name, Quantity, message
from core.steps.shared import DISAGREES, Doubt, HeardFault, spoilt, without
from core.steps.speed.readings import TONE, BarDrift, Strobe, Tone, TooFastToCount, speed_name

NAME: Final = "speed"

_COUNTABLE_PER_S: Final = 4.0
"""Most bars per second that a person can count past a mark: our own allowance."""

_NEAR: Final = 0.02
"""Within this of the record's tone at another speed it is taken to be that speed."""

_SAME: Final = 0.005
_USUAL_RPM: Final = (100.0 / 3.0, 45.0, 78.0)


def doubts_of(context: Context) -> dict[int, Doubt]:
    """Return the questions about bars and tones, by their indexes among the trials.

    Bars too fast to count show only that the speed is far off. Turns timed with a watch show by how
    much, and whether it is this speed at all.
    """
    doubts: dict[int, Doubt] = {}
    tones: list[Tone] = []
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
            doubt = _about_tone(context, reading, tones)
            tones.append(reading)
            if doubt is not None:
                doubts[place] = doubt
            continue
        elif isinstance(reading, TooFastToCount):
            question = message("speed.bars_too_fast")
        else:
            continue
        speed = reading.speed_rpm or context.deck.platter.speeds_rpm[0]
        doubts[place] = Doubt(question, NextReading("timed turns", {"speed_rpm": speed}))
    return doubts


def _about_tone(context: Context, tone: Tone, before: list[Tone]) -> Doubt | None:
    """Return the questions about a recording without a speed, or of another one."""
    lacks = tone.recorded.lacks()
    if lacks is not None:
        return Doubt(lacks, NextReading(TONE))
    if tone.recorded.record is not None:
        return _beside_record(context, tone, before)
    faults = tone.recorded.known_faults()
    spoils = [one for one in tone.recorded.SPOILT_BY if one in faults]
    if spoils:
        return Doubt(spoilt(spoils[0]), NextReading(TONE))
    if tone.is_far_off(context.deck):
        return Doubt(spoilt(HeardFault.OTHER_SPEED), NextReading(TONE))
    return None


def _beside_record(context: Context, tone: Tone, before: list[Tone]) -> Doubt | None:
    """Ask about a tone that differs from the chosen record's at the named speed.

    A second reading with the same result counts: then the deck itself runs so.
    """
    if HeardFault.DROPPED in tone.recorded.known_faults():
        return Doubt(spoilt(HeardFault.DROPPED), NextReading(TONE))
    told, played = tone.recorded.speed, tone.recorded.record
    speeds = context.deck.platter.speeds_rpm
    wanted = tone.speed_rpm or speeds[0]
    expected = tone.tone_hz(wanted, context.deck)
    if told is None or played is None or expected is None:
        return None
    if abs(told.hz / expected - 1.0) <= DISAGREES:
        return None
    if any(_is_the_same(tone, one) for one in before):
        return None
    hz, nominal = Quantity(told.hz, "Hz", 0), Quantity(expected, "Hz", 0)
    record = Name(played.record.name)
    for rpm in (*speeds, *_USUAL_RPM):
        at = tone.tone_hz(rpm, context.deck)
        if at is not None and abs(told.hz / at - 1.0) <= _NEAR:
            said = message(
                "speed.tone_of_other.speed",
                hz=hz,
                record=record,
                speed=speed_name(rpm),
                chosen=speed_name(wanted),
            )
            return Doubt(said, NextReading(TONE))
    said = message("speed.tone_of_other.record", hz=hz, record=record, nominal=nominal)
    return Doubt(said, NextReading(TONE))


def _is_the_same(one: Tone, other: Tone) -> bool:
    """Whether two readings are of one record at one speed and agree."""
    first, second = one.recorded.speed, other.recorded.speed
    if first is None or second is None or one.recorded.record != other.recorded.record:
        return False
    return one.speed_rpm == other.speed_rpm and abs(first.hz / second.hz - 1.0) <= _SAME


def counted(context: Context) -> Context:
    """Return the context with only the readings that determine a speed."""
    return without(context, NAME, doubts_of(context))
