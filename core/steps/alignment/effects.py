"""What disturbs alignment: a pitched arm, a rolled head, screws that are tightened."""

from __future__ import annotations

import math
from collections.abc import Iterator

from core.fitting import Control, MovePart
from core.language import message
from core.records import Cartridge, Deck
from core.steps.alignment.readings import NAME
from core.steps.shared.disturbance import (
    HEIGHT_CONTROLS,
    Effect,
    drop_mm,
    exchanged,
    pitch_rad,
    roll_rad,
)


def disturbed_by(part: MovePart, deck: Deck, cartridge: Cartridge) -> Iterator[Effect]:
    """Yield what a move, of any control, does to figures of this step."""
    length = deck.arm.effective_length_mm
    if part.control in HEIGHT_CONTROLS:
        shorter = -length * (1 - math.cos(pitch_rad(part, deck)))
        yield Effect(NAME, "slide", shorter, message("disturbance.reach_shortens"))
    elif part.control is Control.SCREWS:
        yield Effect(NAME, "slide", None, message("disturbance.screws_shift"))
    elif part.control is Control.CARTRIDGE:
        yield exchanged(NAME, "slide")
    roll = roll_rad(part)
    if roll is not None:
        # Rolling swings the stylus sideways, seen from the pivot as a small angle.
        share = drop_mm(cartridge) * math.sin(roll) / length
        sideways = math.degrees(math.asin(min(max(share, -1.0), 1.0)))
        yield Effect(NAME, "twist", sideways, message("disturbance.rolling_swings"))
