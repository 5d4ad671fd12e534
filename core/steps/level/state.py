"""The states of the deck between moves of its feet, with a plane for each."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

from core.estimation import (
    CERTAIN_FACTOR,
    COVERAGE_FACTOR,
    DOUBTED_SHARE,
    ControlModel,
    Estimate,
    Parties,
    Response,
    ResponseRecord,
    acted_partly,
    response_to,
)
from core.fitting import Context, Control, MovePart
from core.language import Message, message
from core.physics.feet import FootTravel, slope_after_lifts
from core.physics.levelling import weighted_mean, zero_error_of
from core.physics.plane import PlaneFit, SlopeReading, direction, fit_plane, fit_without_odd
from core.records import BenchKit, Deck
from core.steps.level.feet import feet_of, lifts_of
from core.steps.level.foot_gains import COMMON_SPREAD, carried_on, foot_against, learned_gains
from core.steps.level.readings import SlopeRead
from core.steps.shared import is_checked, stated_or_learned

_FEET: Final = ControlModel("mm/m", stated_gain=1.0, execution_relative=0.08)
"""The feet together, as one control of the slope along the ordered direction."""

_CHANCE: Final = 3.29
"""999 of 1000 pairs of readings of one place differ by no more than this, in their spreads."""

_SEVERAL: Final = 2
"""So many left out at one place are no slip: those that count must outnumber them. Our own."""

_ASIDE: Final = 0.5
"""A change across that direction of at least this share counts as a response."""


@dataclass(frozen=True, slots=True)
class PlaneState:
    """The deck between two moves, as read with the instrument used last.

    ``slopes`` are the readings less the level's own error as ``learned`` in other states; ``aside``
    are readings that were repeated and no longer count; ``ended`` are those with the bubble at the
    end of its vial, which enter no average; ``insisted`` says that the end was read again, for want
    of another instrument. ``differs`` is a reading that differs from another of the same direction
    and position by more than chance, and by how much; nothing tells which of them is right.
    """

    readings: tuple[SlopeRead, ...]
    slopes: tuple[SlopeReading, ...]
    fit: PlaneFit | None
    learned: Estimate | None
    aside: tuple[SlopeRead, ...] = ()
    ended: tuple[SlopeRead, ...] = ()
    insisted: bool = False
    differs: tuple[SlopeRead, float] | None = None

    @property
    def zero_known(self) -> bool:
        """Whether the level's own error is known, from this state or others."""
        return self.learned is not None or (self.fit is not None and self.fit.zero_error_solved)

    @property
    def zero_error(self) -> Estimate | None:
        """The level's own error."""
        if self.fit is None or not self.fit.zero_error_solved:
            return self.learned
        return self.fit.zero_error.shifted(self.learned.value if self.learned else 0.0)

    @property
    def line(self) -> tuple[tuple[float, float], float] | None:
        """The only direction read, as a unit vector, and the slope along it; None otherwise."""
        if self.fit is not None or not self.slopes:
            return None
        unit = direction(self.slopes[-1].bearing_deg)
        along = []
        for slope in self.slopes:
            x, y = slope.unit()
            sign = math.copysign(1.0, x * unit[0] + y * unit[1])
            along.append(Estimate(sign * slope.slope_mm_per_m, slope.standard_uncertainty_mm_per_m))
        mean = weighted_mean(along)
        return unit, mean.value if mean else 0.0


