"""Fittings of one deck over the years, written straight into logs: nobody has to work them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Any

from core.fitting import (
    Body,
    Control,
    Entry,
    Finished,
    Fitting,
    HoursRead,
    MoveMade,
    MovePart,
    ReadingTaken,
    StepAccepted,
    Verdict,
)
from core.language import Numbers
from core.records import Cartridge, Deck
from core.steps.shared.swap_part import Past
from core.store import Library
from core.workflow.replay import journey_of
from tests.examples import cartridge, deck
from tests.worked import CHECKED, bubble, protractor

Read = dict[str, Any]

TRIM = MovePart(control=Control.SPEED, amount=0.25, unit="turns")


def noon(day: str) -> datetime:
    """Return noon of a day: the same day in every time zone this is likely to run in."""
    return datetime.fromisoformat(f"{day}T12:00:00").replace(tzinfo=UTC)


def turns(percent: float) -> Read:
    """Return a readout that shows the speed so many percent fast."""
    return {
        "way": "readout",
        "speed_rpm": 33.333333,
        "rpm": round(33.333333 * (1.0 + percent / 100.0), 4),
        "minutes_running": 15.0,
    }


def bodies(
    *,
    downforce_gf: float = 2.0,
    slide_mm: float = 0.05,
    found_percent: float | None = 0.0,
    left_percent: float | None = None,
    hours: float | None = None,
    finished: bool = True,
) -> Iterable[Body]:
    """Yield what a person keeps in one short fitting, all steps good; speed found and left."""
    readings: dict[str, list[Read]] = {
        "level": [bubble("front-back", 0.0), bubble("left-right", 0.0)],
        "mount": [CHECKED],
        "rough_downforce": [{"way": "scale", "downforce_gf": downforce_gf}],
        "arm_height": [
            {"way": "two heights", "front_mm": 27.0, "rear_mm": 27.0, "spacing_mm": 180.0}
        ]
        * 4,
        "alignment": [protractor(slide_mm, 0.05)] * 2,
        "tilt": [{"way": "gaps", "left_mm": 2.0, "right_mm": 2.0}],
        "skating": [{"way": "setting", "setting": 2.0}],
        "final_downforce": [{"way": "scale", "downforce_gf": downforce_gf}] * 3,
        "speed": [turns(found_percent)] if found_percent is not None else [],
    }
    for step, taken in readings.items():
        for reading in taken:
            yield ReadingTaken(step=step, reading=reading)
        if step == "speed" and left_percent is not None:
            yield MoveMade(step=step, parts=(TRIM,))
            yield ReadingTaken(step=step, reading=turns(left_percent))
        yield StepAccepted(step=step, verdict=Verdict.GOOD)
    if hours is not None:
        yield HoursRead(hours=hours)
    if finished:
        yield Finished()


def fitting(
    day: str,
    *,
    name: str = "",
    deck_id: str = "d",
    cartridge_id: str = "c",
    said: Iterable[Body] | None = None,
    **how: Any,
) -> Fitting:
    """Return a fitting of one day, an entry a minute."""
    began = noon(day)
    entries = tuple(
        Entry(id=f"{name or day}-{place}", at=began + timedelta(minutes=place), body=body)
        for place, body in enumerate(bodies(**how) if said is None else said, start=1)
    )
    return Fitting(
        id=name or day,
        deck_id=deck_id,
        deck_revision=1,
        cartridge_id=cartridge_id,
        cartridge_revision=1,
        started_at=began,
        entries=entries,
    )


def past(
    of: Fitting,
    *,
    on: Deck | None = None,
    fitted: Cartridge | None = None,
    numbers: Numbers | None = None,
) -> Past:
    """Return a fitting with where it stands."""
    return Past(of, 1, 1, journey_of(on or deck(), fitted or cartridge(), of, numbers))


def keep(library: Library, day: str, deck_id: str, cartridge_id: str, **how: Any) -> Fitting:
    """Keep such a fitting in a library, with the newest revisions of both."""
    made = fitting(day, name=f"{deck_id}-{day}", deck_id=deck_id, cartridge_id=cartridge_id, **how)
    made = made.model_copy(
        update={
            "deck_revision": library.deck(deck_id).revision,
            "cartridge_revision": library.cartridge(cartridge_id).revision,
        }
    )
    library.log.add(made)
    return made
