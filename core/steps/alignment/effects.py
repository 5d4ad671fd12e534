"""What disturbs alignment: a pitched arm, a rolled head, screws that are tightened."""

from __future__ import annotations

import math
from collections.abc import Iterator

from core.fitting import Control, MovePart
from core.language import message
from core.records import Cartridge, Deck, TiltControl
from core.steps.alignment.readings import NAME
from core.steps.shared.disturbance import (
    HEIGHT_CONTROLS,
    Effect,
    drop_mm,
    exchanged,
    length_of,
    roll_rad,
)


def disturbed_by(part: MovePart, deck: Deck, cartridge: Cartridge) -> Iterator[Effect]:
    """Yield what a move, of any control, does to figures of this step."""
    if part.control in HEIGHT_CONTROLS:
        change = _reach_change(part, deck, cartridge)
        yield Effect(NAME, "slide", change, message("disturbance.height_changes_reach"))
    elif part.control is Control.SCREWS:
        yield Effect(NAME, "slide", None, message("disturbance.screws_shift"))
    elif part.control is Control.CARTRIDGE:
        yield exchanged(NAME, "slide")
    roll = roll_rad(part)
    if roll is not None and deck.arm.is_pivoted:  # a carriage takes up what goes sideways
        yield from _rolled(roll, part.control, deck, cartridge)


def _reach_change(part: MovePart, deck: Deck, cartridge: Cartridge) -> float:
    """Return how far a change of height moves the stylus away from the pivot, in millimetres.

    Raising the bearing leaves its distance to the stylus as it is, and lifts it further above the
    record: seen from above the stylus comes nearer. A shim between head and cartridge leaves the
    bearing's height and makes the distance longer. A bearing whose height is not known is taken to
    be as high as the tube, which is as high as the body.
    """
    length = deck.arm.effective_length_mm
    above = deck.arm.pivot_above_record_mm or drop_mm(cartridge)
    squares = (above + length_of(part)) ** 2 - above**2
    if part.control is not Control.HEAD_SHIM:
        squares = -squares
    return math.sqrt(max(length**2 + squares, 0.0)) - length


def _rolled(roll: float, control: Control, deck: Deck, cartridge: Cartridge) -> Iterator[Effect]:
    """Yield what rolling the cartridge does, left side high positive.

    The stylus hangs below the axis it is rolled about and swings toward the spindle, the cantilever
    keeps its direction: seen from the pivot it then points out by the angle the stylus went in. An
    axis along the head lies across the arm by the offset angle, so the reach gets shorter too; a
    collar turns the tube about itself.
    """
    about_tube = control is Control.TILT and deck.tilt.control is TiltControl.COLLAR
    turned_in = 0.0 if about_tube else math.radians(deck.arm.offset_deg)
    swung = drop_mm(cartridge) * math.sin(roll)
    share = swung * math.cos(turned_in) / deck.arm.effective_length_mm
    twist = -math.degrees(math.asin(min(max(share, -1.0), 1.0)))
    why = message("disturbance.rolling_swings")
    yield Effect(NAME, "twist", twist, why)
    if turned_in:
        yield Effect(NAME, "slide", -swung * math.sin(turned_in), why)
