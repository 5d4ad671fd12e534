"""The history of one fitting: its entries in order, by day and step, in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby

from core.fitting import Entry, Fitting, Withdrawn
from core.language import Numbers, day_of, step_text
from core.steps import STEP_NAMES
from core.workflow.descriptions import entry_words


@dataclass(frozen=True, slots=True)
class LogLine:
    """One entry: when on that day, in words, whose it is, and whether it still counts."""

    at: datetime
    words: str
    who: str
    counts: bool


@dataclass(frozen=True, slots=True)
class LogStep:
    """Entries of one step that follow on each other; ``step`` is empty for the whole fitting."""

    step: str
    title: str
    lines: tuple[LogLine, ...]


@dataclass(frozen=True, slots=True)
class LogDay:
    """One day; ``clock_set_back`` if the entries before it are dated later."""

    day: date
    steps: tuple[LogStep, ...]
    clock_set_back: bool = False


def log_by_day(fitting: Fitting, numbers: Numbers) -> tuple[LogDay, ...]:
    """Return the entries of a fitting in the order they were kept, by day and step.

    A withdrawal stands at the step of what it withdraws. An entry that does not count stays in
    its place and is marked.
    """
    known = {entry.id: entry for entry in fitting.entries}
    gone = fitting.withdrawn_ids()
    found: list[LogDay] = []
    latest = date.min
    for day, of_day in groupby(fitting.entries, key=lambda entry: day_of(entry.at)):
        rooms = tuple(_rooms(list(of_day), known, gone, numbers))
        found.append(LogDay(day, rooms, clock_set_back=day < latest))
        latest = max(latest, day)
    return tuple(found)


def _rooms(
    entries: list[Entry], known: dict[str, Entry], gone: frozenset[str], numbers: Numbers
) -> Iterator[LogStep]:
    for step, group in groupby(entries, key=lambda entry: _step_of(entry, known)):
        title = step_text(step).title if step in STEP_NAMES else "The whole fitting"
        lines = (
            LogLine(entry.at, _words(entry, known, numbers), entry.who, entry.id not in gone)
            for entry in group
        )
        yield LogStep(step, title, tuple(lines))


def _step_of(entry: Entry, known: dict[str, Entry]) -> str:
    body, left = entry.body, len(known)
    while isinstance(body, Withdrawn) and body.entry in known and left:
        body, left = known[body.entry].body, left - 1
    return str(getattr(body, "step", ""))


def _words(entry: Entry, known: dict[str, Entry], numbers: Numbers) -> str:
    body = entry.body
    if not isinstance(body, Withdrawn) or body.entry not in known:
        return entry_words(body, numbers)
    reason = f" ({body.reason})" if body.reason else ""
    other = known[body.entry].body
    if isinstance(other, Withdrawn):
        return f"Counts again after all{reason}"
    return f"From here on does not count: “{entry_words(other, numbers)}”{reason}"
