"""Bars too fast to count tell no speed."""

from __future__ import annotations

import pytest

from core.fitting import Verdict
from core.steps.speed import BarDrift, Strobe, TimedTurns, TooFastToCount
from tests.core.steps.speed.test_speed import drifted, judged, value


def test_bars_too_fast_to_count_are_an_answer_and_turns_are_asked_for() -> None:
    answer = judged(TooFastToCount())
    assert answer.verdict is Verdict.READ_AGAIN
    assert answer.figures == ()
    assert answer.headline.startswith("Too fast to count")
    assert answer.next_reading is not None
    assert answer.next_reading.way == "timed turns"


def test_a_count_that_nobody_can_make_is_asked_about() -> None:
    answer = judged(drifted(300.0, 30.0))
    assert answer.verdict is Verdict.READ_AGAIN
    assert answer.headline.startswith("Nobody can count 10 bars a second")
    assert answer.next_move is None


@pytest.mark.parametrize("way", ["with", "against"])
def test_no_bars_in_a_direction_are_asked_about_and_called_good_by_nobody(way: str) -> None:
    answer = judged(Strobe(direction=BarDrift(way), drifted_bars=0.0, seconds=60.0))
    assert answer.verdict is Verdict.READ_AGAIN
    assert answer.headline.startswith("0 bars means they stood still")
    assert answer.figures == ()
    assert answer.next_reading is not None
    assert answer.next_reading.way == "strobe"


def test_turns_then_count_alone() -> None:
    # 100 turns in 171.4 s are 35.006 rpm, 5.02 % fast (derived)
    answer = judged(drifted(300.0, 30.0), TimedTurns(turns=100, seconds=171.4))
    assert value(answer) == pytest.approx(5.02, abs=0.01)
    assert answer.verdict is Verdict.MOVE
    assert any("left out of the result" in note for note in answer.notes)


def test_what_was_read_before_is_not_lost() -> None:
    before = judged(drifted(30.0))
    asked = judged(drifted(30.0), TooFastToCount())
    assert asked.next_move is None
    assert value(asked) == value(before)
