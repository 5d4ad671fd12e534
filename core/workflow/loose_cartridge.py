"""A cartridge that its checklist calls loose, whatever was decided about that."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from core.fitting import Act, Assessment, Context, Guard, Journey
from core.steps.final_downforce import NAME as FINAL
from core.steps.mount import NAME as MOUNT
from core.steps.mount import is_loose
from core.steps.rough_downforce import NAME as ROUGH

_LOOSE: Final = Guard("loose", Act.LOWER_STYLUS)


def minding_loose(assessment: Assessment, context: Context) -> Assessment:
    """Return a step's answer, with a caution where a loose cartridge is lowered onto a scale.

    What is lowered onto a record is closed by the stylus gate instead.
    """
    if context.step not in (ROUGH, FINAL) or not is_loose(context.log.get(MOUNT, ())):
        return assessment
    return replace(assessment, cautions=(_LOOSE, *assessment.cautions))


def is_left_loose(journey: Journey) -> bool:
    """Whether the cartridge is loose as the fitting stands."""
    return is_loose(journey.context(MOUNT).trials)
