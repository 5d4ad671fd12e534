"""The nine steps in order; the only place that lists them.

A step is a package with the same names as every other: ``NAME``, ``Readings`` (its ways of
reading, a union of :class:`core.fitting.Reading`), ``Chosen`` (what may be chosen, a
:class:`core.fitting.Choices`), ``REPORT`` (what is told of it later), and the functions of
:class:`Step`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from typing import Any, Final, Protocol, cast

from pydantic import TypeAdapter

from core.fitting import (
    CHECKED_WAY,
    Applicability,
    Assessment,
    Choices,
    Context,
    ControlChecked,
    MovePart,
    Reading,
    reading_classes,
)
from core.records import Cartridge, Deck
from core.steps import (
    alignment,
    arm_height,
    final_downforce,
    level,
    mount,
    rough_downforce,
    skating,
    speed,
    tilt,
)
from core.steps.shared import Movable, StepReport
from core.steps.shared.disturbance import Aftermath, Effect, FigureChange
from core.steps.shared.gain_samples import GainSource
from core.steps.shared.swap_part import PlanPiece, SwapCase

__all__ = [
    "ALIGNMENT",
    "ARM_HEIGHT",
    "FINAL_DOWNFORCE",
    "LEVEL",
    "MOUNT",
    "ROUGH_DOWNFORCE",
    "SKATING",
    "SPEED",
    "STEPS",
    "STEPS_OF_DECK",
    "STEP_NAMES",
    "TILT",
    "Step",
    "alignment",
    "arm_height",
    "bench_drawing",
    "downforce",
    "explained",
    "final_downforce",
    "level",
    "mount",
    "reading_from",
    "rough_downforce",
    "shared",
    "skating",
    "speed",
    "step_named",
    "tilt",
    "ways_of",
]


class Step(Protocol):
    """The names that every step's package offers."""

    NAME: str
    REPORT: StepReport
    Readings: Any
    Chosen: type[Choices]

    def applies(self, deck: Deck, cartridge: Cartridge) -> Applicability:
        """Return whether there is something to read and to set on this deck."""
        ...

    def assess(self, context: Context) -> Assessment:
        """Judge the trials so far; no trials give NO_READING or NOTHING_TO_SET."""
        ...

    def forecast(self, case: SwapCase) -> PlanPiece:
        """Return what another cartridge means for the step, and where to start."""
        ...

    def disturbed_by(self, part: MovePart, deck: Deck, cartridge: Cartridge) -> Iterable[Effect]:
        """Yield what a move, of any control, does to the step's figures."""
        ...

    def disturbed_by_downforce(self, change_gf: float, cartridge: Cartridge) -> Iterable[Effect]:
        """Yield what a change of downforce does to the step's figures."""
        ...

    def aftermath(
        self, context: Context, assessment: Assessment, changes: Mapping[str, FigureChange]
    ) -> Aftermath:
        """Judge whether the step's answer still holds after changes by later moves."""
        ...

    def movables(self, deck: Deck, cartridge: Cartridge) -> Iterable[Movable]:
        """Yield the controls on this deck that belong to the step."""
        ...

    def gain_sources(self, deck: Deck) -> Iterator[GainSource]:
        """Yield what the step's controls did in a deck's fittings, to learn from."""
        ...


STEPS: Final[tuple[Step, ...]] = tuple(
    cast("Step", module)
    for module in (
        level,
        mount,
        rough_downforce,
        arm_height,
        alignment,
        tilt,
        skating,
        final_downforce,
        speed,
    )
)

LEVEL: Final = level.NAME
MOUNT: Final = mount.NAME
ROUGH_DOWNFORCE: Final = rough_downforce.NAME
ARM_HEIGHT: Final = arm_height.NAME
ALIGNMENT: Final = alignment.NAME
TILT: Final = tilt.NAME
SKATING: Final = skating.NAME
FINAL_DOWNFORCE: Final = final_downforce.NAME
SPEED: Final = speed.NAME
"""The names of the steps, as each declares its own."""

STEP_NAMES: Final[tuple[str, ...]] = tuple(step.NAME for step in STEPS)

STEPS_OF_DECK: Final[tuple[str, ...]] = tuple(step.NAME for step in STEPS if step.REPORT.is_of_deck)
"""The steps that belong to the deck, for all of its arms; all others belong to an arm."""


def step_named(name: str) -> Step:
    """Return the step with this name; KeyError for an unknown name."""
    for step in STEPS:
        if name == step.NAME:
            return step
    raise KeyError(name)


def ways_of(step: Step) -> dict[str, type[Reading]]:
    """Return the step's ways of reading by name, in the order they are declared."""
    return reading_classes(step.Readings)


@cache
def _adapter(name: str) -> TypeAdapter[Reading]:
    return TypeAdapter(step_named(name).Readings)


def reading_from(step: str, values: dict[str, Any]) -> Reading:
    """Return the reading in a log entry; raises pydantic's ValidationError if it is invalid."""
    if values.get("way") == CHECKED_WAY:
        return ControlChecked.model_validate(values)
    return _adapter(step).validate_python(values)
