"""What tests of steps and fittings share: a context of things that happened, and its answer.

Every answer of a step that a test looks at comes from :func:`assessed` or :func:`status_of`.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Any

from core.drawing.drawing import Drawing
from core.drawing.marks import Area, Mark, Polyline, Words
from core.fitting import (
    Assessment,
    Body,
    Context,
    ControlChecked,
    Entry,
    Figure,
    Fitting,
    Journey,
    Move,
    MovePart,
    Reading,
    StepStatus,
    Trial,
)
from core.records import Cartridge, Deck
from core.steps import step_named
from tests.examples import cartridge, deck

BEGAN = datetime(2025, 3, 4, 9, 30, tzinfo=UTC)

Thing = Reading | MovePart | tuple[MovePart, ...] | Trial
"""What happens in a step: a reading, a move of one part or several, or either with its time."""


def trial(thing: Thing, **more: Any) -> Trial:
    """Return a thing as the log keeps it; ``at`` is when it happened."""
    if isinstance(thing, Trial):
        return thing
    if isinstance(thing, ControlChecked):
        return Trial(checked=thing, **more)
    if isinstance(thing, Reading):
        return Trial(reading=thing, **more)
    return Trial(moves=(thing,) if isinstance(thing, MovePart) else thing, **more)


def context(
    step: str,
    things: Iterable[Thing] = (),
    *,
    on: Deck | None = None,
    fitted: Cartridge | None = None,
    **more: Any,
) -> Context:
    """Return what a step is handed after these things, on the example deck if on no other."""
    return Context(
        step=step,
        deck=on or deck(),
        cartridge=fitted or cartridge(),
        **{"log": {step: tuple(trial(thing) for thing in things)}, **more},
    )


def assessed(of: Context) -> Assessment:
    """Return what the step of this context answers."""
    return step_named(of.step).assess(of)


def fitting_of(
    *bodies: Body, name: str = "f", began: datetime = BEGAN, every_min: float = 1.0, **more: Any
) -> Fitting:
    """Return a fitting with these entries, one every minute."""
    entries = tuple(
        Entry(id=f"{name}-{count}", at=began + timedelta(minutes=every_min * count), body=body)
        for count, body in enumerate(bodies, start=1)
    )
    known = {"deck_id": "d", "cartridge_id": "c", "deck_revision": 1, "cartridge_revision": 1}
    return Fitting(**{"id": name, **known, "started_at": began, "entries": entries, **more})


def status_of(journey: Journey, step: str) -> StepStatus:
    """Return where a step of a fitting stands, its answer included."""
    return journey.status(step)


def figure_of(assessment: Assessment, key: str) -> Figure:
    """Return a figure of an answer, which has to be there."""
    found = assessment.figure(key)
    assert found is not None, key
    return found


def move_of(assessment: Assessment) -> Move:
    """Return the move an answer asks for, which it has to."""
    assert assessment.next_move is not None, assessment.headline
    return assessment.next_move


def value(assessment: Assessment, key: str) -> float:
    """Return the value of a figure, which has to be there."""
    return figure_of(assessment, key).value


def named(drawing: Drawing, name: str) -> tuple[Mark, ...]:
    """Return every mark of a drawing whose name begins so."""
    marks = (mark for mark in drawing.marks if isinstance(mark, Polyline | Area | Words))
    return tuple(mark for mark in marks if mark.name.startswith(name))
