"""What disturbs mounting: another cartridge."""

from __future__ import annotations

from collections.abc import Iterator

from core.fitting import Control, MovePart
from core.records import Cartridge, Deck
from core.steps.mount.judge import NAME
from core.steps.shared.disturbance import Effect, exchanged


def disturbed_by(part: MovePart, deck: Deck, cartridge: Cartridge) -> Iterator[Effect]:
    """Yield what a move, of any control, does to figures of this step."""
    del deck, cartridge
    if part.control is Control.CARTRIDGE:
        yield exchanged(NAME, "moving_mass")
