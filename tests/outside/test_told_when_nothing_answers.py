"""Days on which the control does nothing, or went the other way: every order, played to its end.

The example counterweight: 100 g on a thread of 1 mm at 239.3 mm, so a turn slides it by 1 mm and
changes the moment by 100 g mm, which is 100 / 239.3 = 0.418 gf at the stylus. The maker allows 1.8
to 2.2 gf; 2.00 is wanted.
"""

from __future__ import annotations

import pytest

from core.fitting import (
    Assessment,
    Control,
    ControlChecked,
    MoveMade,
    MovePart,
    ReadingTaken,
    Verdict,
)
from core.records import Deck
from tests.outside.told import Person, order, pinned, said
from tests.worked import Read, bubble, protractor, strobe

GF_A_TURN = 0.418
HIGHEST_GF = 2.2
STOP_GF = 3.3  # half as much again as the maximum


def looked(person: Person, *, went_the_other_way: bool = False) -> Assessment:
    """Answer the questions: everything is in order, or the last move went the other way."""
    asked = person.told.questions[0]
    checked = ControlChecked(
        control=asked.control,
        where=asked.where,
        reversed_entry=asked.entry if went_the_other_way else "",
    )
    person.keep(ReadingTaken(step=person.step, reading=checked.model_dump(mode="json")))
    return person.told


def held_fast(step: str, shows: Read, on: Deck | None = None) -> tuple[list[float], Assessment]:
    """Obey, read the same again and answer as asked, to the end; return every order made."""
    person = Person(step, on)
    orders: list[float] = []
    answer = person.reads(shows)
    for _ in range(12):
        if answer.verdict.passes:
            return orders, answer
        if answer.questions:
            assert answer.next_move is None, "an order beside the questions"
            answer = looked(person)
            if answer.verdict.passes or answer.next_move is not None or answer.questions:
                continue
        elif answer.next_move is not None:
            orders.append(answer.next_move.parts[0].amount)
            person.obeys()
        answer = person.reads(shows)
    raise AssertionError(f"it never ends: {said(answer.headline)}")


@pytest.mark.parametrize("shows_gf", [1.85, 2.18])
def test_a_dead_counterweight_is_turned_twice_at_most_and_safe_should_all_act_at_once(
    shows_gf: float,
) -> None:
    orders, answer = held_fast("final_downforce", {"way": "scale", "downforce_gf": shows_gf})
    assert len(orders) <= 2
    # 0.15 gf short: 0.36 turn; 0.18 too much: 0.43 turn; never longer the second time.
    assert abs(orders[0]) == pytest.approx(abs(2.0 - shows_gf) / GF_A_TURN, abs=0.02)
    assert abs(orders[-1]) <= abs(orders[0]) + 1e-9
    assert 0.0 <= shows_gf + GF_A_TURN * sum(orders) <= HIGHEST_GF
    assert answer.verdict is Verdict.LEFT_AS_FOUND
    assert "The counterweight has no effect" in said(answer.headline)
    assert "have it repaired, or use another scale" in said(answer.headline), "what to do now"


def test_the_questions_about_a_counterweight_say_why_and_how_far_it_was_moved_in_all() -> None:
    person = Person("rough_downforce")
    person.reads({"way": "scale", "downforce_gf": 2.8})  # 0.8 gf: 1.91 turns, ordered as 1 7/8
    person.obeys()
    answer = person.reads({"way": "scale", "downforce_gf": 2.8})
    assert said(*answer.asked_because).replace("\u00a0", " ") == (
        "If one of these is not true, that may be why nothing changed. By your entries the "
        "counterweight has moved 1 ⅞ turns away from the pivot in all. Move it back by as much, "
        "and it is as you found it."
    )
    back = MovePart(control=Control.COUNTERWEIGHT, amount=0.5, unit="turns")
    person.keep(MoveMade(step="rough_downforce", parts=(back,)))
    answer = person.reads({"way": "scale", "downforce_gf": 2.8})
    assert "1\u00a0⅜\u00a0turns away from the pivot in all" in said(*answer.asked_because)


def test_a_counterweight_given_up_says_how_to_set_it_back() -> None:
    _, answer = held_fast("final_downforce", {"way": "scale", "downforce_gf": 2.18})
    assert "has no effect" in said(answer.headline)
    (told,) = (said(note) for note in answer.notes if "in all" in said(note))
    assert "away from the pivot" in told
    assert "Move it back by as much, and it is as you found it." in told


