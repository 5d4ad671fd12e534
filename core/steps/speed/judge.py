"""Speed: read against nominal once warm, and trimmed where the deck has a trim."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial
from typing import Annotated, Final

from pydantic import Field

from core.drawing.chart import Picture
from core.estimation import (
    COVERAGE_FACTOR,
    ControlState,
    Decision,
    Estimate,
    decide,
    readings_needed,
    worth_reading,
)
from core.fitting import (
    Applicability,
    Assessment,
    Context,
    Figure,
    Move,
    Verdict,
)
from core.language import listed
from core.records import Cartridge, Deck, SpeedTrim
from core.steps.downforce import times
from core.steps.speed.chart import errors_picture
from core.steps.speed.move import (
    next_move,
    trim_control,
    trim_of,
)
from core.steps.speed.readings import (
    Event,
    NoSuchSpeed,
    Pooled,
    Readout,
    Strobe,
    Taken,
    TimedTurns,
    Trimmed,
    events_of,
    speed_words,
)
from core.steps.speed.state import (
    Speed,
    distance_from_first,
    speed_of,
)
from core.steps.speed.words import reading_notes, trim_notes

NAME: Final = "speed"

Readings = Annotated[Strobe | TimedTurns | Readout, Field(discriminator="way")]

_IMPLAUSIBLE_PERCENT: Final = 10.0
"""So far off, the wrong speed, ring or lamp is likelier than a deck that runs so."""

_ENOUGH_TO_OUTVOTE: Final = 5
_BARELY_THERE: Final = 0.05


def applies(deck: Deck, cartridge: Cartridge) -> Applicability:
    """Every deck's speed can be read; not every one can be trimmed."""
    del cartridge
    none = deck.platter.trim is SpeedTrim.NONE
    return Applicability(
        reads=True,
        adjusts=not none,
        ways=("strobe", "timed turns", "readout"),
        reason="This deck has no speed trim." if none else "",
    )


def picture(context: Context) -> Picture:
    """Draw the error of each reading, what was trimmed between, and the tolerance."""
    return assess(context).picture


def assess(context: Context) -> Assessment:
    """Judge every speed that was read; the deck's first speed must be.

    Where each speed has its own trim they are judged one by one. Where one trim serves all, it is
    aimed so that the fastest and the slowest are equally far off.
    """
    return _SpeedJudge.of(context).judged()