@dataclass(frozen=True)
class PlaneStates:
    """All states of a deck in order, and the lifts between them.

    ``lifts`` are millimetres per foot, one entry fewer than states, None if a move can't be
    converted; ``turned`` are the same without shims: the used travel of the feet. ``thread`` is the
    deck's real share of an ordered lift in earlier fittings.
    """

    deck: Deck
    all: tuple[PlaneState, ...]
    lifts: tuple[tuple[float, ...] | None, ...]
    turned: tuple[tuple[float, ...] | None, ...]
    thread: float = 1.0
    checked: frozenset[int] = frozenset()
    """The states in which the questions about the feet were answered."""
    words: frozenset[str] = frozenset()
    """The feet of which the person said that they were turned as entered."""

    @property
    def last(self) -> PlaneState:
        """The present state."""
        return self.all[-1]

    @property
    def ends_in_move(self) -> bool:
        """Whether nothing was read since the last move."""
        return len(self.all) > 1 and not self.last.readings and not self.last.ended

    @property
    def moves_in_vain(self) -> int:
        """The number of moves in a row that left the bubble at the end of its vial."""
        ended = [bool(state.ended) for state in reversed(self.all)]
        return (ended.index(False) if False in ended else len(ended)) - 1

    def on_this_side(self) -> bool:
        """Whether the last move left the bubble at the same end of its vial.

        Told by the readings along the same direction, the level laid the same way round. False
        where another direction stood at the end before.
        """
        if not self.moves_in_vain:
            return False
        now, before = self._ends_of(self.last), self._ends_of(self.all[-2])
        both = now.keys() & before.keys()
        lines = [{bearing % 180_000_000 for _, bearing in places} for places in (now, both)]
        return lines[0] == lines[1] and all(now[place] == before[place] for place in both)

    def _ends_of(self, state: PlaneState) -> dict[tuple[bool, int], bool]:
        """Return each place where the bubble stood at an end: whether at the marked one."""
        return {
            _place(one): one.measure(self.deck.bench).slope_mm_per_m > 0.0 for one in state.ended
        }

    def least_slope(self, state: PlaneState) -> tuple[float, float]:
        """Return the minimum slope, for a bubble at the end of its vial."""
        bench = self.deck.bench
        ended = {_place(reading) for reading in state.ended}
        inside = zip(state.readings, state.slopes, strict=True)
        read = [slope for reading, slope in inside if _place(reading) not in ended]
        read += [reading.measure(bench) for reading in state.ended]
        fit = fit_plane(
            read, zero_error_standard_uncertainty_mm_per_m=bench.level_zero_error_mm_per_m
        )
        if fit is not None:
            return fit.slope
        along = [(slope.unit(), slope.slope_mm_per_m) for slope in read]
        count = len(along)
        return (
            sum(unit[0] * size for unit, size in along) / count,
            sum(unit[1] * size for unit, size in along) / count,
        )

    @property
    def zero_stays_known(self) -> bool:
        """Whether the level's own error stays known for the next reading."""
        ways = {state.readings[-1].way for state in self.all if state.readings}
        return len(ways) == 1 and any(state.zero_known for state in self.all)

    @cached_property
    def feet(self) -> list[FootTravel]:
        """The feet, with all their travel."""
        return feet_of(self.deck, ())

    def foretold(self) -> tuple[float, float] | None:
        """Return the predicted slope, from the state before and the moves since."""
        if len(self.all) < 2:
            return None
        fit, lifts = self.all[-2].fit, self.lifts[-1]
        if fit is None or lifts is None:
            return None
        really = [lift * gain for lift, gain in zip(lifts, self.gains, strict=True)]
        return slope_after_lifts(fit.slope, really, self.feet)

    @cached_property
    def gains(self) -> tuple[float, ...]:
        """Each foot's real share of an ordered lift, as far as learned.

        A bubble at the end of its vial teaches none, only that the feet run the other way.
        """
        gains = self._gains(len(self.all))
        if self.answers.backward and self.last.ended and self.last.fit is None:
            return tuple(-abs(gain) for gain in gains)
        return gains

    @cached_property
    def _feet_against(self) -> Mapping[int, int]:
        """Return, by moves of several feet, the one that seems to have gone the other way."""
        found = {
            place: foot_against(self.all[place].fit, self.all[place + 1].fit, lifts, self.feet)
            for place, lifts in enumerate(self.by_thread_alone)
        }
        return {place: foot for place, foot in found.items() if foot is not None}

    def _runs_backward(self, foot: int) -> bool:
        """Whether one foot runs the other way: by the person's word, or by two moves."""
        moves = sum(one == foot for one in self._feet_against.values())
        return moves > 1 or self.deck.plinth.feet[foot].name in self.words

    @property
    def foot_in_question(self) -> str:
        """The foot that seems to have gone against the last move; empty if none, or if known."""
        foot = self._feet_against.get(len(self.all) - 2)
        if foot is None or self._runs_backward(foot):
            return ""
        return self.deck.plinth.feet[foot].name

    def _is_in_question(self, place: int) -> bool:
        """Whether a move teaches nothing: one foot may have gone otherwise than entered."""
        foot = self._feet_against.get(place)
        return foot is not None and not self._runs_backward(foot)

    def _gains(self, states: int) -> tuple[float, ...]:
        fits = [state.fit for state in self.all[:states]]
        in_vain = self._answers[1]
        turned = [
            None
            if lifts is None or place in in_vain or self._is_in_question(place)
            else tuple(self.thread * lift for lift in lifts)
            for place, lifts in enumerate(self.by_thread_alone)
        ]
        shares = learned_gains(fits, turned, self.feet)
        return tuple(self.thread * share for share in shares)

    @property
    def answers(self) -> ResponseRecord:
        """Whether the feet respond to orders."""
        return self._answers[0]

    @cached_property
    def _answers(self) -> tuple[ResponseRecord, frozenset[int], bool]:
        """The responses to moves, without those that had no effect until a fault was corrected."""
        record, quiet, in_vain = ResponseRecord(), set[int](), set[int]()
        since, too_small = 0, False
        for place in range(len(self.all)):
            found = self._response(since, place) if place else None
            if found is None:
                since = place
            elif found is Response.UNCLEAR:
                too_small = True
            else:
                record.take(found, partly=self._acted_partly(since, place))
                if found is Response.NOTHING:
                    quiet |= set(range(since, place))
                since = place
            if place in self.checked:
                record.look()
                in_vain |= quiet
        return record, frozenset(in_vain), too_small

    @property
    def turned_unseen(self) -> bool:
        """Whether feet were turned between readings without a visible effect so far."""
        last, too_small = self.answers.last, self._answers[2]
        return last is Response.NOTHING or (last is None and too_small)

    def _response(self, first: int, last: int) -> Response | None:
        """Return the response of the ordered slope between two states.

        Moves too small to show individually are taken together, from the last informative state.
        """
        before, after = self.all[first].fit, self.all[last].fit
        planned = self._planned(first, last)
        if before is None or planned is None:
            return None
        if self.all[last].ended:
            return self._response_at_end(self.all[first], self.all[last].ended, planned)
        if after is None:
            return None
        before, after = self._compared(self.all[first], self.all[last]) or (before, after)
        size = math.hypot(*planned)
        unit = (planned[0] / size, planned[1] / size)
        along = (_along(before, unit), _along(after, unit))
        made = _FEET.execution_relative * size
        found = response_to(_FEET, size, made, along[:1], along[1:])
        turned = (-unit[1], unit[0])
        across = _along(after, turned).minus(_along(before, turned))
        if found is Response.NOTHING and abs(across.value) - across.half_width() > _ASIDE * size:
            return Response.WEAK  # a foot that did the opposite
        return found

    def _acted_partly(self, first: int, last: int) -> bool:
        """Whether the deck certainly tilted as the moves between two states go, or aside."""
        before, after = self.all[first].fit, self.all[last].fit
        planned = self._planned(first, last)
        if before is None or after is None or planned is None:
            return False
        before, after = self._compared(self.all[first], self.all[last]) or (before, after)
        size = math.hypot(*planned)
        unit = (planned[0] / size, planned[1] / size)
        return acted_partly(_FEET, size, [_along(before, unit)], [_along(after, unit)])

    def _compared(self, before: PlaneState, after: PlaneState) -> tuple[PlaneFit, PlaneFit] | None:
        """Return both planes without the level's own error, which is the same in both.

        None if it is known, or the level did not lie alike, so that it may differ.
        """
        lay = [{(one.way, _place(one)) for one in state.readings} for state in (before, after)]
        if before.zero_known or after.zero_known or lay[0] != lay[1]:
            return None
        fits = [
            fit_plane(state.slopes, zero_error_standard_uncertainty_mm_per_m=0.0)
            for state in (before, after)
        ]
        return (fits[0], fits[1]) if fits[0] is not None and fits[1] is not None else None

    def _planned(self, first: int, last: int) -> tuple[float, float] | None:
        """Return the change of slope that the moves between two states should have made.

        None if it is not known, or none.
        """
        before = self.all[first].fit
        known = [lifts for lifts in self.turned[first:last] if lifts is not None]
        if before is None or known != list(self.lifts[first:last]):
            return None
        really = [
            sum(lifts) * (-self.thread if self._runs_backward(foot) else self.thread)
            for foot, lifts in enumerate(zip(*known, strict=True))
        ]
        foretold = slope_after_lifts(before.slope, really, self.feet)
        planned = (foretold[0] - before.slope[0], foretold[1] - before.slope[1])
        return planned if any(planned) else None

    def _response_at_end(
        self, before: PlaneState, ended: Sequence[SlopeRead], planned: tuple[float, float]
    ) -> Response | None:
        """Return the response where a bubble stands at the end of its vial after a move.

        The slope is at least what the vial holds. So the move went the other way if it was smaller
        before although it was to become smaller still; None if the bubble may stand there rightly.
        """
        bench = self.deck.bench
        for reading in ended:
            end = reading.measure(bench)
            x, y = end.unit()
            toward = 1.0 if end.slope_mm_per_m >= 0.0 else -1.0
            due = toward * (x * planned[0] + y * planned[1])
            if due > -_ASIDE * math.hypot(*planned):
                continue
            was = self._slope_there(before, reading)
            least = toward * (end.slope_mm_per_m - was.value)
            sd = math.hypot(was.standard_uncertainty, end.standard_uncertainty_mm_per_m)
            if least > CERTAIN_FACTOR * sd:
                return Response.REVERSED
            if COVERAGE_FACTOR * sd - least < DOUBTED_SHARE * abs(due):
                return Response.NOTHING
        return None

    def _slope_there(self, before: PlaneState, reading: SlopeRead) -> Estimate:
        """Return what the level would have shown before the move, as it lies for a reading.

        Where it lay like that before, its own error is in both. Else it is in one of them.
        """
        bench, where = self.deck.bench, _place(reading)
        same = [
            Estimate(slope.slope_mm_per_m, slope.standard_uncertainty_mm_per_m)
            for one in before.readings
            if one.instrument == reading.instrument and _place(one) == where
            for slope in [one.measure(bench)]
        ]
        mean = weighted_mean(same)
        if mean is not None:
            return mean
        fit, zero = before.fit, Estimate(0.0, bench.level_zero_error_mm_per_m)
        if before.zero_error and before.readings[-1].instrument == reading.instrument:
            zero = before.zero_error
        if fit is None:
            raise AssertionError("a response is judged from a plane")
        return _along(fit, reading.measure(bench).unit()).plus(zero)

    def bounded(self, gains: Sequence[float]) -> tuple[float, ...]:
        """Return the shares that an order may use.

        Until a move had a response no foot is turned further than its entered thread asks for.
        """
        if self.answers.last in (None, Response.ANSWERED, Response.WEAK):
            return tuple(gains)
        return tuple(math.copysign(max(abs(gain), self.thread), gain) for gain in gains)

    @property
    def by_thread_alone(self) -> tuple[tuple[float, ...] | None, ...]:
        """The ordered lifts, None if a shim went under a foot: it teaches nothing of the thread."""
        return tuple(
            by_thread if by_thread == in_all else None
            for by_thread, in_all in zip(self.turned, self.lifts, strict=True)
        )

    def travelled(self) -> tuple[tuple[float, ...] | None, ...]:
        """Return the real lift of each foot in each move."""
        return tuple(
            None if lifts is None else tuple(a * b for a, b in zip(lifts, self.gains, strict=True))
            for lifts in self.turned
        )

    def settled_fit(self) -> PlaneFit | None:
        """Return the present plane, combined with earlier states.

        Only if the level's own error is known in all of them; otherwise they would share it.
        """
        if not all(state.zero_known for state in self.all if state.readings):
            return self.last.fit
        fits = [state.fit for state in self.all]
        return carried_on(fits, self.lifts, self.gains, self.feet)

    def surprise(self) -> Message | None:
        """Return a note if the last move had no effect or the opposite one."""
        fit = self.last.fit
        before = self.all[-2].fit if len(self.all) > 1 else None
        lifts = self.lifts[-1] if self.lifts else None
        if lifts is None or fit is None or before is None or self.foot_in_question:
            return None
        gains = self._gains(len(self.all) - 1)  # as known when the move was ordered
        really = [lift * gain for lift, gain in zip(lifts, gains, strict=True)]
        foretold = slope_after_lifts(before.slope, really, self.feet)
        planned = (foretold[0] - before.slope[0], foretold[1] - before.slope[1])
        found = (fit.slope[0] - before.slope[0], fit.slope[1] - before.slope[1])
        size = math.hypot(*planned)
        doubt = math.hypot(fit.tilt.half_width(), before.tilt.half_width())
        if size <= 2 * doubt:
            return None
        share = (planned[0] * found[0] + planned[1] * found[1]) / size**2
        if share < -0.25:
            return message("level.note.move_went_wrong")
        return message("level.note.move_hardly_shows") if share < 0.25 else None


