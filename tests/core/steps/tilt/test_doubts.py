"""Gaps that are none: they are asked about, and go into no figure."""

from __future__ import annotations

import pytest

from core.fitting import Verdict
from core.steps.tilt import Gaps
from tests.core.steps.tilt.kit import gaps_of, judged, value


def test_gaps_of_nothing_say_that_the_body_rests_on_the_record() -> None:
    resting = Gaps(left_mm=0.0, right_mm=0.0)
    answer = judged([resting])
    assert answer.verdict is Verdict.STOP
    assert "rest on the record?" in answer.headline
    assert answer.figure("tilt") is None
    assert judged([resting, resting]).verdict is Verdict.STOP  # never taken for upright


def test_gaps_of_nothing_are_averaged_with_no_others() -> None:
    answer = judged([gaps_of(2.0), Gaps(left_mm=0.0, right_mm=0.0), gaps_of(2.0)])
    assert value(answer) == pytest.approx(2.0, abs=1e-6)
    assert answer.verdict is Verdict.MOVE
    assert any("left out of the result" in note for note in answer.notes)


def test_ten_and_nothing_is_no_tilt_until_it_was_read_twice() -> None:
    leant = Gaps(left_mm=10.0, right_mm=0.0)
    answer = judged([leant])
    # atan(10 / 17) is 30.5 degrees (derived)
    assert answer.headline == "Gaps of 10.0 and 0.0\u00a0mm mean 30° of tilt: read both again."
    assert answer.verdict is Verdict.READ_AGAIN
    assert answer.next_move is None
    assert answer.next_reading is not None
    assert answer.next_reading.way == "gaps"
    assert value(judged([leant, gaps_of(0.0)])) == pytest.approx(0.0, abs=1e-6)
    assert value(judged([leant, leant])) == pytest.approx(30.47, abs=0.01)


@pytest.mark.parametrize(("left", "right", "side"), [(0.0, 1.5, "left"), (1.5, 0.0, "right")])
def test_one_gap_of_nothing_asks_whether_the_body_touches(
    left: float, right: float, side: str
) -> None:
    answer = judged([Gaps(left_mm=left, right_mm=right)])
    assert answer.verdict is Verdict.READ_AGAIN
    assert answer.headline.startswith(f"Does the body touch the record at the {side}?")


def test_a_question_about_gaps_orders_no_move_though_earlier_ones_would() -> None:
    answer = judged([gaps_of(3.0), Gaps(left_mm=10.0, right_mm=0.0)])
    assert answer.next_move is None
    assert value(answer) == pytest.approx(3.0, abs=1e-6)


def test_gaps_read_in_inches_are_never_taken_for_upright() -> None:
    typed = Gaps(left_mm=0.07, right_mm=0.09)  # 1.75 and 2.25 mm: 1.7 degrees over 17 mm
    for readings in ([typed], [typed, typed]):
        answer = judged(readings)
        assert answer.headline.startswith("Were the gaps of 0.07 and 0.09 read in inches?")
        assert answer.verdict is Verdict.READ_AGAIN
        assert answer.figure("tilt") is None
