"""An arm that floats shows nothing on the scale: it is still brought down, and gently."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.drawing.chart import Points, Role
from core.fitting import Verdict
from core.steps import step_named
from core.steps.downforce import (
    FLOATING_MOVES,
    CheckWeight,
    Shifted,
    Unsettled,
    Weighing,
    made_in_vain,
    next_place,
)
from tests.core.steps.downforce.kit import Arm, counterweight, weighing
from tests.examples import cartridge, deck
from tests.worded import worded

STEP = "rough_downforce"


def tried(count: int, step: float = 1.0) -> list[float]:
    """Return the places gone to, one after the other, when the scale never shows anything."""
    made: list[float] = []
    for _ in range(count):
        made.append(next_place(made, step) - sum(made))
    return [float(place) for place in np.cumsum(made)]


@given(st.lists(st.floats(-4.0, 4.0), max_size=20), st.floats(0.1, 2.0))
def test_no_try_goes_more_than_one_step_beyond_what_was_tried(
    made: list[float], step: float
) -> None:
    been = [0.0, *np.cumsum(made)]
    place = next_place(made, step)
    assert min(been) - step <= place <= max(been) + step


def test_every_place_within_six_steps_on_either_side_is_come_to() -> None:
    been = {round(place) for place in tried(40)}
    assert set(range(-6, 7)) - {0} <= been


def test_the_side_it_should_be_is_tried_first() -> None:
    assert tried(FLOATING_MOVES) == [1.0, 2.0, 3.0]
    assert tried(FLOATING_MOVES + 1)[-1] == -1.0


def turns(amount: float) -> Shifted:
    return Shifted(STEP, amount, "turns", None)


def amount_of(event: Shifted) -> float:
    return event.amount


def floating(shown_gf: float) -> bool:
    return shown_gf <= 0.02


def test_moves_count_as_made_in_vain_until_the_scale_bears_something() -> None:
    floats, bears = Weighing(STEP, 0.0, None), Weighing(STEP, 0.8, None)
    assert made_in_vain((), amount_of, floating) == ()
    never = (turns(1.0), floats, turns(2.0), floats)
    assert made_in_vain(never, amount_of, floating) == (1.0, 2.0)
    once = (turns(1.0), bears, turns(2.0), floats)
    assert made_in_vain(once, amount_of, floating) == (2.0,)
    unsettled = (turns(1.0), Unsettled(STEP), turns(2.0))
    assert made_in_vain(unsettled, amount_of, floating) == (2.0,)


@pytest.mark.parametrize("start_gf", [-0.2, -0.8, -1.5])
@pytest.mark.parametrize("lie", [1.0, 0.5, 1.8, -1.0, -0.6])
def test_a_floating_arm_is_brought_down_whichever_way_its_control_goes(
    start_gf: float, lie: float
) -> None:
    a_deck, a_cartridge = deck(), cartridge()
    for seed in range(5):
        bench = Arm(start_gf, 0.4179 * lie, np.random.default_rng(seed))
        for _ in range(25):
            answer = bench.judged(STEP, a_deck, a_cartridge)
            if answer.verdict is Verdict.GOOD:
                break
            if answer.next_move is not None:
                bench.obey(answer.next_move)
            bench.weigh()
        assert answer.verdict is Verdict.GOOD, (start_gf, lie, seed)
        assert bench.highest_raised_to_gf <= 3.3


@pytest.mark.parametrize("step", ["rough_downforce", "final_downforce"])
@pytest.mark.parametrize("empty_gf", [-0.3, 0.3])
def test_an_arm_that_may_float_is_not_taken_for_one_that_was_weighed(
    empty_gf: float, step: str
) -> None:
    pan = CheckWeight(weight_g=0, shown_gf=empty_gf)
    weight = CheckWeight(weight_g=2, shown_gf=2 + empty_gf)
    shown_gf = max(empty_gf, 0.0)
    things = (pan, weight, 2.0 + empty_gf, counterweight(1.0), shown_gf)
    assessment = worded(step_named(step).assess(weighing(step, deck(), cartridge(), *things)))
    assert assessment.next_move is not None
    assert any("floats" in note for note in assessment.notes)
    (foretold,) = [
        item
        for item in assessment.picture.items
        if isinstance(item, Points) and item.role is Role.PREDICTED
    ]
    # 100 g at 239.296 mm (derived) is 0.4179 gf for a turn; from what it may bear at most
    (part,) = assessment.next_move.parts
    bears = max(-empty_gf, 0.0)
    assert float(foretold.y[0]) == pytest.approx(bears + 0.4179 * part.amount, abs=0.02)
    assert float(foretold.y[0]) <= 2.1
