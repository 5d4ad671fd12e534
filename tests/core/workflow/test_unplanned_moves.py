"""A move that nobody proposed: what is offered, where it is kept, and that every step copes."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.fitting import (
    Body,
    Context,
    Control,
    Entry,
    Journey,
    MoveMade,
    ReadingTaken,
    StepAccepted,
    Trial,
    Verdict,
)
from core.language import Numbers
from core.records import Cartridge, Deck
from core.steps import STEP_NAMES, STEPS, step_named
from core.steps.shared import Movable, control_name
from core.workflow.descriptions import described_part
from core.workflow.refusals import why_refused
from core.workflow.replay import journey_of
from core.workflow.unplanned_moves import home_of, movables
from tests.examples import log_of
from tests.strategies import cartridges, decks, trials
from tests.worded import worded

BEGAN = datetime(2025, 3, 4, 9, 30, tzinfo=UTC)


def named(found: tuple[Movable, ...], control: Control, where: str = "") -> Movable:
    (one,) = (m for m in found if m.control is control and (not where or m.where == where))
    return one


def journey_with(deck: Deck, cartridge: Cartridge, *bodies: Body) -> Journey:
    fitting = log_of(began=BEGAN)
    for count, body in enumerate(bodies):
        entry = Entry(id=f"e{count}", at=BEGAN + timedelta(minutes=count), body=body)
        fitting = fitting.with_entry(entry)
    return journey_of(deck, cartridge, fitting)


def weighed(downforce_gf: float) -> ReadingTaken:
    reading = {"way": "scale", "downforce_gf": downforce_gf}
    return ReadingTaken(step="rough_downforce", reading=reading)


def kept(step: str) -> StepAccepted:
    return StepAccepted(step=step, verdict=Verdict.NO_READING, reason="left so here")


@given(data=st.data(), step=st.sampled_from(STEP_NAMES))
@settings(max_examples=60, deadline=None)
def test_every_step_copes_with_any_move_a_deck_allows(data: st.DataObject, step: str) -> None:
    deck, cartridge = data.draw(decks()), data.draw(cartridges())
    moved = data.draw(st.sampled_from(movables(deck, cartridge, step)))
    amount = data.draw(st.floats(-moved.farthest, moved.farthest).filter(bool))
    home = step if step in moved.homes else moved.homes[0]
    part = moved.part(amount)
    before = data.draw(trials(step_named(home)))
    trial = Trial("other", BEGAN + timedelta(days=1), "", moves=(part,))
    log = {home: (*before, trial)}
    for judged in STEPS:
        said = judged.assess(
            Context(
                step=judged.NAME,
                deck=deck,
                cartridge=cartridge,
                log=log,
                chosen={other.NAME: other.Chosen() for other in STEPS},
            )
        )
        assert worded(said.headline).strip()
    told = Numbers().text(described_part(part))
    assert told.startswith(Numbers().text(control_name(part.control, part.unit)))
    assert "−" not in told, "a direction is said in words"


def test_what_belongs_to_the_step_is_offered_first(
    example_deck: Deck, example_cartridge: Cartridge
) -> None:
    for step in STEP_NAMES:
        offered = movables(example_deck, example_cartridge, step)
        own = [step in one.homes for one in offered]
        assert own == sorted(own, reverse=True), step
        assert any(own), step


def test_every_direction_is_the_one_the_control_is_named_by(
    example_deck: Deck, example_cartridge: Cartridge
) -> None:
    for one in movables(example_deck, example_cartridge, "level"):
        if one.ways:
            assert one.control.label.endswith(worded(one.ways[0]))
            assert one.ways[0] != one.ways[1]


def test_a_counterweight_turned_unasked_is_told_by_the_next_weighing(
    example_deck: Deck, example_cartridge: Cartridge
) -> None:
    weight = named(
        movables(example_deck, example_cartridge, "rough_downforce"), Control.COUNTERWEIGHT
    )
    start = (kept("level"), kept("mount"), weighed(1.0))
    before = journey_with(example_deck, example_cartridge, *start)
    part = weight.part(0.5)
    body = MoveMade(step="rough_downforce", parts=(part,), note="slipped")
    assert why_refused(before, body) is None
    after = journey_with(example_deck, example_cartridge, *start, body)
    assert not after.gate.is_open
    said = after.status("rough_downforce").assessment
    assert said.verdict is Verdict.READ_AGAIN
    told = said.figure("predicted_downforce")
    assert told is not None
    assert told.value > 1.0, "toward the pivot is heavier at the stylus"


@pytest.mark.parametrize("here", ["level", "rough_downforce", "alignment", "speed"])
def test_a_move_is_kept_in_a_step_it_belongs_to_where_one_is_open(
    example_deck: Deck, example_cartridge: Cartridge, here: str
) -> None:
    journey = journey_with(
        example_deck, example_cartridge, kept("level"), kept("mount"), weighed(2.0)
    )
    found = movables(example_deck, example_cartridge, here)
    assert home_of(named(found, Control.COUNTERWEIGHT), journey, here) == "rough_downforce"
    foot = next(one for one in found if one.control is Control.FOOT)
    assert home_of(foot, journey, here) == "level"
    # skating is not open yet: then it stays where it was told, and is not lost
    assert home_of(named(found, Control.SKATING), journey, here) == here
