"""A move that did not show may have been made on another control: what is read once more for it.

What the hands turned is nowhere in the log. The rule is the house's own.
"""

from __future__ import annotations

import pytest

from core.fitting import CHECKED_WAY, Control, ReadingTaken, Verdict, Withdrawn
from core.workflow.refusals import why_refused
from core.workflow.replay import StepState
from tests.core.workflow.test_replay import Bench
from tests.worded import worded

BANDS = {"way": "test bands", "broke_first": "together"}


def weighed_last() -> Bench:
    """Return a fitting whose final downforce is good, before its skating is set once more."""
    bench = Bench()
    bench.through("tilt")
    bench.read("skating", **BANDS, setting=2.0)
    bench.accept("skating", reason="left to the end")
    bench.read("final_downforce", way="empty pan", shown_gf=0.0)
    for _ in range(3):
        bench.weigh(2.0, "final_downforce")
    bench.accept("final_downforce")
    assert bench.state("final_downforce") is StepState.DONE
    return bench


def test_a_dial_that_did_not_move_has_the_downforce_weighed_before_the_stylus_goes_down() -> None:
    bench = weighed_last()
    bench.move("skating", Control.SKATING, 0.5, "gf")
    assert bench.state("final_downforce") is StepState.DONE
    assert bench.journey.gate.is_open
    bench.read("skating", **BANDS, setting=2.0)
    assert bench.state("final_downforce") is StepState.CHECK_AGAIN
    assert "counterweight" in worded(bench.journey.status("final_downforce").reason)
    assert "weigh again" in worded(bench.journey.gate.reason)
    again = ReadingTaken(step="skating", reading={**BANDS, "setting": 2.0})
    assert why_refused(bench.journey, again) is not None


@pytest.mark.parametrize("answered", [False, True])
def test_one_weighing_confirms_the_downforce(answered: bool) -> None:
    bench = weighed_last()
    bench.move("skating", Control.SKATING, 0.5, "gf")
    bench.read("skating", **BANDS, setting=2.0)
    if answered:
        bench.read("skating", way=CHECKED_WAY, control=Control.SKATING)
        assert bench.state("final_downforce") is StepState.CHECK_AGAIN
        assert not bench.journey.gate.is_open
    bench.weigh(2.0, "final_downforce")
    assert bench.journey.status("final_downforce").assessment.verdict is Verdict.GOOD
    assert bench.state("final_downforce") is StepState.DONE
    assert bench.journey.gate.is_open


def test_a_downforce_that_rose_meanwhile_is_found_by_that_weighing() -> None:
    bench = weighed_last()
    bench.move("skating", Control.SKATING, 0.5, "gf")
    bench.read("skating", **BANDS, setting=2.0)
    bench.read("skating", way=CHECKED_WAY, control=Control.SKATING)
    bench.weigh(3.4, "final_downforce")
    assert bench.journey.status("final_downforce").assessment.verdict is not Verdict.GOOD
    assert not bench.journey.gate.is_open


def test_a_dial_that_moved_asks_for_no_weighing() -> None:
    bench = weighed_last()
    bench.move("skating", Control.SKATING, 0.5, "gf")
    bench.read("skating", **BANDS, setting=2.5)
    assert bench.state("final_downforce") is StepState.DONE
    assert bench.journey.gate.is_open


def test_before_the_last_weighing_it_is_the_rough_one_that_is_weighed_again() -> None:
    bench = Bench()
    bench.through("tilt")
    bench.read("skating", **BANDS, setting=2.0)
    bench.move("skating", Control.SKATING, 0.5, "gf")
    bench.read("skating", **BANDS, setting=2.0)
    assert bench.state("rough_downforce") is StepState.CHECK_AGAIN
    assert not bench.journey.gate.is_open
    bench.weigh(2.0)
    assert bench.state("rough_downforce") is StepState.DONE
    assert bench.journey.gate.is_open
    assert bench.journey.status("skating").assessment.questions


def test_a_head_that_did_not_turn_has_the_alignment_read_again_once_it_is_settled() -> None:
    bench = Bench()
    bench.through("arm_height")
    bench.read("alignment", way="landing", landing_mm=0.0)
    bench.accept("alignment", reason="read once")
    bench.read("tilt", way="gaps", left_mm=2.0, right_mm=3.0)
    bench.move("tilt", Control.TILT, 3.0, "°")
    bench.read("tilt", way="gaps", left_mm=2.0, right_mm=3.0)
    assert bench.journey.status("tilt").assessment.questions
    assert not asked_again(bench)
    bench.read("tilt", way=CHECKED_WAY, control=Control.TILT)
    bench.move("tilt", Control.TILT, 3.0, "°")
    for _ in range(2):
        bench.read("tilt", way="gaps", left_mm=2.5, right_mm=2.5)
    assert bench.journey.status("tilt").assessment.verdict is Verdict.GOOD
    assert asked_again(bench)
    bench.read("alignment", way="landing", landing_mm=0.0)
    assert not asked_again(bench)


def test_a_weight_set_right_and_then_turned_back_is_weighed_before_the_stylus_goes_down() -> None:
    """Deck 95 of seed 717171: the next weighing was asked for at 3.03 gf."""
    bench = Bench()
    bench.through("tilt")
    bench.read("skating", **BANDS, setting=2.0)
    wrong = bench.move("skating", Control.SKATING, 0.5, "gf")
    bench.read("skating", **BANDS, setting=2.0)
    bench.weigh(2.6)
    bench.move("rough_downforce", Control.COUNTERWEIGHT, -0.6, "turns")
    bench.weigh(2.0)
    assert bench.journey.gate.is_open
    bench.enter(Withdrawn(entry=wrong))
    assert bench.state("rough_downforce") is StepState.CHECK_AGAIN
    assert "turned back" in worded(bench.journey.gate.reason)
    assert not bench.journey.gate.is_open
    bench.weigh(2.0)
    assert bench.journey.gate.is_open


def test_a_move_withdrawn_at_once_asks_for_no_weighing() -> None:
    bench = weighed_last()
    bench.enter(Withdrawn(entry=bench.move("skating", Control.SKATING, 0.5, "gf")))
    assert bench.state("final_downforce") is StepState.DONE
    assert bench.journey.gate.is_open


def test_a_withdrawal_that_is_itself_withdrawn_asks_for_none_either() -> None:
    bench = Bench()
    bench.through("tilt")
    bench.read("skating", **BANDS, setting=2.0)
    wrong = bench.move("skating", Control.SKATING, 0.5, "gf")
    bench.move("rough_downforce", Control.COUNTERWEIGHT, -0.6, "turns")
    bench.weigh(2.0)
    taken_out = bench.enter(Withdrawn(entry=wrong))
    assert not bench.journey.gate.is_open
    bench.enter(Withdrawn(entry=taken_out))
    assert bench.journey.gate.is_open


def asked_again(bench: Bench) -> bool:
    """Whether the alignment is sent back for a head that may have been turned in the slots."""
    why = bench.journey.status("alignment").disturbances
    return any("in the head instead" in (worded(one.sentence) or "") for one in why)
