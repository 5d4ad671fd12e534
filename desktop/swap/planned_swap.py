"""What a plan page shows: a plan, the fitting as it would begin, and how earlier plans fared."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from core.fitting import ArmUsed, Entry, Fitting, Journey
from core.records import Cartridge, Deck
from core.store import FittingRow, Library, Stored
from core.swap import Foretold, Past, SwapPlan, compare, past_of, plan_swap, whole_of
from core.workflow import journey_of
from desktop.widgets.language import tr

_MOST_PASTS: Final = 12
"""Fittings of the deck that are looked at, the latest first; older ones tell little more."""


@dataclass(frozen=True, slots=True)
class PlannedSwap:
    """A swap and what is known of it before it begins."""

    plan: SwapPlan  # the plan
    old: Past  # the fitting that left the deck as it is
    deck: Stored[Deck]  # the deck and the new cartridge as the library holds them
    cartridge: Stored[Cartridge]
    journey: Journey  # the new fitting as it would stand once begun
    foretold: tuple[Foretold, ...]  # what the plan foretells, with its labels
    # Earlier fittings of the deck that were begun with a plan, and how their plans fared
    earlier: tuple[tuple[Past, tuple[Foretold, ...]], ...]
    # The fittings that were looked at, each with how many entries it had
    looked_at: tuple[tuple[str, int], ...]

    def is_current(self, library: Library) -> bool:
        """Whether deck, cartridge and the fittings of the deck are still as the plan knew them.

        Raises LibraryProblem if they can't be read.
        """
        old = library.fitting(self.old.fitting.id)
        return (
            library.deck(self.deck.id).revision == self.deck.revision
            and library.cartridge(self.cartridge.id).revision == self.cartridge.revision
            and len(old.entries) == len(self.old.fitting.entries)
            and _counted(_finished(library, self.deck.id)) == self.looked_at
        )


def _finished(library: Library, deck_id: str) -> tuple[FittingRow, ...]:
    return library.fittings(deck_id=deck_id, finished=True, limit=_MOST_PASTS)


def _counted(rows: tuple[FittingRow, ...]) -> tuple[tuple[str, int], ...]:
    return tuple((row.id, row.entry_count) for row in rows)


def work_out_swap(library: Library, from_fitting: str, cartridge_id: str) -> PlannedSwap:
    """Work out what fitting a cartridge after an earlier fitting would ask for.

    Raises LibraryProblem if anything of it can't be read.
    """
    with library.snapshot():
        old = past_of(library, from_fitting)
        deck = library.deck(old.fitting.deck_id)
        cartridge = library.cartridge(cartridge_id)
        rows = _finished(library, deck.id)
        pasts = tuple(old if row.id == from_fitting else past_of(library, row.id) for row in rows)
        old = whole_of(old, pasts)
    plan = plan_swap(deck.thing, old, cartridge.thing, pasts, new_cartridge_id=cartridge_id)
    fitting = Fitting(
        id=tr("swap.planned_swap.not_begun"),
        deck_id=deck.id,
        deck_revision=deck.revision,
        cartridge_id=cartridge.id,
        cartridge_revision=cartridge.revision,
        started_at=old.fitting.started_at,
        entries=tuple(
            Entry(body=body)
            for body in (
                ArmUsed.of(old.fitting.arm) if old.fitting.arm is not None else None,
                plan.planned(),
                old.fitting.headshell,
            )
            if body
        ),
    )
    journey = journey_of(deck.thing, cartridge.thing, fitting)
    fared = ((past, compare(past.journey)) for past in pasts)
    earlier = tuple(
        (past, tuple(one for one in foretold if one.found is not None))
        for past, foretold in fared
        if any(one.found is not None for one in foretold)
    )
    foretold = compare(journey)
    return PlannedSwap(plan, old, deck, cartridge, journey, foretold, earlier, _counted(rows))
