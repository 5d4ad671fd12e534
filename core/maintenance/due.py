"""What falls due on a deck: check, stylus, drift of its speed, and what its service record says.

Nothing here is stored: all of it follows from the log, the service record, the deck's and the
cartridge's record and today's date.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from types import MappingProxyType

from core.fitting import Figure
from core.language import Message, Name, Sentences, message, months_after
from core.maintenance.model import (
    SOON,
    Due,
    DueKind,
    HoursAt,
    Urgency,
    Visit,
    in_order,
    told_away,
    visit_of,
)
from core.maintenance.service_due import Done, service_dues
from core.maintenance.speed_drift import speed_due
from core.maintenance.stylus_wear import AHEAD, stylus_due
from core.records import Cartridge, Deck, arms_of
from core.steps.shared.swap_part import Past

__all__ = [
    "Due",
    "DueKind",
    "HoursAt",
    "Urgency",
    "Visit",
    "check_due",
    "due_of",
    "stylus_due",
    "visit_of",
]


def due_of(
    deck: Deck,
    cartridge: Cartridge | None,
    pasts: Sequence[Past],
    today: date,
    *,
    elsewhere: Sequence[Visit] = (),
    services: Sequence[Done] = (),
    on_arms: Mapping[str, Cartridge] = MappingProxyType({}),
) -> tuple[Due, ...]:
    """Return what falls due on a deck, what is due first.

    Each arm of a deck is checked, and wears a stylus, by itself; one put away falls due no more.

    Parameters
    ----------
    deck, cartridge
        As they are known now; the cartridge is that of the deck's latest fitting, None if there is
        none.
    pasts
        All fittings of the deck that count, in any order.
    today
        The day to say it for.
    elsewhere
        Fittings of the cartridge on other decks, and of others on those decks: stylus hours follow
        the cartridge.
    services
        The entries of its service record that count, in the order they were made.
    on_arms
        The cartridges of the latest fittings on its arms by their keys, as known now, where it has
        several; of one that is missing no stylus is told.

    Returns
    -------
    tuple of Due
        Of a deck that no fitting was begun on only what its service record says.
    """
    found: list[Due | None] = [*service_dues(services, deck.hours_a_week, today)]
    if pasts and deck.further_arms:
        found += _by_arms(deck, on_arms, pasts, today, elsewhere)
    elif pasts and cartridge is not None:
        found += _by_fittings(deck, cartridge, pasts, today, elsewhere)
    return tuple(
        sorted(
            (due for due in found if due is not None),
            key=lambda due: (not due.is_due, not due.is_soon, due.on is None, due.on or date.max),
        )
    )


def _by_arms(
    deck: Deck,
    cartridges: Mapping[str, Cartridge],
    pasts: Sequence[Past],
    today: date,
    elsewhere: Sequence[Visit],
) -> list[Due | None]:
    pasts = sorted(pasts, key=lambda past: (past.fitting.started_at, past.fitting.id))
    everywhere = [*(visit_of(past.fitting, deck.hours_a_week) for past in pasts), *elsewhere]
    found: list[Due | None] = []
    for arm in arms_of(deck):
        mine = [
            visit_of(past.fitting, deck.hours_a_week)
            for past in pasts
            if past.fitting.arm_key == arm.key
        ]
        if not mine:
            continue
        dues = [check_due(deck, mine, today)]
        if arm.key in cartridges:
            dues.append(stylus_due(cartridges[arm.key], mine[-1].cartridge_id, everywhere, today))
        found += [replace(due, arm=arm.name) for due in dues if due is not None]
    found += _speeds(deck, pasts, today)
    return found


def _speeds(deck: Deck, pasts: Sequence[Past], today: date) -> list[Due]:
    finished = [past.journey for past in pasts if past.fitting.is_finished]
    return [*speed_due(finished, deck.tolerances.speed_percent, today)]


def _by_fittings(
    deck: Deck,
    cartridge: Cartridge,
    pasts: Sequence[Past],
    today: date,
    elsewhere: Sequence[Visit],
) -> list[Due | None]:
    pasts = sorted(pasts, key=lambda past: (past.fitting.started_at, past.fitting.id))
    visits = [visit_of(past.fitting, deck.hours_a_week) for past in pasts]
    latest = visits[-1]
    found: list[Due | None] = [check_due(deck, visits, today)]
    found.append(stylus_due(cartridge, latest.cartridge_id, [*visits, *elsewhere], today))
    found += _speeds(deck, pasts, today)
    return found


def check_due(deck: Deck, visits: Sequence[Visit], today: date) -> Due | None:
    """Return when a deck is to be checked again; None if its record wants no date.

    Parameters
    ----------
    deck
        As it is known now.
    visits
        Its fittings.
    today
        The day to say it for.
    """
    if deck.check_months is None:
        return None
    finished = [
        visit.finished
        for visit in in_order(visits)
        if visit.is_finished and visit.is_check and visit.finished is not None
    ]
    if not finished:
        return Due(
            DueKind.CHECK,
            None,
            is_due=False,
            sentence=message("maintenance.only_short_jobs")
            if any(visit.is_finished for visit in visits)
            else message("maintenance.never_finished"),
        )
    last = max(finished)
    on = months_after(last, deck.check_months)
    left = (on - today).days
    is_due = left <= 0
    is_soon = not is_due and left <= SOON * (on - last).days
    sentence = message(
        "maintenance.next_check",
        last=Name(last.isoformat()),
        months=message("maintenance.months", count=deck.check_months),
        next=Name(on.isoformat()),
        **told_away(deck.check_months, last, today, on),
    )
    if last > today:
        sentence = message("maintenance.sentences", all=Sentences((sentence, AHEAD)))
    return Due(
        DueKind.CHECK,
        on,
        is_due=is_due,
        is_soon=is_soon,
        sentence=sentence,
        figures=(Figure("days_left", message("maintenance.days_left"), float(left), "d", 0),),
        to_do=_what_to_do(in_order(visits)[-1]) if is_due or is_soon else None,
    )


def _what_to_do(latest: Visit) -> Message:
    if not latest.is_finished:
        return message("maintenance.under_way", since=Name(latest.started.isoformat()))
    return message("maintenance.begin_one")
