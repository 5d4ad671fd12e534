"""What a fitting comes to: as found, as left, overruled and why."""

from __future__ import annotations

from typing import Any

import pytest

from core.fitting import (
    Body,
    Control,
    Entry,
    Journey,
    MoveMade,
    MovePart,
    NoteWritten,
    ReadingTaken,
    StepAccepted,
    StepState,
    Verdict,
    Work,
)
from core.language import Numbers
from core.steps import STEP_NAMES
from core.workflow import StepOutcome, work_asked
from core.workflow.replay import journey_of
from core.workflow.summary import as_found, general_notes_of, outcomes_of
from tests.examples import cartridge, deck, log_of

FOOT = MovePart(control=Control.FOOT, amount=1.0, unit="turns", where="rear", equivalent_mm=1.25)


def bubble(direction: str, divisions: float) -> ReadingTaken:
    values: dict[str, Any] = {"way": "bubble", "direction": direction, "divisions": divisions}
    return ReadingTaken(step="level", reading=values)


def journey(*bodies: Body) -> Journey:
    fitting = log_of(*(Entry(body=body) for body in bodies))
    return journey_of(deck(), cartridge(), fitting)


FOUND = (bubble("front-back", 8.0), bubble("left-right", 0.0))
LEFT = (bubble("front-back", 0.0), bubble("left-right", 0.0))


def test_as_found_is_what_was_read_before_anything_was_moved() -> None:
    whole = journey(*FOUND, MoveMade(step="level", parts=(FOOT,)), *LEFT)
    (tilt, *_) = (pair for pair in outcomes_of(whole)[0].figures if pair.either.key == "tilt")
    assert tilt.before is not None
    assert tilt.after is not None
    # 8 divisions of 0.5 mm/m are 4 mm/m (derived: the example deck's bubble).
    assert abs(tilt.before.value - 4.0) < 0.1
    assert tilt.after.value < 0.1
    assert outcomes_of(whole)[0].moves == 1


def test_what_was_found_is_told_also_while_nothing_was_read_since_the_move() -> None:
    outcome = outcomes_of(journey(*FOUND, MoveMade(step="level", parts=(FOOT,))))[0]
    pair = next(pair for pair in outcome.figures if pair.either.key == "tilt")
    assert pair.before is not None
    assert pair.after is None
    assert pair.label == pair.before.label


def weighed(step: str, downforce_gf: float) -> ReadingTaken:
    return ReadingTaken(step=step, reading={"way": "scale", "downforce_gf": downforce_gf})


def outcome(whole: Journey, step: str) -> StepOutcome:
    return next(one for one in outcomes_of(whole) if one.step == step)


def found_and_left(whole: Journey, step: str, key: str) -> tuple[float | None, float | None]:
    pair = next(one for one in outcome(whole, step).figures if one.either.key == key)
    return pair.before and pair.before.value, pair.after and pair.after.value


COUNTERWEIGHT = MovePart(control=Control.COUNTERWEIGHT, amount=-4.5, unit="turns")


def test_downforce_was_found_where_it_was_first_weighed_not_at_the_last_step() -> None:
    moved = MoveMade(step="rough_downforce", parts=(COUNTERWEIGHT,))
    last = (weighed("final_downforce", 2.01),) * 3
    whole = journey(weighed("rough_downforce", 4.0), moved, weighed("rough_downforce", 2.03), *last)
    found, left = found_and_left(whole, "final_downforce", "downforce")
    assert found == pytest.approx(4.0)
    assert left == pytest.approx(2.01)
    first = whole.fitting.entries[0]
    told = outcome(whole, "final_downforce").when_found
    assert told is not None
    clock = first.at.astimezone().strftime("%H:%M")
    assert Numbers().text(told) == f"First read on {first.at.astimezone().date()} at {clock}."


def test_nobody_found_what_was_set_before_it_was_read() -> None:
    moved = MoveMade(step="rough_downforce", parts=(COUNTERWEIGHT,))
    whole = journey(moved, weighed("rough_downforce", 2.0), weighed("final_downforce", 2.0))
    assert found_and_left(whole, "final_downforce", "downforce")[0] is None
    assert outcome(whole, "final_downforce").when_found is None


def test_a_short_job_found_what_it_weighed_first() -> None:
    whole = journey(work_asked(Work.DOWNFORCE), weighed("final_downforce", 1.8))
    assert found_and_left(whole, "final_downforce", "downforce")[0] == pytest.approx(1.8)


def test_nobody_found_the_resonance_worked_out_for_the_new_cartridge() -> None:
    light, heavy = (
        ReadingTaken(step="mount", reading={"way": "weighed", "weighed_g": mass})
        for mass in (4.0, 10.0)  # 7 g are stated; half as much again is believed at once
    )
    whole = journey(light, heavy)
    found, left = found_and_left(whole, "mount", "resonance")
    assert found is None
    assert outcome(whole, "mount").when_found is None
    before = found_and_left(journey(light), "mount", "resonance")[1]
    assert left is not None
    assert before is not None
    # More mass on the same suspension resonates lower: the square root of stiffness by mass.
    assert before > left + 0.5


def test_nothing_is_found_where_nothing_was_read_first() -> None:
    assert as_found(journey(), "level") is None
    assert as_found(journey(MoveMade(step="level", parts=(FOOT,)), *LEFT), "level") is None


def test_an_overruled_step_says_so_with_its_reason_and_its_notes() -> None:
    now = journey(*FOUND).status("level").assessment
    whole = journey(
        *FOUND,
        StepAccepted(step="level", verdict=now.verdict, reason="old shelf"),
        NoteWritten(step="level", text="shelf to be mended"),
        NoteWritten(text="owner waits outside"),
    )
    outcome = outcomes_of(whole)[0]
    assert outcome.state is StepState.KEPT
    assert outcome.was_overridden
    assert outcome.reason == "old shelf"
    assert outcome.notes == ("shelf to be mended",)
    assert general_notes_of(whole) == ("owner waits outside",)


def test_every_step_has_its_outcome_in_order() -> None:
    outcomes = outcomes_of(journey())
    assert tuple(outcome.step for outcome in outcomes) == STEP_NAMES
    assert outcomes[0].verdict is Verdict.NO_READING
    assert not any(outcome.was_left or outcome.was_overridden for outcome in outcomes)
