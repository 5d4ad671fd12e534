"""Any two cartridges on any deck, with any log behind them: always an answer."""

from __future__ import annotations

import json
import math
import re

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter

from core.fitting import Body, Control, Entry, MoveMade, MovePart, Planned, ReadingTaken
from core.language import Numbers
from core.records import Cartridge, Deck
from core.steps import STEP_NAMES, STEPS
from core.store.documents import DocumentFitting
from core.swap import Past, SwapPlan, compare, plan_swap
from core.swap.learned_gains import learned_gains
from core.workflow import described, journey_of
from tests.core.swap.swaps import left, past
from tests.examples import cartridge, deck
from tests.strategies import cartridges, decks, readings
from tests.worded import worded

COMMA = Numbers(",")
POINT_IN_A_NUMBER = re.compile(r"\d\.\d")

PARTS = st.builds(
    MovePart,
    control=st.sampled_from(Control),
    amount=st.floats(-20, 20),
    unit=st.sampled_from(["mm", "turns", "°", "gf", ""]),
    where=st.sampled_from(["", "front left", "33"]),
    equivalent_mm=st.one_of(st.none(), st.floats(-20, 20)),
)


@st.composite
def bodies(draw: st.DrawFn) -> list[Body]:
    """Draw a log: a whole fitting, with anything read and moved besides."""
    drawn: list[Body] = left() if draw(st.booleans()) else []
    for _ in range(draw(st.integers(0, 8))):
        step = draw(st.sampled_from(STEPS))
        if draw(st.booleans()):
            reading = draw(readings(step))
            drawn.append(ReadingTaken(step=step.NAME, reading=reading.model_dump(mode="json")))
        else:
            parts = tuple(draw(st.lists(PARTS, min_size=1, max_size=2)))
            drawn.append(MoveMade(step=step.NAME, parts=parts))
    return drawn


def sentences(plan: SwapPlan) -> list[str]:
    planned, plan = plan.planned(), worded(plan, COMMA)
    said = [row.value for row in plan.was]
    said += [part for one in plan.runs_out for part in (one.sentence, one.cure)]
    said += [one.reason for one in plan.due]
    said += [*plan.warnings, plan.resonance_words, plan.cannot_fit or ""]
    return [*said, COMMA.text(described(planned))]


def check(plan: SwapPlan) -> None:
    assert [one.step for one in plan.due] == list(STEP_NAMES)
    assert all(one.reason for one in plan.due)
    for text in sentences(plan):
        assert not POINT_IN_A_NUMBER.search(text), text
        assert not re.search(r"\b(nan|inf)\b", text), text
    for start in plan.starts:
        assert start.step in STEP_NAMES
        assert start.reason or start.spared
        assert not re.search(r"[1-9]", start.reason), start.reason  # kept, so without numbers
        assert (start.predicted is None) == (start.half_width is None)
        if start.predicted is not None and start.half_width is not None:
            assert math.isfinite(start.predicted)
            assert math.isfinite(start.half_width)
            assert start.half_width > 0.0
        if start.part is not None:
            assert math.isfinite(start.part.amount)
            assert start.part.amount != 0.0
    for gain in plan.gains:
        assert gain.half_width < abs(gain.value)
        assert gain.samples >= 2
    if plan.cannot_fit:
        assert plan.starts == ()


def test_a_shim_thinner_than_is_ever_said_is_not_put_in_again() -> None:
    shim = MovePart(control=Control.HEAD_SHIM, amount=1e-9, unit="mm")
    on, head = deck(), cartridge()
    first = past(on, head, [MoveMade(step="level", parts=(shim,))], number=0, cartridge_id="b")
    old = past(on, head, left(), number=1)
    check(plan_swap(on, old, head, (first, old), new_cartridge_id="b"))


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(decks(), decks(), cartridges(), cartridges(), bodies(), bodies())
def test_a_plan_answers_whatever_it_is_made_of(
    then: Deck, now: Deck, old_in: Cartridge, new: Cartridge, one: list[Body], other: list[Body]
) -> None:
    first = past(then, new, other, number=0, cartridge_id="b")
    old = past(then, old_in, one, number=1)
    history: list[Past] = [first, old]
    for plan in (
        plan_swap(then, old, new, ()),
        plan_swap(now, old, new, history),
        plan_swap(then, old, new, history, new_cartridge_id="b"),
    ):
        check(plan)
    learned_gains(history)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(decks(), cartridges(), cartridges(), bodies(), bodies())
def test_what_was_foretold_is_compared_whatever_was_read(
    on: Deck, old_in: Cartridge, new: Cartridge, one: list[Body], other: list[Body]
) -> None:
    old = past(on, old_in, one)
    planned = plan_swap(on, old, new, ()).planned()
    begun = past(on, new, [planned, *other], number=1, cartridge_id="b")
    told = worded(compare(begun.journey), COMMA)
    assert len(told) == sum(start.predicted is not None for start in planned.starts)
    for foretold in told:
        assert foretold.label
        assert foretold.sentence.endswith(".")
        assert not POINT_IN_A_NUMBER.search(foretold.sentence), foretold.sentence
        if foretold.found is not None:
            assert foretold.error == foretold.found - foretold.predicted
    again = plan_swap(on, begun, old_in, [old, begun], new_cartridge_id="a")
    check(again)


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(decks(), cartridges(), cartridges(), bodies())
def test_a_plan_survives_being_written_and_read(
    on: Deck, old_in: Cartridge, new: Cartridge, one: list[Body]
) -> None:
    planned = plan_swap(on, past(on, old_in, one), new).planned()
    body = TypeAdapter(Body).validate_json(json.dumps(planned.model_dump(mode="json")))
    assert isinstance(body, Planned)
    assert body == planned
    begun = past(on, new, [], number=1).fitting
    kept = begun.with_entry(Entry(body=body))
    read = DocumentFitting.model_validate_json(DocumentFitting(**dict(kept)).model_dump_json())
    assert read.planned == planned
    gains = journey_of(on, new, kept).context("level").gains
    assert gains == planned.gains
