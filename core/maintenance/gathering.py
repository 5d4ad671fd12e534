"""Reads from a library only what is needed to say what is due."""

from __future__ import annotations

from collections.abc import Iterable

from core.fitting import Fitting
from core.language import day_of, months_after
from core.maintenance.model import Visit, place_of, visit_of
from core.records import Cartridge, Deck
from core.store import FittingRow, Library


def visits_elsewhere(library: Library, deck_id: str, cartridge_id: str) -> tuple[Visit, ...]:
    """Return where else a cartridge was fitted, and what took its place there.

    Parameters
    ----------
    library
        Where everything is kept.
    deck_id
        The deck that is looked at: its own fittings are left out.
    cartridge_id
        The cartridge whose hours are counted.

    Raises
    ------
    LibraryProblem
        If something can't be read.
    """
    mine = [
        row
        for row in library.fittings(cartridge_id=cartridge_id, archived=False)
        if row.deck_id != deck_id
    ]
    found: list[Visit] = []
    for other in {row.deck_id for row in mine}:
        hours_a_week = library.deck(other).thing.hours_a_week
        for row in library.fittings(deck_id=other, archived=False):
            if row.cartridge_id == cartridge_id:
                found.append(visit_of(library.fitting(row.id), hours_a_week))
            else:
                found.append(_begun(row))
    return tuple(found)


def _begun(row: FittingRow) -> Visit:
    """Return another cartridge's fitting reduced to its start, which is all that counts."""
    return Visit(
        fitting_id=row.id,
        deck_id=place_of(row.deck_id, row.arm_key),
        cartridge_id=row.cartridge_id,
        started=day_of(row.started_at),
        finished=None,
        is_finished=row.finished,
        hours=(),
        hours_a_week=None,
        began=row.started_at,
    )


def on_arms_of(library: Library, deck: Deck, rows: Iterable[FittingRow]) -> dict[str, Cartridge]:
    """Return the cartridge of the latest fitting on each arm of a deck that has several.

    Raises LibraryProblem if something can't be read.
    """
    if not deck.further_arms:
        return {}
    latest = {row.arm_key: row for row in sorted(rows, key=lambda row: row.started_at)}
    return {key: library.cartridge(row.cartridge_id).thing for key, row in latest.items()}


def check_kept(library: Library, fitting: Fitting) -> str:
    """Return the day of a deck's next check that a short job leaves where it was, ISO 8601.

    Empty if the deck has none, and for a fitting that is a check itself. Raises LibraryProblem if
    something can't be read.
    """
    if fitting.is_check:
        return ""
    months = library.deck(fitting.deck_id).thing.check_months
    ended = library.last_finished.ended([fitting.deck_id]).get(fitting.deck_id)
    if not months or ended is None:
        return ""
    return months_after(day_of(ended.at), months).isoformat()
