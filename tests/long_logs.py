"""Fittings whose logs have grown to thousands of entries, as hands at play or a long winter make.

Nothing is judged while they are made: entries are drawn at random from what a person may enter at
every step, so that a log holds readings that agree and that contradict each other, moves, what was
withdrawn and brought back, settings kept with a reason, choices and notes.
"""

from __future__ import annotations

import math
import random
from datetime import timedelta
from typing import Any, Final

from pydantic import ValidationError

from core.fitting import (
    Body,
    Control,
    Entry,
    Finished,
    Fitting,
    HoursRead,
    MoveMade,
    MovePart,
    NoteWritten,
    ReadingTaken,
    StepAccepted,
    Verdict,
    Withdrawn,
)
from core.records import FieldKind, FieldSpec, fields_of
from core.steps import STEP_NAMES, step_named, ways_of
from core.steps.skating.readings import Broke
from tests.kit import BEGAN
from tests.worked import CHECKED, Read, protractor

APART: Final = 10.0
"""How many times as far apart readings are that contradict each other."""


def _of_level(chance: random.Random, spread: float) -> Read:
    direction = chance.choice(("front-back", "left-right"))
    amount = chance.gauss(0.0, 0.3 * spread)
    if chance.random() < 0.3:
        return {"way": "inclinometer", "direction": direction, "angle_deg": 0.05 * amount}
    turned = chance.random() < 0.5
    return {"way": "bubble", "direction": direction, "divisions": amount, "turned": turned}


def _of_skating(chance: random.Random, spread: float) -> Read:
    setting = abs(2.0 + chance.gauss(0.0, 0.05 * spread))
    if chance.random() < 0.5:
        return {"way": "setting", "setting": setting}
    return {
        "way": "test bands",
        "setting": setting,
        "broke_first": chance.choice(tuple(one.value for one in Broke)),
    }


def any_reading(step: str, chance: random.Random) -> Read:
    """Draw a reading of any way that is typed, each field anywhere in what is usual for it."""
    while True:
        way, variant = chance.choice(list(ways_of(step_named(step)).items()))
        drawn: Read = {"way": way}
        for spec in fields_of(variant):
            value = _drawn(spec, chance)
            if value is not None:
                drawn[spec.name] = value
        try:
            return variant.model_validate(drawn).model_dump(mode="json")
        except ValidationError:
            continue


def _drawn(spec: FieldSpec, chance: random.Random) -> Any:
    if spec.limits is not None:
        low, high = spec.limits.usual or (spec.limits.low, spec.limits.high)
        if spec.kind is FieldKind.NUMBER:
            return chance.uniform(low, high)
        if spec.kind is FieldKind.WHOLE:
            return chance.randint(math.ceil(low), math.floor(high))
    if spec.kind is FieldKind.CHOICE:
        return chance.choice(tuple(spec.choices))
    return chance.random() < 0.5 if spec.kind is FieldKind.FLAG else None


def _reading(step: str, chance: random.Random, spread: float) -> Read:
    around: dict[str, Any] = {
        "level": lambda: _of_level(chance, spread),
        "mount": lambda: CHECKED,
        "rough_downforce": lambda: _scale(chance, spread),
        "arm_height": lambda: {
            "way": "two heights",
            "front_mm": 27.0 + chance.gauss(0.0, 0.2 * spread),
            "rear_mm": 27.0 + chance.gauss(0.0, 0.2 * spread),
            "spacing_mm": 180.0,
        },
        "alignment": lambda: protractor(
            chance.gauss(0.0, 0.1 * spread), chance.gauss(0.0, 0.1 * spread)
        ),
        "tilt": lambda: {
            "way": "gaps",
            "left_mm": abs(2.0 + chance.gauss(0.0, 0.05 * spread)),
            "right_mm": abs(2.0 + chance.gauss(0.0, 0.05 * spread)),
        },
        "skating": lambda: _of_skating(chance, spread),
        "final_downforce": lambda: _scale(chance, spread),
        "speed": lambda: {
            "way": "readout",
            "speed_rpm": chance.choice((33.333333, 45.0)),
            "rpm": 33.333333 * (1.0 + chance.gauss(0.0, 0.0005 * spread)),
            "minutes_running": 15.0,
        },
    }
    return around[step]()


