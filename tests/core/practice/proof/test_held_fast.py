"""Whatever is held fast, every step ends, nothing unsafe is asked, and no end of travel is made up.

A person who answers the questions as asked, with nothing put right.
"""

from __future__ import annotations

import pytest

from core.language import has_template
from core.practice.faults import HELD
from core.practice.proof.closed_loop import run_deck
from tests.bench.held_fast import END_OF_TRAVEL

pytestmark = pytest.mark.long

DECKS = 4
"""By hand, forty of each: ``python -m tests.bench.held_fast --decks 40``."""


def test_headlines_of_an_end_of_travel_are_in_the_catalogue() -> None:
    assert all(has_template(key) for key in END_OF_TRAVEL)


@pytest.mark.parametrize("what", HELD)
def test_with_a_control_held_fast_every_step_ends(what: str) -> None:
    for number in range(DECKS):
        run = run_deck(1, number, held=what)
        assert [name for name, step in run.steps.items() if step.never_ended] == []
        assert run.ended
        assert run.unsafe_prompts == 0
        for name in HELD[what]:
            step = run.steps[name]
            assert not (step.moves and step.headline in END_OF_TRAVEL)
