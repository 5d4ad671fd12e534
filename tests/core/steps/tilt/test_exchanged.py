"""Left and right typed into each other's field once: asked about, never averaged in."""

from __future__ import annotations

import pytest

from core.fitting import Control, ControlChecked, MoveMade, MovePart, ReadingTaken, Verdict
from core.steps.tilt import Gaps
from core.workflow.replay import StepStatus, journey_of
from tests.core.steps.tilt.kit import on_control
from tests.examples import cartridge
from tests.kit import fitting_of, status_of

# Over 17 mm gaps of 5.4 and 4.6 mm are atan(0.8 / 17) = 2.7 degrees. Typed the other way round they
# order the left side up by as much: then gaps of 5.8 and 4.2 mm show 5.4 degrees (derived).


def read(left: float, right: float) -> ReadingTaken:
    reading = Gaps(left_mm=left, right_mm=right, width_mm=17.0)
    return ReadingTaken(step="tilt", reading=reading.model_dump(mode="json"))


def turned(left_up_deg: float) -> MoveMade:
    part = MovePart(control=Control.TILT, amount=left_up_deg, unit="°")
    return MoveMade(step="tilt", parts=(part,))


def status(*bodies: ReadingTaken | MoveMade) -> StepStatus:
    journey = journey_of(on_control("head"), cartridge(), fitting_of(*bodies))
    return status_of(journey, "tilt")


WRONG = (read(4.6, 5.4), turned(2.7), read(5.8, 4.2))


def test_three_times_the_first_gaps_asks_whether_left_and_right_changed_places() -> None:
    asked = status(*WRONG).assessment
    assert asked.headline.key == "tilt.doubt.exchanged"
    assert asked.verdict is Verdict.READ_AGAIN
    assert asked.next_move is None
    assert [pair.entries for pair in asked.questions[0].pairs] == [("f-1",), ("f-3",), ("f-3",)]


def test_the_earlier_gaps_exchanged_turn_it_back_by_what_it_leans() -> None:
    pair = status(*WRONG).assessment.questions[0].pairs[0]
    told = ControlChecked(
        control=Control.TILT, exchanged=pair.entries, fields=("left_mm", "right_mm")
    )
    done = status(*WRONG, ReadingTaken(step="tilt", reading=told.model_dump(mode="json")))
    move = done.assessment.next_move
    assert move is not None
    assert move.parts[0].amount == pytest.approx(-5.4, abs=0.5)  # by two gaps


def test_gaps_that_were_right_as_typed_count() -> None:
    told = ControlChecked(control=Control.TILT, as_read="f-3")
    done = status(*WRONG, ReadingTaken(step="tilt", reading=told.model_dump(mode="json")))
    assert not done.assessment.questions
    figure = done.assessment.figure("tilt")
    assert figure is not None
    assert figure.value == pytest.approx(5.4, abs=0.4)


def test_upright_after_the_move_or_no_change_is_no_exchange() -> None:
    for after in (read(5.0, 5.0), read(4.6, 5.4), read(4.2, 5.8)):
        said = status(read(4.6, 5.4), turned(2.7), after).assessment
        assert said.headline.key != "tilt.doubt.exchanged"
