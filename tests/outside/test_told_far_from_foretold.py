"""Days on which a reading is not what the move before it should give, worked by hand.

A move that is entered wrongly, a rule that is read wrongly or another control that was moved too:
nothing tells which. So it is asked, nothing is ordered, and the reading enters no average.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from core.fitting import Assessment, Control, MovePart, StepAccepted, Verdict, Withdrawn
from core.records import Deck
from tests.outside.test_told_alignment import both
from tests.outside.test_told_arm_height import heights, high
from tests.outside.test_told_speed import one_speed, shows
from tests.outside.test_told_tilt import gaps
from tests.outside.test_told_when_nothing_answers import looked
from tests.outside.told import Person, moved, orders, pinned, said
from tests.worked import Read

FAR = "The reading is far from what the move should give."


def asked(answer: Assessment, *words: str) -> None:
    """Check that an answer asks, with these questions among others, and orders nothing."""
    assert answer.verdict is Verdict.READ_AGAIN, said(answer.headline)
    assert not moved(answer)
    questions = said(*(one.text for one in answer.questions))
    for one in words:
        assert one in questions, questions


def after_the_order(step: str, found: Read, then: Read, on: Deck | None = None) -> Person:
    """Return somebody who read, did what was ordered, and read again."""
    person = Person(step, on)
    person.reads(found)
    person.obeys()
    person.reads(then)
    return person


BEYOND = [
    # 3 mm high over 180; lowered by 4 mm it should be level. 8 mm low are 11 mm of change, not 3.
    ("arm_height", heights(24.0, 27.0), heights(24.0, 16.0), high()),
    # (17, 1.2) stands at 4.0 degrees, (17, -3.2) at -10.7: 14.7 of change after a turn by 4.
    ("tilt", gaps(3.2, 2.0), gaps(0.6, 3.8), pinned(tilt={"control": "head"})),
    # 1 % slow; 0.83 turn should make up 0.33 rpm, and 1.33 rpm came of it.
    ("speed", shows(33.0), shows(34.33), one_speed(trim="screw", rpm_per_turn=0.4)),
    # 2 mm too long; slid back by 2 it lands 3 mm short: 5 mm of change.
    ("alignment", both(2.0), both(-3.0), None),
]


@pytest.mark.parametrize(("step", "found", "then", "on"), BEYOND)
def test_more_change_than_the_move_explains_is_asked_about(
    step: str, found: Read, then: Read, on: Deck | None
) -> None:
    person = after_the_order(step, found, then, on)
    assert said(person.told.headline).startswith(FAR)
    asked(person.told, "by the amount you entered", "moved nothing else", "read it twice")
    # The same once more does not settle it: the move may still be another than entered.
    asked(person.reads(then), "by the amount you entered")
    # Everything is as entered: then the control does more than is stated, and goes on from there.
    answer = looked(person)
    assert not answer.questions
    assert answer.verdict is Verdict.MOVE


@pytest.mark.parametrize("rear", [16.0, 32.0])
def test_the_height_in_question_enters_no_figure(rear: float) -> None:
    person = Person("arm_height", high())
    person.reads(heights(24.0, 27.0))
    foretold = person.obeys().figures
    answer = person.reads(heights(24.0, rear))
    assert answer.figures == foretold
    assert "level over 180" in said(*answer.notes).replace("\u00a0", " ")


def test_a_height_read_wrongly_is_left_out_and_the_next_counts_alone() -> None:
    person = after_the_order("arm_height", heights(24.0, 27.0), heights(24.0, 32.0), high())
    wrong = person.fitting.entries[-1]
    person.keep(Withdrawn(entry=wrong.id))
    answer = person.reads(*[heights(24.0, 24.0)] * 2)
    assert answer.verdict is Verdict.GOOD
    assert answer.headline.key == "arm_height.parallel"


def test_five_millimetres_more_the_other_way_asks_for_the_way_and_for_the_amount() -> None:
    # Lowered by 4 mm it stands 8 mm high in place of 3: against the move, and more than it.
    person = after_the_order("arm_height", heights(24.0, 27.0), heights(24.0, 32.0), high())
    asked(person.told, "Which way did you move it?", "by the amount you entered")
    # Raised by 4 mm it would stand 6 mm high. 5 over 180 are 6.6 mm at the pillar, two thirds more.
    answer = looked(person, went_the_other_way=True)
    asked(answer, "by the amount you entered")
    assert "Which way" not in said(*(one.text for one in answer.questions))
    # If it does 6.6 for 4, the 239.296 x 8 / 180 = 10.6 that it stands high take 6.4.
    answer = looked(person)
    assert moved(answer) == orders((Control.PILLAR, "", -6.4, "mm"), within=0.5)


def test_a_move_against_its_entry_is_asked_about_even_if_it_ends_good() -> None:
    # Raised as told, and entered as lowered: it ends parallel, and hides which way the pillar goes.
    person = Person("arm_height", high())
    answer = person.reads(heights(27.0, 24.0))
    (part,) = answer.next_move.parts if answer.next_move else ()
    person.moves(part.turned_round())
    asked(person.reads(*[heights(26.0, 26.0)] * 2), "Which way did you move it?")
    assert looked(person, went_the_other_way=True).verdict is Verdict.GOOD


@pytest.mark.parametrize("more", [{}, {"mm_per_turn": 0.75}])
def test_a_shim_uses_none_of_the_travel(more: dict[str, float]) -> None:
    # 9 mm high over 180 are 11.965 at the pillar, which goes down by 6. 6 mm under the cartridge
    # leave 5.965, about 4.5 over 180, and the pillar stands where it stood.
    on = high("collar" if more else "pillar", travel_down_mm=6, **more)
    person = Person("arm_height", on)
    person.reads(heights(24.0, 33.0))
    person.moves(MovePart(control=Control.HEAD_SHIM, amount=6.0, unit="mm"))
    answer = person.reads(heights(24.0, 28.5))
    assert answer.verdict is Verdict.MOVE
    amount, unit = (-8.0, "turns") if more else (-6.0, "mm")
    assert moved(answer) == orders((Control.PILLAR, "", amount, unit), within=0.051)


def test_the_pillars_own_travel_is_used_up_by_its_own_moves() -> None:
    person = Person("arm_height", high(travel_down_mm=6))
    person.reads(heights(24.0, 33.0))
    person.obeys()
    answer = person.reads(*[heights(24.0, 28.5)] * 2)
    assert "The travel ends here" in said(answer.headline)


def test_a_height_read_after_a_move_says_what_it_is_made_of() -> None:
    # 3 mm are 3.988 at the pillar; 4.0 are ordered, so 0.01 mm low over 180 is foretold.
    person = after_the_order("arm_height", heights(24.0, 27.0), heights(22.75, 22.75), high())
    figure = person.told.figure("height")
    assert figure is not None
    assert "together with what the move" in said(figure.note)
    alone = Person("arm_height", high()).reads(heights(22.75, 22.75)).figure("height")
    assert alone is not None
    assert (alone.value, alone.note) == (0.0, None)


def weighed(gf: float) -> Read:
    return {"way": "scale", "downforce_gf": gf}


@pytest.mark.parametrize("found", [1.4, 2.6])
@pytest.mark.parametrize("unit_known", [True, False])
def test_a_weight_entered_the_wrong_way_is_asked_about_at_rough_though_it_ends_good(
    found: float, *, unit_known: bool
) -> None:
    on = pinned() if unit_known else pinned(arm={"counterweight_g": None})
    person = Person("rough_downforce", on)
    answer = person.reads(weighed(found))
    (part,) = answer.next_move.parts if answer.next_move else ()
    person.moves(part.turned_round())
    asked(person.reads(weighed(2.0)), "Which way did you move it?")
    answer = looked(person, went_the_other_way=True)
    assert answer.verdict is Verdict.GOOD


def test_what_the_last_step_turns_is_not_asked_about_at_rough() -> None:
    person = Person("final_downforce")
    person.reads({"way": "empty pan", "shown_gf": 0.0}, weighed(1.6))
    person.moves(MovePart(control=Control.COUNTERWEIGHT, amount=-1.0, unit="turns"))
    person.reads(weighed(2.0))
    rough = person.journey.status("rough_downforce").assessment
    assert rough.verdict is Verdict.GOOD
    assert not rough.questions


@pytest.mark.parametrize("found", [1.93, 1.94, 1.95, 2.06])
def test_a_scale_that_never_moves_is_asked_about_after_one_small_turn(found: float) -> None:
    # 0.05 gf are 0.12 turn. A scale read to 0.01 gf twice errs by 0.014, so the turn would show.
    person = Person("final_downforce")
    answer = person.reads({"way": "empty pan", "shown_gf": 0.0}, weighed(found))
    turns = 0
    while not answer.questions:
        if answer.next_move is not None:
            turns += 1
            answer = person.obeys()
        else:
            answer = person.reads(weighed(found))
    assert turns == 1
    assert "changed nothing" in said(answer.headline)
    assert "does not hold its last value" in said(*(one.text for one in answer.questions))


def lands(mm: float) -> Read:
    return {"way": "landing", "landing_mm": mm}


def at_the_inner_grid(deg: float) -> Read:
    return {"way": "angles", "inner_deg": deg, "outer_deg": 0.0}


def at_both(mm: float) -> Read:
    return {"way": "landing and angles", "landing_mm": mm, "inner_deg": 0.0, "outer_deg": 0.0}


@pytest.mark.parametrize(
    ("read", "words"),
    [
        # 0.2 mm an eye: two readings 0.8 apart are 2.8 of their own errors from each other.
        (lands, "readings of the landing differ by 0.8"),
        (at_both, "readings of the landing differ by 0.8"),
        # 0.25 degrees an eye: 2.3 of them, one pair in forty.
        (at_the_inner_grid, "angle at the inner grid differ by 0.8"),
    ],
)
def test_two_readings_of_one_figure_far_apart_are_asked_about_and_not_averaged(
    read: Callable[[float], Read], words: str
) -> None:
    person = Person("alignment")
    person.reads(read(0.8))
    before = {figure.key: figure.value for figure in person.told.figures}
    answer = person.reads(read(0.0))
    assert words in said(answer.headline).replace("\u00a0", " ")
    assert answer.verdict is Verdict.READ_AGAIN
    assert not moved(answer)
    assert {figure.key: figure.value for figure in answer.figures} == before


@pytest.mark.parametrize(
    ("third", "length"),
    [
        (0.1, 0.05),  # the second was right: the mean of 0 and 0.1
        (0.8, 0.8),  # the first
        (0.4, 0.4),  # nobody: it lies between, and all three count
    ],
)
def test_a_third_reading_shows_which_of_two_counts(third: float, length: float) -> None:
    person = Person("alignment")
    answer = person.reads(lands(0.8), lands(0.0), lands(third))
    assert "differ by" not in said(answer.headline)
    figure = answer.figure("slide")
    assert figure is not None
    assert figure.value == pytest.approx(length, abs=0.01)


def test_readings_on_both_sides_of_a_slide_are_not_compared() -> None:
    person = Person("alignment")
    person.reads(lands(0.8))
    person.moves(MovePart(control=Control.SLIDE, amount=-0.8, unit="mm"))
    assert "differ by" not in said(person.reads(lands(0.0)).headline)


def test_many_readings_as_an_eye_errs_are_not_all_questioned() -> None:
    # The middle values of five, ten, ... parts of a bell of 0.2 mm, out of order.
    person = Person("alignment")
    answer = person.reads(*map(lands, [0.05, -0.1, 0.28, -0.26, 0.1, -0.05, 0.17, -0.17, 0.0]))
    assert "left out of the result" not in said(*answer.notes)


def test_an_alignment_changed_since_its_readings_is_judged_by_those_that_count() -> None:
    person = Person("alignment")
    person.reads(*[at_both(0.0)] * 3)
    person.reads(at_both(3.0))
    person.keep(
        StepAccepted(step="alignment", verdict=person.told.verdict, reason="settled by hand")
    )
    part = MovePart(control=Control.PILLAR, amount=0.5, unit="mm")
    person.moves(part, step="arm_height")
    figure = person.told.figure("slide")
    assert figure is not None
    assert figure.value == pytest.approx(0.0, abs=0.05)


def moved_elsewhere(step: str, part: MovePart, *before: Read, on: Deck | None = None) -> Person:
    """Return somebody at a step that was good before something was moved in another one."""
    person = Person(step, on)
    person.reads(*before)
    assert person.told.verdict is Verdict.GOOD
    person.keep(StepAccepted(step=step, verdict=Verdict.GOOD))
    person.moves(part, step="level" if step == "arm_height" else "arm_height")
    return person


LITTLE: list[tuple[str, MovePart, Read, Read, str, float]] = [
    # A record 0.2 mm thicker lowers the rear by 0.15 over 180, and not by -8.
    (
        "arm_height",
        MovePart(control=Control.RECORD, amount=0.2, unit="mm"),
        heights(24.0, 24.0),
        heights(24.0, 32.0),
        "height",
        8.0,
    ),
    # A pillar 0.2 mm higher draws the stylus in by some hundredths, and not out by 4 mm.
    (
        "alignment",
        MovePart(control=Control.PILLAR, amount=0.2, unit="mm"),
        both(0.0),
        both(4.0),
        "slide",
        4.0,
    ),
]


@pytest.mark.parametrize(("step", "part", "before", "after", "key", "off"), LITTLE)
def test_what_a_move_elsewhere_does_not_explain_is_read_once_more_and_then_counts_alone(
    step: str, part: MovePart, before: Read, after: Read, key: str, off: float
) -> None:
    person = moved_elsewhere(step, part, *[before] * 3, on=high())
    answer = person.reads(after)
    assert answer.verdict is Verdict.READ_AGAIN
    assert not moved(answer)
    assert "far from what your entries would give" in said(answer.headline)
    figure = answer.figure(key)
    assert figure is not None
    assert abs(figure.value) < 0.2
    answer = person.reads(after)
    assert answer.verdict is Verdict.MOVE
    figure = answer.figure(key)
    assert figure is not None
    assert figure.value == pytest.approx(off, abs=0.02)


@pytest.mark.parametrize(("step", "part", "before", "after", "key", "off"), LITTLE)
def test_what_a_move_elsewhere_does_explain_counts_with_what_was_read_before(
    step: str, part: MovePart, before: Read, after: Read, key: str, off: float
) -> None:
    del after, off
    person = moved_elsewhere(step, part, *[before] * 3, on=high())
    known = person.told.figure(key)
    answer = person.reads(before)
    figure = answer.figure(key)
    assert answer.verdict is Verdict.GOOD
    assert known is not None
    assert figure is not None
    assert (figure.half_width or 0.0) < (known.half_width or 0.0) + 0.01


def test_a_slide_that_shows_nothing_is_asked_about_after_the_first_landing_was_withdrawn() -> None:
    """The landing was typed on the wrong side, and the screws hold the cartridge fast."""
    person = Person("alignment")
    person.reads({"way": "landing", "landing_mm": 4.4})
    wrong = person.fitting.entries[-1]
    person.obeys()
    person.reads({"way": "landing", "landing_mm": -4.2})
    person.keep(Withdrawn(entry=wrong.id))
    assert moved(person.told) == orders((Control.SLIDE, "", 4.2, "mm"), within=0.1)
    person.obeys()
    answer = person.reads({"way": "landing", "landing_mm": -4.4})
    assert answer.questions, said(answer.headline)
    assert answer.next_move is None
    # It is asked about once; held fast a second time, it ends.
    looked(person)
    person.obeys()
    answer = person.reads({"way": "landing", "landing_mm": -4.2})
    assert answer.verdict is Verdict.LEFT_AS_FOUND
