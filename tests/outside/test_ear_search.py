"""The search by ear beside a second way: eighty thousand balances and ears drawn at random.

Derived. Each pair is weighed by how likely it would give the answers that were heard, with scipy's
normal distribution; intervals and chances are counted. What a further answer would tell is worked
out as the information that the answer and the balance have of each other, from the answer's side:
H(answer) less the mean H(answer | balance), where the search works from the balance's side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import norm

from core.physics import ear_search as own
from core.physics.ear_search import Breaks, search_by_ear

Floats = NDArray[np.float64]
ALL = (Breaks.RIGHT, Breaks.LEFT, Breaks.TOGETHER)
TRIED = 12
"""So many settings at most are thought of for the next."""


@dataclass(frozen=True)
class Believed:
    """Balances and ears in decibels, and how much each pair is believed."""

    balance: Floats
    ear: Floats
    weight: Floats


@cache
def before(top: float, likely: float | None, spread: float) -> Believed:
    """Draw what is believed before anything is heard, ``top`` the most a control answers."""
    rng = np.random.default_rng(20261129)
    count = 80_000
    top = max(top, likely or 0.0)
    low, high = -0.5 * top, 2.0 * top
    balance = rng.uniform(low, high, count)
    if likely is not None:
        near = likely * np.exp(spread * rng.standard_normal(count))
        somewhere = rng.random(count) < 0.15  # anywhere at all
        balance = np.where(somewhere | (near > high), balance, near)
    ear = np.exp(rng.uniform(math.log(0.04), math.log(3.0), count))
    weight = np.where((ear > 0.4) & (ear < 2.4), 1.0, 0.1)
    return Believed(balance, ear, weight / weight.sum())


def chance_of(heard: Breaks, at: float, balance: Floats, ear: Floats) -> Floats:
    """How likely an ear says so at a setting: too little compensation breaks the right up first."""
    blur = 0.25 * ear
    right = norm.sf(ear, loc=balance - at, scale=blur)  # of what is heard, more than the ear tells
    left = norm.sf(ear, loc=at - balance, scale=blur)
    clean = {Breaks.RIGHT: right, Breaks.LEFT: left, Breaks.TOGETHER: 1.0 - right - left}
    return np.asarray(0.99 * clean[heard] + 0.01 / 3.0)


def after(
    trials: list[tuple[int, Breaks]], places: list[float], likely: float | None, spread: float
) -> Believed:
    known = before(places[-1], likely, spread)
    weight = known.weight
    for place, heard in trials:
        weight = weight * chance_of(heard, places[place], known.balance, known.ear)
    return Believed(known.balance, known.ear, weight / weight.sum())


def quantile(known: Believed, share: float) -> float:
    order = np.argsort(known.balance)
    below = np.cumsum(known.weight[order])
    return float(known.balance[order][int(np.searchsorted(below, share))])


def inside(known: Believed, at: float, tolerance: float) -> float:
    return float(known.weight[np.abs(known.balance - at) <= tolerance].sum())


def told_by(known: Believed, at: float) -> float:
    """Return the bits that the next answer there and the balance tell of each other."""
    edges = np.linspace(known.balance.min(), known.balance.max(), 61)
    bins = np.clip(np.digitize(known.balance, edges) - 1, 0, 59)
    mass = np.bincount(bins, known.weight, 60)
    information = 0.0
    for heard in ALL:
        chance = chance_of(heard, at, known.balance, known.ear)
        joint = np.bincount(bins, known.weight * chance, 60)
        total = joint.sum()
        some = (joint > 1e-12) & (mass > 1e-12)
        information += float((joint[some] * np.log2(joint[some] / (mass[some] * total))).sum())
    return information


DIAL = [0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0]
FINE = [0.05 * step for step in range(81)]
CASES = {
    "too little at once": ([(2, Breaks.RIGHT)], DIAL, 2.0, 0.35),
    "too much at once": ([(5, Breaks.LEFT)], DIAL, 2.0, 0.35),
    "alike at once": ([(4, Breaks.TOGETHER)], DIAL, 2.0, 0.35),
    "both edges": ([(2, Breaks.RIGHT), (5, Breaks.LEFT)], DIAL, 2.0, 0.35),
    "an edge and between": ([(2, Breaks.RIGHT), (4, Breaks.TOGETHER)], DIAL, 1.6, 0.35),
    "nothing likely": ([(3, Breaks.RIGHT)], DIAL, None, 0.35),
    "known from before": ([(4, Breaks.TOGETHER)], DIAL, 2.0, 0.1),
    "likely past the end": ([(5, Breaks.RIGHT)], DIAL, 4.0, 0.35),
    "a fine dial": ([(40, Breaks.RIGHT)], FINE, 2.2, 0.35),
    "a fine dial, then more": ([(40, Breaks.LEFT), (23, Breaks.TOGETHER)], FINE, 1.4, 0.35),
}


@pytest.mark.parametrize(("trials", "places", "likely", "spread"), CASES.values(), ids=CASES)
def test_interval_and_chance_are_as_counted(
    trials: list[tuple[int, Breaks]], places: list[float], likely: float | None, spread: float
) -> None:
    tolerance = 0.4
    found = search_by_ear(trials, places, tolerance, likely_db=likely, likely_spread=spread)
    known = after(trials, places, likely, spread)
    # The search holds balances on 121 points over two and a half times the highest answer.
    step = 2.5 * max(places[-1], likely or 0.0) / 120.0
    assert found.low_db == pytest.approx(quantile(known, 0.025), abs=2.0 * step)
    assert found.high_db == pytest.approx(quantile(known, 0.975), abs=2.0 * step)
    counted = [inside(known, at, tolerance) for at in places]
    assert found.chance == pytest.approx(counted[found.best_place], abs=0.04)
    here, heard = trials[-1]
    # A move is worth three plays and takes one more, a play 0.12 bits: 2 to the -0.48 is 0.72. So
    # much of the best chance is left alone where both sound alike; 0.9 where one breaks first.
    as_good = 0.72 if heard is Breaks.TOGETHER else 0.9
    if found.best_place == here:
        assert counted[here] > as_good * max(counted) - 0.04
    else:
        assert counted[found.best_place] > max(counted) - 0.03
        assert counted[here] < as_good * max(counted) + 0.04


@pytest.mark.parametrize(("trials", "places", "likely", "spread"), CASES.values(), ids=CASES)
def test_the_next_setting_tells_most_of_those_thought_of(
    trials: list[tuple[int, Breaks]], places: list[float], likely: float | None, spread: float
) -> None:
    found = search_by_ear(trials, places, 0.4, likely_db=likely, likely_spread=spread)
    known = after(trials, places, likely, spread)
    # Twelve at most, from end to end as evenly as the marks allow, and where it stands.
    last = len(places) - 1
    count = min(TRIED, last + 1)
    evenly = {math.floor(last * k / (count - 1) + 0.5) for k in range(count)}
    tried = sorted(evenly | {trials[-1][0]})
    told = {place: told_by(known, places[place]) for place in tried}
    if found.next_place is None:
        assert found.is_sure or max(told.values()) < 0.12 + 0.04
        return
    assert found.next_place in tried
    assert told[found.next_place] > max(told.values()) - 0.03
    assert told[found.next_place] > 0.12 - 0.04


def test_a_setting_heard_so_often_is_left_unless_another_is_twice_as_sure() -> None:
    trials = [(3, Breaks.TOGETHER), (4, Breaks.TOGETHER), (5, Breaks.TOGETHER), (2, Breaks.RIGHT)]
    known = after(trials, DIAL, 2.0, 0.35)
    counted = [inside(known, at, 0.4) for at in DIAL]
    found = search_by_ear(trials, DIAL, 0.4, likely_db=2.0)
    assert found.next_place is None
    assert (found.best_place == 2) is (counted[2] >= 0.5 * max(counted))


@pytest.mark.parametrize(("force", "db"), [(0.0, 0.0), (0.2, 1.743), (-0.2, -1.743), (0.6, 5.377)])
def test_a_side_force_in_decibels(force: float, db: float) -> None:
    # 20 lg((2 + 0.2) / (2 - 0.2)) = 1.743; 20 lg(2.6 / 1.4) = 5.377: both walls at 45 degrees.
    assert own.imbalance_db(force, 2.0) == pytest.approx(db, abs=1e-3)
    assert own.imbalance_db(5.0, 2.0) == own.imbalance_db(1.98, 2.0)  # no wall bears less than none
    assert own.imbalance_db(0.2, 0.0) == 0.0


def test_a_dial_is_not_set_back_to_the_middle_for_less_than_the_price_of_a_move() -> None:
    trials = [(1, Breaks.LEFT), (2, Breaks.TOGETHER), (4, Breaks.TOGETHER)]
    known = after(trials, DIAL, 2.0, 0.35)
    counted = [inside(known, at, 0.4) for at in DIAL]
    assert 0.76 < counted[4] / max(counted) < 0.9, "worse, but for less than a move costs"
    found = search_by_ear(trials, DIAL, 0.4, likely_db=2.0)
    assert (found.next_place, found.best_place) == (None, 4)