def _along(fit: PlaneFit, unit: tuple[float, float]) -> Estimate:
    """Return the slope along a direction."""
    (xx, xy), (_, yy) = fit.covariance
    variance = unit[0] ** 2 * xx + 2.0 * unit[0] * unit[1] * xy + unit[1] ** 2 * yy
    value = unit[0] * fit.slope[0] + unit[1] * fit.slope[1]
    return Estimate(value, math.sqrt(max(variance, 0.0)))


def plane_states_of(context: Context) -> PlaneStates:
    """Split the trials at the moves, and fit a plane to each group of readings."""
    groups: list[list[SlopeRead]] = [[]]
    moved: list[list[MovePart]] = []
    fresh = False
    checked: set[int] = set()
    words: set[str] = set()
    for trial in context.trials:
        if trial.checked is not None and is_checked(trial, Control.FOOT):
            if trial.checked.where:
                words.add(trial.checked.where)
            else:
                checked.add(len(groups) - 1)
        elif trial.moves:
            if not fresh:
                moved.append([])
                groups.append([])
            moved[-1].extend(trial.moves)
            fresh = True
        elif isinstance(trial.reading, SlopeRead):
            groups[-1].append(trial.reading)
            fresh = False
    deck, bench = context.deck, context.deck.bench
    exact = [[reading for reading in group if not reading.at_end(bench)] for group in groups]
    own_errors = _own_errors(exact, bench)
    return PlaneStates(
        deck=deck,
        all=tuple(
            _with_ends(_state(mine, place, own_errors, bench), group, bench)
            for place, (mine, group) in enumerate(zip(exact, groups, strict=True))
        ),
        lifts=tuple(lifts_of(parts, deck) for parts in moved),
        turned=tuple(
            lifts_of([p for p in parts if p.control is Control.FOOT], deck) for parts in moved
        ),
        thread=_known_thread(context),
        checked=frozenset(checked),
        words=frozenset(words),
    )


