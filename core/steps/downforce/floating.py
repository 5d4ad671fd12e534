"""Positions at which the arm floats, bears or presses too hard, and the next to try.

A scale shows 0 for any floating arm, however light: that teaches no gain, but it is one end of a
bracket. Between a floating and a bearing position the next one is chosen so that it can't press
harder than is safe, whatever the thread's pitch and direction: downforce there is at most
proportional (derived: it is linear, and at or below 0 at the floating position), and at most that
of the way back at the steepest gain, in case part of the way was lost to backlash.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import Final

from core.steps.downforce.weighings import (
    Checked,
    Event,
    FloatedAnew,
    Shifted,
    Unsettled,
    Weighing,
)

_OF_THE_LIMIT: Final = 0.9
"""The share of the stop limit allowed at a position between two known ones."""

_SHOWED: Final = 0.5
"""With a change below this share of the stated one between two positions, the weight did not move.
"""

SHOWS_GF: Final = 0.1
"""Two positions with less difference than this tell little of the slope: our own."""

_BY_HAND: Final = 3.0
"""Positions closer than this many execution errors may be in reversed order."""

_ON_ONE_LINE: Final = 3
"""So many positions in a row that lie on one line outweigh an earlier one: our own."""

_MISSES: Final = 0.5
"""By this share of the target the line misses a position that was weighed wrongly: our own."""

_MOVES_EACH: Final = 2
_FIRST_ALONE: Final = 1
_MOST_BETWEEN: Final = 6
"""Any thread is bracketed in six moves. An arm that floats after each of them does so where it bore
before: a direction was entered wrongly, or the weight does not hold."""

_BEHIND: Final = (3, 4, 5)
"""After this many moves without effect the opposite direction is tried."""

_BACK_FIRST: Final = 0.35
"""First step in the unlikely direction, as a share of a full step. A full step is 0.7 of the
target, and a thread may be four times as steep."""

_MOST_CHECKS: Final = 3
"""An arm that still floats after this many rounds of questions, with moves between, is left."""


@dataclass(frozen=True, slots=True)
class Place:
    """A position of the control, in its own units, and the downforce there; None: it floats.

    ``event`` is the place in the log of the weighing that says so.
    """

    at: float
    gf: float | None
    event: int = field(default=-1, compare=False)


@dataclass(frozen=True, slots=True)
class Places:
    """All positions since something else last shifted weight; the last is the present one.

    ``checked``: the person answered the questions since the last move; ``vain`` are the moves,
    in order, since the scale last bore anything, with the rounds of questions after each.
    ``anew`` says how often the arm was floated again, ``known_slope`` what a unit did before that,
    at least; 0 if nothing tells. ``unseen``: it was floated again because moves did not show;
    ``holds``: and the scale showed the same of the floating arm as before. ``hand`` is how exactly
    the control is set: places closer together than a few times that tell nothing of its slope.
    """

    known: tuple[Place, ...]
    checked: bool = False
    vain: tuple[tuple[float, int], ...] = ()
    anew: int = 0
    known_slope: float = 0.0
    unseen: bool = False
    holds: bool = False
    hand: float = 0.0

    @property
    def here(self) -> Place | None:
        """The present position."""
        return self.known[-1] if self.known else None

    @property
    def bearing(self) -> Place | None:
        """The bearing position nearest to the present one."""
        return self._nearest([one for one in self.known[:-1] if one.gf is not None])

    @property
    def floating(self) -> Place | None:
        """The floating position nearest to the present one."""
        return self._nearest([one for one in self.known[:-1] if one.gf is None])

    def _nearest(self, places: Sequence[Place]) -> Place | None:
        here = self.here
        if here is None:
            return None
        apart = [one for one in places if one.at != here.at]
        return min(apart, key=lambda one: abs(one.at - here.at), default=None)

    @property
    def floated(self) -> int:
        """How many positions toward the nearest bearing one were found to float."""
        here, bears = self.here, self.bearing
        if here is None or bears is None:
            return 0
        way = here.at - bears.at
        return sum(one.gf is None and (one.at - bears.at) * way > 0.0 for one in self.known)

    def contradicted(self, target_gf: float) -> Place | None:
        """Return the latest position that the newest ones show to be weighed wrongly, or None.

        Downforce is linear in the position (statics). Where the newest three or more lie on one
        line, and it misses an earlier position by half of the target, that one was weighed while
        something else was wrong: the arm in its lift, the stylus beside the scale, another unit.
        """
        newest: list[tuple[float, float]] = []
        for one in reversed(self.known):
            if one.gf is None:
                break
            newest.append((one.at, one.gf))
        line: tuple[float, float] | None = None
        for count in range(_ON_ONE_LINE, len(newest) + 1):
            line = _line_through(newest[:count], self.hand) or line
            if line is None:
                continue
            slope, foot = line
            for one in reversed(self.known[:-count]):
                there = slope * one.at + foot
                off = max(there, 0.0) - (one.gf or 0.0)
                if abs(off) > _MISSES * target_gf:
                    return one
        return None

    @property
    def silent(self) -> bool:
        """Whether the last move left the downforce unchanged, whatever is stated."""
        bore = [one.gf for one in self.known[-2:] if one.gf is not None]
        return len(bore) == 2 and abs(bore[1] - bore[0]) < SHOWS_GF

    @property
    def slope(self) -> float | None:
        """The least gain, with its sign, between floating and bearing positions.

        None without both.
        """
        here = self.here
        if here is None:
            return None
        floats, bears = (here, self.bearing) if here.gf is None else (self.floating, here)
        if floats is None or bears is None or bears.gf is None:
            return None
        return bears.gf / (bears.at - floats.at)

    @property
    def steepest(self) -> float:
        """The largest gain between two known positions, one of them bearing; 0 without any.

        At a floating position the downforce is below 0, so the gain is no less than this.
        """
        rates = [
            ((one.gf or 0.0) - (other.gf or 0.0)) / (one.at - other.at)
            for one, other in combinations(self.known, 2)
            if abs(one.at - other.at) > _BY_HAND * self.hand
            and abs((one.gf or 0.0) - (other.gf or 0.0)) > SHOWS_GF
        ]
        return max(rates, key=abs, default=0.0)


def _line_through(points: Sequence[tuple[float, float]], hand: float) -> tuple[float, float] | None:
    """Return slope and height at 0 of the line through positions, None if they don't tell one."""
    first, last = points[-1], points[0]
    apart, changed = last[0] - first[0], last[1] - first[1]
    if abs(apart) <= _BY_HAND * hand or abs(changed) <= SHOWS_GF:
        return None
    slope = changed / apart
    foot = first[1] - slope * first[0]
    near = SHOWS_GF + _BY_HAND * hand * abs(slope)
    on_it = all(abs(slope * at + foot - gf) <= near for at, gf in points)
    return (slope, foot) if on_it else None