def test_at_twice_what_is_wanted_a_dead_counterweight_keeps_the_stylus_up() -> None:
    orders, answer = held_fast("rough_downforce", {"way": "scale", "downforce_gf": 4.0})
    # 2 gf too much are 4.78 turns away, once; back toward the pivot never.
    assert orders == [pytest.approx(-4.78, abs=0.05)]
    assert answer.verdict is Verdict.LEFT_AS_FOUND
    assert "stylus_up" in answer.caution_keys


def test_a_dead_speed_screw_is_turned_twice_by_no_more_and_left() -> None:
    # 180 bars at 100 flashes: 30 bars back in a minute are 0.5 %; a turn of 0.3 rpm is 0.9 %.
    slow: Read = {
        "way": "strobe", "speed_rpm": 33.333333, "direction": "against",
        "drifted_bars": 30.0, "seconds": 60.0, "minutes_running": 15.0,
    }  # fmt: skip # a row of a table
    on = pinned(platter={"trim": "screw", "rpm_per_turn": 0.3})
    orders, answer = held_fast("speed", slow, on)
    assert orders == [pytest.approx(0.556, abs=0.01)] * 2
    assert "The speed trim has no effect: have it repaired" in said(answer.headline)


def _feet_turned_the_wrong_way() -> Person:
    """8 mm/m high at the back: both front feet up by 2.32 mm of 290; down they went, to 16 mm/m."""
    person = Person("level")
    person.reads(bubble("left-right", 0.0), bubble("front-back", 8.0))
    person.reads({**bubble("front-back", -8.0), "turned": True})
    move = person.told.next_move
    assert move is not None
    assert [part.amount for part in move.parts] == pytest.approx([1.856, 1.856], abs=0.01)
    person.obeys()
    person.reads(bubble("left-right", 0.0), bubble("front-back", 16.0))
    return person


def test_feet_turned_the_wrong_way_are_asked_about_before_any_further_order() -> None:
    person = _feet_turned_the_wrong_way()
    assert person.told.next_move is None
    assert person.told.questions
    assert "Which way did you move it?" in said(person.told.headline)


@pytest.mark.parametrize("wrong_way", [True, False])
def test_twice_the_slope_takes_twice_the_turns_whichever_went_wrong(*, wrong_way: bool) -> None:
    """16 mm/m over 290 mm are 4.64 mm, 3.71 turns of 1.25 mm, and no more: up as the thread is
    stated where the hand went wrong, down where the thread does.
    """
    person = _feet_turned_the_wrong_way()
    move = looked(person, went_the_other_way=wrong_way).next_move
    assert move is not None
    turns = 3.71 if wrong_way else -3.71
    assert [part.amount for part in move.parts] == pytest.approx([turns, turns], abs=0.03)
    told = " ".join(said(note) for note in person.told.notes)
    assert ("turn the other way round" in told) is not wrong_way


@pytest.mark.parametrize("then_gf", [2.30, 2.50])
def test_above_the_maximum_a_quarter_turn_entered_the_wrong_way_orders_nothing_upward(
    then_gf: float,
) -> None:
    """2.40 gf, a quarter turn entered as toward the pivot: 0.10 gf less says it went away."""
    person = Person("rough_downforce")
    person.reads({"way": "scale", "downforce_gf": 2.40})
    person.moves(MovePart(control=Control.COUNTERWEIGHT, amount=0.25, unit="turns"))
    answer = person.reads({"way": "scale", "downforce_gf": then_gf})
    assert answer.next_move is None
    answer = looked(person, went_the_other_way=then_gf < 2.40)
    # 0.3 gf too much are 0.72 turn; 0.5 gf are 1.2 turns
    (part,) = answer.next_move.parts if answer.next_move else ()
    assert part.amount == pytest.approx(-(then_gf - 2.0) / GF_A_TURN, abs=0.06)
    assert "away from the pivot" in order(answer)


def test_a_scale_three_tenths_low_is_good_on_trust_alone_and_corrected_by_its_empty_pan() -> None:
    person = Person("final_downforce")
    answer = person.reads(*({"way": "scale", "downforce_gf": gf} for gf in (2.0, 2.01, 2.0)))
    assert answer.on_trust
    assert "if the scale's zero is right" in said(answer.headline)
    # An empty pan at -0.30: 2.30 gf press, and 0.72 turn away takes 0.30 off.
    answer = person.reads({"way": "empty pan", "shown_gf": -0.3})
    assert answer.verdict is Verdict.MOVE
    (part,) = answer.next_move.parts if answer.next_move else ()
    assert part.amount == pytest.approx(-0.72, abs=0.03)


