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
from core.language import Numbers, message
from core.steps import STEPS, Step, reading_from
from core.workflow.descriptions import (
    change_value,
    described,
    described_part,
    figure_value,
    target_value,
)
from tests.examples import deck
from tests.kit import assessed, context
from tests.strategies import readings

COMMA = Numbers(",")
TURN = MovePart(control=Control.FOOT, amount=-0.5, unit="turns", where="rear", equivalent_mm=-0.65)


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (MoveMade(step="level", parts=(TURN,)),
         "Moved: Foot (rear) 0,50\u00a0turns (0,65\u00a0mm) shorter (down)"),
        (ReadingTaken(step="speed", reading={"way": "control checked", "control": "speed",
                                             "where": "33.3333"}),
         "Speed trim (33⅓): checked, it moved as entered"),
        (ReadingTaken(step="level", reading={"way": "control checked", "control": "foot",
                                             "reversed_entry": "e1"}),
         "Foot: it moved the other way, not as entered"),
        (ReadingTaken(step="tilt", reading={"way": "control checked", "control": "tilt",
                                            "exchanged": ["e1"],
                                            "fields": ["left_mm", "right_mm"]}),
         "Two figures in a reading had changed places: put right"),
        (ReadingTaken(step="tilt", reading={"way": "control checked", "control": "tilt",
                                            "as_read": "e1"}),
         "A reading that does not fit the move: right as entered"),
        (StepAccepted(step="level", verdict=Verdict.GOOD), "Accepted: Good"),
        (StepAccepted(step="level", verdict=Verdict.MOVE, reason="shelf leans"),
         "Kept by choice at “Move”: shelf leans"),
        (Withdrawn(entry="x", reason="mistyped"), "Left out: mistyped"),
        (NoteWritten(text="dusty"), "Note: dusty"),
        (ThingsRevised(deck_revision=2, cartridge_revision=3),
         "Now with revision 2 of the deck and 3 of the cartridge"),
        (Finished(), "Finished"),
        (Reopened(reason="hum"), "Worked on again: hum"),
        (HoursRead(hours=412.5), "Stylus hours: 412,5\u00a0h"),
        (HoursRead(hours=0, note="new stylus"), "Stylus hours: 0\u00a0h (new stylus)"),
        (ReadingTaken(step="level", reading={"way": "telepathy"}),
         "A reading that this version of the program can't show"),
        (ReadingTaken(step="dancing", reading={}),
         "A reading that this version of the program can't show"),
        (ChoiceMade(step="level", choices={"unknown": 1}),
         "A choice that this version of the program can't show"),
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


def test_an_empty_pan_is_called_so_though_it_is_kept_as_a_check_weight_of_none() -> None:
    said = [
        COMMA.text(described(ReadingTaken(step="final_downforce", reading=reading)))
        for reading in (
            {"way": "check weight", "weight_g": 0.0, "shown_gf": -0.02},
            {"way": "check weight", "weight_g": 2.0, "shown_gf": 2.03},
        )
    ]
    assert said[0].replace("\u00a0", " ") == "Empty pan: The empty scale shows −0,02 gf"
    assert said[1].startswith("Check weight on the scale: Check weight 2,00")


def test_a_readout_is_kept_without_the_zeros_that_make_a_thousand_of_it() -> None:
    reading = {"way": "readout", "speed_rpm": 100 / 3, "rpm": 33.3}
    said = COMMA.text(described(ReadingTaken(step="speed", reading=reading)))
    assert "33,30\u00a0rpm" in said
    assert "33,300" not in said


def test_figures_are_said_with_interval_and_target() -> None:
    figure = Figure("downforce", "Downforce", 2.0, "gf", 2, 0.03, 2.05, 0.05)
    assert COMMA.value(figure_value(figure)) == "2,00\u00a0±\u00a00,03\u00a0gf"
    assert COMMA.value(target_value(figure) or 0) == "2,05\u00a0gf\u00a0±\u00a00,05"
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


FAST_OR_SLOW = message("speed.off.fast"), message("speed.off.slow")


