"""What a move does to a figure of another step: the parts that several steps reckon with.

Each step says in its ``effects`` which moves change its own figures, by how much and why: a
first-order prediction from statics or geometry. A change of None means that no figure can be given
and only a new reading will tell (screws tightened, cartridge exchanged).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from core.fitting import Control, MovePart
from core.language import Message, message
from core.records import Cartridge, Deck

HOLE_SPACING_MM: Final = 12.7
"""Half an inch between the two screws: the usual mounting (common practice)."""

HEIGHT_CONTROLS: Final = (Control.PILLAR, Control.BASE_SHIM, Control.HEAD_SHIM)
"""What pitches the arm."""


@dataclass(frozen=True, slots=True)
class Effect:
    """How one move changes one figure of one step.

    ``change`` is in the unit of that figure, None when it can't be predicted.
    """

    step: str
    key: str
    change: float | None
    reason: Message


def exchanged(step: str, key: str) -> Effect:
    """Return what an exchanged cartridge or headshell does: only a reading tells."""
    return Effect(step, key, None, message("disturbance.exchanged"))


def length_of(part: MovePart) -> float:
    """Return a move in millimetres, where the control has a thread; else as it is."""
    return part.equivalent_mm if part.equivalent_mm is not None else part.amount


def pitch_rad(part: MovePart, deck: Deck) -> float:
    """Return how far a move of the height control pitches the arm, rear up is plus.

    A shim between head and cartridge raises the front.
    """
    pitch = math.atan(length_of(part) / deck.arm.effective_length_mm)
    return -pitch if part.control is Control.HEAD_SHIM else pitch


def roll_rad(part: MovePart) -> float | None:
    """Return how far a move rolls the cartridge, left side high is plus; None if it does not."""
    if part.control is Control.TILT:
        return math.radians(part.amount)
    if part.control is Control.TILT_SHIM:  # under the left screw: the left side goes down
        return -math.atan(length_of(part) / HOLE_SPACING_MM)
    return None


def drop_mm(cartridge: Cartridge) -> float:
    """Return how far the stylus hangs below the axis of the tube: the height of the body."""
    return cartridge.body_height_mm


def undisturbed(change_gf: float, cartridge: Cartridge) -> tuple[Effect, ...]:
    """Return nothing: a change of downforce does nothing to the step."""
    del change_gf, cartridge
    return ()
