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

    A move that an answer turned round is taken back as it counted.
    """
    kept = tuple(
        entry
        for entry in fitting.entries
        if not (isinstance(entry.body, Withdrawn) and entry.body.entry == entry_id)
    )
    counted = fitting.model_copy(update={"entries": kept}).counting()
    body = next((entry.body for entry in counted if entry.id == entry_id), None)
    if not isinstance(body, MoveMade):
        return None
    parts = [part for part in body.parts if part.control not in WITHOUT_AMOUNT and part.amount]
    if not parts:
        return message("workflow.left_out.no_amount")
    back: Series = described_parts(
        (part.turned_round() for part in parts), parallel=not deck.arm.is_pivoted
    )
    return message("workflow.left_out.back", back=back)
