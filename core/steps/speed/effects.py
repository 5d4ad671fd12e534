"""Disturbances of this step: no move in another step affects it."""

from __future__ import annotations

from collections.abc import Iterator

from core.fitting import MovePart
from core.records import Cartridge, Deck
from core.steps.shared.disturbance import Effect


def disturbed_by(part: MovePart, deck: Deck, cartridge: Cartridge) -> Iterator[Effect]:
    """Yield the effect of a move of any control on the figures of this step."""
    del part, deck, cartridge
    yield from ()
