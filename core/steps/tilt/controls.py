"""The controls of this step."""

from __future__ import annotations

from collections.abc import Iterator

from core.fitting import Control
from core.records import Cartridge, Deck, Mounting, TiltControl
from core.steps.shared import Movable, movable
from core.steps.tilt.readings import NAME


def movables(deck: Deck, cartridge: Cartridge) -> Iterator[Movable]:
    """Yield the controls on this deck."""
    control = deck.tilt.control
    if control in (TiltControl.HEAD, TiltControl.COLLAR):
        yield movable(Control.TILT, "°", NAME)
    elif control is TiltControl.SHIM and cartridge.mounting is not Mounting.PLUG_IN:
        yield movable(Control.TILT_SHIM, "mm", NAME)
