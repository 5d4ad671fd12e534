"""The effect of a move on the arm as a whole, by vectors, for a deck and a cartridge."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

from core.fitting import Control, MovePart
from core.physics.arm_pose import ArmChange, ArmLayout, ArmMove, arm_change
from core.records import Cartridge, Deck, HeightControl, TiltControl

HEIGHT_CONTROLS: Final = (Control.PILLAR, Control.BASE_SHIM, Control.HEAD_SHIM, Control.RECORD)
"""Controls that pitch the arm."""

ROLL_CONTROLS: Final = (Control.TILT, Control.TILT_SHIM)
"""Controls that roll the cartridge."""

MODEL_SHARE: Final = 0.1
"""Relative error of a prediction for what the deck's record leaves out: our own allowance."""

BEARING_U_MM: Final = 4.0
"""How well the height of a bearing is known that is only taken to lie in line with the tube, one
standard uncertainty: our own allowance, a third of a body's height either way at most."""

STATED_BEARING_U_MM: Final = 1.5
"""The same for one measured with a ruler: our own allowance."""

HANGS_LOW_MM: Final = 5.0
"""How far a counterweight's middle may hang below the bearing: common practice, no source."""

UNKNOWN_WEIGHT_G: Final = 100.0
"""The mass of an unstated counterweight: common practice, no source."""

_NOTHING_MM: Final = 1e-9
"""Smaller moves count as none: no share is computed."""

_HAND: Final = {
    Control.PILLAR: 0.15,
    Control.BASE_SHIM: 0.03,
    Control.HEAD_SHIM: 0.03,
    Control.RECORD: 0.1,
    Control.SLIDE: 0.25,
    Control.TILT_SHIM: 0.01,
}
"""Execution error of a control, mm, one standard uncertainty: our own allowance."""

_FIELDS: Final = {
    Control.PILLAR: "lift_mm",
    Control.BASE_SHIM: "lift_mm",
    Control.HEAD_SHIM: "head_shim_mm",
    Control.RECORD: "record_mm",
    Control.TILT: "roll_deg",
    Control.TILT_SHIM: "left_shim_mm",
    Control.SLIDE: "slide_mm",
    Control.TWIST: "twist_deg",
}

_TILT_STEPS: Final = 0.3
"""The same for a head that is turned, in its deck's smallest steps."""


def length_of(part: MovePart, deck: Deck) -> float:
    """Return a move in millimetres if the control has a thread; else in its own unit."""
    if part.equivalent_mm is not None:
        return part.equivalent_mm
    if part.control is Control.PILLAR and part.unit == "turns":
        return part.amount * deck.height.mm_per_turn
    return part.amount


def layout_of(deck: Deck, cartridge: Cartridge) -> ArmLayout:
    """Return the arm as it should stand on this deck.

    A bearing of unknown height is taken to lie in line with the tube, which lies parallel, as
    high above the record as the cartridge is tall: common practice on most arms.
    """
    arm, drop_mm = deck.arm, cartridge.body_height_mm
    return ArmLayout(
        length_mm=arm.effective_length_mm,
        offset_deg=arm.offset_deg,
        drop_mm=drop_mm,
        pivot_above_record_mm=arm.pivot_above_record_mm or drop_mm,
        axis_square_to_head=arm.lift_axis_square_to_head,
        rolls_about_tube=deck.tilt.control is TiltControl.COLLAR,
        pivoted=arm.is_pivoted,
        tip_to_holes_mm=cartridge.tip_to_holes_mm,
        cartridge_g=cartridge.moving_g,
        downforce_gf=cartridge.downforce_target_gf,
    )


def moved_arm(part: MovePart, deck: Deck, cartridge: Cartridge) -> ArmChange | None:
    """Return what a move changes of the arm; None if nothing."""
    field = _FIELDS.get(part.control)
    if field is None:
        return None
    return _changed(layout_of(deck, cartridge), ArmMove(**{field: length_of(part, deck)}))


@lru_cache(maxsize=1024)
def _changed(layout: ArmLayout, move: ArmMove) -> ArmChange:
    """Return it, cached: a log is judged again with every entry, its old moves unchanged."""
    return arm_change(layout, move)


def made_to_share(part: MovePart, deck: Deck) -> float:
    """Return the relative error of a move, by hand and model."""
    hand = _HAND.get(part.control, 0.0)
    if part.control is Control.TILT:
        hand = _TILT_STEPS * deck.tilt.smallest_step_deg
    elif part.control is Control.PILLAR and deck.height.control is HeightControl.COLLAR:
        hand = 0.05
    size = abs(length_of(part, deck))
    return math.hypot(MODEL_SHARE, hand / size) if size > _NOTHING_MM else MODEL_SHARE


def pitch_rad(change: ArmChange, deck: Deck) -> float:
    """Return the pitch by a change, positive with the rear up."""
    return math.atan(change.rear_mm / deck.arm.effective_length_mm)


def bearing_u_mm(deck: Deck) -> float:
    """Return the uncertainty of the bearing's height above the record."""
    return STATED_BEARING_U_MM if deck.arm.pivot_above_record_mm else BEARING_U_MM
