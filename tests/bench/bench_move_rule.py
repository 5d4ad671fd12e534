"""Set the decision rule beside the optimum: ``python tests/bench/bench_move_rule.py``.

A person reads with an eye's error and moves with a hand's, both in tolerances; a reading costs
one, a move three. The optimum is a value iteration over mean and spread, written apart from
``core.estimation.move_rule``; both then play the same drawn fittings. The old rule (move as soon as
the direction is certain, unless up to three readings would make it good) stands beside them.
"""

from __future__ import annotations

import argparse
import itertools
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[2]))

from core.estimation import COVERAGE_FACTOR, Decision, Prospect, decide, worth_reading
from core.estimation.move_rule import is_worth_moving

MOVE = 3.0
EYES = (0.25, 0.4, 0.55, 0.7)
HANDS = (0.2, 0.3, 0.4, 0.5, 0.6)
FARTHEST = 2.0
"""How far off it is when first read, one standard deviation."""

Rule = Callable[[float, float], bool]
Floats = NDArray[np.float64]


class Optimum:
    """Value iteration: what each mean and number of readings costs, with a move at any time.

    The spread follows from the readings since the last move and from where that move began; the
    spread before it is small beside the hand's, so that it is kept on a grid of its own.
    """

    def __init__(self, eye: float, hand: float) -> None:
        self.eye, self.hand = eye, hand
        self.means = np.linspace(-5.0, 5.0, 401)
        self.spreads = np.geomspace(0.05, 3.0, 60)
        self.value = np.full((60, 401), 10.0)
        nodes, weights = np.polynomial.hermite_e.hermegauss(21)
        shares = weights / weights.sum()
        good = np.abs(self.means) + COVERAGE_FACTOR * self.spreads[:, None] <= 1.0
        then = 1.0 / np.hypot(1.0 / self.spreads, 1.0 / eye)
        drawn = np.sqrt(self.spreads**2 - then**2)
        for _ in range(200):
            self.reading = np.empty_like(self.value)
            for i, spread in enumerate(then):
                line = self._line(float(spread))
                reached = np.abs(self.means[:, None] + drawn[i] * nodes)
                self.reading[i] = 1.0 + np.interp(reached, self.means, line) @ shares
            self.moving = np.array([self.after(float(one)) for one in self.spreads])
            new = np.where(good, 0.0, np.minimum(self.reading, MOVE + self.moving[:, None]))
            done = float(np.abs(new - self.value).max()) < 1e-4
            self.value = new
            if done:
                break

    def after(self, spread: float) -> float:
        """Return the cost after a move, which has to be read."""
        moved = float(np.hypot(spread, self.hand))
        return float(np.interp(0.0, self.means, self._line(moved, self.reading)))

    def moves(self, mean: float, spread: float) -> bool:
        """Return whether to move."""
        line = self._line(spread, self.reading)
        return MOVE + self.after(spread) <= float(np.interp(mean, self.means, line))

    def _line(self, spread: float, table: Floats | None = None) -> Floats:
        table = self.value if table is None else table
        at = np.interp(np.log(spread), np.log(self.spreads), np.arange(60.0))
        low = min(int(at), 58)
        share = at - low
        mixed = (1.0 - share) * table[low] + share * table[low + 1]
        if table is self.value:
            mixed = np.where(np.abs(self.means) + COVERAGE_FACTOR * spread <= 1.0, 0.0, mixed)
        return np.asarray(mixed, dtype=float)


def rule_of(eye: float, hand: float) -> Rule:
    """Return the rule of the program."""

    def moves(mean: float, spread: float) -> bool:
        return is_worth_moving(mean, spread, 1.0, Prospect(eye, hand))

    return moves


def old_rule_of(eye: float) -> Rule:
    """Return the rule that knew nothing of hands."""

    def moves(mean: float, spread: float) -> bool:
        if decide(mean, COVERAGE_FACTOR * spread, 1.0) is not Decision.MOVE:
            return False
        readings = max((eye / spread) ** 2, 1.0)
        return worth_reading(mean, 1.0, eye, readings) is None

    return moves


def played(moves: Rule, eye: float, hand: float, count: int) -> tuple[float, float]:
    """Return cost and moves of a fitting, on average; the same errors are drawn for every rule."""
    cost = moved = 0.0
    for number in range(count):
        rng = np.random.default_rng((number, 11))
        truth = FARTHEST * rng.standard_normal()
        mean, spread, used = truth + eye * rng.standard_normal(), eye, 1.0
        while abs(mean) + COVERAGE_FACTOR * spread > 1.0 and used < 200.0:
            if moves(mean, spread):
                truth += -mean + hand * rng.standard_normal()
                mean, spread = 0.0, float(np.hypot(spread, hand))
                used, moved = used + MOVE, moved + 1.0
            seen = truth + eye * rng.standard_normal()
            share = spread**2 / (spread**2 + eye**2)
            mean, spread = mean + share * (seen - mean), spread * float(np.sqrt(1.0 - share))
            used += 1.0
        cost += used
    return cost / count, moved / count


def main() -> int:
    """Print the table; 1 if a mixture costs over 3 % more than the optimum."""
    parser = argparse.ArgumentParser(description="The decision rule beside the optimum.")
    parser.add_argument("--fittings", type=int, default=1500)
    count = parser.parse_args().fittings
    print(" eye hand | optimum: cost moves |  rule: cost moves  more | before: cost moves  more")
    worst = 0.0
    for eye, hand in itertools.product(EYES, HANDS):
        best, best_moves = played(Optimum(eye, hand).moves, eye, hand, count)
        own, own_moves = played(rule_of(eye, hand), eye, hand, count)
        old, old_moves = played(old_rule_of(eye), eye, hand, count)
        worst = max(worst, own / best - 1.0)
        cells = (
            f"{eye:4.2f} {hand:4.2f} | {best:13.2f} {best_moves:5.2f}",
            f"{own:11.2f} {own_moves:5.2f} {100 * (own / best - 1):4.1f}%",
            f"{old:12.2f} {old_moves:5.2f} {100 * (old / best - 1):4.1f}%",
        )
        print(" | ".join(cells))
    print(f"At worst {100 * worst:.1f} % above the optimum.")
    return int(worst > 0.03)


if __name__ == "__main__":
    sys.exit(main())
