"""Moves that nobody proposed: the controls on a deck, and the step that keeps the move.

A person who moved something else than ordered records it, and every solver sees it in the log like
any other move.
"""

from __future__ import annotations

from core.fitting import Journey
from core.records import Cartridge, Deck
from core.steps import STEP_NAMES, STEPS
from core.steps.shared import Movable


def movables(deck: Deck, cartridge: Cartridge, step: str) -> tuple[Movable, ...]:
    """Return all controls of a deck, those of ``step`` first."""
    found = (one for each in STEPS for one in each.movables(deck, cartridge))
    once = {(one.control, one.where): one for one in found}
    return tuple(sorted(once.values(), key=lambda one: step not in one.homes))


def home_of(movable: Movable, journey: Journey, step: str) -> str:
    """Return the step that keeps a move: one it belongs to, else the one it was entered in.

    Of several it is the one on show, else the latest with entries, else the first open one.
    """
    if step in movable.homes:
        return step
    open_ones = [name for name in movable.homes if journey.status(name).is_open]
    begun = [name for name in open_ones if journey.status(name).trials]
    if begun:
        return max(begun, key=STEP_NAMES.index)
    return open_ones[0] if open_ones else step
