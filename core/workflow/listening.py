"""The check by ear at the end: what was heard, what to do, and related recordings."""

from __future__ import annotations

from collections.abc import Iterator

from core.fitting import BalanceHeard, ChannelsHeard, HumHeard, Journey, ListeningCheck, PhaseHeard
from core.language import Message, Name, Quantity, message
from core.records import CutOn
from core.steps.shared import HeardFault, HeardTones, spoilt
from core.workflow.descriptions import listened_words

_TOLD = (
    HeardFault.SWAPPED,
    HeardFault.OPPOSED,
    HeardFault.HUM,
    HeardFault.DEAD_LEFT,
    HeardFault.DEAD_RIGHT,
)


def listening_of(journey: Journey) -> tuple[Message, ...]:
    """Return what was heard, what to do about each fault, and related recordings.

    Empty for a fitting in which nobody listened.
    """
    heard = journey.fitting.listened
    if heard is None:
        return ()
    return (listened_words(heard), *_advice(heard), *_recorded(journey))


def _advice(heard: ListeningCheck) -> Iterator[Message]:
    if heard.channels is ChannelsHeard.EXCHANGED:
        yield message("workflow.listening.exchanged")
    if heard.phase is PhaseHeard.OPPOSED:
        yield message("workflow.listening.opposed")
    if heard.balance in (BalanceHeard.LEFT, BalanceHeard.RIGHT):
        yield message("workflow.listening.louder", side=heard.balance.value)
    if heard.hum is HumHeard.HUMS:
        yield message("workflow.listening.hum")


def _recorded(journey: Journey) -> Iterator[Message]:
    """Yield what the last recording of both sides says about balance and the other checks."""
    recordings = [
        recorded
        for status in journey.statuses
        for trial in status.trials
        if isinstance(recorded := getattr(trial.reading, "recorded", None), HeardTones)
    ]
    for recorded in reversed(recordings):
        levels = {one.side: one.level_db for one in recorded.bands if one.leak_db is not None}
        if CutOn.LEFT in levels and CutOn.RIGHT in levels:
            louder = levels[CutOn.LEFT] - levels[CutOn.RIGHT]
            side = "left" if louder > 0.0 else "right"
            told = message(
                "workflow.listening.balance", side=side, db=Quantity(abs(louder), "dB", 1)
            )
            yield message("workflow.listening.measured", file=Name(recorded.file), said=told)
            break
    for fault in _TOLD:
        for recorded in reversed(recordings):
            if fault in recorded.faults_on(journey.deck.bench):
                said = spoilt(fault)
                yield message("workflow.listening.measured", file=Name(recorded.file), said=said)
                break
