"""Readings that are none: what is asked about them, and the log without them.

A step says which of its readings can't be taken at their word, and why. They stay in the log, go
into no figure, and the last of them is asked about before anything else.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from core.fitting import Assessment, Context, NextReading, Trial, Verdict
from core.language import Message, message


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why a reading is none: the question, and what is to be read in its place.

    ``stops``: taken at its word it would mean that the stylus is in danger.
    """

    question: Message
    asked: NextReading = field(default_factory=NextReading)
    stops: bool = False
    notes: tuple[Message, ...] = ()


Doubts = Mapping[int, Doubt]
"""Doubts by the places of the readings among a step's trials."""


def stretches(trials: Sequence[Trial]) -> Iterator[range]:
    """Yield the places of the trials between two moves."""
    first = 0
    for place, trial in enumerate(trials):
        if trial.moves:
            yield range(first, place)
            first = place + 1
    yield range(first, len(trials))


def without(context: Context, step: str, doubts: Collection[int]) -> Context:
    """Return the context with a step's readings at these places left out."""
    if not doubts:
        return context
    trials = context.log.get(step, ())
    kept = tuple(trial for place, trial in enumerate(trials) if place not in doubts)
    return replace(context, log={**context.log, step: kept})


def questioned(context: Context, doubts: Doubts, said: Assessment) -> Assessment:
    """Return the answer to the other readings, or the question about the last if it is none."""
    if not doubts:
        return said
    happened = [place for place, one in enumerate(context.trials) if one.reading or one.moves]
    moved = max((place for place in happened if context.trials[place].moves), default=-1)
    aside = sum(place > moved for place in doubts)
    notes = (*([message("doubt.not_counted", count=aside)] if aside else []), *said.notes)
    doubt = doubts.get(happened[-1]) if happened else None
    if doubt is None:
        return replace(said, notes=notes)
    stops = doubt.stops or said.verdict is Verdict.STOP
    return replace(
        said,
        verdict=Verdict.STOP if stops else Verdict.READ_AGAIN,
        headline=doubt.question,
        next_move=None,
        questions=(),
        next_reading=replace(doubt.asked, why=doubt.question),
        notes=(*doubt.notes, *notes),
    )
