"""A vial of six divisions on decks off by more than it shows: hardly one passes falsely for level.

On two hundred decks, where the bench kit knew nothing of a vial's end, 13 to 17 % of what was
called level there was not; where it knows, 0 to 2.5 %. It costs moves: five at 95 %, not four.
"""

from __future__ import annotations

import pytest

from core.fitting import Verdict
from core.practice import invented_decks
from core.practice.proof.closed_loop import run_deck
from core.steps import STEP_NAMES

pytestmark = pytest.mark.long

DECKS = 160
NEXT = STEP_NAMES[STEP_NAMES.index("level") + 1]


def test_a_vial_that_ends_hardly_ever_passes_for_level(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(invented_decks, "VIAL_DIV", 6.0)
    levels = [run_deck(1, number, until=NEXT).steps["level"] for number in range(DECKS)]
    good = [one.accepted_ratio or 0.0 for one in levels if one.verdict is Verdict.GOOD]
    assert len(good) > DECKS / 3
    assert sum(ratio > 1.0 for ratio in good) <= 0.03 * len(good)
    assert not any(step.never_ended for step in levels)
