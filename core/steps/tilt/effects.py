"""What disturbs tilt: an arm pitched about an axis that is not square to the head."""

from __future__ import annotations

import math
from collections.abc import Iterator

from core.fitting import Control, MovePart
from core.language import message
from core.records import Cartridge, Deck
from core.steps.shared.disturbance import HEIGHT_CONTROLS, Effect, exchanged, pitch_rad
from core.steps.tilt.judge import NAME


def disturbed_by(part: MovePart, deck: Deck, cartridge: Cartridge) -> Iterator[Effect]:
    """Yield what a move, of any control, does to figures of this step."""
    del cartridge
    arm = deck.arm
    if part.control is Control.CARTRIDGE:
        yield exchanged(NAME, "tilt")
    elif part.control in HEIGHT_CONTROLS and not arm.lift_axis_square_to_head and arm.offset_deg:
        tilt = math.degrees(pitch_rad(part, deck)) * math.sin(math.radians(arm.offset_deg))
        yield Effect(NAME, "tilt", tilt, message("disturbance.height_adds_tilt"))
