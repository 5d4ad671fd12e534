"""Front and rear typed into each other's field once: asked about, never averaged in."""

from __future__ import annotations

import pytest

from core.fitting import Control, ControlChecked, MoveMade, MovePart, Pair, ReadingTaken, Verdict
from core.records import Deck
from core.steps.arm_height import TwoHeights
from core.workflow.replay import StepStatus, journey_of
from tests.examples import cartridge, deck
from tests.kit import fitting_of, status_of

# Over 230 mm the rear is 3 mm high. The person types front for rear. Told that it is 3 mm low, they
# raise the pillar by 3 mm, so that the rear is 6 mm high: three times what was typed (derived).
SPACING = {"spacing_mm": 230.0}
LONG = {"effective_length_mm": 230.0, "pivot_to_spindle_mm": 212.0}


def arm(control: str = "pillar") -> Deck:
    return deck(arm=LONG, height={"control": control, "travel_down_mm": 20.0, "travel_up_mm": 20.0})


def read(front: float, rear: float) -> ReadingTaken:
    reading = TwoHeights(front_mm=front, rear_mm=rear, **SPACING)
    return ReadingTaken(step="arm_height", reading=reading.model_dump(mode="json"))


def raised(size_mm: float) -> MoveMade:
    part = MovePart(control=Control.PILLAR, amount=size_mm, unit="mm")
    return MoveMade(step="arm_height", parts=(part,))


def answered(pair: Pair) -> ReadingTaken:
    told = {"exchanged": pair.entries, "fields": pair.fields} if pair.fields else {}
    said = ControlChecked(control=Control.PILLAR, as_read="" if told else pair.entries[0], **told)  # type: ignore[arg-type]  # names of entries and fields
    return ReadingTaken(step="arm_height", reading=said.model_dump(mode="json"))


def status(*bodies: ReadingTaken | MoveMade) -> StepStatus:
    return status_of(journey_of(arm(), cartridge(), fitting_of(*bodies)), "arm_height")


EARLIER_WRONG = (read(26.0, 23.0), raised(3.0), read(23.0, 29.0))


def test_three_times_the_first_reading_asks_whether_front_and_rear_changed_places() -> None:
    asked = status(*EARLIER_WRONG).assessment
    assert asked.headline.key == "arm_height.doubt.exchanged"
    assert asked.verdict is Verdict.READ_AGAIN
    assert asked.next_move is None
    (question,) = asked.questions
    assert [pair.entries for pair in question.pairs] == [("f-1",), ("f-3",), ("f-3",)]
    assert [pair.fields for pair in question.pairs] == [("front_mm", "rear_mm")] * 2 + [()]


def test_nothing_is_averaged_in_until_it_is_answered() -> None:
    before = status(*EARLIER_WRONG[:2]).assessment.figures
    assert status(*EARLIER_WRONG).assessment.figures == before


def test_the_earlier_reading_exchanged_orders_what_geometry_wants() -> None:
    pair = status(*EARLIER_WRONG).assessment.questions[0].pairs[0]
    done = status(*EARLIER_WRONG, answered(pair))
    move = done.assessment.next_move
    assert not done.assessment.questions
    assert move is not None
    assert move.parts[0].amount == pytest.approx(-6.0, abs=0.15)
    assert [t.reading.front_mm for t in done.trials if isinstance(t.reading, TwoHeights)] == [
        23.0,
        23.0,
    ]


def test_this_reading_exchanged_counts_so_and_the_control_acts_as_stated() -> None:
    # 3 mm high, lowered by 8 mm by a hand that wanted more: 5 mm low. Typed as 5 mm high.
    things = (read(23.0, 26.0), raised(-8.0), read(23.0, 28.0))
    asked = status(*things).assessment
    assert asked.headline.key == "arm_height.doubt.exchanged"
    done = status(*things, answered(asked.questions[0].pairs[1])).assessment
    assert not done.questions
    assert done.next_move is not None
    assert done.next_move.parts[0].amount == pytest.approx(5.0, abs=0.3)


def test_both_right_as_typed_counts_and_is_not_asked_again() -> None:
    pair = status(*EARLIER_WRONG).assessment.questions[0].pairs[-1]
    done = status(*EARLIER_WRONG, answered(pair)).assessment
    assert done.headline.key != "arm_height.doubt.exchanged"
    assert not done.questions
    figure = done.figure("height")
    assert figure is not None
    assert figure.value == pytest.approx(6.0, abs=0.5)


@pytest.mark.parametrize(
    "after", [(23.0, 23.0), (23.0, 23.8), (26.0, 23.0), (29.0, 23.0), (23.0, 21.5)]
)
def test_as_foretold_half_nothing_or_the_other_way_is_no_exchange(
    after: tuple[float, float],
) -> None:
    said = status(read(26.0, 23.0), raised(3.0), read(*after)).assessment
    assert said.headline.key != "arm_height.doubt.exchanged"


def test_an_entry_kept_before_there_was_this_question_reads_as_it_did() -> None:
    old = {"way": "control checked", "control": "pillar", "where": "", "reversed_entry": ""}
    kept = ReadingTaken(step="arm_height", reading=old)
    nothing = (read(26.0, 23.0), raised(3.0), read(26.0, 23.0))
    assert status(*nothing).assessment.questions
    assert not status(*nothing, kept).assessment.questions


@pytest.mark.parametrize("odd", [5, "f-1", None, [["f-1"]], {"f-1": 1}])
def test_a_foreign_answer_in_another_shape_changes_nothing(odd: object) -> None:
    told = {"way": "control checked", "control": "pillar", "exchanged": odd, "fields": odd}
    done = status(*EARLIER_WRONG, ReadingTaken(step="arm_height", reading=told))
    assert done.assessment.headline.key == "arm_height.doubt.exchanged"