def _scale(chance: random.Random, spread: float) -> Read:
    return {"way": "scale", "downforce_gf": abs(2.0 + chance.gauss(0.0, 0.03 * spread))}


_MOVES: Final = {
    "level": (Control.FOOT, "turns", ("front left", "front right", "rear")),
    "rough_downforce": (Control.COUNTERWEIGHT, "turns", ("",)),
    "arm_height": (Control.PILLAR, "mm", ("",)),
    "alignment": (Control.SLIDE, "mm", ("",)),
    "tilt": (Control.TILT, "turns", ("",)),
    "skating": (Control.SKATING, "gf", ("",)),
    "final_downforce": (Control.COUNTERWEIGHT, "turns", ("",)),
    "speed": (Control.SPEED, "turns", ("",)),
}


def _move(step: str, chance: random.Random) -> MoveMade:
    control, unit, places = _MOVES[step]
    part = MovePart(
        control=control,
        amount=round(chance.gauss(0.0, 0.2), 3) or 0.1,
        unit=unit,
        where=chance.choice(places),
    )
    return MoveMade(step=step, parts=(part,), note=chance.choice(("", "", "as told")))


def long_bodies(
    count: int,
    *,
    steps: tuple[str, ...] = STEP_NAMES,
    contradicting: bool = False,
    only_readings: bool = False,
    any_way: bool = False,
    seed: int = 1,
) -> list[Body]:
    """Return what so many entries hold; a withdrawal names the entry ``n<its place>``."""
    chance = random.Random(seed)
    spread = APART if contradicting else 1.0
    found: list[Body] = []
    for place in range(count):
        # In the order of the steps, so that every step is open at the end.
        step = steps[min(len(steps) - 1, place * len(steps) // count)]
        kind = 0.0 if only_readings else chance.random()
        body: Body
        if kind < 0.6 or step not in _MOVES:
            read = any_reading(step, chance) if any_way else _reading(step, chance, spread)
            body = ReadingTaken(step=step, reading=read)
        elif kind < 0.75:
            body = _move(step, chance)
        elif kind < 0.85 and place:
            body = Withdrawn(entry=f"n{chance.randrange(place)}")
        elif kind < 0.9:
            body = StepAccepted(step=step, verdict=Verdict.MOVE, reason="left so")
        elif kind < 0.95:
            body = NoteWritten(step=chance.choice((step, "")), text="A word of somebody's own.")
        else:
            body = HoursRead(hours=100.0)
        found.append(body)
    return found


def long_fitting(
    count: int,
    *,
    name: str = "f",
    deck_id: str = "d",
    cartridge_id: str = "c",
    finished: bool = False,
    **how: Any,
) -> Fitting:
    """Return a fitting of so many entries and one acceptance a step, an entry in two minutes."""
    steps = how.get("steps", STEP_NAMES)
    bodies = long_bodies(count, **how)
    bodies += [StepAccepted(step=one, verdict=Verdict.MOVE, reason="left so") for one in steps]
    bodies += [Finished()] if finished else []
    entries = tuple(
        Entry(
            id=f"{name}n{place}",
            at=BEGAN + timedelta(minutes=2 * place),
            who="A. Tester",
            body=body,
        )
        for place, body in enumerate(_named(bodies, name))
    )
    return Fitting(
        id=name,
        deck_id=deck_id,
        deck_revision=1,
        cartridge_id=cartridge_id,
        cartridge_revision=1,
        started_at=BEGAN,
        who="A. Tester",
        entries=entries,
    )


def _named(bodies: list[Body], name: str) -> list[Body]:
    return [
        one.model_copy(update={"entry": f"{name}{one.entry}"})
        if isinstance(one, Withdrawn)
        else one
        for one in bodies
    ]
