"""What the alignment tests share: a log from readings and moves, and a head angle by vectors."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from core.fitting import Assessment, Context, Control, MovePart, Reading
from core.records import Cartridge, Deck
from core.steps import alignment
from core.steps.alignment import AlignmentChoices, LandingAndAngles
from tests.examples import cartridge, deck
from tests.kit import trial
from tests.worded import worded

Step = Reading | tuple[MovePart, ...]

D = 222.0
# D = 222, grooves 60.325 to 146.05: computed twice before the code was written, by closed form
# and by a brute-force optimiser (derived)
LENGTH, OFFSET, INNER, OUTER = 239.296, 22.986, 65.998, 120.891


def context(
    events: Sequence[Step],
    *,
    of_deck: Deck | None = None,
    of_cartridge: Cartridge | None = None,
    **chosen: Any,
) -> Context:
    log = tuple(trial(event) for event in events)
    return Context(
        step="alignment",
        deck=of_deck or deck(),
        cartridge=of_cartridge or cartridge(),
        log={"alignment": log},
        chosen={"alignment": AlignmentChoices(**chosen)},
    )


def assess(seen: Context) -> Assessment:
    """Judge, in sentences."""
    said: Assessment = worded(alignment.assess(seen))
    return said


def both(landing: float = 0.0, inner: float = 0.0, outer: float = 0.0) -> LandingAndAngles:
    return LandingAndAngles(landing_mm=landing, inner_deg=inner, outer_deg=outer)


def part(control: Control, amount: float, unit: str = "mm") -> MovePart:
    return MovePart(control=control, amount=amount, unit=unit)


TIGHTEN = (part(Control.SCREWS, 1.0, ""),)


def value(assessment: Assessment, key: str) -> float:
    figure = assessment.figure(key)
    assert figure is not None, key
    return figure.value


def amounts(assessment: Assessment) -> dict[Control, float]:
    assert assessment.next_move is not None, assessment.headline
    return {one.control: one.amount for one in assessment.next_move.parts}


def head_angle(length: float, offset_deg: float, radius: float, pivot: float = D) -> float:
    """Angle between head and tangent, by vectors: the circle about the pivot meets the groove.

    Positive = the head points outward of the tangent.
    """
    x = (radius**2 - length**2 + pivot**2) / (2 * pivot)
    stylus = np.array([x, math.sqrt(radius**2 - x**2)])
    along = (stylus - [pivot, 0.0]) / length
    turn = math.radians(offset_deg)
    # the spindle lies counter-clockwise of the arm's direction here, so turning in is +turn
    head = np.array(
        [
            along[0] * math.cos(turn) - along[1] * math.sin(turn),
            along[0] * math.sin(turn) + along[1] * math.cos(turn),
        ]
    )
    outward = stylus / radius
    return math.degrees(math.asin(float(head @ outward)))
