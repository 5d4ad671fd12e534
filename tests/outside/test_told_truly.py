"""Sentences that must be true where they stand: what a move did, what is asked next, and of what.

Each was said once where it was not: worked by hand here, and read as it is read. All derived.
"""

from __future__ import annotations

import math

import pytest

from core.fitting import Assessment, Control, MovePart, Verdict
from core.language import Message
from core.records import Deck
from tests.outside.told import Person, moved, pinned, told
from tests.outside.told import said as spoken
from tests.worked import Read, bubble, protractor


def said(*messages: Message | None) -> str:
    return spoken(*messages).replace("\u00a0", " ")


def weighed(gf: float) -> Read:
    return {"way": "scale", "downforce_gf": gf}


def looked(control: Control) -> Read:
    return {"way": "control checked", "control": control}


def lands(mm: float) -> Read:
    return {"way": "landing", "landing_mm": mm}


# -- a control that runs the other way


def backward_above() -> Assessment:
    """Too much, and each turn that should lower it raises it: answered, as entered."""
    person = Person("rough_downforce")
    person.reads(weighed(2.4))
    person.obeys()
    person.reads(weighed(2.8))
    return person.reads(looked(Control.COUNTERWEIGHT))


def test_where_nothing_is_ordered_no_next_move_is_spoken_of() -> None:
    answer = backward_above()
    assert answer.next_move is None
    notes = said(*answer.notes)
    assert "leave this control alone" in notes
    assert "did the opposite of what was said" in notes
    assert "next move" not in notes


def test_where_a_move_is_ordered_it_allows_for_what_was_seen() -> None:
    person = Person("rough_downforce")
    person.reads(weighed(1.2))
    person.obeys()
    person.reads(weighed(0.4))
    answer = person.reads(looked(Control.COUNTERWEIGHT))
    assert answer.next_move is not None
    assert "The next move allows for that." in said(*answer.notes)


# -- a move that went part of the way


def slid(to: float) -> Assessment:
    person = Person("alignment")
    person.reads(protractor(3.0, 0.0))
    person.obeys()
    return person.reads(protractor(to, 0.0))


def test_a_slide_that_went_a_third_of_the_way_did_not_change_nothing() -> None:
    # 3.0 mm ordered, 0.7 made. Two landings read to 0.2 mm differ by 0.55 by chance at most.
    answer = slid(2.3)
    assert answer.verdict is Verdict.READ_AGAIN
    headline = said(answer.headline)
    assert headline.startswith("The last move did less than it should.")
    assert answer.questions


def test_a_slide_that_may_have_gone_nowhere_changed_nothing() -> None:
    # 0.4 mm, by two landings that differ by up to 0.55 where nothing was moved.
    assert said(slid(2.6).headline).startswith("The last move changed nothing.")


def high(mm: float) -> Read:
    return {"way": "two heights", "front_mm": 27.0, "rear_mm": 27.0 + mm, "spacing_mm": 180.0}


@pytest.mark.parametrize("share", [0.0, 0.3])
def test_a_control_at_any_step_is_told_apart_by_what_it_did(share: float) -> None:
    first, left = {}, 1.0 - share
    for step, read in {
        "level": lambda part: (bubble("left-right", 12.0 * part), bubble("front-back", 0.0)),
        "arm_height": lambda part: (high(8.0 * part),),
        "tilt": lambda part: ({"way": "gaps", "left_mm": 2.0 + 1.5 * part, "right_mm": 2.0},),
        "final_downforce": lambda part: (weighed(2.0 + 0.2 * part),) * 3,
    }.items():
        person = Person(step, pinned(height={"travel_down_mm": 30.0}))
        person.reads(*read(1.0))
        person.obeys()
        first[step] = said(person.reads(*read(left)).headline)
    words = "changed nothing" if share == 0.0 else "did less than it should"
    for step, headline in first.items():
        assert words in headline, (step, headline)


# -- readings that differ


def landings(*mm: float) -> Assessment:
    return told("alignment", *(protractor(one, 0.0) for one in mm))


def test_of_two_readings_a_third_shows_which_counts() -> None:
    assert "A third reading shows which of the two counts." in said(*landings(0.5, 4.0).notes)


