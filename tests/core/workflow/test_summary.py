"""What a fitting comes to: as found, as left, overruled and why."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from core.fitting import (
    Body,
    Control,
    Entry,
    Fitting,
    Journey,
    MoveMade,
    MovePart,
    NoteWritten,
    ReadingTaken,
    StepAccepted,
    StepState,
    Verdict,
)
from core.steps import STEP_NAMES
from core.workflow.replay import journey_of
from core.workflow.summary import as_found, general_notes_of, outcomes_of
from tests.examples import cartridge, deck

FOOT = MovePart(control=Control.FOOT, amount=1.0, unit="turns", where="rear", equivalent_mm=1.25)


def bubble(direction: str, divisions: float) -> ReadingTaken:
    values: dict[str, Any] = {"way": "bubble", "direction": direction, "divisions": divisions}
    return ReadingTaken(step="level", reading=values)


def journey(*bodies: Body) -> Journey:
    fitting = Fitting(
        id="f",
        deck_id="d",
        deck_revision=1,
        cartridge_id="c",
        cartridge_revision=1,
        started_at=datetime(2026, 1, 1, tzinfo=UTC),
        entries=tuple(Entry(body=body) for body in bodies),
    )
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
