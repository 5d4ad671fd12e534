"""What disturbs alignment: a pitched arm, a rolled head, screws that are tightened."""

from __future__ import annotations

import math
from collections.abc import Iterator

from core.fitting import Control, MovePart
from core.language import message
from core.records import Cartridge, Deck
from core.steps.alignment.readings import NAME
from core.steps.shared.arm_moves import (
    HEIGHT_CONTROLS,
    ROLL_CONTROLS,
    bearing_u_mm,
    made_to_share,
    moved_arm,
    pitch_rad,
)
from core.steps.shared.disturbance import Effect, exchanged, noticed


def disturbed_by(part: MovePart, deck: Deck, cartridge: Cartridge) -> Iterator[Effect]:
    """Yield what a move, of any control, does to figures of this step.

    Length and angle both change: the stylus rotates about the bearing or the head's axis, and its
    new position sets distance and direction from the pivot.
    """
    if part.control is Control.SCREWS:
        yield Effect(NAME, "slide", None, message("disturbance.screws_shift"))
    elif part.control is Control.CARTRIDGE:
        yield exchanged(NAME, "slide")
    elif part.control in HEIGHT_CONTROLS or part.control in ROLL_CONTROLS:
        change = moved_arm(part, deck, cartridge)
        if change is None:
            return
        pitched = part.control in HEIGHT_CONTROLS
        reason = message("disturbance.rolling_swings")
        if pitched:
            reason = message("disturbance.height_changes_reach")
        share = made_to_share(part, deck)
        # With the bearing higher by this much, a pitch shifts the stylus by their product.
        bearing = bearing_u_mm(deck) * pitch_rad(change, deck) if pitched else 0.0
        length = Effect(
            NAME, "slide", change.reach_mm, reason, math.hypot(share * change.reach_mm, bearing)
        )
        angle = Effect(NAME, "twist", change.offset_deg, reason, abs(share * change.offset_deg))
        yield from noticed(length, deck.tolerances.landing_mm)
        yield from noticed(angle, deck.tolerances.twist_deg)
