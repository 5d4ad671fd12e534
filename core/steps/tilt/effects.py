"""What disturbs tilt: an arm pitched about an axis that is not square to the head."""

from __future__ import annotations

from collections.abc import Iterator

from core.fitting import Control, MovePart
from core.language import message
from core.records import Cartridge, Deck
from core.steps.shared.arm_moves import HEIGHT_CONTROLS, made_to_share, moved_arm
from core.steps.shared.disturbance import Effect, exchanged, noticed
from core.steps.tilt.readings import NAME


def disturbed_by(part: MovePart, deck: Deck, cartridge: Cartridge) -> Iterator[Effect]:
    """Yield what a move, of any control, does to figures of this step."""
    if part.control is Control.CARTRIDGE:
        yield exchanged(NAME, "tilt")
    elif part.control in HEIGHT_CONTROLS:
        change = moved_arm(part, deck, cartridge)
        if change is not None:
            reason = message("disturbance.height_adds_tilt")
            spread = abs(made_to_share(part, deck) * change.tilt_deg)
            tilt = Effect(NAME, "tilt", change.tilt_deg, reason, spread)
            yield from noticed(tilt, deck.tolerances.tilt_deg)