@dataclass(frozen=True, slots=True)
class _Answer:
    verdict: Verdict
    headline: str
    move: Move | None = None
    trim: ControlState | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _SpeedJudge:
    context: Context
    events: tuple[Event, ...]
    speeds: tuple[Speed, ...]

    @classmethod
    def of(cls, context: Context) -> _SpeedJudge:
        events = events_of(context)
        speeds = tuple(
            speed_of(events, i, rpm) for i, rpm in enumerate(context.deck.platter.speeds_rpm)
        )
        return cls(context, events, speeds)

    @property
    def _tolerance(self) -> float:
        return self.context.deck.tolerances.speed_percent

    def _said(self, speed: Speed) -> str:
        return speed_words(speed.rpm, self.context.numbers)

    def judged(self) -> Assessment:
        return self._assessment(self._beforehand() or self._compared())

    def _beforehand(self) -> _Answer | None:
        """Return what comes before any comparison, if anything does."""
        main, numbers = self.speeds[0], self.context.numbers
        last = self.events[-1] if self.events else None
        if isinstance(last, NoSuchSpeed):
            own = listed([self._said(speed) for speed in self.speeds], "or")
            asked = speed_words(last.rpm, numbers)
            headline = f"This deck plays at {own}, not at {asked}: enter it again."
            return _Answer(Verdict.READ_AGAIN, headline)
        if not any(isinstance(event, Taken) for event in self.events):
            if any(isinstance(event, Trimmed) for event in self.events):
                return _Answer(Verdict.READ_AGAIN, "Read the speed now: it was trimmed, not read.")
            minutes = numbers.unit(self.context.deck.platter.warm_up_min, "min")
            headline = f"Let the platter run for {minutes}, then read {self._said(main)}."
            return _Answer(Verdict.NO_READING, headline)
        for speed in self.speeds:
            shared = self.context.deck.platter.one_trim_for_all and speed is not main
            if speed.moved_since and not shared:
                return self._after_a_move(speed)
        return self._reading_in_doubt(main)

    def _reading_in_doubt(self, main: Speed) -> _Answer | None:
        warm_up = self.context.numbers.unit(self.context.deck.platter.warm_up_min, "min")
        for speed in self.speeds:
            if speed.only_cold:
                headline = f"Read {self._said(speed)} again after {warm_up} of running: still cold."
                return _Answer(Verdict.READ_AGAIN, headline)
        if main.pool is None:
            headline = f"Read {self._said(main)} too: it is the deck's first speed."
            return _Answer(Verdict.READ_AGAIN, headline)
        for speed in self.speeds:
            pool = speed.pool
            if pool is None:
                continue
            if abs(pool.free.value) > _IMPLAUSIBLE_PERCENT and pool.count == 1:
                headline = (
                    f"{self._said(speed)} so far off? Check speed, ring and lamp; read again."
                )
                return _Answer(Verdict.READ_AGAIN, headline)
            if pool.odd is not None and pool.count < _ENOUGH_TO_OUTVOTE:
                headline = f"The readings at {self._said(speed)} disagree: read it once more."
                return _Answer(Verdict.READ_AGAIN, headline)
        return None

    def _after_a_move(self, speed: Speed) -> _Answer:
        trim = trim_of(self.context, self.events, speed.index, 0.0, 0.0)
        headline = f"Read {self._said(speed)} again: it was trimmed since."
        return _Answer(Verdict.READ_AGAIN, headline, trim=trim)

    def _compared(self) -> _Answer:
        if self.context.deck.platter.one_trim_for_all and self.context.deck.platter.trim is not (
            SpeedTrim.NONE
        ):
            answers = [self._jointly()]
        else:
            answers = [
                self._singly(speed, speed.pool, 0.0, self._tolerance)
                for speed in self.speeds
                if speed.pool is not None
            ]
        for verdict in (Verdict.MOVE, Verdict.READ_AGAIN, Verdict.LEFT_AS_FOUND):
            for answer in answers:
                if answer.verdict is verdict:
                    return answer
        if len(answers) > 1:
            limit = self.context.numbers.unit(self._tolerance, "%")
            headline = f"All {len(answers)} speeds read are within {limit}: good."
            return _Answer(Verdict.GOOD, headline)
        return answers[0]

    def _singly(self, speed: Speed, pool: Pooled, aim: float, tolerance: float) -> _Answer:
        deck, now = self.context.deck, pool.now
        off, half = now.value - aim, now.half_width()
        if deck.platter.trim is SpeedTrim.NONE:
            return self._untrimmed(speed, pool)
        trim = trim_of(self.context, self.events, speed.index, aim, off)
        step = trim_control(self.context, speed.rpm, off).smallest_step
        effect = abs(trim.gain.value) * step if trim.gain else 0.0
        decision = decide(off, half, tolerance, smallest_effect=effect)
        if decision is Decision.GOOD:
            return _Answer(Verdict.GOOD, f"{self._runs(speed, now)}: good.")
        if decision is Decision.STEP_TOO_COARSE:
            headline = f"{self._runs(speed, now)}; the trim goes no finer."
            return _Answer(Verdict.LEFT_AS_FOUND, headline)
        if decision is Decision.READ_AGAIN or self._worth_reading(pool, off, tolerance):
            return self._again(speed, pool, off, tolerance)
        move = next_move(self.context, trim, speed.index, now, aim)
        notes = (f"{self._runs(speed, now)}.", *trim_notes(deck, trim))
        return _Answer(Verdict.MOVE, move.sentence, move, trim, notes)

    def _untrimmed(self, speed: Speed, pool: Pooled) -> _Answer:
        now, tolerance = pool.now, self._tolerance
        size, half = abs(now.value), now.half_width()
        runs = self._runs(speed, now)
        if size + half <= tolerance:
            return _Answer(Verdict.GOOD, f"{runs}: good.")
        if size - half > tolerance:
            headline = f"{runs}; this deck has no speed trim."
            return _Answer(Verdict.LEFT_AS_FOUND, headline, notes=(_LEFT_NOTE,))
        free = pool.free.standard_uncertainty
        for more in range(1, 6):
            share = pool.count / (pool.count + more)
            half = COVERAGE_FACTOR * math.hypot(free * share**0.5, pool.calibration)
            if size + half <= tolerance or size - half > tolerance:
                headline = f"{runs}, too near the limit to tell: read {times(more)} more."
                return _Answer(Verdict.READ_AGAIN, headline, notes=self._longer(speed))
        headline = f"{runs}, give or take; this deck has no speed trim."
        return _Answer(Verdict.LEFT_AS_FOUND, headline, notes=(_LEFT_NOTE, *self._longer(speed)))

    def _again(self, speed: Speed, pool: Pooled, off: float, tolerance: float) -> _Answer:
        more = readings_needed(
            off,
            tolerance,
            pool.free.standard_uncertainty * pool.count**0.5,
            pool.count,
            calibration_standard_uncertainty=pool.calibration,
            most=_ENOUGH_TO_OUTVOTE,
        )
        if more is not None:
            headline = (
                f"{self._runs(speed, pool.now)}, not sure enough: read {times(max(more, 1))} more."
            )
        else:
            headline = (
                f"{self._said(speed)}: this reading is too coarse. Watch or count for longer."
            )
        return _Answer(Verdict.READ_AGAIN, headline, notes=self._longer(speed))

    def _worth_reading(self, pool: Pooled, off: float, tolerance: float) -> bool:
        """Whether a few more readings would show it good as it is: cheaper than a move."""
        more = worth_reading(
            off,
            tolerance,
            pool.free.standard_uncertainty * pool.count**0.5,
            pool.count,
            calibration_standard_uncertainty=pool.calibration,
        )
        return more is not None

    def _longer(self, speed: Speed) -> tuple[str, ...]:
        ways = {self._taken(place).way for place in speed.places}
        return reading_notes(self.context, speed.rpm, ways)

    def _taken(self, place: int) -> Taken:
        event = self.events[place]
        if not isinstance(event, Taken):
            raise TypeError("a standing place holds a reading")
        return event

    def _jointly(self) -> _Answer:
        """Judge all speeds that hang on one trim by the deck's first speed."""
        main, now = self.speeds[0], self.errors()
        pool = main.pool
        if pool is None:
            raise ValueError("the first speed is read before any is judged")
        beside = [estimate.value - now[0].value for estimate in now.values()]
        aim = -0.5 * (max(beside) + min(beside))
        spread = 0.5 * (max(beside) - min(beside))
        tolerance = max(self._tolerance - spread, 0.5 * self._tolerance)
        answer = self._singly(main, pool, aim, tolerance)
        if answer.verdict is not Verdict.GOOD or len(now) == 1:
            return answer
        sure = all(abs(e.value) + e.half_width() <= self._tolerance for e in now.values())
        limit = self.context.numbers.unit(self._tolerance, "%")
        if sure:
            return _Answer(Verdict.GOOD, f"All {len(now)} speeds are within {limit}: good.")
        headline = "One trim serves all speeds: this is the fairest setting for them."
        gap = self.context.numbers.unit(2.0 * spread, "%")
        note = f"The speeds lie {gap} apart, and one trim moves them together; the tolerance is ±"
        return _Answer(Verdict.LEFT_AS_FOUND, headline, notes=(f"{note}{limit}.",))

    def errors(self) -> dict[int, Estimate]:
        """Return the error of each speed that is known, by its place among the deck's speeds.

        With one trim for all, a speed read before the last trim keeps its distance from the first
        speed: both change by the same share (derived: one motor drives both).
        """
        found = {s.index: s.pool.now for s in self.speeds if s.pool is not None}
        if not self.context.deck.platter.one_trim_for_all or 0 not in found:
            return found
        for speed in self.speeds[1:]:
            if speed.pool is None:
                beside = distance_from_first(self.events, speed.index)
                if beside is not None:
                    found[speed.index] = found[0].plus(beside)
        return found

    def _runs(self, speed: Speed, now: Estimate) -> str:
        numbers = self.context.numbers
        if abs(now.value) < _BARELY_THERE:
            return f"{self._said(speed)} runs true within {numbers.unit(now.half_width(), '%')}"
        way = "fast" if now.value > 0 else "slow"
        return f"{self._said(speed)} runs {numbers.unit(abs(now.value), '%')} {way}"

    def _assessment(self, answer: _Answer) -> Assessment:
        predicted = answer.trim.predicted if answer.trim else None
        ways = [event.way for event in self.events if isinstance(event, Taken)]
        cautions = ["flashing"] if "strobe" in ways else []
        if answer.verdict is Verdict.MOVE and self.context.deck.platter.trim is SpeedTrim.SCREW:
            cautions.append("unplug")
        return Assessment(
            verdict=answer.verdict,
            headline=answer.headline,
            drawing=partial(
                errors_picture,
                self.context.deck,
                self.events,
                frozenset(place for speed in self.speeds for place in speed.places),
                predicted,
                self.context.numbers,
            ),
            next_move=answer.move,
            figures=self._figures(answer, predicted),
            notes=(*answer.notes, *self._unread(answer)),
            cautions=tuple(cautions),
            method=listed(list(dict.fromkeys(ways))),
        )

    def _unread(self, answer: _Answer) -> tuple[str, ...]:
        known = self.errors()
        missing = [self._said(s) for s in self.speeds if s.index not in known]
        if not missing or not answer.verdict.passes:
            return ()
        return (f"Not read, and so not judged: {listed(missing)} rpm.",)

    def _figures(self, answer: _Answer, predicted: Estimate | None) -> tuple[Figure, ...]:
        known = self.errors()
        figures: list[Figure] = []
        if len(known) > 1:  # one alone is told once
            worst = max(known.values(), key=lambda estimate: abs(estimate.value))
            figures.append(self._figure("speed_error", "Largest speed error", worst))
        keys: set[str] = set()
        for index, estimate in known.items():
            speed = self.speeds[index]
            key = f"speed_error_{int(speed.rpm)}"
            if key in keys:
                key = f"{key}_{index}"
            keys.add(key)
            figures.append(self._figure(key, f"Speed error at {self._said(speed)}", estimate))
        if predicted is not None and answer.verdict is Verdict.READ_AGAIN:
            half = predicted.half_width()
            figures.append(
                Figure(
                    "predicted_error",
                    "Error expected",
                    predicted.value,
                    "%",
                    half_width=half,
                    tolerance=self._tolerance,
                )
            )
        return tuple(figures)

    def _figure(self, key: str, label: str, error: Estimate) -> Figure:
        half, tolerance = error.half_width(), self._tolerance
        return Figure(
            key, label, error.value, "%", half_width=half, target=0.0, tolerance=tolerance
        )


_LEFT_NOTE: Final = (
    "Worn belts, dry bearings and old motors run off speed: a service can help where a trim is "
    "missing."
)
