"""Heights that determine no pitch: places too close together, or front and rear exchanged."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from core.fitting import Context, Control, NextReading, Reading
from core.language import Message, Quantity, message
from core.steps.arm_height.effects import disturbed_by
from core.steps.arm_height.readings import NAME, TaperedTube, TwoHeights
from core.steps.arm_height.state import control_of, height_of, lifted_by
from core.steps.shared import (
    Doubt,
    Exchangeable,
    asked_of_exchange,
    exchanges,
    history,
    without,
)

_LEAST_SHARE: Final = 0.25
"""Places closer than this share of the arm's length magnify the ruler's error more than fourfold
at the pillar: our own allowance."""


def doubts_of(context: Context) -> dict[int, Doubt]:
    """Return the questions about heights, by the readings' indexes among the trials."""
    least = _LEAST_SHARE * context.deck.arm.effective_length_mm
    trials = context.log.get(NAME, ())
    doubts: dict[int, Doubt] = {}
    for place, trial in enumerate(trials):
        reading = trial.reading
        if isinstance(reading, TwoHeights | TaperedTube) and reading.spacing_mm < least:
            question = message(
                "arm_height.places_too_close",
                apart=Quantity(reading.spacing_mm, "mm", 0),
                least=Quantity(least, "mm", 0),
            )
            doubts[place] = Doubt(question, NextReading(way=reading.way))
    told = without(context, NAME, doubts)
    mm_per_turn = context.deck.height.mm_per_turn
    how = Exchangeable(
        ("front_mm", "rear_mm"),
        lambda reading: height_of(reading, context),
        lambda trial: lifted_by(trial.moves, mm_per_turn),
        control_of(context),
    )
    places = {id(trial): place for place, trial in enumerate(trials)}
    for trial, before in exchanges(history(replace(told, step=NAME), disturbed_by), how):
        question = message("arm_height.doubt.exchanged")
        doubts[places[id(trial)]] = asked_of_exchange(
            how, Control.PILLAR, trial, before, question, _said
        )
    return doubts


def _said(when: str, reading: Reading) -> Message:
    """Return an answer to the question whether front and rear changed places."""
    front = Quantity(getattr(reading, "front_mm", 0.0), "mm", 1)
    rear = Quantity(getattr(reading, "rear_mm", 0.0), "mm", 1)
    return message("arm_height.exchanged", when=when, front=front, rear=rear)


def counted(context: Context) -> Context:
    """Return the context with only the readings that tell a pitch."""
    return without(context, NAME, doubts_of(context))
