"""Whether an alignment still holds after later moves, by its own joint rule."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

import numpy as np

from core.fitting import Assessment, Context
from core.steps.alignment.decision import AlignmentDecider
from core.steps.alignment.doubts import counted
from core.steps.alignment.effects import disturbed_by
from core.steps.alignment.readings import NAME, AlignmentChoices
from core.steps.alignment.state import where_of
from core.steps.alignment.target import NoTarget, aim_of
from core.steps.shared import history
from core.steps.shared.disturbance import Aftermath, FigureChange, judged_alone

_CLEARLY_LESS: Final = 0.3
"""A step left as found is sent back if its probability of being right fell by this much: ours."""


def aftermath(
    context: Context, assessment: Assessment, changes: Mapping[str, FigureChange]
) -> Aftermath:
    """Judge length and angle together after later moves, by this step's own rule."""
    context = counted(context)
    chosen = context.chosen.get(NAME)
    if not isinstance(chosen, AlignmentChoices):
        chosen = AlignmentChoices()
    events = history(context, disturbed_by)
    aim = aim_of(context, chosen, events)
    if isinstance(aim, NoTarget):
        return judged_alone(context, assessment, changes)
    where = where_of(context, aim, events)
    if not where.knows_length:
        return judged_alone(context, assessment, changes)
    tolerances = context.deck.tolerances
    length = changes.get("slide", FigureChange(0.0))
    angle = changes.get("twist", FigureChange(0.0))
    shifted = replace(
        where,
        off=where.off + np.array([length.value, angle.value]),
        covariance=where.covariance
        + np.diag([length.standard_uncertainty**2, angle.standard_uncertainty**2]),
    )
    before, after = (
        AlignmentDecider(aim, one, tolerances.landing_mm, tolerances.twist_deg)
        for one in (where, shifted)
    )
    if not before.is_good(where.covariance):
        if not where.knows_offset:
            return judged_alone(context, assessment, changes)
        # Left as near as hands set it: worth repeating only if clearly more was lost.
        chance = before.chance(before.off, where.covariance)
        lost = chance - after.chance(after.off, shifted.covariance)
        return Aftermath(changes, frozenset(changes) if lost > _CLEARLY_LESS else frozenset())
    good = after.is_good(shifted.covariance)
    return Aftermath(changes, frozenset() if good else frozenset(changes))
