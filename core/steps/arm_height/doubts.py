"""Heights that determine no pitch: places too close, too low, or front and rear exchanged."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from core.fitting import Context, Control, NextReading, Reading
from core.language import Message, Quantity, message
from core.records import MILLIMETRES_PER_INCH
from core.steps.arm_height.effects import disturbed_by
from core.steps.arm_height.readings import NAME, HeightsRead
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

_LEAST_ROOM: Final = 1 / 3
"""A tube lower than this share of the cartridge's body is likelier a slip: our own allowance."""

_HIGHEST_MM: Final = 120.0
"""No tube lies higher: a figure that would as inches was not read in inches. Our own allowance."""

_MOST_MM: Final = 80.0
"""A tube higher than this over the record is likelier measured from elsewhere: our own."""

_ALIKE_MM: Final = 0.05
"""Heights typed again, and not read from another place."""


def doubts_of(context: Context) -> dict[int, Doubt]:
    """Return the questions about heights, by the readings' indexes among the trials."""
    least = _LEAST_SHARE * context.deck.arm.effective_length_mm
    trials = context.log.get(NAME, ())
    doubts: dict[int, Doubt] = {}
    for place, trial in enumerate(trials):
        reading = trial.reading
        if isinstance(reading, HeightsRead) and reading.spacing_mm < least:
            question = message(
                "arm_height.places_too_close",
                apart=Quantity(reading.spacing_mm, "mm", 0),
                least=Quantity(least, "mm", 0),
            )
            doubts[place] = Doubt(question, NextReading(way=reading.way))
    doubts |= _out_of_place(context)
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


def _out_of_place(context: Context) -> dict[int, Doubt]:
    """Return the questions about heights that leave no room for the cartridge, or are too high.

    They count once they were read twice alike.
    """
    least = _LEAST_ROOM * context.cartridge.body_height_mm
    odd = {
        place: trial.reading
        for place, trial in enumerate(context.log.get(NAME, ()))
        if isinstance(trial.reading, HeightsRead)
        and not least <= trial.reading.lowest_mm <= trial.reading.highest_mm <= _MOST_MM
    }
    return {
        place: _asked_of_low(reading) if reading.lowest_mm < least else _asked_of_high(reading)
        for place, reading in odd.items()
        if not any(reading.is_like(other, _ALIKE_MM) for at, other in odd.items() if at != place)
    }


def _asked_of_low(reading: HeightsRead) -> Doubt:
    low = Quantity(reading.lowest_mm, "mm", 1)
    question = message("arm_height.doubt.too_low", height=low)
    front, rear = (MILLIMETRES_PER_INCH * one for one in (reading.front_mm, reading.rear_mm))
    if max(front, rear) > _HIGHEST_MM or reading.lowest_mm <= 0.0:
        note = message("arm_height.doubt.so_low")
    else:
        heights = {"front": Quantity(front, "mm", 1), "rear": Quantity(rear, "mm", 1)}
        note = message("arm_height.doubt.in_inches", **heights)
    return Doubt(question, NextReading(way=reading.way), notes=(note,))


def _asked_of_high(reading: HeightsRead) -> Doubt:
    question = message("arm_height.doubt.too_high", height=Quantity(reading.highest_mm, "mm", 1))
    note = message("arm_height.doubt.so_high")
    return Doubt(question, NextReading(way=reading.way), notes=(note,))


def _said(when: str, reading: Reading) -> Message:
    """Return an answer to the question whether front and rear changed places."""
    front = Quantity(getattr(reading, "front_mm", 0.0), "mm", 1)
    rear = Quantity(getattr(reading, "rear_mm", 0.0), "mm", 1)
    return message("arm_height.exchanged", when=when, front=front, rear=rear)


def counted(context: Context) -> Context:
    """Return the context with only the readings that tell a pitch."""
    return without(context, NAME, doubts_of(context))