@pytest.mark.parametrize(("before_gf", "after_gf"), [(2.6, 3.2), (0.0, 0.0)])
def test_a_move_entered_away_from_the_target_is_asked_about_before_it_teaches_a_direction(
    before_gf: float, after_gf: float
) -> None:
    """Entered the wrong way round, it hides a reversed thread, or a scale that holds its 0.

    At 2.60 gf a toward is 0.60 further from 2.00; on a thread that turns the other way round the
    hand that obeyed sees just what the wrong entry foretells, and the next order down goes up.
    """
    person = Person("rough_downforce")
    ordered = person.reads({"way": "scale", "downforce_gf": before_gf}).next_move
    assert ordered is not None
    assert ordered.parts[0].amount * (2.0 - before_gf) > 0.0
    person.moves(*(part.turned_round() for part in ordered.parts))
    asked = person.reads({"way": "scale", "downforce_gf": after_gf})
    assert asked.next_move is None
    assert "You entered a move away from the target. Which way did you move it?" in " ".join(
        [said(asked.headline), *map(said, asked.notes)]
    )
    assert asked.questions[0].moved == tuple(part.turned_round() for part in ordered.parts)
    # Put right, the entry is the order, which the scale answered with more: nothing goes up.
    then = looked(person, went_the_other_way=True)
    assert then.next_move is None
    assert then.questions


def test_a_move_away_from_the_target_that_was_meant_is_taken_back_by_as_much() -> None:
    # 1.5 turns toward the pivot add 0.63 gf to 2.60; 3.23 - 2.00 = 1.23 gf are 2.94 turns back.
    person = Person("rough_downforce")
    person.reads({"way": "scale", "downforce_gf": 2.6})
    person.moves(MovePart(control=Control.COUNTERWEIGHT, amount=1.5, unit="turns"))
    assert person.reads({"way": "scale", "downforce_gf": 3.23}).questions
    move = looked(person).next_move
    assert move is not None
    assert move.parts[0].amount == pytest.approx(-2.94, abs=0.1)


def test_feet_that_made_it_worse_by_less_than_they_were_turned_are_asked_about_too() -> None:
    """6 and 4 mm/m, then 8 and 6: no foot of a stated thread could, turned as ordered.

    The level lay alike both times, so its own error is in both readings and tells nothing of the
    change. One foot alone was taken to run the other way, and ordered down by five times the order.
    """
    person = Person("level")
    person.reads(bubble("left-right", 6.0), bubble("front-back", 4.0))
    person.obeys()
    told = person.reads(bubble("left-right", 8.0), bubble("front-back", 6.0))
    assert told.next_move is None
    assert "Which way did you move it?" in said(told.headline)


@pytest.mark.parametrize(
    ("step", "readings", "own"),
    [
        ("level", [bubble("front-back", 5.0), bubble("left-right", 0.0)], "highest foot"),
        ("alignment", [protractor(2.0, 0.0)], ""),
        ("speed", [{**strobe(60.0), "direction": "with"}], "faster for one turn"),
        ("tilt", [{"way": "gaps", "left_mm": 3.0, "right_mm": 2.0}] * 2, "Guard on"),
    ],
)
def test_the_last_move_of_a_control_says_that_it_is_the_last_and_its_own_reason(
    step: str, readings: list[Read], own: str
) -> None:
    person = Person(step)
    person.reads(*readings)
    person.obeys()
    asked = person.reads(*readings).next_reading
    assert asked is not None
    move = person.reads({"way": "control checked", **asked.values}).next_move
    assert move is not None
    why = said(move.reason)
    assert "move it once more" in why
    assert own in why
    assert bool(own) is (len(why.split(". ")) > 2), "a reason of its own, or none"


@pytest.mark.parametrize("at_first", [1.70, 1.60, 1.55])
def test_after_two_moves_that_contradict_each_other_the_steeper_one_bounds_the_next(
    at_first: float,
) -> None:
    """One of them was turned the other way than entered, and nobody knows which."""
    person = Person("rough_downforce")
    person.reads({"way": "scale", "downforce_gf": at_first})
    shown = at_first
    # A ruler at the counterweight would show it: the first went away, the second as ordered.
    for went in (-1.0, 1.0):
        answer = person.told
        assert answer.next_move is not None
        turned = went * answer.next_move.parts[0].amount
        assert turned < 0.0
        person.obeys()
        shown = round(shown + GF_A_TURN * turned, 2)
        answer = person.reads({"way": "scale", "downforce_gf": shown})
        assert answer.questions, said(answer.headline)
        answer = looked(person)
    assert answer.next_move is not None
    turned = answer.next_move.parts[0].amount
    assert turned > 0.0
    # Neither gain is in doubt by its size: the moment of 100 g on a turn of 1 mm is 0.418 gf.
    assert shown + GF_A_TURN * turned == pytest.approx(2.0, abs=0.1)


