"""Two places too close together tell no pitch."""

from __future__ import annotations

import pytest

from core.fitting import Verdict
from core.steps.arm_height import TaperedTube, TubeEdge
from tests.core.steps.arm_height.test_arm_height import assess, context, heights


def test_two_places_forty_apart_do_not_judge_a_tube_of_230() -> None:
    answer = assess(context([heights(23.0, 25.0, 40.0)]))
    assert answer.verdict is Verdict.READ_AGAIN
    assert answer.next_move is None
    assert all(figure.target is None for figure in answer.figures)
    assert answer.headline.startswith("40\u00a0mm apart is too close")
    assert answer.next_reading is not None
    assert answer.next_reading.way == "two heights"


def test_they_are_averaged_with_no_others_and_stay_in_the_record() -> None:
    sound = [heights(23.5, 29.0, 200.0)]
    alone = assess(context(sound))
    after = assess(context([heights(30.0, 24.0, 40.0), *sound]))
    assert after.figures == alone.figures
    assert after.headline == alone.headline
    assert any("left out of the result" in note for note in after.notes)


def test_a_tapering_tube_is_asked_the_same() -> None:
    close = TaperedTube(
        edge=TubeEdge.TOP,
        front_mm=24.0,
        front_diameter_mm=8.0,
        rear_mm=24.0,
        rear_diameter_mm=9.0,
        spacing_mm=40.0,
    )
    assert assess(context([close])).verdict is Verdict.READ_AGAIN


@pytest.mark.parametrize("apart", [60.0, 120.0])
def test_places_far_enough_apart_count(apart: float) -> None:
    assert assess(context([heights(24.0, 24.0, apart)])).figures
