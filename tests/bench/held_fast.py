"""Run by hand: every control held fast in turn, on many practice decks.

``python -m tests.bench.held_fast --decks 40``

A person obeys and answers the questions as asked, and nothing is put right. Every step has to end,
nothing unsafe may be asked, and nobody may be told that travel or slots end where nothing moved.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass

from core.fitting import Verdict
from core.practice.faults import HELD
from core.practice.proof.closed_loop import DeckRun
from core.practice.proof.many_fittings import fit_decks

END_OF_TRAVEL = frozenset(
    {
        "alignment.slots_end",
        "arm_height.travel_ends_here",
        "level.level_to",
        "skating.at_the_end",
        "tilt.upright_to",
    }
)
"""Headlines that say that a control has come to its end."""


@dataclass(frozen=True, slots=True)
class Held:
    """What came of decks with one thing held fast; `made_up` ends of travel where nothing moved."""

    what: str
    decks: int
    moved: int
    left: int
    never_ended: int
    made_up: int
    unsafe: int
    false_good: int


def summed(what: str, runs: list[DeckRun]) -> Held:
    """Return the counts over the steps that move what is held fast."""
    steps = [run.steps[name] for run in runs for name in HELD[what]]
    moved = [step for step in steps if step.moves]
    return Held(
        what,
        len(runs),
        len(moved),
        sum(step.verdict is Verdict.LEFT_AS_FOUND for step in moved),
        sum(step.never_ended for run in runs for step in run.steps.values()),
        sum(step.headline in END_OF_TRAVEL for step in moved),
        sum(run.unsafe_prompts + run.unsafe_orders for run in runs),
        sum(
            step.verdict is Verdict.GOOD and (step.final_ratio or 0.0) > 1.0
            for run in runs
            for step in run.steps.values()
        ),
    )


def main() -> None:
    """Print the table; end with 1 where something is missed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--decks", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    told = parser.parse_args()
    print(f"{told.decks} decks each, seed {told.seed}")
    print(
        f"{'held fast':<16}{'moved':>7}{'left':>6}{'never ended':>13}"
        f"{'end made up':>13}{'unsafe':>8}{'false good':>12}"
    )
    missed = False
    for what in HELD:
        held = summed(what, fit_decks(told.decks, told.seed, held=what))
        missed = missed or bool(held.never_ended or held.made_up or held.unsafe)
        print(
            f"{what:<16}{held.moved:>7}{held.left:>6}{held.never_ended:>13}"
            f"{held.made_up:>13}{held.unsafe:>8}{held.false_good:>12}",
            flush=True,
        )
    sys.exit(1 if missed else 0)


if __name__ == "__main__":
    main()
