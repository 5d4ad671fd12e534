"""The controls of this step."""

from __future__ import annotations

from collections.abc import Iterator

from core.fitting import Control
from core.records import ArmKind, Cartridge, Deck, Mounting
from core.steps.alignment.readings import NAME
from core.steps.alignment.target import head_slides
from core.steps.shared import Movable, movable


def movables(deck: Deck, cartridge: Cartridge) -> Iterator[Movable]:
    """Yield the controls on this deck."""
    if head_slides(deck, cartridge):
        yield movable(Control.SLIDE, "mm", NAME, parallel=not deck.arm.is_pivoted)
        yield movable(Control.TWIST, "°", NAME)
    if cartridge.mounting is not Mounting.PLUG_IN:
        yield movable(Control.SCREWS, "", NAME)
    if deck.arm.kind is not ArmKind.PARALLEL:
        yield movable(Control.ARM_BASE, "mm", NAME)
