"""Fittings of one deck over the years, written straight into logs: nobody has to work them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from core.fitting import (
    Body,
    Control,
    Finished,
    Fitting,
    HoursRead,
    MoveMade,
    MovePart,
    ReadingTaken,
    StepAccepted,
    Verdict,
)
from core.records import Cartridge, Deck
from core.steps.shared.swap_part import Past
from core.store import Library
from core.workflow.replay import journey_of
from tests.examples import cartridge, deck
from tests.kit import fitting_of
from tests.worked import LEFT, Read, protractor

TRIM = MovePart(control=Control.SPEED, amount=0.25, unit="turns")


def noon(day: str) -> datetime:
    """Return noon of a day by this computer's clock, wherever it stands."""
    return datetime.fromisoformat(f"{day}T12:00:00").astimezone()


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
    readings = {
        **LEFT,
        "rough_downforce": [{"way": "scale", "downforce_gf": downforce_gf}],
        "arm_height": LEFT["arm_height"] * 4,
        "alignment": [protractor(slide_mm, 0.05)] * 2,
        "final_downforce": [{"way": "scale", "downforce_gf": downforce_gf}] * 3,
        "speed": [turns(found_percent)] if found_percent is not None else [],
    }
    for step, taken in readings.items():
        for reading in taken:
            yield ReadingTaken(step=step, reading=reading)
        if step == "speed" and left_percent is not None:
            slow = (found_percent or 0.0) < 0.0
            yield MoveMade(step=step, parts=(TRIM if slow else TRIM.turned_round(),))
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
    return fitting_of(
        *(bodies(**how) if said is None else said),
        name=name or day,
        began=noon(day),
        deck_id=deck_id,
        cartridge_id=cartridge_id,
    )


def past(
    of: Fitting,
    *,
    on: Deck | None = None,
    fitted: Cartridge | None = None,
) -> Past:
    """Return a fitting with where it stands."""
    return Past(of, 1, 1, journey_of(on or deck(), fitted or cartridge(), of))


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
