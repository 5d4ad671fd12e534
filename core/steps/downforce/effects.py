"""What disturbs downforce: anything that shifts weight along the arm."""

from __future__ import annotations

import math
from collections.abc import Iterator

from core.fitting import Control, MovePart
from core.language import message
from core.records import Cartridge, Deck
from core.steps.downforce.weighings import FINAL, ROUGH
from core.steps.shared.arm_moves import (
    HANGS_LOW_MM,
    HEIGHT_CONTROLS,
    UNKNOWN_WEIGHT_G,
    made_to_share,
    moved_arm,
    pitch_rad,
)
from core.steps.shared.disturbance import Effect, exchanged, noticed


def rough_disturbed_by(part: MovePart, deck: Deck, cartridge: Cartridge) -> Iterator[Effect]:
    """Yield what a move, of any control, does to the downforce of the rough step."""
    return _disturbed_by(ROUGH, part, deck, cartridge)


def final_disturbed_by(part: MovePart, deck: Deck, cartridge: Cartridge) -> Iterator[Effect]:
    """Yield what a move, of any control, does to the downforce of the final step."""
    return _disturbed_by(FINAL, part, deck, cartridge)


def _disturbed_by(step: str, part: MovePart, deck: Deck, cartridge: Cartridge) -> Iterator[Effect]:
    if part.control is Control.CARTRIDGE:
        yield exchanged(step, "downforce")
        return
    change = moved_arm(part, deck, cartridge)
    if change is None:
        return
    # Moments about the pivot: a mass slid forward weighs more at the stylus, which slides too.
    if part.control in HEIGHT_CONTROLS:
        reason = message("disturbance.arm_pitches")
    elif part.control is Control.SLIDE:
        reason = message("disturbance.weight_shifts")
    else:
        reason = message("disturbance.cartridge_turns")
    hanging = _hanging_gf(pitch_rad(change, deck), deck)
    spread = math.hypot(made_to_share(part, deck) * change.downforce_gf, hanging)
    effect = Effect(step, "downforce", change.downforce_gf, reason, spread)
    yield from noticed(effect, deck.tolerances.downforce_gf)


def _hanging_gf(turn_rad: float, deck: Deck) -> float:
    """Return how much a counterweight that hangs below the bearing may shift downforce.

    A pitch moves its centre by z x pitch along the arm: W z pitch / L (derived). How low it hangs
    is unknown, so this is no change but one standard uncertainty.
    """
    weight_g = deck.arm.counterweight_g or UNKNOWN_WEIGHT_G
    return abs(weight_g * HANGS_LOW_MM * turn_rad / deck.arm.effective_length_mm)
