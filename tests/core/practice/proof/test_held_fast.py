"""Whatever is held fast, every step ends, nothing unsafe is asked, and no end of travel is made up.

A person who answers the questions as asked, with nothing put right.
"""

from __future__ import annotations

import pytest

from core.practice.faults import HELD
from core.practice.proof.closed_loop import run_deck

DECKS = 4
"""By hand, forty of each: ``python -m core.practice --decks 40 --held counterweight``."""


@pytest.mark.parametrize("what", HELD)
def test_with_a_control_held_fast_every_step_ends(what: str) -> None:
    for number in range(DECKS):
        run = run_deck(1, number, held=what, told=True)
        assert [name for name, step in run.steps.items() if step.never_ended] == []
        assert run.ended
        assert run.unsafe_prompts == 0
        for name in HELD[what]:
            ended = [line for line in run.log if line.startswith(f"{name}: accepted")]
            moved = run.steps[name].moves > 0
            assert not (moved and any("slots end" in line for line in ended))
            assert not (moved and any("Travel ends" in line for line in ended))