def places_of(
    events: Sequence[Event],
    amount_of: Callable[[Shifted], float | None],
    true_of: Callable[[float], float],
    floats: Callable[[float], bool],
    gain: float | None,
    hand: float = 0.0,
) -> Places:
    """Return the positions in the log; ``gain`` is the stated gain.

    ``hand`` is the execution error, one standard uncertainty, in units of the control.
    """
    known: list[Place] = []
    shown: list[float] = []
    vain: list[tuple[float, int]] = []
    at, checked, silent, unseen = 0.0, False, False, False
    anew, slope = 0, 0.0
    before: float | None = None
    """The weighed downforce before it was floated again; None once it was moved since."""
    for number, event in enumerate(events):
        if isinstance(event, Weighing):
            shown.append(event.shown_gf)
            bears = not floats(event.shown_gf)
            if bears:
                vain.clear()
            mean = sum(map(true_of, shown)) / len(shown)
            _note(known, Place(at, mean if bears else None, number))
        elif isinstance(event, Checked):
            checked = True
            silent = bool(vain) or Places(tuple(known)).silent
            if vain:
                vain[-1] = (vain[-1][0], vain[-1][1] + 1)
            if _did_not_move(known, gain):
                known = [Place(at, known[-1].gf, known[-1].event)]
        else:
            shown, checked, before = [], False, None
            amount = amount_of(event) if isinstance(event, Shifted) else None
            if isinstance(event, FloatedAnew):
                unseen = unseen or silent
                before = known[-1].gf if known and silent else None
                anew, slope = anew + 1, Places(tuple(known), hand=hand).steepest or slope
                known, vain, at = [Place(0.0, None)], [], 0.0
            elif isinstance(event, Unsettled) or amount is None:
                known, vain, at = [], [], 0.0
            else:
                if known:  # whether it floats at a position without a weighing is unknown
                    vain.append((amount, 0))
                at += amount
            silent = False
    here = known[-1].gf if known else None
    holds = before is not None and here is not None and abs(here - before) < SHOWS_GF
    return Places(tuple(known), checked, tuple(vain), anew, slope, unseen, holds, hand)


