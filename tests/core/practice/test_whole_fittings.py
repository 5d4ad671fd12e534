"""Whole fittings with no person: they end, they are safe, and they can be played again."""

from __future__ import annotations

import pytest

from core.practice.__main__ import main
from core.practice.closed_loop import run_deck

SEED = 1


@pytest.mark.parametrize("number", range(8))
def test_a_fitting_followed_to_the_letter_ends_and_never_lowers_a_heavy_stylus(number: int) -> None:
    run = run_deck(SEED, number)
    assert run.ended, run.trouble
    assert run.unsafe_prompts == 0, run.unsafe_at
    stuck = {step: one.stuck_at for step, one in run.steps.items() if one.never_ended}
    assert not stuck


def test_the_same_seed_plays_the_same_fitting_again() -> None:
    first, second = run_deck(SEED, 3), run_deck(SEED, 3)
    assert first.steps == second.steps
    assert first.steps != run_deck(SEED + 1, 3).steps


@pytest.mark.parametrize(
    "words",
    [
        ["--decks", "many"],
        ["--decks", "0"],
        ["--decks", "-5"],
        ["--seed", "1.5"],
        ["--difficulty", "impossible"],
    ],
)
def test_a_command_that_makes_no_sense_gets_a_sentence(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as left:
        main(words)
    assert left.value.code == 2
    said = capsys.readouterr().err.strip()
    assert said
    assert "Traceback" not in said
