"""The control of downforce, which belongs to both steps."""

from __future__ import annotations

from collections.abc import Iterator

from core.fitting import Control
from core.records import Cartridge, Deck
from core.steps.downforce.control import downforce_control_of
from core.steps.downforce.weighings import FINAL, ROUGH
from core.steps.shared import Movable, movable


def movables(deck: Deck, cartridge: Cartridge) -> Iterator[Movable]:
    """Yield the counterweight or the downforce dial."""
    del cartridge
    control = downforce_control_of(deck)
    length = None if control.unit == "mm" else control.mm_per_unit
    yield movable(
        Control.COUNTERWEIGHT,
        control.unit,
        ROUGH,
        FINAL,
        mm_per_unit=length,
        parallel=not deck.arm.is_pivoted,
    )
