"""Sentences of the speed step about readings and the trim."""

from __future__ import annotations

from typing import Final

from core.estimation import ControlState, ControlVerdict
from core.fitting import Context
from core.physics.strobe import nearest_bars, turns_needed
from core.records import Deck, SpeedTrim
from core.steps.speed.readings import speed_words

_NO_RESPONSE: Final = (
    "The speed does not follow the trim: see that it is the right screw or knob, and that the "
    "speed is read at the setting it belongs to."
)


def reading_notes(context: Context, rpm: float, ways: set[str]) -> tuple[str, ...]:
    """Return how to read more surely, for the ways that were used."""
    numbers, deck = context.numbers, context.deck
    notes = []
    if "timed turns" in ways:
        turns = turns_needed(rpm, deck.tolerances.speed_percent, deck.bench.stopwatch_s)
        seconds = numbers.plain(60.0 * turns / rpm, 0)
        notes.append(
            f"Counting {turns} turns at {speed_words(rpm, numbers)} rpm, about {seconds} seconds, "
            "is sure enough for this tolerance."
        )
    if "strobe" in ways:
        bars = nearest_bars(rpm, deck.bench.lamp_flashes_per_s)
        if not bars.exact:
            stands = numbers.plain(bars.stands_at_rpm, 3)
            off = numbers.signed_unit(bars.off_percent, "%")
            notes.append(
                f"{bars.bars} bars stand still at {stands} rpm ({off}): that is allowed for."
            )
        notes.append("Watch the bars for longer: a minute is twice as sure as half a minute.")
    return tuple(notes)


def trim_notes(deck: Deck, trim: ControlState) -> tuple[str, ...]:
    """Return what the trim has taught that a person should know."""
    if trim.verdict is ControlVerdict.NO_RESPONSE:
        return (_NO_RESPONSE,)
    if trim.backward:
        way = "Clockwise slows" if deck.platter.trim is SpeedTrim.SCREW else "Up slows"
        return (f"{way} this deck down, against what is stated: the next move allows for it.",)
    return ()
