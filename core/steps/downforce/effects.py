"""What disturbs downforce: whatever shifts weight along the arm."""

from __future__ import annotations

from collections.abc import Iterator

from core.fitting import Control, MovePart
from core.language import message
from core.records import Cartridge, Deck
from core.steps.downforce.weighings import FINAL, ROUGH
from core.steps.shared.disturbance import Effect, exchanged, length_of


def rough_disturbed_by(part: MovePart, deck: Deck, cartridge: Cartridge) -> Iterator[Effect]:
    """Yield what a move, of any control, does to the downforce of the rough step."""
    return _disturbed_by(ROUGH, part, deck, cartridge)


def final_disturbed_by(part: MovePart, deck: Deck, cartridge: Cartridge) -> Iterator[Effect]:
    """Yield what a move, of any control, does to the downforce of the final step."""
    return _disturbed_by(FINAL, part, deck, cartridge)


def _disturbed_by(step: str, part: MovePart, deck: Deck, cartridge: Cartridge) -> Iterator[Effect]:
    if part.control is Control.SLIDE:
        # Moments about the pivot: the cartridge's weight times the slide, felt at the stylus.
        change = cartridge.moving_g * length_of(part) / deck.arm.effective_length_mm
        yield Effect(step, "downforce", change, message("disturbance.weight_shifts"))
    elif part.control is Control.CARTRIDGE:
        yield exchanged(step, "downforce")
