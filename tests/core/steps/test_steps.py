"""What holds for every step alike, on any deck, with any readings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.drawing.chart import Curve, Picture, Points
from core.fitting import Assessment, Context, Guard, Verdict
from core.language import Message, Numbers
from core.records import Cartridge, Deck
from core.steps import STEP_NAMES, STEPS, Step, step_named
from tests.strategies import cartridges, decks, trials
from tests.worded import worded

pytestmark = pytest.mark.long

each_step = pytest.mark.parametrize("step", STEPS, ids=lambda step: step.NAME)


def judged(step: Step, context: Context) -> Assessment:
    assessment: Assessment = worded(step.assess(context))
    check_picture(assessment.picture)
    assert assessment.headline.strip()
    assert "nan" not in assessment.headline.lower().split()
    if assessment.verdict is Verdict.MOVE:
        assert assessment.next_move is not None, assessment.headline
    for figure in assessment.figures:
        assert np.isfinite(figure.value), figure
        assert figure.half_width is None or figure.half_width >= 0, figure
    return assessment


def check_picture(picture: Picture) -> None:
    assert picture.title
    assert picture.summary
    for axis in (picture.x, picture.y):
        assert np.isfinite([axis.low, axis.high]).all()
        assert axis.low < axis.high
        assert axis.label or not axis.shown
    for item in picture.items:
        label = getattr(item, "label", "") or ""
        assert label[:1] == label[:1].upper(), f"legends begin with a capital: {label}"
        if isinstance(item, Curve | Points):
            assert item.x.shape == item.y.shape


@each_step
@given(data=st.data())
@settings(max_examples=60)
def test_any_readings_on_any_deck_get_an_answer(step: Step, data: st.DataObject) -> None:
    context = Context(
        step=step.NAME,
        deck=data.draw(decks()),
        cartridge=data.draw(cartridges()),
        log={step.NAME: data.draw(trials(step))},
        chosen={other.NAME: other.Chosen() for other in STEPS},
    )
    judged(step, context)


@each_step
def test_with_no_reading_nothing_is_claimed(
    step: Step, example_deck: Deck, example_cartridge: Cartridge
) -> None:
    context = Context(
        step=step.NAME,
        deck=example_deck,
        cartridge=example_cartridge,
        chosen={other.NAME: other.Chosen() for other in STEPS},
    )
    assert judged(step, context).verdict is Verdict.NO_READING


@each_step
@given(data=st.data())
@settings(max_examples=25)
def test_a_decimal_comma_reaches_every_sentence(step: Step, data: st.DataObject) -> None:
    point = Context(
        step=step.NAME,
        deck=data.draw(decks()),
        cartridge=data.draw(cartridges()),
        log={step.NAME: data.draw(trials(step))},
        chosen={other.NAME: other.Chosen() for other in STEPS},
    )
    answer = step.assess(point)
    english, german = worded(answer), worded(answer, Numbers(","))
    assert english.verdict is german.verdict
    for ours, theirs in zip(sentences(english), sentences(german), strict=True):
        assert ours.replace(",", "").replace(".", "") == theirs.replace(",", "").replace(".", "")
        assert not has_decimal_point(theirs), theirs


TOLD = {
    *("headline", "notes", "method", "sentence", "predicted", "reason", "why"),
    *("label", "note", "title", "summary", "scale_note", "text"),
}
"""Fields of an answer that a person is shown."""


def loose_sentences(answer: Any, name: str = "") -> Iterator[str]:
    """Yield what an answer says in words of its own instead of by a message."""
    if isinstance(answer, Message):
        return
    if isinstance(answer, str) and name in TOLD and answer:
        yield f"{name}: {answer}"
    elif isinstance(answer, tuple | list):
        for one in answer:
            yield from loose_sentences(one, name)
    elif is_dataclass(answer):
        for one in fields(answer):
            yield from loose_sentences(getattr(answer, one.name), one.name)
        if isinstance(answer, Assessment):
            yield from loose_sentences(answer.picture)


@pytest.mark.parametrize("name", STEP_NAMES)
@given(data=st.data())
@settings(max_examples=40)
def test_an_answer_is_data_and_needs_no_numbers(name: str, data: st.DataObject) -> None:
    step = step_named(name)
    context = Context(
        step=name,
        deck=data.draw(decks()),
        cartridge=data.draw(cartridges()),
        log={name: data.draw(trials(step))},
        chosen={other.NAME: other.Chosen() for other in STEPS},
    )
    answer = step.assess(context)
    feet = {foot.name for foot in context.deck.plinth.feet}  # a person's own words
    said = (answer, step.applies(context.deck, context.cartridge))
    assert [one for one in loose_sentences(said) if one.partition(": ")[2] not in feet] == []
    assert all(isinstance(guard, Guard) for guard in answer.cautions)
    if answer.verdict in (Verdict.NO_READING, Verdict.READ_AGAIN) and name != "mount":
        assert answer.next_reading is not None
        assert answer.next_reading.why


def sentences(assessment: Assessment) -> list[str]:
    move = assessment.next_move
    moves = [move.sentence, move.predicted, move.reason] if move else []
    told = [assessment.headline, *assessment.notes, *moves, assessment.picture.summary]
    return [one for one in told if one]


def has_decimal_point(sentence: str) -> bool:
    return any(
        sign == "." and sentence[i - 1].isdigit() and sentence[i + 1].isdigit()
        for i, sign in enumerate(sentence[1:-1], start=1)
    )
