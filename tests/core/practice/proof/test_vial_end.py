"""A vial of six divisions on decks off by more than it shows: hardly one passes falsely for level.

By hand, two hundred decks: ``python -m core.practice --decks 200``. Where the bench kit says
nothing of a vial's end, 13 to 17 % of what was called level there was not; now it is 1 to 2 %.
"""

from __future__ import annotations

from core.fitting import Verdict
from core.practice.proof.closed_loop import run_deck

DECKS = 40


def test_a_vial_that_ends_hardly_ever_passes_for_level() -> None:
    levels = [run_deck(1, number).steps["level"] for number in range(DECKS)]
    good = [one.accepted_ratio or 0.0 for one in levels if one.verdict is Verdict.GOOD]
    assert len(good) > DECKS / 3
    assert sum(ratio > 1.0 for ratio in good) <= 0.03 * len(good)
    assert not any(step.never_ended for step in levels)
