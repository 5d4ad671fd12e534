"""The fittings that a plan for another cartridge is computed from.

A plan is computed from the fitting that left the deck as it is; the fitting started with it keeps
the plan as its first entry (:class:`core.fitting.Planned`). No prediction is trusted unread: each
is checked by the reading of its step, and the stylus gate stays closed as usual.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from core.steps.shared.swap_part import Past, worked_until
from core.workflow import journey_of

if TYPE_CHECKING:
    from core.store import Library


def whole_of(short: Past, pasts: Sequence[Past]) -> Past:
    """Return the newest finished fitting with all steps, no later than a short job.

    A plan needs all that was read; the plan then says that something was done since. The short job
    itself is returned if it is whole, or if the same cartridge has no such fitting.
    """
    if short.fitting.is_check:
        return short
    found = [
        past
        for past in pasts
        if past.fitting.is_check
        and past.fitting.is_finished
        and past.fitting.cartridge_id == short.fitting.cartridge_id
        and past.fitting.arm_key == short.fitting.arm_key
        and worked_until(past) <= worked_until(short)
    ]
    return max(found, key=worked_until, default=short)


def past_of(library: Library, fitting_id: str) -> Past:
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
    journey = journey_of(deck, cartridge, fitting)
    return Past(fitting, deck_revision, cartridge_revision, journey)