def _with_ends(state: PlaneState, group: Sequence[SlopeRead], bench: BenchKit) -> PlaneState:
    ended = _ended(group, bench)
    read = sum(one.at_end(bench) for one in group)
    return replace(state, ended=ended, insisted=bool(ended) and read > len(ended))


def _ended(group: Sequence[SlopeRead], bench: BenchKit) -> tuple[SlopeRead, ...]:
    """Return the readings at the end of the vial that no later reading has replaced."""
    found: list[SlopeRead] = []
    instruments: set[str] = set()
    places: set[tuple[bool, int]] = set()
    for one in reversed(group):
        if one.at_end(bench) and instruments <= {one.instrument} and _place(one) not in places:
            found.append(one)
        instruments.add(one.instrument)
        places.add(_place(one))
    return tuple(reversed(found))


_OwnErrors = Mapping[str, Mapping[int, Estimate]]
"""A level's own error, by way of reading and index of the state."""


def _own_errors(groups: Sequence[Sequence[SlopeRead]], bench: BenchKit) -> _OwnErrors:
    """Return the own error of each level, in every state that determines it."""
    found: dict[str, dict[int, Estimate]] = {}
    for place, group in enumerate(groups):
        by_way: dict[str, list[SlopeReading]] = {}
        for reading in group:
            by_way.setdefault(reading.way, []).append(reading.measure(bench))
        for way, readings in by_way.items():
            zero = zero_error_of(readings)
            if zero is not None:
                found.setdefault(way, {})[place] = zero
    return found