@pytest.mark.parametrize("mm", [(0.5, 0.5, 4.0), (0.5, 0.5, 0.5, 4.0)])
def test_of_three_and_more_no_third_is_asked_for(mm: tuple[float, ...]) -> None:
    answer = landings(*mm)
    assert answer.verdict is Verdict.READ_AGAIN
    notes = said(*answer.notes)
    assert "third" not in notes
    assert "One more reading shows which of them count." in notes


# -- a single null


def straight() -> Deck:
    arm = {"kind": "pivoted straight", "effective_length_mm": 212.0, "offset_deg": 0.0}
    return pinned(arm=arm)


def test_with_a_single_null_nobody_reads_both() -> None:
    person = Person("alignment", straight())
    headlines: list[str] = []
    answer = person.reads(lands(2.0))
    off = 2.0
    for _ in range(12):
        if answer.next_move is not None:
            off -= 2.0 if moved(answer)[0][0] is Control.SLIDE else 0.0
            headlines += [said(answer.headline, answer.next_move.sentence)]
            answer = person.obeys()
        elif answer.verdict is Verdict.READ_AGAIN:
            answer = person.reads(lands(off))
        headlines += [said(answer.headline, *answer.notes)]
        if answer.verdict.passes:
            break
    assert answer.verdict is Verdict.GOOD
    told_so = " ".join(headlines)
    assert "Tighten the screws, then read again." in told_so
    assert "both again" not in told_so
    assert "both grids" not in told_so


def test_with_two_nulls_both_are_read() -> None:
    answer = told("alignment", *[protractor(0.0, 0.0)] * 4)
    assert "read both again" in said(*answer.notes)


# -- a dial that is not there


def test_no_dial_is_set_to_zero_on_an_arm_that_has_none() -> None:
    """The deck's page was put right since: no dial, a counterweight of known mass."""
    on = pinned(bench={"has_scale": False})
    undone = {"floated": True, "zeroed": False, "sinks": True}
    answer = told("rough_downforce", {"way": "float and dial", "dial_gf": 2.0, **undone}, on=on)
    assert answer.next_reading is not None
    assert answer.next_reading.way == "float and slide"
    assert "dial" not in said(answer.headline, *answer.notes)
    assert "move the counterweight 4.8 mm" in said(answer.headline)


# -- how far a move goes


@pytest.mark.parametrize("left_mm", [2.2, 2.25, 2.3, 2.35])
@pytest.mark.parametrize("looks", [1, 2, 3, 4])
def test_a_head_nearly_upright_is_turned_the_whole_way_or_not_at_all(
    left_mm: float, looks: int
) -> None:
    # 0.25 mm over 17 is 0.84 degrees: one of four looks by 0.24 each would do. Not 0.2 of it.
    tilt = math.degrees(math.atan((left_mm - 2.0) / 17.0))
    gaps = {"way": "gaps", "left_mm": left_mm, "right_mm": 2.0}
    answer = told("tilt", *[gaps] * looks)
    if answer.verdict is Verdict.MOVE:
        ((_, _, amount, _),) = moved(answer)
        assert amount == pytest.approx(-tilt, abs=0.051)


# -- what was answered stays answered


def turned(turns: float) -> MovePart:
    return MovePart(control=Control.COUNTERWEIGHT, amount=turns, unit="turns")


@pytest.mark.parametrize("tiny_moves", [4, 5, 6, 7, 8, 12])
def test_a_thread_known_to_run_backward_does_so_after_many_tiny_moves(tiny_moves: int) -> None:
    """Too light by 0.6 gf and more, on a thread that lifts where it should press."""
    person = Person("rough_downforce")
    presses = 1.4

    def reads() -> Assessment:
        return person.reads(weighed(round(presses, 2)))

    answer = reads()
    ((_, _, ordered, _),) = moved(answer)
    presses -= 0.43 * ordered
    person.obeys()
    reads()
    answer = person.reads(looked(Control.COUNTERWEIGHT))
    for place in range(tiny_moves):
        tiny = -0.02 if place % 2 else 0.02
        presses -= 0.43 * tiny
        person.moves(turned(tiny))
        answer = reads()
    ((_, _, ordered, _),) = moved(answer)
    assert ordered == pytest.approx(-(2.0 - presses) / 0.43, rel=0.15)
