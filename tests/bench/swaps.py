"""Run by hand: how many predictions land, and what learned gains save, on many practice decks.

``python -m tests.bench.swaps --decks 60``
"""

from __future__ import annotations

import argparse

from core.practice.faults import Difficulty
from tests.core.swap.exchanged import Landed, cycles, land


def main() -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--decks", type=int, default=40)
    parser.add_argument("--seed", type=int, default=11)
    told = parser.parse_args()
    landed = land(told.seed, told.decks, Difficulty.ORDINARY)
    print(f"{told.decks} ordinary decks, predictions inside their 95 % interval:")
    for place, values in landed.true.items():
        read = landed.read.get(place, [])
        share = f"{sum(read) / len(read):.0%} of {len(read)}" if read else "-"
        print(f"  {' '.join(place):36} true {sum(values) / len(values):.0%}, read {share}")
    print(f"  all: true {Landed.share(landed.true):.1%}, read {Landed.share(landed.read):.1%}")
    decks, learned, stated = cycles(told.seed, told.decks, Difficulty.BAD_DAY)
    print(f"{decks} decks on a bad day: {learned} cycles with learned gains, {stated} with stated")


if __name__ == "__main__":
    main()