def error_of(value: float, target: float = 0.0) -> Figure:
    label = message("speed.figure.expected")
    return Figure("e", label, value, "%", 2, 0.05, target, 0.3, ways=FAST_OR_SLOW)


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (-0.33, "0,33\u00a0±\u00a00,05\u00a0% slow"),
        (0.33, "0,33\u00a0±\u00a00,05\u00a0% fast"),
        (0.0, "0,00\u00a0±\u00a00,05\u00a0%"),
        (-0.004, "0,00\u00a0±\u00a00,05\u00a0%"),
        # Within its interval it may be either.
        (-0.04, "0,04\u00a0±\u00a00,05\u00a0%"),
        (0.05, "0,05\u00a0±\u00a00,05\u00a0%"),
    ],
)
def test_a_figure_with_directions_is_said_in_words_without_a_sign(value: float, words: str) -> None:
    assert COMMA.value(figure_value(error_of(value))) == words


def test_a_target_and_a_change_have_their_direction_in_words_too() -> None:
    assert COMMA.value(target_value(error_of(0.1, -0.2)) or 0) == "0,20\u00a0% slow\u00a0±\u00a00,3"
    change = change_value(-0.2, FAST_OR_SLOW, "%", 2)
    assert COMMA.value(change) == "0,20\u00a0% toward “slow”"
    assert COMMA.value(change_value(-0.2, None, "gf", 2)) == "−0,20\u00a0gf"


SIGNED = {
    "level": [{"way": "bubble", "direction": d, "divisions": -4.0} for d in
              ("front-back", "left-right")],
    "arm_height": [{"way": "two heights", "front_mm": 29.0, "rear_mm": 26.0, "spacing_mm": 180.0}],
    "alignment": [{"way": "landing and angles", "landing_mm": -1.5, "inner_deg": -1.0,
                   "outer_deg": -1.5}],
    "tilt": [{"way": "gaps", "left_mm": 1.0, "right_mm": 2.0}],
    "speed": [{"way": "readout", "rpm": 33.0}],
}  # fmt: skip # rows of a table


@pytest.mark.parametrize("step", SIGNED)
def test_no_figure_of_a_step_has_a_bare_sign(step: str) -> None:
    taken = [reading_from(step, one) for one in SIGNED[step]]
    figures = assessed(context(step, taken)).figures
    assert any(figure.value < 0.0 for figure in figures)
    for figure in figures:
        assert "−" not in COMMA.value(figure_value(figure)), figure.key
        assert "−" not in COMMA.value(target_value(figure) or 0), figure.key


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
    assert said.startswith(f"{type(reading.as_said()).WAY_TITLE}: ")


def test_a_scale_whose_unit_depends_on_the_deck_is_told_with_it() -> None:
    """The log said “Set to 2”, whatever the dial was marked in."""
    body = ReadingTaken(step="skating", reading={"way": "setting", "setting": 2.0})
    dial = Numbers().text(described(body, deck=deck(skating={"control": "dial"})))
    assert dial.endswith("Set to 2.00\u00a0gf")
    notch = Numbers().text(described(body, deck=deck(skating={"control": "thread weight"})))
    assert notch.endswith("Set to 2")


@pytest.mark.parametrize(
    ("strap", "words"),
    [("none", "No strap on the pins"), ("kept", "Strap left as delivered")],
)
def test_a_choice_that_names_what_it_is_about_stands_alone(strap: str, words: str) -> None:
    body = ReadingTaken(step="mount", reading={"way": "checklist", "strap": strap})
    said = COMMA.text(described(body))
    assert words in said
    assert f"Strap {words}" not in said
    assert "Wiring Stereo" in said, "what does not name itself keeps its name"


def test_where_a_bubble_stands_is_told_without_a_capital_inside_the_sentence() -> None:
    read = {"way": "bubble at its end", "direction": "left-right", "toward": "marked"}
    told = Numbers().text(described(ReadingTaken(step="level", reading=read)))
    assert "stands At" not in told
    assert "; At the level's marked end" in told
