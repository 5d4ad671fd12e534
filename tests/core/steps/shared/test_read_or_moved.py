"""What is typed for a move and may be the next reading: at every step where both can be typed.

What a person types next is worked out here by what the instrument would show before the move and
after it, not by the rule's own spans.
"""

from __future__ import annotations

import math
from typing import Any

import pytest

from core.fitting import MovePart
from core.steps.shared import MayBeRead, may_be_read, read_instead
from tests.outside.told import Person, pinned
from tests.worked import Read


def after(step: str, *readings: Read, **more: Any) -> tuple[tuple[MayBeRead, ...], MovePart]:
    """Return what may be read next, and the first part of what is ordered."""
    person = Person(step, pinned(**more))
    person.reads(*readings)
    status = person.journey.status(step)
    move = status.assessment.next_move
    assert move is not None
    return may_be_read(status.trials, status.assessment), move.parts[0]


def named(amount: float, step: str, *readings: Read, **more: Any) -> str:
    figures, ordered = after(step, *readings, **more)
    found = read_instead(amount, ordered, figures)
    return "" if found is None else found.name


def weighed(shown: float) -> Read:
    return {"way": "scale", "downforce_gf": shown}


@pytest.mark.parametrize("typed", [1.95, 1.70, 1.72, 2.00, 2.04])
def test_a_second_weighing_is_not_taken_for_turns(typed: float) -> None:
    # 1.70 of 2.00 wanted: 0.30 / 0.4179 is 0.7 turn; the scale shows between the two.
    assert named(typed, "final_downforce", weighed(1.70)) == "downforce_gf"


@pytest.mark.parametrize("typed", [0.5, 0.75, 1.0, 0.25])
def test_turns_about_as_ordered_are_turns(typed: float) -> None:
    assert named(typed, "final_downforce", weighed(1.70)) == ""


@pytest.mark.parametrize("typed", [3.95, 2.1])
def test_far_from_the_target_a_weighing_may_be_anywhere_up_to_it(typed: float) -> None:
    # 4.00: 4.6 turns are ordered. Typed before they are made the next is near 4, after it near 2.
    assert named(typed, "rough_downforce", weighed(4.0)) == "downforce_gf"
    assert named(-typed, "rough_downforce", weighed(4.0)) == "downforce_gf"


def test_the_amount_as_ordered_is_never_in_doubt() -> None:
    figures, ordered = after("rough_downforce", weighed(4.0))
    assert read_instead(ordered.amount, ordered, figures) is None


def bubble(direction: str, divisions: float) -> Read:
    return {"way": "bubble", "direction": direction, "divisions": divisions}


def test_divisions_are_not_taken_for_turns_of_a_foot() -> None:
    # 8 divisions high at the back, 1 mm/m each, feet 400 mm apart: 3.2 mm of a thread.
    read = bubble("left-right", 0.0), bubble("front-back", 8.0)
    _, ordered = after("level", *read)
    assert named(7.5, "level", *read) == "divisions"
    assert named(2.0 * abs(ordered.amount), "level", *read) == "divisions"
    assert named(ordered.amount / 2.0, "level", *read) == ""
    assert named(1.25 * abs(ordered.amount), "level", *read) == ""


def test_heights_are_not_taken_for_millimetres_of_the_pillar() -> None:
    # Rear 3.5 mm high over 180 mm: the pillar goes 4.7 mm.
    read = {"way": "two heights", "front_mm": 23.5, "rear_mm": 27.0, "spacing_mm": 180.0}
    assert named(23.0, "arm_height", read) == "front_mm"
    assert named(28.0, "arm_height", read) == "front_mm"
    assert named(31.0, "arm_height", read) == "rear_mm"
    assert named(4.0, "arm_height", read) == ""
    assert named(180.0, "arm_height", read) == "", "measured once"


def test_gaps_are_not_taken_for_degrees_of_the_head() -> None:
    # 0.6 mm over the body's width is 2 degrees or so.
    read = {"way": "gaps", "left_mm": 3.6, "right_mm": 3.0, "width_mm": 17.0}
    assert math.degrees(math.atan(0.6 / 17.0)) == pytest.approx(2.02, abs=0.01)
    assert named(3.3, "tilt", read) == "left_mm"
    assert named(2.5, "tilt", read) == "right_mm"
    assert named(1.0, "tilt", read) == ""


def test_bars_are_not_taken_for_turns_of_the_speed_screw() -> None:
    read = {
        "way": "strobe",
        "direction": "against",
        "drifted_bars": 30.0,
        "seconds": 30.0,
        "bars": 180,
    }
    assert named(28.0, "speed", read) == "drifted_bars"
    _, ordered = after("speed", read)
    assert named(2.0 * ordered.amount, "speed", read) == "drifted_bars"
    assert named(ordered.amount / 2.0, "speed", read) == ""


def test_a_readout_is_not_taken_for_turns_of_the_speed_screw() -> None:
    read = {"way": "readout", "rpm": 33.0}
    assert named(33.3, "speed", read) == "rpm"


def test_a_landing_is_not_taken_for_a_slide_that_is_smaller() -> None:
    # Both are millimetres: what is no more than the order can't be told apart.
    read = {"way": "landing", "landing_mm": 3.0}
    assert named(2.0, "alignment", read) == ""


def test_a_mark_of_the_skating_dial_is_not_taken_for_how_far_it_is_turned() -> None:
    # The dial stands at 2 and the right channel breaks first: one more, to the mark 3.
    read = {"way": "test bands", "setting": 2.0, "broke_first": "right"}
    more: dict[str, Any] = {"bench": {"has_test_record": True}}
    _, ordered = after("skating", read, **more)
    assert ordered.amount == 1.0
    assert named(3.0, "skating", read, **more) == "setting"
    assert named(2.0, "skating", read, **more) == "setting"
    assert named(0.5, "skating", read, **more) == ""


def test_a_lower_mark_of_the_skating_dial_is_none_either() -> None:
    # From 3 it goes back by 1.75, to the mark 1.25.
    read = {"way": "test bands", "setting": 3.0, "broke_first": "left"}
    more: dict[str, Any] = {"bench": {"has_test_record": True}}
    _, ordered = after("skating", read, **more)
    assert ordered.amount == -1.75
    assert named(-1.25, "skating", read, **more) == "setting"
    assert named(-0.25, "skating", read, **more) == ""


def test_what_was_read_before_the_last_move_says_nothing() -> None:
    person = Person("final_downforce")
    person.reads(weighed(1.70))
    person.obeys()
    status = person.journey.status("final_downforce")
    assert may_be_read(status.trials, status.assessment) == ()
