"""Plain trial and error does what it is said to do: no more, and no less."""

from __future__ import annotations

import numpy as np
import pytest

from core.fitting import Control, Reading
from core.practice.proof.baseline import COMPARED, BaselineHand
from core.practice.proof.closed_loop import DeckRun, Loop, run_deck
from core.practice.proof.person import Person
from core.practice.rehearsal import new_rehearsal
from core.steps.arm_height import TubeAngle, TwoHeights
from core.steps.downforce import CheckWeight, ScaleReading
from core.steps.speed import Readout
from core.steps.tilt import Gaps
from tests.examples import cartridge, deck

pytestmark = pytest.mark.long


def hand(**changes: object) -> BaselineHand:
    return BaselineHand(deck(**changes), cartridge())


@pytest.mark.parametrize(
    ("step", "reading", "error", "inside"),
    [
        ("rough_downforce", ScaleReading(downforce_gf=2.15), 0.15, True),
        ("final_downforce", ScaleReading(downforce_gf=2.15), 0.15, False),
        ("final_downforce", ScaleReading(downforce_gf=1.96), -0.04, True),
        # 1.1 mm in 100 mm is as steep as 2.632 mm over the arm; 0.4 mm read is inside 1 (derived)
        ("arm_height", TwoHeights(front_mm=20, rear_mm=21.1, spacing_mm=100), 2.632256, False),
        ("arm_height", TwoHeights(front_mm=20, rear_mm=20.4, spacing_mm=100), 0.957, True),
        ("arm_height", TubeAngle(pitch_deg=0.1), 0.4177, True),
        ("tilt", Gaps(left_mm=2.3, right_mm=2.0, width_mm=10.0), 1.718, False),
        ("speed", Readout(speed_rpm=33.333333, rpm=33.5), 0.5, False),
    ],
)
def test_one_reading_is_taken_as_it_stands(
    step: str, reading: Reading, error: float, inside: bool
) -> None:
    seen = hand().seen(reading, step)
    assert seen is not None
    assert seen.error == pytest.approx(error, rel=2e-3)
    assert seen.is_inside is inside


def test_a_reading_of_something_else_shows_no_error() -> None:
    assert hand().seen(CheckWeight(weight_g=2, shown_gf=2), "final_downforce") is None


def test_the_move_is_the_error_over_the_stated_gain() -> None:
    plain = hand()
    seen = plain.seen(ScaleReading(downforce_gf=2.4), "final_downforce")
    assert seen is not None
    part = plain.own("final_downforce", seen)
    assert (part.control, part.unit) == (Control.COUNTERWEIGHT, "turns")
    # 0.4 gf at 239.296 mm turn with 95.72 g mm, 100 g with as much when 0.9572 mm further back.
    assert part.amount == pytest.approx(-0.9572, abs=5e-5)
    speed = plain.seen(Readout(speed_rpm=33.333333, rpm=33.5), "speed")
    assert speed is not None
    assert plain.own("speed", speed).amount == pytest.approx(-0.1666667 / 0.4, rel=1e-3)


def test_a_collar_is_turned_by_its_thread() -> None:
    plain = hand(height={"control": "collar", "mm_per_turn": 1.5})
    seen = plain.seen(TubeAngle(pitch_deg=1.0), "arm_height")
    assert seen is not None
    part = plain.own("arm_height", seen)
    assert part.unit == "turns"
    # The tangent of 1 degree is 0.017455 in a printed table (memory): 4.177 mm, 1.5 mm a turn.
    assert part.amount == pytest.approx(-2.785, abs=5e-4)


def test_it_learns_nothing_but_turns_round_when_the_error_grows() -> None:
    plain = hand()
    amounts = []
    for shown in (2.4, 2.8, 2.4, 2.2):
        seen = plain.seen(ScaleReading(downforce_gf=shown), "final_downforce")
        assert seen is not None
        amounts.append(plain.own("final_downforce", seen).amount)
    assert amounts[0] < 0 < amounts[1]
    assert amounts[2] > 0
    # the same error asks for the same move, whatever the first one did
    assert abs(amounts[2]) == pytest.approx(abs(amounts[0]))


def from_the_start(number: int, *, early: bool) -> DeckRun:
    """Play a deck by trial and error with nothing taken over from the wizard's own run."""
    rehearsal = new_rehearsal(2, number=number)
    person = Person.drawn(np.random.default_rng(np.random.SeedSequence((2, number, 3))))
    steps = frozenset(COMPARED) & rehearsal.misleading
    plain = BaselineHand(rehearsal.deck, rehearsal.cartridge, steps, early=early)
    return Loop(rehearsal, person, number=number, plain=plain).play()


def test_every_control_that_misleads_is_compared_three_ways() -> None:
    runs = [run_deck(2, number) for number in range(6)]
    for run in runs:
        assert {one.step for one in run.compared} == run.misleading & set(COMPARED)
    for run in runs:
        for early in (False, True):
            afresh = from_the_start(run.number, early=early)
            for one in run.compared:
                cycles, _ = one.early if early else one.plain
                assert cycles == afresh.steps[one.step].cycles
    found = [one for run in runs for one in run.compared]
    assert found
    assert all(one.wizard[0] >= 0 and one.plain[0] >= 0 and one.early[0] >= 0 for one in found)
    assert sum(one.early[0] for one in found) <= sum(one.plain[0] for one in found)
