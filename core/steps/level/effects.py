"""What disturbs this step: nothing that is moved in another."""

from __future__ import annotations

from collections.abc import Iterator

from core.fitting import MovePart
from core.records import Cartridge, Deck
from core.steps.shared.disturbance import Effect


def disturbed_by(part: MovePart, deck: Deck, cartridge: Cartridge) -> Iterator[Effect]:
    """Yield what a move, of any control, does to figures of this step."""
    del part, deck, cartridge
    yield from ()
