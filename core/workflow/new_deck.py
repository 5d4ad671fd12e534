"""A new deck copied from a similar one, and values from its pivot-to-spindle distance."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from core.physics.alignment_solutions import arm_for_nulls, lofgren_a_nulls
from core.physics.groove_radii import GROOVES_1958
from core.records import ArmKind, Deck

_STRAIGHT_NULL_MM: Final = 92.0
"""Radius at which a straight head usually stands along the groove: the middle of the recorded
band by the geometric mean of its edges, about 94 mm, rounded to the starters' (common practice,
no source)."""


@dataclass(frozen=True, slots=True)
class UsualArm:
    """Effective length in millimetres and offset angle in degrees of a usual arm."""

    effective_length_mm: float
    offset_deg: float


def usual_arm(kind: ArmKind, pivot_to_spindle_mm: float) -> UsualArm | None:
    """Return the arm that makers usually build for a pivot-to-spindle distance in millimetres.

    With an offset head its null radii are those of least worst distortion over the grooves of
    IEC 60098 (1958). None for a parallel-tracking arm, and where there can be no such arm.
    """
    if kind is ArmKind.PARALLEL:
        return None
    try:
        if kind is ArmKind.PIVOTED_STRAIGHT:
            length = math.sqrt(pivot_to_spindle_mm**2 - _STRAIGHT_NULL_MM**2)
            return UsualArm(round(length, 1), 0.0)
        arm = arm_for_nulls(pivot_to_spindle_mm, lofgren_a_nulls(GROOVES_1958))
    except ValueError:
        return None
    return UsualArm(round(arm.effective_length_mm, 1), round(arm.offset_deg, 1))


def much_like(deck: Deck, name: str) -> Deck:
    """Return a new deck with another's figures, without its reference and notes."""
    return deck.model_copy(update={"name": name, "owner_reference": "", "notes": ""})
