"""What a move that is left out of the record leaves undone on the deck.

Leaving an entry out moves nothing. Whoever really made the move either keeps the entry, or takes
the move back by hand: only then do record and deck agree.
"""

from __future__ import annotations

from core.fitting import WITHOUT_AMOUNT, Fitting, MoveMade, Withdrawn
from core.language import Message, Series, message
from core.records import Deck
from core.workflow.descriptions import described_parts


def back_by_hand(fitting: Fitting, entry_id: str, deck: Deck) -> Message | None:
    """Return what would take a left-out move back by hand; None if the entry is no move.

    A move that an answer turned round is taken back as it counted. No amount is told where a later
    move of its step or of its controls still counts: that one may have taken it back already.
    """
    kept = tuple(
        entry
        for entry in fitting.entries
        if not (isinstance(entry.body, Withdrawn) and entry.body.entry == entry_id)
    )
    counted = tuple(fitting.model_copy(update={"entries": kept}).counting())
    at = next((at for at, entry in enumerate(counted) if entry.id == entry_id), len(counted))
    body = counted[at].body if at < len(counted) else None
    if not isinstance(body, MoveMade):
        return None
    if any(_moves_on(body, entry.body) for entry in counted[at + 1 :]):
        return message("workflow.left_out.moved_since")
    parts = [part for part in body.parts if part.control not in WITHOUT_AMOUNT and part.amount]
    if not parts:
        return message("workflow.left_out.no_amount")
    back: Series = described_parts(
        (part.turned_round() for part in parts), parallel=not deck.arm.is_pivoted
    )
    return message("workflow.left_out.back", back=back)


def _moves_on(body: MoveMade, later: object) -> bool:
    """Whether a later entry is a move of the same step, or of a control of this move."""
    if not isinstance(later, MoveMade):
        return False
    controls = {part.control for part in body.parts}
    return later.step == body.step or any(part.control in controls for part in later.parts)
