"""When belt, bearing oil, motor, mat and clamp of a deck are due again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from core.language import Message, Name, Quantity, message
from core.maintenance.model import SOON, Due, DueKind, away, told_away
from core.records import Service, ServicePart
from core.store import Stored
from core.store.service import about, ends_of


@dataclass(frozen=True, slots=True)
class Done:
    """What due dates need of one entry; it is due again after months, hours of play, or both."""

    part: ServicePart
    day: date
    done: str
    months: int | None
    hours: float | None

    @property
    def about(self) -> tuple[str, str]:
        """What a later entry must be about to take the place of this one."""
        return about(self.part.value, self.done)

    def ends(self, hours_a_week: float | None) -> tuple[date | None, date | None]:
        """Return the days on which months and hours are over; None where none or unknown."""
        return ends_of(self.day, self.months, self.hours, hours_a_week)

    def due_on(self, hours_a_week: float | None) -> date | None:
        """Return the earlier of the two; None if it has no date."""
        return min((day for day in self.ends(hours_a_week) if day is not None), default=None)

    def term(self, hours_a_week: float | None) -> tuple[str, float]:
        """Return which limit is reached that day, ``hours`` or ``months``, and its value."""
        by_months, by_hours = self.ends(hours_a_week)
        if by_hours is not None and (by_months is None or by_hours < by_months):
            return "hours", self.hours or 0.0
        return "months", self.months or 0

    def why(self, hours_a_week: float | None) -> Message:
        """Return in a short sentence which limit is reached on the day it is due."""
        name = Name(self.done) if self.part is ServicePart.OTHER else self.part
        unit, count = self.term(hours_a_week)
        if unit == "hours":
            hours = Quantity(count, "h", 0)
            return message("maintenance.service_hours_over", part=name, hours=hours)
        months = message("maintenance.months", count=round(count))
        return message("maintenance.service_months_over", part=name, months=months)


def done_of(service: Service) -> Done:
    """Return what due dates need of an entry."""
    day = date.fromisoformat(service.day)
    return Done(service.part, day, service.done, service.months, service.hours)


def counting(services: Iterable[Stored[Service]]) -> tuple[Done, ...]:
    """Return the entries of a deck that count, in the order they were made."""
    in_order = sorted(services, key=lambda one: (one.at, one.id))
    return tuple(done_of(one.thing) for one in in_order if not one.thing.withdrawn)


def latest_of(entries: Iterable[Done]) -> tuple[Done, ...]:
    """Return for each part the last entry that counts; entries come in the order they were made."""
    found: dict[tuple[str, str], Done] = {}
    for one in entries:
        known = found.get(one.about)
        if known is None or one.day >= known.day:
            found[one.about] = one
    return tuple(found.values())


def service_dues(
    entries: Sequence[Done], hours_a_week: float | None, today: date
) -> tuple[Due, ...]:
    """Return what is due on a deck by its service record.

    Parameters
    ----------
    entries
        Those that count, in the order they were made.
    hours_a_week
        How much the deck is played, from its record; None if unknown.
    today
        The day to say it for.
    """
    asked = (one for one in latest_of(entries) if one.months is not None or one.hours is not None)
    return tuple(_due(one, hours_a_week, today) for one in asked)


_KINDS: Final = {part: DueKind(part.value) for part in ServicePart}


def _due(one: Done, rate: float | None, today: date) -> Due:
    on = one.due_on(rate)
    last, done = Name(one.day.isoformat()), Name(one.done)
    if on is None:
        hours = Quantity(one.hours or 0.0, "h", 0)
        sentence = message("maintenance.service_no_rate", last=last, done=done, hours=hours)
        no_rate = message("maintenance.service_enter_rate")
        return Due(_KINDS[one.part], None, is_due=False, sentence=sentence, to_do=no_rate)
    left = (on - today).days
    is_due = left <= 0
    is_soon = not is_due and left <= SOON * (on - one.day).days
    by_months, _ = one.ends(rate)
    if on == by_months:
        sentence = message(
            "maintenance.service_by_months",
            last=last,
            done=done,
            months=message("maintenance.months", count=one.months or 0),
            next=Name(on.isoformat()),
            **told_away(one.months or 0, one.day, today, on),
        )
    else:
        sentence = message(
            "maintenance.service_by_hours",
            last=last,
            done=done,
            hours=Quantity(one.hours or 0.0, "h", 0),
            rate=Quantity(rate or 0.0, "h", 1),
            next=Name(on.isoformat()),
            away=away(left),
        )
    return Due(
        _KINDS[one.part],
        on,
        is_due=is_due,
        is_soon=is_soon,
        sentence=sentence,
        to_do=message("maintenance.service_to_do", part=one.part.value)
        if is_due or is_soon
        else None,
    )
