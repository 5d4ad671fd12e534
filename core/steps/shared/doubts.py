"""Invalid readings: the questions about them, and the log without them.

A step says which of its readings can't be right, and why. They stay in the log, enter no figure,
and the last of them is asked about before anything else.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from core.fitting import (
    KEEP_STYLUS_UP,
    Assessment,
    Context,
    NextReading,
    Question,
    Trial,
    Verdict,
)
from core.language import Message, message


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why a reading is invalid: the question, and what to read instead.

    ``stops``: if it were right, the stylus would be in danger.
    """

    question: Message
    asked: NextReading = field(default_factory=NextReading)
    stops: bool = False
    notes: tuple[Message, ...] = ()
    questions: tuple[Question, ...] = ()


Doubts = Mapping[int, Doubt]
"""Doubts by the readings' indexes among a step's trials."""


def stretches(trials: Sequence[Trial]) -> Iterator[range]:
    """Yield the indexes of the trials between two moves."""
    first = 0
    for place, trial in enumerate(trials):
        if trial.moves:
            yield range(first, place)
            first = place + 1
    yield range(first, len(trials))


def without(context: Context, step: str, doubts: Collection[int]) -> Context:
    """Return the context without a step's readings at these indexes."""
    if not doubts:
        return context
    trials = context.log.get(step, ())
    kept = tuple(trial for place, trial in enumerate(trials) if place not in doubts)
    return replace(context, log={**context.log, step: kept})


def questioned(context: Context, doubts: Doubts, said: Assessment) -> Assessment:
    """Return the answer to the other readings, or the question if the last is invalid."""
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
    cautions = dict.fromkeys((*([KEEP_STYLUS_UP] if stops else []), *said.cautions))
    return replace(
        said,
        verdict=Verdict.STOP if stops else Verdict.READ_AGAIN,
        headline=doubt.question,
        next_move=None,
        questions=doubt.questions,
        cautions=tuple(cautions),
        next_reading=replace(doubt.asked, why=doubt.question),
        notes=(*doubt.notes, *notes),
    )
