"""Many fittings, one after the other or side by side."""

from __future__ import annotations

import multiprocessing
from collections.abc import Mapping
from functools import partial

from core.practice.faults import Difficulty
from core.practice.proof.closed_loop import DeckRun, run_deck


def fit_decks(
    decks: int,
    seed: int,
    difficulty: Difficulty = Difficulty.ORDINARY,
    workers: int = 1,
    held: str = "",
    *,
    erring: bool = False,
    ways: Mapping[str, str] | None = None,
) -> list[DeckRun]:
    """Fit so many decks; whatever the number of workers, the same runs in the same order.

    `held` names a control that is held fast on all of them; somebody `erring` gets
    things wrong; `ways` are those that everybody reaches for.
    """
    one = partial(_run, seed, difficulty, held, erring=erring, ways=ways)
    if workers == 1:
        return [one(number) for number in range(decks)]
    # Started afresh, not forked: the same on every system, and nothing is carried over.
    with multiprocessing.get_context("spawn").Pool(workers) as pool:
        return list(pool.imap(one, range(decks), chunksize=4))


def _run(
    seed: int,
    difficulty: Difficulty,
    held: str,
    number: int,
    *,
    erring: bool,
    ways: Mapping[str, str] | None,
) -> DeckRun:
    return run_deck(seed, number, difficulty, held=held, erring=erring, ways=ways)
