"""Run whole fittings with no person and print what came of them."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from functools import partial
from importlib.util import find_spec
from typing import Final, NoReturn

from core.practice.faults import HELD, Difficulty
from core.steps import SKATING, TILT

MOST_DECKS: Final = 100_000
MOST_WORKERS: Final = 64
_COMPARED: Final = {
    "by recording": {TILT: "leak by tone", SKATING: "bands by tone"},
    "by bands and ear": {TILT: "test bands", SKATING: "test bands"},
    "by eye and ear": {TILT: "gaps", SKATING: "test bands"},
}
"""What people reach for at tilt and skating, on the same decks."""


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in one sentence and ends with 2."""

    def error(self, message: str) -> NoReturn:
        """Print the sentence."""
        sys.stderr.write(f"{message[:1].upper()}{message[1:]}.\n")
        raise SystemExit(2)


def _whole(name: str, low: int, high: int, text: str) -> int:
    try:
        value = int(text)
    except ValueError:
        value = low - 1
    if not low <= value <= high:
        raise argparse.ArgumentTypeError(
            f"'{text}' won't do: give a whole number of {name} from {low} to {high}"
        )
    return value


def _difficulty(text: str) -> Difficulty:
    wanted = text.strip().lower().replace("-", " ")
    for one in Difficulty:
        if wanted == one.value:
            return one
    names = ", ".join(one.value.replace(" ", "-") for one in Difficulty)
    raise argparse.ArgumentTypeError(f"'{text}' is no difficulty: give one of {names}")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="python -m core.practice",
        description="Fit practice decks with no person and print how the wizard did.",
        allow_abbrev=False,
    )
    parser.add_argument(
        "--decks",
        type=partial(_whole, "decks", 1, MOST_DECKS),
        default=100,
        help="how many practice decks (100)",
    )
    parser.add_argument(
        "--seed",
        type=partial(_whole, "the seed", 0, 2**31 - 1),
        default=1,
        help="the same seed makes the same decks (1)",
    )
    parser.add_argument(
        "--difficulty",
        type=_difficulty,
        default=Difficulty.ORDINARY,
        help="gentle, ordinary or bad-day (ordinary)",
    )
    parser.add_argument(
        "--workers",
        type=partial(_whole, "workers", 1, MOST_WORKERS),
        default=1,
        help="how many run side by side (1)",
    )
    parser.add_argument(
        "--held",
        choices=tuple(name.replace(" ", "-") for name in HELD),
        default=None,
        help="hold this control fast on every deck, or have the scale hold its last value",
    )
    parser.add_argument(
        "--erring",
        action="store_true",
        help="people get directions, sides, units and controls wrong now and then",
    )
    parser.add_argument(
        "--recorded",
        action="store_true",
        help="set tilt and skating by recordings of a test record beside by eye and ear",
    )
    parser.add_argument(
        "--deck",
        type=partial(_whole, "the deck", 0, MOST_DECKS),
        default=None,
        help="tell one deck's fitting, entry by entry, instead",
    )
    return parser


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; return its exit code."""
    asked = _parser().parse_args(arguments)
    if find_spec("core.practice.proof") is None:
        sys.stderr.write("Whole fittings run from a checkout of the source; none is installed.\n")
        return 2
    # Only a checkout has these.
    from core.practice.proof.closed_loop import run_deck
    from core.practice.proof.many_fittings import fit_decks
    from core.practice.proof.table import as_text, summarise

    held = (asked.held or "").replace("-", " ")
    if asked.deck is not None:
        run = run_deck(
            asked.seed, asked.deck, asked.difficulty, told=True, held=held, erring=asked.erring
        )
        sys.stdout.write("\n".join(run.log) + "\n")
        return 0
    if asked.recorded:
        return _recorded(asked.decks, asked.seed, asked.difficulty, asked.workers)
    runs = fit_decks(
        asked.decks, asked.seed, asked.difficulty, asked.workers, held, erring=asked.erring
    )
    name = asked.difficulty.value + (f", {held} held fast" if held else "")
    name += ", people who err" if asked.erring else ""
    sys.stdout.write(f"{asked.decks} practice decks, seed {asked.seed}, {name}\n\n")
    sys.stdout.write(as_text(summarise(runs)) + "\n")
    return 0


def _recorded(decks: int, seed: int, difficulty: Difficulty, workers: int) -> int:
    """Print tilt and skating by recordings beside by eye and ear, on the same decks."""
    from core.practice.proof.many_fittings import fit_decks
    from core.practice.proof.table import beside, from_least_leak, summarise

    runs = {
        name: fit_decks(decks, seed, difficulty, workers, ways=ways)
        for name, ways in _COMPARED.items()
    }
    sys.stdout.write(f"{decks} practice decks, seed {seed}, {difficulty.value}\n\n")
    sys.stdout.write(beside({name: summarise(found) for name, found in runs.items()}) + "\n")
    sys.stdout.write(from_least_leak(runs) + "\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
