"""Speed: read against nominal once warm, and trimmed where the deck has a trim."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import Annotated, Final

from pydantic import Field

from core.estimation import (
    ControlState,
    ControlVerdict,
    Decision,
    Estimate,
    Prospect,
    hand_spread,
    readings_needed,
    readings_until,
    settle,
)
from core.fitting import (
    Act,
    Applicability,
    Assessment,
    Context,
    Control,
    Figure,
    Guard,
    Move,
    NextReading,
    Reading,
    Verdict,
    ways_for,
)
from core.language import Message, Quantity, Series, Value, message
from core.physics.strobe import nearest_bars, turns_needed
from core.records import Cartridge, Deck, SpeedTrim
from core.steps.shared import (
    amount,
    asked_of,
    compared,
    counts_kept,
    does_not_answer,
    questioned,
    times,
)
from core.steps.speed.chart import errors_picture
from core.steps.speed.doubts import counted, doubts_of
from core.steps.speed.move import next_move, trim_control, trim_of, trim_place
from core.steps.speed.readings import (
    FAST_OR_SLOW,
    Event,
    NoSuchSpeed,
    Pooled,
    Readout,
    SpeedReading,
    Strobe,
    Taken,
    TimedTurns,
    TooFastToCount,
    Trimmed,
    events_of,
    speed_key,
    speed_name,
)
from core.steps.speed.state import Speed, distance_from_first, speed_of
from core.steps.speed.tone import Tone
from core.steps.speed.tone_told import ToneTold

NAME: Final = "speed"

Readings = Annotated[
    Strobe | TimedTurns | Readout | TooFastToCount | Tone, Field(discriminator="way")
]

_IMPLAUSIBLE_PERCENT: Final = 10.0
"""Beyond this the wrong speed, ring or lamp is likelier than a deck that runs so."""

_ENOUGH_TO_OUTVOTE: Final = 5
_BARELY_THERE: Final = 0.05


def applies(deck: Deck, cartridge: Cartridge) -> Applicability:
    """Every deck's speed can be read; not every one can be trimmed."""
    none = deck.platter.trim is SpeedTrim.NONE
    return Applicability(
        reads=True,
        adjusts=not none,
        ways=ways_for(Readings, deck, cartridge),
        reason=message("speed.no_trim_reason") if none else None,
    )


def assess(context: Context) -> Assessment:
    """Judge every speed that was read; the deck's first speed must be.

    Where each speed has its own trim they are judged one by one. Where one trim serves all, it is
    aimed so that the fastest and the slowest are equally far off.
    """
    return counts_kept(context, _by_itself(context), _by_itself)


def _by_itself(context: Context) -> Assessment:
    """Answer regardless of the number of readings announced before."""
    said = _SpeedJudge.of(counted(context)).judged()
    return questioned(context, doubts_of(context), said)