def _known_thread(context: Context) -> float:
    """Return the threads' real millimetres per millimetre ordered; 1 as stated."""
    stated = context.deck.plinth.pitch_mm_per_turn
    if stated is None:
        return 1.0
    thread = stated_or_learned(context.gains, Control.FOOT, "", "mm/turn", stated, COMMON_SPREAD)
    return (thread.value or stated) / stated


def _state(
    group: Sequence[SlopeRead], place: int, own_errors: _OwnErrors, bench: BenchKit
) -> PlaneState:
    way = group[-1].way if group else ""
    mine = [reading for reading in group if reading.way == way]
    # This state's own information on the level's error is found by its fit.
    zeros = own_errors.get(way, {})
    learned = weighted_mean([zero for other, zero in zeros.items() if other != place])
    shift = learned.value if learned else 0.0
    prior = learned.standard_uncertainty if learned else bench.level_zero_error_mm_per_m
    slopes = [
        SlopeReading(
            s.bearing_deg, s.slope_mm_per_m - shift, s.standard_uncertainty_mm_per_m, s.turned
        )
        for s in (reading.measure(bench) for reading in mine)
    ]
    places = [_place(reading) for reading in mine]
    last_of = {one: at for at, one in enumerate(places)}
    # A repeated reading gives way to the later one if it is the outlier.
    again = [at < last_of[one] for at, one in enumerate(places)]
    fit, kept, odd = fit_without_odd(slopes, again, zero_error_standard_uncertainty_mm_per_m=prior)
    aside = [mine[i] for i in odd]
    outvoted, doubtful, apart = _outvoted(kept, mine, slopes)
    if outvoted:
        aside += [mine[i] for i in outvoted]
        kept = [i for i in kept if i not in outvoted]
        fit = fit_plane([slopes[i] for i in kept], zero_error_standard_uncertainty_mm_per_m=prior)
    return PlaneState(
        readings=tuple(mine[i] for i in kept),
        slopes=tuple(slopes[i] for i in kept),
        fit=fit,
        learned=learned,
        aside=tuple(aside),
        differs=None if doubtful is None else (mine[doubtful], apart),
    )


