"""The controls of this step."""

from __future__ import annotations

from collections.abc import Iterator

from core.fitting import Control
from core.records import Cartridge, Deck
from core.steps.mount.judge import NAME
from core.steps.shared import Movable, movable


def movables(deck: Deck, cartridge: Cartridge) -> Iterator[Movable]:
    """Yield the controls on this deck."""
    del deck, cartridge
    yield movable(Control.CARTRIDGE, "", NAME)
