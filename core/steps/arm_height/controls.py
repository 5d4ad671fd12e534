"""The controls of this step."""

from __future__ import annotations

from collections.abc import Iterator

from core.fitting import Control
from core.records import Cartridge, Deck, HeightControl, Mounting
from core.steps.arm_height.readings import NAME
from core.steps.shared import Movable, movable


def movables(deck: Deck, cartridge: Cartridge) -> Iterator[Movable]:
    """Yield the controls on this deck."""
    height = deck.height
    if height.control is HeightControl.COLLAR:
        yield movable(Control.PILLAR, "turns", NAME, mm_per_unit=height.mm_per_turn)
    elif height.control is HeightControl.PILLAR:
        yield movable(Control.PILLAR, "mm", NAME)
    elif height.control is HeightControl.SHIMS:
        yield movable(Control.BASE_SHIM, "mm", NAME)
    if cartridge.mounting is not Mounting.PLUG_IN:
        yield movable(Control.HEAD_SHIM, "mm", NAME)
    yield movable(Control.RECORD, "mm", NAME)
