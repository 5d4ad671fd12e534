"""Fittings of one deck made of plain entries, for swaps to begin from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

from core.fitting import Body, Control, Entry, Finished, Fitting, MoveMade, MovePart, ReadingTaken
from core.records import Cartridge, Deck
from core.swap import Past, SwapPlan
from core.workflow import journey_of
from tests.worked import CHECKED, bubble, protractor, strobe

BEGAN = datetime(2024, 5, 6, 9, tzinfo=UTC)

Read = dict[str, Any]

LEFT: Mapping[str, tuple[Read, ...]] = {
    "level": (bubble("front-back", 0.0), bubble("left-right", 0.0)),
    "mount": (CHECKED,),
    "rough_downforce": ({"way": "scale", "downforce_gf": 2.0},),
    "arm_height": ({"way": "two heights", "front_mm": 27.0, "rear_mm": 27.0, "spacing_mm": 180.0},),
    "alignment": (protractor(0.0, 0.0),),
    "tilt": ({"way": "gaps", "left_mm": 2.0, "right_mm": 2.0},),
    "skating": ({"way": "setting", "setting": 2.0},),
    "final_downforce": ({"way": "scale", "downforce_gf": 2.0},),
    "speed": (strobe(0.0),),
}
"""A deck on which everything is right: one reading a step says so."""


def read(step: str, **values: Any) -> ReadingTaken:
    return ReadingTaken(step=step, reading=values)


def weighed(shown_gf: float, step: str = "final_downforce") -> ReadingTaken:
    return read(step, way="scale", downforce_gf=shown_gf)


def heights(rear_high_mm: float) -> ReadingTaken:
    """Heights of the tube, its rear high by so much over 180 mm."""
    rear = 20.0 + rear_high_mm
    return read("arm_height", way="two heights", front_mm=20.0, rear_mm=rear, spacing_mm=180.0)


def moved(step: str, control: Control, amount: float, unit: str, **more: Any) -> MoveMade:
    part = MovePart(control=control, amount=amount, unit=unit, **more)
    return MoveMade(step=step, parts=(part,))


def left(**instead: tuple[Body, ...]) -> list[Body]:
    """Return the entries of a deck left right, with other entries for some steps."""
    bodies: list[Body] = []
    for step, readings in LEFT.items():
        if step in instead:
            bodies += instead[step]
        else:
            bodies += [ReadingTaken(step=step, reading=reading) for reading in readings]
    return bodies


def past(
    on: Deck,
    fitted: Cartridge,
    bodies: Iterable[Body],
    *,
    number: int = 0,
    cartridge_id: str = "a",
    finished: bool = True,
    deck_revision: int = 1,
) -> Past:
    """Return a fitting with these entries, a minute apart; each number is a year later."""
    began = BEGAN + timedelta(days=365 * number)
    entries = [
        Entry(id=f"{number} {count}", at=began + timedelta(minutes=count), body=body)
        for count, body in enumerate((*bodies, *((Finished(),) if finished else ())), start=1)
    ]
    fitting = Fitting(
        id=f"fitting {number}",
        deck_id="d",
        deck_revision=deck_revision,
        cartridge_id=cartridge_id,
        cartridge_revision=1,
        started_at=began,
        entries=tuple(entries),
    )
    return Past(fitting, deck_revision, 1, journey_of(on, fitted, fitting))


def started(plan: SwapPlan, step: str, key: str) -> tuple[float | None, float, float]:
    """Return how far the control is moved, what is then foretold, and its half width."""
    told = [s for s in plan.starts if s.predicted is not None]
    (start,) = [s for s in told if (s.step, s.key) == (step, key)]
    assert start.predicted is not None
    assert start.half_width is not None
    return (start.part.amount if start.part else None), start.predicted, start.half_width
