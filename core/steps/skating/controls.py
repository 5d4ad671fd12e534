"""The controls of this step."""

from __future__ import annotations

from collections.abc import Iterator

from core.fitting import Control
from core.records import Cartridge, Deck, SkatingControl
from core.steps.shared import Movable, movable
from core.steps.skating.force import DIALS
from core.steps.skating.readings import NAME


def movables(deck: Deck, cartridge: Cartridge) -> Iterator[Movable]:
    """Yield the controls on this deck."""
    del cartridge
    control = deck.skating.control
    if control not in (SkatingControl.NONE, SkatingControl.FLUID):
        yield movable(Control.SKATING, "gf" if control in DIALS else "", NAME)
