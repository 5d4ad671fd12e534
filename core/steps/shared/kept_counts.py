"""Announced numbers of readings: 'two more' is never followed by 'three more'.

A later reading may call for more than the ones before it. Then the number announced first is not
replaced by a greater one: no number is given.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import takewhile
from typing import Final

from core.fitting import Assessment, Context, Verdict
from core.language import Message, message

_LONG: Final = 8
"""Above this no number of readings is announced."""


def counts_kept(
    context: Context, said: Assessment, assess: Callable[[Context], Assessment]
) -> Assessment:
    """Return the same answer, without a number of readings above the one announced before.

    ``assess`` answers a shorter log; only the readings since the last other event are considered.
    """
    told = _told(said)
    if told is None:
        return said
    step, trials = context.step, context.trials
    fresh = len(list(takewhile(lambda trial: trial.reading is not None, reversed(trials))))
    left: int | None = None
    for back in range(min(fresh, _LONG) - 1, 0, -1):
        sooner = replace(context, log={**context.log, step: trials[: len(trials) - back]})
        left = None if left is None else left - 1
        then = _told(assess(sooner))
        if then is not None and (left is None or then < left):
            left = then
    kept = fresh <= _LONG and (left is None or told <= left - 1)
    return said if kept else _without_number(said)


def _told(said: Assessment) -> int | None:
    """Return the number of readings that an answer announces."""
    asked = said.next_reading
    if said.verdict is not Verdict.READ_AGAIN or asked is None or said.questions:
        return None
    numbered = any(name in said.headline.values for name in ("times", "count"))
    return asked.count if numbered or any(_is_number(note) for note in said.notes) else None


def _is_number(note: Message) -> bool:
    return note.key.endswith(".more_readings")


def _without_number(said: Assessment) -> Assessment:
    headline, asked = said.headline, said.next_reading
    values = dict(headline.values)
    if "times" in values:
        values["times"] = message("common.times", count="unknown")
    elif "count" in values:
        values["count"] = "unknown"
    bare = replace(headline, values=values)
    if asked is not None:
        why = bare if asked.why == headline else None if _is_note(asked.why) else asked.why
        asked = replace(asked, count=None, why=why)
    notes = tuple(note for note in said.notes if not _is_number(note))
    return replace(said, headline=bare, next_reading=asked, notes=notes)


def _is_note(why: Message | None) -> bool:
    return why is not None and _is_number(why)