def _note(known: list[Place], place: Place) -> None:
    """Add what is known of a position, or replace what was known less well."""
    if known and known[-1].at == place.at:
        known.pop()
    known.append(place)


def _did_not_move(known: Sequence[Place], gain: float | None) -> bool:
    if len(known) < 2 or gain is None:
        return False
    before, now = known[-2], known[-1]
    if before.gf is None or now.gf is None:
        return False
    return abs(now.gf - before.gf) < _SHOWED * abs(gain * (now.at - before.at))


def between(
    floats: Place, bears: Place, target_gf: float, limit_gf: float, steepest: float = 0.0
) -> float:
    """Return the position to try between a floating and a bearing one.

    ``steepest`` is the largest gain: part of the way to the floating position may have been lost,
    in backlash or at the end of travel, while the way back acts in full. 0 on the way there.
    """
    gf, way = bears.gf or 0.0, bears.at - floats.at
    share = 0.5
    if gf > target_gf:
        share = min(max(target_gf / gf, 0.5), _OF_THE_LIMIT * limit_gf / gf)
    length = share * abs(way)
    if steepest:
        length = min(length, _OF_THE_LIMIT * limit_gf / steepest)
    return floats.at + math.copysign(length, way)


def next_in_vain(vain: Sequence[tuple[float, int]], step: float, room: float) -> float | None:
    """Return the next move of an arm that has floated at every position so far.

    None if the questions come first: after the first move, and after every two more. The stated
    direction is tried first, then the opposite one, at first by a third of a step, so that a thread
    four times as steep would not press too hard. No position is further than ``room`` from the
    first: a scale may hold its 0 although the arm bears.
    """
    if not vain:
        return step
    if _are_due(vain, _FIRST_ALONE):
        return None
    places = [0.0]
    for amount, _ in vain:
        places.append(places[-1] + amount)
    ahead, behind = (max(places), min(places)) if step > 0.0 else (min(places), max(places))
    back = step if behind else _BACK_FIRST * step
    tries = [ahead + step, behind - back]
    for place in tries[::-1] if len(vain) in _BEHIND else tries:
        within = max(-room, min(room, place))
        if all(abs(within - one) > 0.1 * abs(step) for one in places):
            return within - places[-1]
    return 0.0


def floats_where_it_bore(vain: Sequence[tuple[float, int]]) -> bool:
    """Whether the questions come first, since an arm still floats where it should bear by now."""
    return _are_due(vain, _MOST_BETWEEN)


def _are_due(vain: Sequence[tuple[float, int]], first: int) -> bool:
    """Whether the questions are due: after so many first moves, then after every two more."""
    asked = _asked_after(vain)
    return len(vain) - asked[-1] >= _MOVES_EACH if asked else len(vain) >= first


def _asked_after(vain: Sequence[tuple[float, int]]) -> list[int]:
    """Return after how many moves each round of questions was answered."""
    return [count for count, (_, checks) in enumerate(vain, start=1) if checks]


def no_room_ahead(vain: Sequence[tuple[float, int]], step: float, room: float) -> bool:
    """Whether the available room is less than half a step after moves without effect."""
    gone = sum(amount for amount, _ in vain)
    looked = bool(vain) and vain[-1][1] > 0
    return looked and room - math.copysign(1.0, step) * gone < 0.5 * abs(step)


def given_up(vain: Sequence[tuple[float, int]]) -> bool:
    """Whether so many attempts and checks had no effect that it is left."""
    asked = _asked_after(vain)
    return len(asked) >= _MOST_CHECKS and len(vain) - asked[-1] >= _MOVES_EACH
