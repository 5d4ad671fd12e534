"""Readings of one figure that differ by more than an eye errs, with nothing moved between."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from dataclasses import dataclass, field, replace
from typing import Final

from core.estimation import CERTAIN_FACTOR
from core.fitting import Choices, Context, NextReading, Trial
from core.language import Quantity, message
from core.records import BenchKit, Deck
from core.steps.alignment.effects import disturbed_by
from core.steps.alignment.readings import NAME, AlignmentReading
from core.steps.shared import Doubt, compared_trials, history, without

_PAIR: Final = 2.24
"""One in forty pairs of readings differs by more combined standard uncertainties: ours."""

_TOO_MANY: Final = 3
_TOO_LARGE_A_SHARE: Final = 0.25
"""So many readings in doubt, and more than this share of those compared, mean that the eye errs by
more than it is said to. Then all count, each for less: our own."""

_MOST_KEPT: Final = 8
"""Readings in doubt that a later one is compared with: a log may have thousands."""

_Key = tuple[str, float | None, Choices | None]
"""A figure, the radius of its grid, and the choices for which it was read."""

_Figures = dict[_Key, tuple[float, float]]


def doubts_of(context: Context) -> dict[int, Doubt]:
    """Return the questions about readings, by their indexes among the trials.

    A reading that differs from those before it does not count until another agrees with it; then
    the others don't, if they are no more. Anything that moves the head ends the comparison.
    """
    trials = context.log.get(NAME, ())
    places = {id(trial): place for place, trial in enumerate(trials)}
    doubts: dict[int, Doubt] = {}
    stretch, compared = _Stretch(context.deck), 0
    for event in history(replace(context, step=NAME), disturbed_by):
        if not isinstance(event, Trial) or event.moves:
            doubts |= stretch.doubts(places)
            compared += stretch.compared
            stretch = _Stretch(context.deck)
        elif isinstance(event.reading, AlignmentReading):
            stretch.take(event, event.reading)
    doubts |= stretch.doubts(places)
    compared += stretch.compared
    most = max(_TOO_MANY - 1.0, _TOO_LARGE_A_SHARE * compared)
    return doubts if len(doubts) <= most else {}


def counted(context: Context) -> Context:
    """Return the context with only the readings that count."""
    return without(context, NAME, doubts_of(context))


def _figures_of(reading: AlignmentReading, bench: BenchKit, chosen: Choices | None) -> _Figures:
    """Return what a reading shows, each figure with its standard uncertainty."""
    return {(*key, chosen): figure for key, figure in reading.shown(bench).items()}


@dataclass(frozen=True, slots=True, eq=False)
class _Read:
    """A reading, its figures, and the figure in which it differs, if any, with its distance."""

    trial: Trial
    figures: _Figures
    what: str = ""
    apart: float = 0.0


@dataclass
class _Stretch:
    """The readings between two moves: those that count, and those in doubt."""

    deck: Deck
    counted: list[_Read] = field(default_factory=list)
    doubted: list[_Read] = field(default_factory=list)
    sums: dict[_Key, tuple[float, int]] = field(default_factory=dict)
    """The sum of each figure over the readings that count, and how many they are."""
    compared: int = 0
    """The number of readings that had another of the same figure before them."""

    def take(self, trial: Trial, reading: AlignmentReading) -> None:
        one = _Read(trial, _figures_of(reading, self.deck.bench, trial.chosen))
        if not one.figures:
            return
        self.compared += any(key in self.sums for key in one.figures)
        key, apart = self._differs(one)
        if key is None:
            self._count(one)
            self._count_again(one)
            return
        one = _Read(trial, one.figures, key[0], apart)
        like = [other for other in self.doubted[-_MOST_KEPT:] if _agree(one, other)]
        if not like or len(like) + 1 < self.sums[key][1]:
            self.doubted.append(one)
            return
        gone = [other for other in self.counted if not _agree(one, other)]
        here = {id(other) for other in (*like, *gone)}
        stays = [other for other in self.counted if id(other) not in here]
        self.counted, self.sums = [], {}
        for other in (*stays, *like, one):
            self._count(other)
        self.doubted = [other for other in self.doubted if id(other) not in here]
        self.doubted += [_Read(other.trial, other.figures, key[0], apart) for other in gone]

    def _count_again(self, one: _Read) -> None:
        """Count the readings in doubt that this one, between them and the others, has explained."""
        for other in self.doubted[-_MOST_KEPT:]:
            if _agree(one, other) and self._differs(other)[0] is None:
                self.doubted.remove(other)
                self._count(other)

    def _count(self, one: _Read) -> None:
        self.counted.append(one)
        for key, (value, _) in one.figures.items():
            total, count = self.sums.get(key, (0.0, 0))
            self.sums[key] = total + value, count + 1

    def doubts(self, places: dict[int, int]) -> dict[int, Doubt]:
        """Return the questions, by the trials' indexes."""
        taken = (*self.counted, *self.doubted)
        read = Counter(what for one in taken for what in {key[0] for key in one.figures})
        return {places[id(one.trial)]: self._doubt(one, read[one.what]) for one in self.doubted}

    def _doubt(self, one: _Read, times_read: int) -> Doubt:
        """Return the question about a reading whose figure was read so many times."""
        unit = "°" if "angle" in one.what else "mm"
        size = Quantity(one.apart, unit, 1)
        question = message("alignment.doubt.differ", what=one.what, size=size)
        way = one.trial.reading.way if one.trial.reading else ""
        which = message("alignment.doubt.which", of="two" if times_read == 2 else "more")
        told = (other.trial for other in reversed(self.counted) if _tells(other, one.what))
        named = compared_trials([*itertools.islice(told, 1), one.trial], self.deck)
        return Doubt(question, NextReading(way), notes=(*named, which))

    def _differs(self, one: _Read) -> tuple[_Key | None, float]:
        """Return the figure in which a reading differs most from those that count."""
        worst: tuple[_Key | None, float, float] = None, 0.0, 1.0
        for key, (value, spread) in one.figures.items():
            total, count = self.sums.get(key, (0.0, 0))
            if not count or spread <= 0.0:
                continue
            apart = abs(value - total / count)
            times = _PAIR if count == 1 else CERTAIN_FACTOR
            share = apart / (times * spread * math.sqrt(1.0 + 1.0 / count))
            if share > worst[2]:
                worst = key, apart, share
        return worst[0], worst[1]


def _tells(one: _Read, what: str) -> bool:
    return any(key[0] == what for key in one.figures)


def _agree(one: _Read, other: _Read) -> bool:
    """Whether two readings have figures in common and agree in all of them."""
    common = one.figures.keys() & other.figures.keys()
    return bool(common) and all(
        abs(one.figures[key][0] - other.figures[key][0])
        <= _PAIR * math.hypot(one.figures[key][1], other.figures[key][1])
        for key in common
    )