def test_a_pillar_that_went_both_ways_is_asked_about_and_never_moved_by_nothing() -> None:
    """Without an end it was said: lower the pillar by 0.0 mm.

    The stylus is 239.3 mm from the pillar. 3 mm down are -0.72 degrees, and 0.80 more are read: the
    hand went up, though the entry says down and is confirmed, so the pillar seems to run the other
    way. Then 0.5 more are read of the 1.39 degrees that 5.8 mm up should do, for the travel ends:
    so it does not, and the way down is 239.3 mm x tan 2.05 degrees = 8.6 mm, at the end of travel.
    """
    on = pinned(height={"control": "pillar", "travel_up_mm": 5.2, "travel_down_mm": 6.4})
    person = Person("arm_height", on)
    for lift_mm, then_deg in ((0.0, 0.75), (-3.0, 1.55), (5.8, 2.05)):
        if lift_mm:
            person.moves(MovePart(control=Control.PILLAR, amount=lift_mm, unit="mm"))
        answer = person.reads({"way": "tube angle", "pitch_deg": then_deg})
        if lift_mm:
            assert answer.next_move is None
            assert "Which way did you move it?" in said(answer.headline)
            answer = looked(person)
    assert answer.next_move is not None
    assert -9.3 < answer.next_move.parts[0].amount < -7.0


@pytest.mark.parametrize("shows_gf", [1.0, 3.0, 4.0])
def test_a_scale_that_shows_the_same_of_a_floating_arm_says_in_its_headline_what_to_do(
    shows_gf: float,
) -> None:
    _, answer = held_fast("rough_downforce", {"way": "scale", "downforce_gf": shows_gf})
    assert answer.verdict is Verdict.LEFT_AS_FOUND
    assert "switch it off and on, weigh again" in said(answer.headline)


def test_what_a_doubtful_move_taught_orders_nothing_that_floats_the_arm_as_stated() -> None:
    # 3.10 gf, told to lower it; 1.29 turns toward the pivot are entered and kept to, and the scale
    # shows 0.15 gf more: at 0.12 gf a turn some ten turns would be missing.
    person = Person("rough_downforce")
    person.reads({"way": "scale", "downforce_gf": 3.1})
    person.moves(MovePart(control=Control.COUNTERWEIGHT, amount=1.29, unit="turns"))
    answer = person.reads({"way": "scale", "downforce_gf": 3.25})
    assert answer.questions
    answer = looked(person)
    move = answer.next_move
    assert move is not None
    assert move.parts[0].amount < 0.0
    assert 3.25 + move.parts[0].amount * GF_A_TURN >= 0.0
    assert move.reason is not None, "said with the order, in sight"
    assert said(move.reason).startswith("This is only part of the way")


def test_a_short_move_is_no_proof_of_a_slow_weight() -> None:
    """An arm that floated bears 0.83 gf after 2.1 mm, and 0.98 gf after 0.47 mm more.

    0.15 gf on 0.47 mm are 0.32 gf a millimetre, and 3.2 mm are missing by that. But whoever slides
    a weight by hand is a tenth or two of a millimetre out (common practice, no source): if it went
    0.19 mm, it does 0.8 gf a millimetre, as 200 g do on an arm of 250 mm, and 3.2 mm make 3.5 gf on
    a stylus of at most 2.2.
    """
    on = pinned(arm={"counterweight_g": None, "counterweight_mm_per_turn": None})
    person = Person("rough_downforce", on)
    person.reads({"way": "scale", "downforce_gf": 0.0})
    for moved_mm, shows_gf in ((2.1, 0.83), (0.47, 0.98)):
        person.moves(MovePart(control=Control.COUNTERWEIGHT, amount=moved_mm, unit="mm"))
        answer = person.reads({"way": "scale", "downforce_gf": shows_gf})
    assert answer.next_move is not None
    assert 0.3 < answer.next_move.parts[0].amount < 2.4
