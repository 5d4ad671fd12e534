"""Skating: the search by ear for the setting at which both channels break up alike.

An ear tells 0.5 to 2 dB apart (practice), so both channels sound the same over a range of settings.
Its two edges are searched for, where the right first breaks up before the left and where the left
does before the right; the balance lies in the middle, as surely as both edges are known.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from core.estimation import CONFIDENCE, normal_cdf


class Breaks(Enum):
    """Which channel breaks up first as the test bands get louder."""

    LEFT = "left"
    RIGHT = "right"
    TOGETHER = "together"


LIKELY_SPREAD: Final = 0.35
"""Spread of the logarithm of the right setting about the rule of practice: friction from 0.2 to
0.5 against the usual 0.3, and dials marked as makers mark them. Our estimate."""

_UNLIKELY: Final = 0.15
"""Chance that the balance lies anywhere at all: one worn side, a tilted head. Our own."""
_EARS_DB: Final = (0.04, 3.0)
"""The sharpest and the dullest ear allowed for. Our own."""
_USUAL_EARS_DB: Final = (0.4, 2.4)
"""What is told apart is usually 0.5 to 2 dB (practice), with some room."""
_UNUSUAL: Final = 0.1
"""How likely other ears are beside the usual. Our own."""
_FUZZ: Final = 0.25
"""How blurred the edge is of what an ear tells apart, one standard deviation as a share. Ours."""
_SLIPS: Final = 0.01
"""Share of answers that mean nothing at all. Our own."""
_WORTH_HEARING: Final = 0.12
"""Bits: the bands are not played again for less. Our own."""
MOST_PLAYED: Final = 3
"""Nobody is asked to play the bands more often."""
_MOVE_IN_PLAYS: Final = 4
"""A move is worth three readings and takes one after it: the shared decision rule."""
_WORTH_LEAVING: Final = 2.0 ** (-_MOVE_IN_PLAYS * _WORTH_HEARING)
"""Where both channels sound alike the control is left unless elsewhere is surer by more than the
price of a move, in bits of the chance of being near enough: 0.72 of it."""
_HARDLY_WORSE: Final = 0.9
_HALF: Final = 0.5
"""Where one channel breaks first the control is left alone only if elsewhere is hardly surer; once
the bands were played so often, unless it is twice as sure."""

_POINTS, _EARS, _TRIED = 121, 12, 12

_Grid = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class EarSearch:
    """Where the balance is known to lie, and the setting to hear next, as places.

    ``next_place`` is None where nothing more is worth hearing; ``best_place`` is where to leave the
    control as far as is known. ``chance`` is how likely the balance lies within the tolerance of
    it, ``low_db`` to ``high_db`` the 95 % interval of the balance. ``at_end``: the first or last
    place still gives too much or too little. ``contradiction``: two trials, by index, that can't
    both be right.
    """

    next_place: int | None
    best_place: int
    chance: float
    low_db: float
    high_db: float
    at_end: bool = False
    contradiction: tuple[int, int] | None = None

    @property
    def is_sure(self) -> bool:
        """Whether it is near enough with the confidence of every interval."""
        return self.chance >= CONFIDENCE


def imbalance_db(force_gf: float, downforce_gf: float) -> float:
    """Return by how much a side force makes one channel break up before the other, dB.

    Each wall carries the downforce and the side force at 45 degrees, one added and one taken off:
    20 log10((F + s) / (F - s)) (derived; 45/45 geometry).
    """
    share = max(-0.99, min(0.99, force_gf / downforce_gf)) if downforce_gf > 0.0 else 0.0
    return 40.0 / math.log(10.0) * math.atanh(share)


def search_by_ear(
    trials: Sequence[tuple[int, Breaks]],
    places_db: Sequence[float],
    tolerance_db: float,
    *,
    likely_db: float | None = None,
    likely_spread: float = LIKELY_SPREAD,
    most: int = MOST_PLAYED,
) -> EarSearch:
    """Bracket both edges of what sounds the same, and take the middle.

    Parameters
    ----------
    trials : sequence of (int, Breaks)
        Places tried, in order, at least one.
    places_db : sequence of float
        What the control answers at each place, rising (:func:`imbalance_db`).
    tolerance_db : float
        How near to the balance is near enough.
    likely_db : float or None
        Where the balance most likely lies, above 0; None when nothing is known.
    likely_spread : float
        How sure that is: spread of the logarithm of the balance about it.
    most : int
        So often the bands are played at most.

    Raises
    ------
    ValueError
        Without a trial, or with fewer than two places.

    Notes
    -----
    Skating presses the stylus on the inner wall, which carries the left channel, and lightens it
    on the outer, the right: the right breaking first wants more compensation, the left less
    (45/45 geometry). Balance and ear are weighed together on a grid by Bayes' rule, every answer
    with a small chance to mean nothing; the next place is the one whose answer tells most.
    Contradictory are a lower place that shows too much and a higher that shows too little.
    """
    if not trials:
        raise ValueError("Try one setting before searching on.")
    if len(places_db) < 2:
        raise ValueError("There is nothing to search with fewer than two settings.")
    answers = np.asarray(places_db, dtype=float)
    known = _Known.of(answers, likely_db, likely_spread)
    for place, heard in trials:
        known.hear(float(answers[place]), heard)
    balance = known.belief.sum(axis=1)
    below = np.cumsum(balance)
    beneath = below - 0.5 * balance
    near = np.interp(answers + tolerance_db, known.balances, beneath)
    near = near - np.interp(answers - tolerance_db, known.balances, beneath)
    # Of places as good as each other the middle one.
    sure = np.flatnonzero(near >= near.max() - 1e-6)
    best = int(sure[len(sure) // 2])
    here = trials[-1][0]
    alike = trials[-1][1] is Breaks.TOGETHER
    as_good = _WORTH_LEAVING if alike else _HARDLY_WORSE
    as_good = as_good if len(trials) <= most else _HALF
    if near[here] >= as_good * near[best]:
        best = here
    tail = 0.5 * (1.0 - CONFIDENCE)
    low, high = (float(known.balances[int(np.searchsorted(below, q))]) for q in (tail, 1.0 - tail))
    found = EarSearch(None, best, float(near[best]), low, high)
    contradiction = _contradiction(trials)
    if contradiction is not None:
        again = trials[contradiction[0]][0]
        return EarSearch(again, again, 0.0, low, high, contradiction=contradiction)
    last = len(answers) - 1
    latest = dict(trials)
    ends = (latest.get(0) is Breaks.LEFT, latest.get(last) is Breaks.RIGHT)
    if any(ends):
        end = 0 if ends[0] else last
        return EarSearch(None, end, float(near[end]), low, high, at_end=True)
    if found.is_sure or len(trials) >= most:
        return found
    # Neighbours tell nearly the same: of many places some are tried.
    tried = sorted({round(one) for one in np.linspace(0, last, min(last + 1, _TRIED))} | {here})
    told = [known.tells(float(answers[one])) for one in tried]
    most = int(np.argmax(told))
    if told[most] < _WORTH_HEARING:
        return found
    return EarSearch(tried[most], best, found.chance, low, high)


@dataclass(slots=True)
class _Known:
    """Probabilities of the balance (rows, dB) and of the ear's threshold (columns, dB)."""

    balances: _Grid
    ears: _Grid
    belief: _Grid

    @classmethod
    def of(cls, answers: _Grid, likely: float | None, spread: float) -> "_Known":
        """Return the prior probabilities."""
        top = max(float(answers[-1]), likely or 0.0)
        balances = np.linspace(-0.5 * top, 2.0 * top, _POINTS)
        ears = np.geomspace(*_EARS_DB, _EARS)
        anywhere = np.full(_POINTS, 1.0 / _POINTS)
        belief = anywhere
        if likely is not None and likely > 0.0:
            above = np.maximum(balances, 1e-9)
            usual = np.where(
                balances > 0.0, np.exp(-0.5 * (np.log(above / likely) / spread) ** 2) / above, 0.0
            )
            belief = (1.0 - _UNLIKELY) * usual / usual.sum() + _UNLIKELY * anywhere
        usually = np.where((ears > _USUAL_EARS_DB[0]) & (ears < _USUAL_EARS_DB[1]), 1.0, _UNUSUAL)
        return cls(balances, ears, np.outer(belief, usually / usually.sum()))

    def hear(self, answered: float, heard: Breaks) -> None:
        """Update the probabilities by what was heard at a setting."""
        self.belief = self.belief * self._chances(answered)[heard]
        self.belief = self.belief / self.belief.sum()

    def tells(self, answered: float) -> float:
        """Return the expected information, in bits, of an answer there about the balance."""
        before = _entropy(self.belief.sum(axis=1))
        left = 0.0
        for chance in self._chances(answered).values():
            then = (self.belief * chance).sum(axis=1)
            share = float(then.sum())
            if share > 1e-12:
                left += share * _entropy(then / share)
        return before - left

    def _chances(self, answered: float) -> dict[Breaks, _Grid]:
        off = (self.balances - answered)[:, None]
        blur = _FUZZ * self.ears
        right = _cdf((off - self.ears) / blur)
        left = _cdf((-off - self.ears) / blur)
        found = {Breaks.RIGHT: right, Breaks.LEFT: left, Breaks.TOGETHER: 1.0 - right - left}
        return {one: (1.0 - _SLIPS) * each + _SLIPS / 3.0 for one, each in found.items()}


_STEPS: Final = np.linspace(-8.0, 8.0, 1601)
_CDF: Final = np.array([normal_cdf(float(one)) for one in _STEPS])


def _cdf(values: _Grid) -> _Grid:
    return np.asarray(np.interp(values, _STEPS, _CDF), dtype=float)


def _entropy(chances: _Grid) -> float:
    some = chances[chances > 1e-15]
    return float(-(some * np.log2(some)).sum())


def _contradiction(trials: Sequence[tuple[int, Breaks]]) -> tuple[int, int] | None:
    """Find the latest pair that can't both be right.

    A later answer at the same place overrules an earlier one, and a place tried three times is not
    asked about again: the ear can't tell there.
    """
    places = [place for place, _ in trials]
    status = {place: index for index, place in enumerate(places)}
    indices = sorted(status.values(), reverse=True)
    for later in indices:
        for earlier in (index for index in indices if index < later):
            lower, higher = sorted((earlier, later), key=lambda index: places[index])
            wrong = trials[lower][1] is Breaks.LEFT and trials[higher][1] is Breaks.RIGHT
            if wrong and places.count(places[earlier]) < 3:
                return earlier, later
    return None
