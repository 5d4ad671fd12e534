"""The controls of this step."""

from __future__ import annotations

from collections.abc import Iterator

from core.fitting import Control
from core.records import Cartridge, Deck, FeetControl
from core.steps.level.judge import NAME
from core.steps.shared import Movable, movable


def movables(deck: Deck, cartridge: Cartridge) -> Iterator[Movable]:
    """Yield the controls on this deck."""
    del cartridge
    pitch = deck.plinth.pitch_mm_per_turn
    unit = "mm" if pitch is None else "turns"
    for foot in deck.plinth.feet:
        if foot.adjustable and deck.plinth.control is not FeetControl.NONE:
            yield movable(Control.FOOT, unit, NAME, where=foot.name, mm_per_unit=pitch)
    for foot in deck.plinth.feet:
        yield movable(Control.FOOT_SHIM, "mm", NAME, where=foot.name)
