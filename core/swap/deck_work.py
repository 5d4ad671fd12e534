"""Readings and settings of the deck itself, from fittings on its other arms."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from core.fitting import Fitting, MoveMade, ReadingTaken
from core.records import Deck, arm_name
from core.steps import STEPS_OF_DECK
from core.store import LibraryProblem, ProblemKind
from core.workflow import OtherArmWork

if TYPE_CHECKING:
    from core.steps.shared.swap_part import Past
    from core.store import Library

_UNREADABLE: Final = (ProblemKind.DAMAGED, ProblemKind.NEWER)

_MOST: Final = 12
"""Number of the deck's fittings considered, the latest first."""


def work_on_deck(pasts: Iterable[Past]) -> dict[str, OtherArmWork]:
    """Return the last work on each of the deck's steps in fittings of other arms."""
    found: dict[str, OtherArmWork] = {}
    for past in pasts:
        arm = past.journey.arm
        _add(found, past.fitting, arm.name if arm is not None else "")
    return found


def work_elsewhere(library: Library, deck: Deck, fitting: Fitting) -> tuple[OtherArmWork, ...]:
    """Return the last work on level and speed of a deck in fittings of its other arms.

    A damaged one does not block this fitting: everything may have been set in it. Raises
    LibraryProblem if the library itself can't be read.
    """
    if not deck.further_arms and fitting.arm is None:
        return ()
    found: dict[str, OtherArmWork] = {}
    # An archived one counts too: the feet stay where it left them.
    for row in library.fittings(deck_id=fitting.deck_id, limit=_MOST):
        if row.id != fitting.id and row.arm_key != fitting.arm_key:
            arm = arm_name(deck, row.arm_key)
            try:
                _add(found, library.fitting(row.id), arm)
            except LibraryProblem as problem:
                if problem.kind not in _UNREADABLE:
                    raise
                for step in STEPS_OF_DECK:
                    lost = OtherArmWork(step, row.last_at, row.last_at, arm, arm, is_lost=True)
                    found[step] = found[step].and_also(lost) if step in found else lost
    return tuple(found.values())


def _add(found: dict[str, OtherArmWork], fitting: Fitting, name: str) -> None:
    for entry in fitting.counting():
        body = entry.body
        if isinstance(body, ReadingTaken | MoveMade) and body.step in STEPS_OF_DECK:
            moved = entry.at if isinstance(body, MoveMade) else None
            work = OtherArmWork(body.step, entry.at, moved, name, name)
            known = found.get(body.step)
            found[body.step] = work if known is None else known.and_also(work)