def _outvoted(
    kept: Sequence[int], mine: Sequence[SlopeRead], slopes: Sequence[SlopeReading]
) -> tuple[list[int], int | None, float]:
    """Return the readings contradicted by most others of their place, and one left in doubt.

    Readings of one direction and position share the level's own error, so only reading errors
    separate them. The last value is the distance of the doubtful one from the farthest other.
    """
    values = [slope.slope_mm_per_m for slope in slopes]
    spreads = [slope.standard_uncertainty_mm_per_m for slope in slopes]
    places: dict[tuple[bool, int], list[int]] = {}
    for i in kept:
        places.setdefault(_place(mine[i]), []).append(i)
    out: list[int] = []
    for where, like in sorted(places.items(), key=lambda place: place[1][-1]):
        last = like[-1]
        every = [i for i, one in enumerate(mine) if _place(one) == where]
        parties = Parties([values[i] for i in like], [spreads[i] for i in like], _CHANCE)
        most = parties.largest()
        if len(every) - len(like) >= _SEVERAL and 2 * len(most) <= len(every):
            return out, last, max(abs(values[last] - values[i]) for i in every)
        if parties.is_one:
            continue
        if 2 * len(most) <= len(like):
            return out, last, max(abs(values[last] - values[i]) for i in like)
        out += [i for at, i in enumerate(like) if at not in most]
    return out, None, 0.0


def _place(read: SlopeRead) -> tuple[bool, int]:
    """Return the key of a direction and position; bearings to a millionth."""
    return read.turned, round(read.marked_end_deg() * 1e6) % 360_000_000
