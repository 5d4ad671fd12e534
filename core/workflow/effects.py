"""Effects of moves and of changes of downforce on the figures of all steps."""

from __future__ import annotations

from core.fitting import MovePart
from core.records import Cartridge, Deck
from core.steps import STEPS
from core.steps.shared import Effect


def effects_of(part: MovePart, deck: Deck, cartridge: Cartridge) -> tuple[Effect, ...]:
    """Return the effect of a move on all figures; ValueError for an absurd amount."""
    return tuple(effect for step in STEPS for effect in step.disturbed_by(part, deck, cartridge))


def downforce_effects(change_gf: float, cartridge: Cartridge) -> tuple[Effect, ...]:
    """Return the effect of a change of downforce, new less old, on all figures."""
    return tuple(
        effect for step in STEPS for effect in step.disturbed_by_downforce(change_gf, cartridge)
    )
