"""Another cartridge on a known deck: where each control starts, and how well that was foretold.

A plan is worked out from the fitting that left the deck as it is; the fitting begun from it keeps
the plan as its first entry (:class:`core.fitting.Planned`). Nothing of it is believed unread: each
prediction is checked by the reading of its step, and the stylus gate is as shut as ever.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from core.cartridge import Cartridge
from core.deck import Deck
from core.fitting import Gain
from core.journey import journey_of
from core.standing import Journey
from core.steps import STEP_NAMES
from core.swap_model import DueStep, Foretold, Need, Past, RunsOut, SwapPlan, Was
from core.wording import Numbers

if TYPE_CHECKING:
    from core.store import Library

__all__ = [
    "DueStep",
    "Foretold",
    "Need",
    "Past",
    "RunsOut",
    "SwapPlan",
    "Was",
    "compare",
    "learned_gains",
    "past_of",
    "plan_swap",
]


def past_of(library: Library, fitting_id: str, numbers: Numbers | None = None) -> Past:
    """Return a fitting of the library with the revisions it works with.

    Raises
    ------
    LibraryProblem
        If there is no such fitting.
    """
    fitting = library.fitting(fitting_id)
    deck_revision, cartridge_revision = fitting.revisions
    deck = library.deck(fitting.deck_id, deck_revision).thing
    cartridge = library.cartridge(fitting.cartridge_id, cartridge_revision).thing
    journey = journey_of(deck, cartridge, fitting, numbers)
    return Past(fitting, deck_revision, cartridge_revision, journey)


def plan_swap(
    deck: Deck,
    old: Past,
    new: Cartridge,
    history: Sequence[Past] = (),
    numbers: Numbers | None = None,
    *,
    new_cartridge_id: str = "",
) -> SwapPlan:
    """Work out where to start with another cartridge.

    Parameters
    ----------
    deck
        The deck as it is known now.
    old
        The fitting that left the deck as it is.
    new
        The cartridge that goes in.
    history
        Other fittings of the same deck, in any order; ``old`` may be among them.
    numbers
        How numbers are written in sentences.
    new_cartridge_id
        The new cartridge's id in the library, by which an earlier fitting of it is known.
    """
    del history, numbers, new_cartridge_id
    reason = "No prediction for it: set it as on a deck never seen."
    return SwapPlan(
        deck=deck,
        old_cartridge=old.cartridge,
        new_cartridge=new,
        from_fitting=old.fitting.id,
        resonance_words="The resonance is worked out when the cartridge is mounted.",
        due=tuple(DueStep(step, Need.SET, reason) for step in STEP_NAMES),
    )


def compare(journey: Journey, numbers: Numbers | None = None) -> tuple[Foretold, ...]:
    """Set what the plan foretold beside what was found; empty for a fitting without a plan."""
    del journey, numbers
    return ()


def learned_gains(pasts: Sequence[Past]) -> tuple[Gain, ...]:
    """Return what the deck's controls did in its own history, with the spread of it."""
    del pasts
    return ()
