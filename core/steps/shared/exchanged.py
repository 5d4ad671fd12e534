"""Two figures typed into each other's field, found by a move that they contradict.

Once exchanged, a reading says the opposite. After the ordered move the next reading is then three
times as far off as the first one said, which a control that acts as stated can't do.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Final

from core.estimation import ControlModel, Estimate
from core.estimation import ControlMove as Moved
from core.fitting import (
    CHECKED_WAY,
    Control,
    NextReading,
    Pair,
    Question,
    Reading,
    Trial,
)
from core.language import Message
from core.steps.shared.doubts import Doubt
from core.steps.shared.event_history import Elsewhere, Event

_SURE: Final = 3.0
"""Standard deviations beyond which a reading contradicts a move: our own allowance."""


@dataclass(frozen=True, slots=True)
class Exchangeable:
    """How a step tells that two fields of its readings changed places.

    Parameters
    ----------
    fields
        Names of both fields, in the order in which the answers show them.
    measure
        The quantity that a reading gives; None if it gives none.
    moved
        How far a move turned the control, in its units; None if it changed anything else too.
    control
        What is known of the control beforehand. ``stated_gain`` must not be None.
    """

    fields: tuple[str, str]
    measure: Callable[[Reading], Estimate | None]
    moved: Callable[[Trial], float | None]
    control: ControlModel

    def has_both(self, reading: Reading | None) -> bool:
        """Whether a reading has both fields."""
        return all(hasattr(reading, name) for name in self.fields)

    def other_way(self, reading: Reading) -> Reading:
        """Return the reading with both fields exchanged."""
        one, other = self.fields
        values = {one: getattr(reading, other), other: getattr(reading, one)}
        return reading.model_copy(update=values)


def exchanges(events: Sequence[Event], how: Exchangeable) -> list[tuple[Trial, tuple[Trial, ...]]]:
    """Return the readings that contradict a move, each with those before the move.

    Only those are returned that an exchange, of this reading or of those before, explains, and
    better than a move that was made the other way or had no effect. What the person said to be
    right as typed is left out. Moves of other steps in between end a comparison.
    """
    found = _FieldsCompared(how)
    right = {one.checked.as_read for one in events if isinstance(one, Trial) and one.checked}
    for event in events:
        found.take(event, right)
    return found.doubted


@dataclass
class _FieldsCompared:
    """The events taken one after the other."""

    how: Exchangeable
    before: tuple[Trial, ...] = ()
    read: Estimate | None = None
    """The mean of the readings before the move."""
    other: Estimate | None = None
    """The same with their fields exchanged; None if one has not both."""
    now: list[Trial] = field(default_factory=list)
    moved: float = 0.0
    made: float = 0.0
    doubted: list[tuple[Trial, tuple[Trial, ...]]] = field(default_factory=list)

    def take(self, event: Event, right: set[str]) -> None:
        if isinstance(event, Elsewhere):
            self._start_from([])
        elif event.moves:
            self._move(event)
        elif event.reading is not None and self.how.measure(event.reading) is not None:
            certain = bool(event.entry_id) and event.entry_id in right
            if not certain and self._contradicts(event):
                self.doubted.append((event, self.before))
            else:
                self.now.append(event)

    def _start_from(self, readings: Sequence[Trial]) -> None:
        self.before, self.now, self.moved, self.made = tuple(readings), [], 0.0, 0.0
        self.read = self._mean(readings)
        self.other = self._mean(readings, exchanged=True)

    def _move(self, event: Trial) -> None:
        amount = self.how.moved(event)
        if amount is None:
            self._start_from([])
            return
        if self.now:
            self._start_from(self.now)
        self.moved += amount
        self.made = math.hypot(self.made, self.how.control.execution(Moved(amount)))

    def _contradicts(self, trial: Trial) -> bool:
        """Whether a reading contradicts the move, and an exchange explains that."""
        gain, share = self.how.control.stated_gain, self.how.control.gain_relative_uncertainty
        read, after = self.read, self._mean([trial])
        if read is None or after is None or not gain or not self.moved:
            return False
        change, shown = gain * self.moved, after.value - read.value
        hand = math.hypot(share * change, gain * self.made)
        sd = math.hypot(read.standard_uncertainty, after.standard_uncertainty, hand)
        if abs(shown - change) <= _SURE * sd:
            return False
        exchanged = self._mean([trial], exchanged=True)
        ways = [
            abs(last.value - first.value - change)
            for first, last in ((self.other, after), (read, exchanged))
            if first is not None and last is not None
        ]
        best = min(ways, default=math.inf)
        return best <= _SURE * sd and best < min(abs(shown), abs(shown + change))

    def _mean(self, trials: Sequence[Trial], *, exchanged: bool = False) -> Estimate | None:
        read = [one.reading for one in trials if one.reading is not None]
        if exchanged:
            read = [self.how.other_way(one) for one in read if self.how.has_both(one)]
        found = [one for one in map(self.how.measure, read) if one is not None]
        if not found or len(found) < len(trials):
            return None
        sd = math.hypot(*(one.standard_uncertainty for one in found)) / len(found)
        return Estimate(math.fsum(one.value for one in found) / len(found), sd)


def asked_of_exchange(
    how: Exchangeable,
    control: Control,
    trial: Trial,
    before: Sequence[Trial],
    question: Message,
    said: Callable[[str, Reading], Message],
) -> Doubt:
    """Return the question about a reading that contradicts a move.

    ``said`` makes an answer of ``before``, ``after`` or ``never``, and the reading as it would be
    then. A reading still being typed is questioned, but no answer can name it yet.
    """
    pairs: list[Pair] = []
    for when, trials in (("before", tuple(before)), ("after", (trial,))):
        last = trials[-1].reading
        if last is not None and all(how.has_both(one.reading) for one in trials):
            entries = tuple(one.entry_id for one in trials)
            pairs.append(Pair(entries, how.fields, said(when, how.other_way(last))))
    questions: tuple[Question, ...] = ()
    if trial.entry_id and trial.reading is not None:
        right = Pair((trial.entry_id,), (), said("never", trial.reading))
        questions = (Question(control, question, pairs=(*pairs, right)),)
    asked = NextReading(way=CHECKED_WAY, values={"control": control}, count=None)
    return Doubt(question, asked, questions=questions)