@dataclass(frozen=True, slots=True)
class _Answer:
    verdict: Verdict
    headline: Message
    move: Move | None = None
    trim: ControlState | None = None
    notes: tuple[Message, ...] = ()
    next_reading: NextReading | None = None
    asks_at: str | None = None
    """The trim about which questions come first; None without questions."""


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

    def judged(self) -> Assessment:
        return self._assessment(self._beforehand() or self._compared())

    def _beforehand(self) -> _Answer | None:
        """Return what precedes any comparison, if anything does."""
        main = self.speeds[0]
        last = self.events[-1] if self.events else None
        if isinstance(last, NoSuchSpeed):
            own = Series(tuple(speed_name(speed.rpm) for speed in self.speeds), "or")
            headline = message("speed.no_such_speed", own=own, asked=speed_name(last.rpm))
            again = NextReading(why=headline)
            return _Answer(Verdict.READ_AGAIN, headline, next_reading=again)
        if not any(isinstance(event, Taken) for event in self.events):
            if any(isinstance(event, Trimmed) for event in self.events):
                return _read(main, message("speed.trimmed_not_read"))
            headline = message("speed.warm_up", minutes=self._warm_up, speed=speed_name(main.rpm))
            return _read(main, headline, verdict=Verdict.NO_READING)
        for speed in self.speeds:
            shared = self.context.deck.platter.one_trim_for_all and speed is not main
            if speed.moved_since and not shared:
                trim = trim_of(self.context, self.events, speed.index, 0.0, 0.0)
                headline = message("speed.trimmed_since", speed=speed_name(speed.rpm))
                return _read(speed, headline, trim=trim)
        return self._reading_in_doubt(main)

    @property
    def _warm_up(self) -> Quantity:
        return Quantity(self.context.deck.platter.warm_up_min, "min")

    def _reading_in_doubt(self, main: Speed) -> _Answer | None:
        for speed in self.speeds:
            if speed.only_cold:
                headline = message(
                    "speed.still_cold", minutes=self._warm_up, speed=speed_name(speed.rpm)
                )
                return _read(speed, headline)
        if main.pool is None:
            return _read(main, message("speed.first_speed", speed=speed_name(main.rpm)))
        for speed in self.speeds:
            pool = speed.pool
            if pool is None:
                continue
            if abs(pool.free.value) > _IMPLAUSIBLE_PERCENT and pool.count == 1:
                return _read(speed, message("speed.far_off", speed=speed_name(speed.rpm)))
            if pool.odd is not None and pool.count < _ENOUGH_TO_OUTVOTE:
                named = compared(self.context, partial(self._is_at, speed.index))
                said = _read(speed, message("speed.disagree", speed=speed_name(speed.rpm)))
                return replace(said, notes=(*named, *said.notes))
        return None

    def _is_at(self, index: int, reading: Reading) -> bool:
        """Whether a reading is of this speed of the deck."""
        if not isinstance(reading, SpeedReading):
            return False
        read = reading.measure(self.context.deck)
        return isinstance(read, Taken) and read.speed == index

    def _compared(self) -> _Answer:
        if self.context.deck.platter.one_trim_for_all and self.context.deck.platter.trim is not (
            SpeedTrim.NONE
        ):
            offs, answers = [0.0], [self._jointly()]
        else:
            read = [(speed, speed.pool) for speed in self.speeds if speed.pool is not None]
            offs = [abs(pool.now.value) for _, pool in read]
            answers = [self._singly(speed, pool, 0.0, self._tolerance) for speed, pool in read]
        for verdict in (Verdict.MOVE, Verdict.READ_AGAIN):
            for answer in answers:
                if answer.verdict is verdict:
                    return answer
        left = [
            (off, answer)
            for off, answer in zip(offs, answers, strict=True)
            if answer.verdict is Verdict.LEFT_AS_FOUND
        ]
        if left:  # about the speed that is furthest off
            return max(left, key=lambda one: one[0])[1]
        if len(answers) > 1:
            headline = message("speed.all_read_good", count=len(answers), limit=self._limit)
            return _Answer(Verdict.GOOD, headline)
        return answers[0]

    @property
    def _limit(self) -> Quantity:
        return Quantity(self._tolerance, "%")

    def _singly(self, speed: Speed, pool: Pooled, aim: float, tolerance: float) -> _Answer:
        off, half = abs(pool.now.value - aim), pool.now.half_width()
        if speed.by_tone_alone and off <= half and off + half > tolerance:
            return self._surer_than_tone(speed)
        if self.context.deck.platter.trim is SpeedTrim.NONE:
            return self._untrimmed(speed, pool)
        return self._trimmed(speed, pool, aim, tolerance)

    def _trimmed(self, speed: Speed, pool: Pooled, aim: float, tolerance: float) -> _Answer:
        now = pool.now
        off = now.value - aim
        trim = trim_of(self.context, self.events, speed.index, aim, off)
        control = trim_control(self.context, speed.rpm, off)
        prospect = Prospect(
            pool.single,
            hand_spread(trim.gain, off, control.execution_absolute),
            pool.calibration,
            abs(trim.gain.value) * control.smallest_step if trim.gain else 0.0,
        )
        decision = settle(now, aim, tolerance, prospect)
        if trim.verdict is ControlVerdict.CHECK_CONTROL and (trim.against or trim.beyond):
            return self._moving(speed, trim, now, aim)
        if decision is Decision.GOOD:
            return _Answer(Verdict.GOOD, message("speed.good", **_runs(speed, now)))
        if decision is Decision.STEP_TOO_COARSE:
            headline = message("speed.no_finer", **_runs(speed, now))
            return _Answer(Verdict.LEFT_AS_FOUND, headline)
        if decision is Decision.READ_AGAIN:
            more = readings_until(now, aim, tolerance, prospect)
            if more is not None or not any(self._taken(place).long for place in speed.places):
                return self._again(speed, pool, more)
            if abs(off) <= now.half_width():  # the direction is unknown
                note = message("speed.note.only_surer", limit=self._limit)
                half = Quantity(now.half_width(), "%")
                headline = message("speed.no_finer_reading", half=half, **_runs(speed, now))
                return _Answer(Verdict.LEFT_AS_FOUND, headline, notes=(note,))
        return self._moving(speed, trim, now, aim)

    def _surer_than_tone(self, speed: Speed) -> _Answer:
        """Ask for the mean by something more accurate than a record."""
        bench = self.context.deck.bench
        way = next(one for one in (Strobe, Readout, TimedTurns) if one.is_at_hand(bench))
        name = str(way.model_fields["way"].default)
        headline = message("speed.surer_than_tone", speed=speed_name(speed.rpm), way=name)
        asked = NextReading(name, {"speed_rpm": speed.rpm}, why=headline)
        return _Answer(Verdict.READ_AGAIN, headline, next_reading=asked)

    def _moving(self, speed: Speed, trim: ControlState, now: Estimate, aim: float) -> _Answer:
        """Order a move, unless the trim must be checked first or has no effect."""
        deck, runs = self.context.deck, message("speed.runs", **_runs(*self._furthest(speed, now)))
        if trim.verdict is ControlVerdict.CHECK_CONTROL:
            answer = _read(speed, runs, trim=trim, notes=(runs,))
            return replace(answer, asks_at=trim_place(deck, speed.rpm))
        if trim.verdict is ControlVerdict.NO_RESPONSE:
            headline, note = does_not_answer(Control.SPEED)
            return _Answer(Verdict.LEFT_AS_FOUND, headline, notes=(runs, note))
        move = next_move(self.context, trim, speed.index, now, aim)
        if move is None:
            return self._no_nearer(speed, trim, now, aim)
        notes = (runs, *_trim_notes(deck, trim))
        return _Answer(Verdict.MOVE, move.sentence, move, trim, notes)

    def _furthest(self, speed: Speed, now: Estimate) -> tuple[Speed, Estimate]:
        """Return the speed a move is ordered for: with one trim for all, the furthest off."""
        if not self.context.deck.platter.one_trim_for_all:
            return speed, now
        errors = self.errors()
        place = max(errors, key=lambda one: abs(errors[one].value))
        return self.speeds[place], errors[place]

    def _no_nearer(self, speed: Speed, trim: ControlState, now: Estimate, aim: float) -> _Answer:
        """Answer for a trim with which no whole step, or no known direction, comes nearer."""
        runs, off = _runs(speed, now), abs(now.value - aim)
        step = trim_control(self.context, speed.rpm, off).smallest_step
        if off > step * abs(trim.gain.value if trim.gain else 0.0):
            note = message("speed.note.moves_do_not_fit")
            return _Answer(Verdict.LEFT_AS_FOUND, message("speed.no_way", **runs), notes=(note,))
        if off <= self._tolerance:
            return _Answer(Verdict.GOOD, message("speed.good", **runs))
        return _Answer(Verdict.LEFT_AS_FOUND, message("speed.no_finer", **runs))

    def _untrimmed(self, speed: Speed, pool: Pooled) -> _Answer:
        now, tolerance = pool.now, self._tolerance
        size, half = abs(now.value), now.half_width()
        if size + half <= tolerance:
            return _Answer(Verdict.GOOD, message("speed.good", **_runs(speed, now)))
        service = message("speed.note.service")
        if size - half > tolerance:
            headline = message("speed.no_trim", **_runs(speed, now))
            return _Answer(Verdict.LEFT_AS_FOUND, headline, notes=(service,))
        # All that can be told is inside or outside: the distance from the limit, for certain.
        more = self._readings_needed(pool, size - tolerance, 0.0)
        if more is not None:
            more = max(more, 1)
            headline = message("speed.near_the_limit", times=times(more), **_runs(speed, now))
            return _read(speed, headline, count=more, notes=self._longer(speed))
        headline = message("speed.no_trim_unsure", **_runs(speed, now))
        return _Answer(Verdict.LEFT_AS_FOUND, headline, notes=(service, *self._longer(speed)))

    def _again(self, speed: Speed, pool: Pooled, more: int | None) -> _Answer:
        if more is not None:
            more = max(more, 1)
            headline = message("speed.not_sure", times=times(more), **_runs(speed, pool.now))
            return _read(speed, headline, count=more, notes=self._longer(speed))
        headline = message("speed.too_coarse", speed=speed_name(speed.rpm))
        return _read(speed, headline, count=None, longer=True, notes=self._longer(speed))

    def _readings_needed(self, pool: Pooled, off: float, tolerance: float) -> int | None:
        return readings_needed(
            off,
            tolerance,
            pool.single,
            pool.count,
            calibration_standard_uncertainty=pool.calibration,
            most=_ENOUGH_TO_OUTVOTE,
        )

    def _longer(self, speed: Speed) -> tuple[Message, ...]:
        """Return how to read more accurately in the ways that were used."""
        deck, rpm = self.context.deck, speed.rpm
        ways = {self._taken(place).way for place in speed.places}
        notes = []
        if "timed turns" in ways:
            turns = turns_needed(rpm, deck.tolerances.speed_percent, deck.bench.stopwatch_s)
            seconds = Quantity(60.0 * turns / rpm, "", 0)
            notes.append(
                message(
                    "speed.note.count_turns", turns=turns, speed=speed_name(rpm), seconds=seconds
                )
            )
        if "strobe" in ways:
            bars = nearest_bars(rpm, deck.bench.lamp_flashes_per_s)
            if not bars.exact:
                notes.append(
                    message(
                        "speed.note.bars_stand",
                        bars=bars.bars,
                        stands=Quantity(bars.stands_at_rpm, "", 3),
                        off=amount(bars.off_percent, "%", 2, FAST_OR_SLOW),
                    )
                )
            notes.append(message("speed.note.watch_longer"))
        return tuple(notes)

    def _taken(self, place: int) -> Taken:
        event = self.events[place]
        if not isinstance(event, Taken):
            raise TypeError("a standing place holds a reading")
        return event

    def _jointly(self) -> _Answer:
        """Judge all speeds that share one trim by the deck's first speed."""
        main, now = self.speeds[0], self.errors()
        pool = main.pool
        if pool is None:
            raise ValueError("the first speed is read before any is judged")
        beside = [estimate.value - now[0].value for estimate in now.values()]
        aim = -0.5 * (max(beside) + min(beside))
        spread = 0.5 * (max(beside) - min(beside))
        tolerance = max(self._tolerance - spread, 0.5 * self._tolerance)
        answer = self._singly(main, pool, aim, tolerance)
        centred = abs(pool.now.value - aim) <= pool.now.half_width()
        apart = spread > self._tolerance and centred and answer.verdict is Verdict.LEFT_AS_FOUND
        if len(now) == 1 or not (answer.verdict is Verdict.GOOD or apart):
            return answer
        sure = all(abs(e.value) + e.half_width() <= self._tolerance for e in now.values())
        if sure:
            headline = message("speed.all_good", count=len(now), limit=self._limit)
            return _Answer(Verdict.GOOD, headline)
        gap = Quantity(2.0 * spread, "%")
        note = message("speed.note.apart", gap=gap, limit=self._limit)
        return _Answer(Verdict.LEFT_AS_FOUND, message("speed.fairest"), notes=(note,))

    def errors(self) -> dict[int, Estimate]:
        """Return the error of each known speed, by its index among the deck's speeds.

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

    def _assessment(self, answer: _Answer) -> Assessment:
        predicted = answer.trim.predicted if answer.trim else None
        ways = [event.way for event in self.events if isinstance(event, Taken)]
        used = tuple(message("speed.way", way=way) for way in dict.fromkeys(ways))
        cautions = [Guard("flashing", Act.READ)] if "strobe" in ways else []
        if answer.verdict is Verdict.MOVE and self.context.deck.platter.trim is SpeedTrim.SCREW:
            cautions.append(Guard("unplug", Act.MOVE))
        unread = self._unread(answer)
        tone = ToneTold.of(self.context)
        said = Assessment(
            verdict=answer.verdict,
            headline=answer.headline,
            drawing=partial(
                errors_picture,
                self.context.deck,
                self.events,
                frozenset(place for speed in self.speeds for place in speed.places),
                predicted,
            ),
            next_move=answer.move,
            figures=(*self._figures(answer, predicted), *(tone.figures() if tone else ())),
            notes=(*answer.notes, *(tone.notes() if tone else ()), *unread),
            unread=unread,
            cautions=tuple(cautions),
            method=message("common.value", value=Series(used)) if used else None,
            next_reading=answer.next_reading,
            more_pictures=tone.pictures() if tone else (),
        )
        if answer.asks_at is None or answer.trim is None:
            return said
        return asked_of(said, self.context, Control.SPEED, answer.trim, answer.asks_at)

    def _unread(self, answer: _Answer) -> tuple[Message, ...]:
        known = self.errors()
        missing = tuple(speed_name(s.rpm) for s in self.speeds if s.index not in known)
        if not missing or not answer.verdict.passes:
            return ()
        return (message("speed.note.not_read", speeds=Series(missing)),)

    def _figures(self, answer: _Answer, predicted: Estimate | None) -> tuple[Figure, ...]:
        known = self.errors()
        figures: list[Figure] = []
        if len(known) > 1:  # a single one is reported once
            worst = max(known.values(), key=lambda estimate: abs(estimate.value))
            figures.append(self._figure("speed_error", message("speed.figure.largest"), worst))
        keys: set[str] = set()
        for index, estimate in known.items():
            rpm = self.speeds[index].rpm
            key = f"speed_error_{int(rpm)}"
            if key in keys:
                key = f"{key}_{index}"
            keys.add(key)
            label = message("speed.figure.error", speed=speed_name(rpm))
            figures.append(self._figure(key, label, estimate, speed_key(rpm)))
        if predicted is not None and answer.verdict is Verdict.READ_AGAIN:
            figures.append(
                Figure(
                    "predicted_error",
                    message("speed.figure.expected"),
                    predicted.value,
                    "%",
                    half_width=predicted.half_width(),
                    tolerance=self._tolerance,
                    ways=FAST_OR_SLOW,
                )
            )
        return tuple(figures)

    def _figure(self, key: str, label: Message, error: Estimate, subject: str = "") -> Figure:
        return Figure(
            key,
            label,
            error.value,
            "%",
            half_width=error.half_width(),
            target=0.0,
            tolerance=self._tolerance,
            subject=subject,
            ways=FAST_OR_SLOW,
        )


def _read(
    speed: Speed,
    why: Message,
    *,
    verdict: Verdict = Verdict.READ_AGAIN,
    count: int | None = 1,
    longer: bool = False,
    trim: ControlState | None = None,
    notes: tuple[Message, ...] = (),
) -> _Answer:
    """Ask for a reading of one speed."""
    wanted = NextReading(values={"speed_rpm": speed.rpm}, count=count, longer=longer, why=why)
    return _Answer(verdict, why, trim=trim, notes=notes, next_reading=wanted)


def _runs(speed: Speed, now: Estimate) -> dict[str, Value]:
    """Return how a speed runs, for templates."""
    true = abs(now.value) < _BARELY_THERE
    return {
        "way": "true" if true else "fast" if now.value > 0 else "slow",
        "speed": speed_name(speed.rpm),
        "error": Quantity(now.half_width() if true else abs(now.value), "%"),
    }


def _trim_notes(deck: Deck, trim: ControlState) -> tuple[Message, ...]:
    """Return notes on what was learned of the trim."""
    if trim.backward:
        screw = deck.platter.trim is SpeedTrim.SCREW
        return (message("speed.note.backward", trim="screw" if screw else "electronic"),)
    return ()
