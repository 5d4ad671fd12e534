"""An arm that floats at every position although it bore at one of them."""

from __future__ import annotations

import numpy as np
import pytest

from core.fitting import Assessment
from core.steps.downforce import ScaleReading
from tests.core.steps.downforce.kit import LOOKED, Arm, counterweight, trial
from tests.examples import cartridge, deck

STEP = "rough_downforce"


def ended(arm: Arm, **own: object) -> tuple[Assessment, int]:
    """Obey every order, answer every question, and let the arm float whatever is done."""
    a_deck, a_cartridge = deck(arm=own), cartridge()
    for moves in range(20):
        answer = arm.judged(STEP, a_deck, a_cartridge)
        if answer.next_move is None:
            return answer, moves
        arm.obey(answer.next_move)
        arm.downforce_gf = -6.0
        arm.weigh()
    raise AssertionError(f"It came to no end: {answer.headline}")


@pytest.mark.parametrize("first_gf", [0.15, 0.6, 1.1, 1.6])
@pytest.mark.parametrize("own", [{}, {"counterweight_g": None}])
def test_it_ends_when_the_weight_came_loose_after_the_first_weighing(
    first_gf: float, own: dict[str, object]
) -> None:
    loose = Arm(first_gf, 0.0, np.random.default_rng(1))
    loose.weigh()
    answer, moves = ended(loose, **own)
    assert answer.verdict.passes
    assert answer.verdict.value != "good"
    assert moves <= 13


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_it_ends_when_a_place_was_entered_on_the_wrong_side(way: float) -> None:
    """The place that bore lies elsewhere than the log says, so no place between them bears."""
    arm = Arm(-6.0, 0.0, np.random.default_rng(1))
    entered = (
        *(1.1, counterweight(5.0), 0.0, LOOKED, counterweight(-2.5), 0.04, LOOKED),
        *(counterweight(way * 9.375), 0.0, counterweight(-way * 3.5), 0.0),
    )
    for one in entered:
        made = ScaleReading(downforce_gf=one) if isinstance(one, float) else one
        arm.trials.append(trial(made))
    answer, moves = ended(arm)
    assert answer.verdict.passes
    assert answer.verdict.value != "good"
    assert moves <= 13
