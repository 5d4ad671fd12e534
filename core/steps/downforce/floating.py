"""Places of the control known to float, to bear, or to press too hard, and where to try next.

A scale shows 0 of an arm that floats, however light it is: that teaches no gain, but it is one
end of a bracket. Between a place that floats and one that bears the next is taken so that it
can't press harder than is safe, whatever the thread does and whichever way it turns: the arm
bears at most in proportion there (derived: it is a line, and at or below 0 where it floats), and
at most what the way back does at the steepest, should some of the way there have been lost.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
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
"""The share of the stop limit that a place between two known ones may reach."""

_SHOWED: Final = 0.5
"""Of what was stated: less change than this between two places, and the weight did not move."""

SHOWS_GF: Final = 0.1
"""Two places that bear less than this apart tell little of the slope between them: our own."""

_BY_HAND: Final = 3.0
"""Places closer together than so many times what a hand is off by may lie the other way round."""

_MOVES_EACH: Final = 2
_BEHIND: Final = (3, 4, 5)
"""After so many moves in vain the next place is on the side it should not be."""

_BACK_FIRST: Final = 0.35
"""The share of a step that is tried first on the side it should not be: a whole one is 0.7 of the
target, and a thread may be four times as steep."""

_MOST_CHECKS: Final = 3
"""An arm that floats after so many rounds of questions, with moves between, is left."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where the control stood, in its own units, and what the arm bore there; None: it floats."""

    at: float
    gf: float | None


@dataclass(frozen=True, slots=True)
class Places:
    """All places known since something else last shifted weight; the control stands at the last.

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
        """Where it stands now."""
        return self.known[-1] if self.known else None

    @property
    def bearing(self) -> Place | None:
        """The place nearest to where it stands at which the arm bore something."""
        return self._nearest([one for one in self.known[:-1] if one.gf is not None])

    @property
    def floating(self) -> Place | None:
        """The place nearest to where it stands at which the arm floated."""
        return self._nearest([one for one in self.known[:-1] if one.gf is None])

    def _nearest(self, places: Sequence[Place]) -> Place | None:
        here = self.here
        if here is None:
            return None
        apart = [one for one in places if one.at != here.at]
        return min(apart, key=lambda one: abs(one.at - here.at), default=None)

    @property
    def floated(self) -> int:
        """How many places on the way to where it bears nearest were found to float."""
        here, bears = self.here, self.bearing
        if here is None or bears is None:
            return 0
        way = here.at - bears.at
        return sum(one.gf is None and (one.at - bears.at) * way > 0.0 for one in self.known)

    @property
    def silent(self) -> bool:
        """Whether the last move left what the arm bears as it was, whatever is stated."""
        bore = [one.gf for one in self.known[-2:] if one.gf is not None]
        return len(bore) == 2 and abs(bore[1] - bore[0]) < SHOWS_GF

    @property
    def slope(self) -> float | None:
        """The least that one unit does, with its sign, between where it floats and where it bears.

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
        """The most that a unit did between any two places known, one of which bore; 0 of none.

        Where it floats it bears less than 0, so that a unit does no less than that.
        """
        rates = [
            ((one.gf or 0.0) - (other.gf or 0.0)) / (one.at - other.at)
            for one, other in combinations(self.known, 2)
            if abs(one.at - other.at) > _BY_HAND * self.hand
            and abs((one.gf or 0.0) - (other.gf or 0.0)) > SHOWS_GF
        ]
        return max(rates, key=abs, default=0.0)


def places_of(
    events: Sequence[Event],
    amount_of: Callable[[Shifted], float | None],
    true_of: Callable[[float], float],
    floats: Callable[[float], bool],
    gain: float | None,
    hand: float = 0.0,
) -> Places:
    """Return the places that the log tells of; ``gain`` is what is stated of one unit.

    ``hand`` is how exactly a hand sets the control, one standard uncertainty, in its units.
    """
    known: list[Place] = []
    shown: list[float] = []
    vain: list[tuple[float, int]] = []
    at, checked, silent, unseen = 0.0, False, False, False
    anew, slope = 0, 0.0
    before: float | None = None
    """What it bore by the scale before it was floated again; None once it was moved since."""
    for event in events:
        if isinstance(event, Weighing):
            shown.append(event.shown_gf)
            bears = not floats(event.shown_gf)
            if bears:
                vain.clear()
            mean = sum(map(true_of, shown)) / len(shown)
            _note(known, Place(at, mean if bears else None))
        elif isinstance(event, Checked):
            checked = True
            silent = bool(vain) or Places(tuple(known)).silent
            if vain:
                vain[-1] = (vain[-1][0], vain[-1][1] + 1)
            if _did_not_move(known, gain):
                known = [Place(at, known[-1].gf)]
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
                if known:  # of a place where nothing was weighed nobody knows that it floats
                    vain.append((amount, 0))
                at += amount
            silent = False
    here = known[-1].gf if known else None
    holds = before is not None and here is not None and abs(here - before) < SHOWS_GF
    return Places(tuple(known), checked, tuple(vain), anew, slope, unseen, holds, hand)


def _note(known: list[Place], place: Place) -> None:
    """Add what is known of a place, or put it where less was known of the same."""
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
    """Return the place to try between one that floats and one that bears.

    ``steepest`` is the most that a unit does: part of the way to where it floats may have been
    lost, in slack or at the end of the travel, and the way back acts in full. 0 on the way there.
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
    """Return the next move of an arm that floats wherever the control was so far.

    None where the questions come first: after the first move, and after every two more. The
    stated direction is tried first, then the other side, there at first by a third of a step:
    a thread four times as steep would not press too hard. No place
    is further than ``room`` from the first: a scale may hold its 0 while the arm bears all of it.
    """
    if not vain:
        return step
    rounds = [index for index, (_, checks) in enumerate(vain) if checks]
    if not rounds or len(vain) - 1 - rounds[-1] >= _MOVES_EACH:
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


def no_room_ahead(vain: Sequence[tuple[float, int]], step: float, room: float) -> bool:
    """Whether an arm looked at in vain can't go on by half a step within the room there is."""
    gone = sum(amount for amount, _ in vain)
    looked = bool(vain) and vain[-1][1] > 0
    return looked and room - math.copysign(1.0, step) * gone < 0.5 * abs(step)


def given_up(vain: Sequence[tuple[float, int]]) -> bool:
    """Whether so much was tried in vain, and looked at between, that it is left."""
    rounds = [index for index, (_, checks) in enumerate(vain) if checks]
    return len(rounds) >= _MOST_CHECKS and len(vain) - 1 - rounds[-1] >= _MOVES_EACH
