"""The history of one fitting: its entries in order, by day and step."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby

from core.fitting import Entry, Fitting, Withdrawn
from core.language import Message, Name, StepTitle, day_of, message
from core.records import Deck
from core.steps import STEP_NAMES
from core.workflow import described, described_entry


@dataclass(frozen=True, slots=True)
class LogLine:
    """One entry: when on that day, what it holds, whose it is, and whether it still counts."""

    at: datetime
    words: Message
    who: str
    counts: bool


@dataclass(frozen=True, slots=True)
class LogStep:
    """Entries of one step that follow on each other; ``step`` is empty for the whole fitting."""

    step: str
    title: StepTitle | Message
    lines: tuple[LogLine, ...]


@dataclass(frozen=True, slots=True)
class LogDay:
    """One day; ``clock_set_back`` if the entries before it are dated later."""

    day: date
    steps: tuple[LogStep, ...]
    clock_set_back: bool = False


def log_by_day(
    fitting: Fitting,
    *,
    parallel: bool = False,
    deck: Deck | None = None,
    part: slice = slice(None),
) -> tuple[LogDay, ...]:
    """Return the entries of a fitting in the order they were kept, by day and step.

    A withdrawal stands at the step of what it withdraws. An entry that does not count stays in
    its place and is marked. ``parallel`` asks for the words of a parallel-tracking arm and
    ``deck`` says in which unit its scales are marked; ``part`` asks for some entries that follow on
    each other, where a log is too long to be shown at once.
    """
    known = {entry.id: entry for entry in fitting.entries}
    counted = {entry.id: entry for entry in fitting.counting()}
    gone = fitting.withdrawn_ids() | fitting.set_aside_ids()
    found: list[LogDay] = []
    start = part.indices(len(fitting.entries))[0]
    latest = max((day_of(entry.at) for entry in fitting.entries[:start]), default=date.min)
    for day, of_day in groupby(fitting.entries[part], key=lambda entry: day_of(entry.at)):
        steps = tuple(_steps(list(of_day), known, counted, gone, parallel=parallel, deck=deck))
        found.append(LogDay(day, steps, clock_set_back=day < latest))
        latest = max(latest, day)
    return tuple(found)


def _steps(
    entries: list[Entry],
    known: dict[str, Entry],
    counted: dict[str, Entry],
    gone: frozenset[str],
    *,
    parallel: bool,
    deck: Deck | None,
) -> Iterator[LogStep]:
    for step, group in groupby(entries, key=lambda entry: _step_of(entry, known)):
        title = StepTitle(step) if step in STEP_NAMES else message("log.whole_fitting")
        lines = (
            LogLine(
                entry.at,
                _described(entry, known, counted, parallel=parallel, deck=deck),
                entry.who,
                entry.id not in gone,
            )
            for entry in group
        )
        yield LogStep(step, title, tuple(lines))


def _step_of(entry: Entry, known: dict[str, Entry]) -> str:
    body, left = entry.body, len(known)
    while isinstance(body, Withdrawn) and body.entry in known and left:
        body, left = known[body.entry].body, left - 1
    return str(getattr(body, "step", ""))


def _described(
    entry: Entry,
    known: dict[str, Entry],
    counted: dict[str, Entry],
    *,
    parallel: bool,
    deck: Deck | None,
) -> Message:
    body = entry.body
    if not isinstance(body, Withdrawn) or body.entry not in known:
        return described_entry(entry, counted, parallel=parallel, deck=deck)
    other, reason = known[body.entry].body, Name(body.reason)
    if isinstance(other, Withdrawn):
        if body.reason:
            return message("log.counts_again_because", reason=reason)
        return message("log.counts_again")
    if body.reason:
        return message(
            "log.discounted_because",
            entry=described(other, parallel=parallel, deck=deck),
            reason=reason,
        )
    return message("log.discounted", entry=described(other, parallel=parallel, deck=deck))
