"""Entries and figures in words, in the country's own writing."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.fitting import (
    Body,
    ChoiceMade,
    Control,
    Figure,
    Finished,
    HoursRead,
    MoveMade,
    MovePart,
    NoteWritten,
    ReadingTaken,
    Reopened,
    StepAccepted,
    ThingsRevised,
    Verdict,
    Withdrawn,
)
from core.language import Numbers
from core.steps import STEPS, Step
from core.workflow.descriptions import described, described_part, figure_value, target_value
from tests.strategies import readings

COMMA = Numbers(",")
TURN = MovePart(control=Control.FOOT, amount=-0.5, unit="turns", where="rear", equivalent_mm=-0.65)


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (MoveMade(step="level", parts=(TURN,)),
         "Moved: Foot (rear) 0,50\u00a0turns (0,65\u00a0mm) shorter"),
        (ReadingTaken(step="speed", reading={"way": "control checked", "control": "speed",
                                             "where": "33.3333"}),
         "Speed trim (33⅓): looked at, and it moves as it was entered"),
        (ReadingTaken(step="level", reading={"way": "control checked", "control": "foot",
                                             "reversed_entry": "e1"}),
         "Foot: it was moved the other way than entered"),
        (StepAccepted(step="level", verdict=Verdict.GOOD), "Accepted: Good"),
        (StepAccepted(step="level", verdict=Verdict.MOVE, reason="shelf leans"),
         "Kept by choice at “Move”: shelf leans"),
        (Withdrawn(entry="x", reason="mistyped"), "Does not count: mistyped"),
        (NoteWritten(text="dusty"), "Note: dusty"),
        (ThingsRevised(deck_revision=2, cartridge_revision=3),
         "Now with revision 2 of the deck and 3 of the cartridge"),
        (Finished(), "Finished"),
        (Reopened(reason="hum"), "Worked on again: hum"),
        (HoursRead(hours=412.5), "Stylus hours: 412,5\u00a0h"),
        (HoursRead(hours=0, note="new stylus"), "Stylus hours: 0\u00a0h (new stylus)"),
        (ReadingTaken(step="level", reading={"way": "telepathy"}),
         "A reading this version of the program can't show"),
        (ReadingTaken(step="dancing", reading={}),
         "A reading this version of the program can't show"),
        (ChoiceMade(step="level", choices={"unknown": 1}),
         "A choice this version of the program can't show"),
    ],
)  # fmt: skip # rows of a table
def test_every_kind_of_entry_is_said_in_words(body: Body, words: str) -> None:
    assert COMMA.text(described(body)) == words


def test_a_rough_number_keeps_the_digits_that_were_typed() -> None:
    body = ReadingTaken(
        step="arm_height",
        reading={
            "way": "two heights",
            "front_mm": 23.5,
            "rear_mm": 29.125,
            "spacing_mm": 170.0,
        },
    )
    said = COMMA.text(described(body))
    assert "23,50\u00a0mm" in said
    assert "29,125\u00a0mm" in said


def test_figures_are_said_with_interval_and_target() -> None:
    figure = Figure("downforce", "Downforce", 2.0, "gf", 2, 0.03, 2.05, 0.05)
    assert COMMA.value(figure_value(figure)) == "2,00 ± 0,03\u00a0gf"
    assert COMMA.value(target_value(figure) or 0) == "2,05\u00a0gf ± 0,05"
    assert target_value(Figure("x", "X", 1.0, "mm")) is None


@pytest.mark.parametrize(
    ("control", "unit", "more", "less"),
    [
        (Control.COUNTERWEIGHT, "turns", "Counterweight 0,28\u00a0turns toward the pivot",
         "Counterweight 0,28\u00a0turns away from the pivot"),
        (Control.COUNTERWEIGHT, "gf", "Downforce dial 0,28\u00a0gf up",
         "Downforce dial 0,28\u00a0gf down"),
        (Control.SLIDE, "mm", "Cartridge 0,28\u00a0mm away from the pivot",
         "Cartridge 0,28\u00a0mm toward the pivot"),
        (Control.TWIST, "°", "Cartridge 0,28° turned in toward the spindle",
         "Cartridge 0,28° turned out from the spindle"),
        (Control.TILT_SHIM, "mm", "Shim under the left screw 0,28\u00a0mm thicker",
         "Shim under the left screw 0,28\u00a0mm thinner"),
        (Control.SPEED, "turns", "Speed trim 0,28\u00a0turns clockwise or up",
         "Speed trim 0,28\u00a0turns anticlockwise or down"),
    ],
)  # fmt: skip # rows of a table
def test_a_move_is_said_with_its_direction_and_no_sign(
    control: Control, unit: str, more: str, less: str
) -> None:
    for amount, words in ((0.28, more), (-0.28, less)):
        part = MovePart(control=control, amount=amount, unit=unit)
        assert COMMA.text(described_part(part)) == words


def test_a_part_without_an_amount_is_named_alone() -> None:
    part = MovePart(control=Control.SCREWS, amount=0.0, unit="")
    assert COMMA.text(described_part(part)) == "Cartridge screws, tightened"


@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.NAME)
@given(data=st.data())
@settings(max_examples=15)
def test_any_reading_of_any_step_is_said_with_its_way(step: Step, data: st.DataObject) -> None:
    reading = data.draw(readings(step))
    body = ReadingTaken(step=step.NAME, reading=reading.model_dump(mode="json"))
    said = COMMA.text(described(body))
    assert said.startswith(f"{type(reading).WAY_TITLE}: ")
