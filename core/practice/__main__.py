"""Run whole fittings with no person and print what came of them."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from functools import partial
from importlib.util import find_spec
from typing import Final, NoReturn

from core.language import Message, Name, Numbers, message
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


def _said(what: Message) -> str:
    """Return a sentence in English: nobody has chosen a language in a terminal."""
    return Numbers().text(what)


def _whole(name: str, low: int, high: int, text: str) -> int:
    try:
        value = int(text)
    except ValueError:
        value = low - 1
    if not low <= value <= high:
        ends = {"low": Name(str(low)), "high": Name(str(high))}
        raise argparse.ArgumentTypeError(
            _said(message("practice.command.no_number", what=name, typed=Name(text), **ends))
        )
    return value


def _difficulty(text: str) -> Difficulty:
    wanted = text.strip().lower().replace("-", " ")
    for one in Difficulty:
        if wanted == one.value:
            return one
    names = ", ".join(one.value.replace(" ", "-") for one in Difficulty)
    raise argparse.ArgumentTypeError(
        _said(message("practice.command.no_difficulty", typed=Name(text), names=Name(names)))
    )


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="python -m core.practice",
        description=_said(message("practice.command.summary")),
        allow_abbrev=False,
    )
    parser.add_argument(
        "--decks",
        type=partial(_whole, "decks", 1, MOST_DECKS),
        default=100,
        help=_said(message("practice.command.decks")),
    )
    parser.add_argument(
        "--seed",
        type=partial(_whole, "seed", 0, 2**31 - 1),
        default=1,
        help=_said(message("practice.command.seed")),
    )
    parser.add_argument(
        "--difficulty",
        type=_difficulty,
        default=Difficulty.ORDINARY,
        help=_said(message("practice.command.difficulty")),
    )
    parser.add_argument(
        "--workers",
        type=partial(_whole, "workers", 1, MOST_WORKERS),
        default=1,
        help=_said(message("practice.command.workers")),
    )
    parser.add_argument(
        "--held",
        choices=tuple(name.replace(" ", "-") for name in HELD),
        default=None,
        help=_said(message("practice.command.held")),
    )
    parser.add_argument(
        "--erring",
        action="store_true",
        help=_said(message("practice.command.erring")),
    )
    parser.add_argument(
        "--recorded",
        action="store_true",
        help=_said(message("practice.command.recorded")),
    )
    parser.add_argument(
        "--deck",
        type=partial(_whole, "deck", 0, MOST_DECKS),
        default=None,
        help=_said(message("practice.command.deck")),
    )
    return parser


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; return its exit code."""
    asked = _parser().parse_args(arguments)
    if find_spec("core.practice.proof") is None:
        sys.stderr.write(_said(message("practice.command.no_source")) + "\n")
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
    head = _head(asked.decks, asked.seed, asked.difficulty, held, erring=asked.erring)
    sys.stdout.write(f"{head}\n\n")
    sys.stdout.write(as_text(summarise(runs)) + "\n")
    return 0


def _head(
    decks: int, seed: int, difficulty: Difficulty, held: str = "", *, erring: bool = False
) -> str:
    """Return what was run, in one line above its table."""
    how = f"{'held' if held else 'free'}, {'erring' if erring else 'careful'}"
    run = {"decks": Name(str(decks)), "seed": Name(str(seed)), "difficulty": Name(difficulty.value)}
    return _said(message("practice.command.head", how=how, held=Name(held), **run))


def _recorded(decks: int, seed: int, difficulty: Difficulty, workers: int) -> int:
    """Print tilt and skating by recordings beside by eye and ear, on the same decks."""
    from core.practice.proof.many_fittings import fit_decks
    from core.practice.proof.table import beside, from_least_leak, summarise

    runs = {
        name: fit_decks(decks, seed, difficulty, workers, ways=ways)
        for name, ways in _COMPARED.items()
    }
    sys.stdout.write(f"{_head(decks, seed, difficulty)}\n\n")
    sys.stdout.write(beside({name: summarise(found) for name, found in runs.items()}) + "\n")
    sys.stdout.write(from_least_leak(runs) + "\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
