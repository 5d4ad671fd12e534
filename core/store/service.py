"""The service record of decks: entries that can be added and withdrawn, in their own tables."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from typing import Final, NamedTuple

from core.fitting import new_id
from core.language import days_after, months_after
from core.records import Deck, Service, ServicePart
from core.store import problems
from core.store.backend import Above, Backend, Conditions
from core.store.revisions import RevisionStore
from core.store.rows import Stored


class ServiceLine(NamedTuple):
    """What due dates need of an entry. ``months`` and ``hours`` are texts, empty for none."""

    id: str
    deck_id: str
    part: str
    day: str
    done: str
    months: str
    hours: str
    withdrawn: str
    archived: int
    at: str


_LINE: Final = (
    *("id", "deck_id", "feature", "day", "name", "months", "hours", "withdrawn", "archived", "at"),
)


def ends_of(
    day: date, months: int | None, hours: float | None, hours_a_week: float | None
) -> tuple[date | None, date | None]:
    """Return the days on which months and hours are over; None where none or unknown."""
    by_months = None if months is None else months_after(day, months)
    by_hours = None
    if hours is not None and hours_a_week:
        by_hours = days_after(day, hours / hours_a_week * 7.0)
    return by_months, by_hours


def about(part: str, done: str) -> tuple[str, str]:
    """Return what a later entry must be about to take the place of an earlier one.

    Something else may be two things: those are told apart by their words.
    """
    return part, " ".join(done.casefold().split()) if part == ServicePart.OTHER.value else ""


class ServiceRecords:
    """All entries of a library."""

    def __init__(self, backend: Backend, decks: RevisionStore[Deck]) -> None:
        self._backend = backend
        self._decks = decks
        self.records: RevisionStore[Service] = RevisionStore(
            backend,
            "service",
            Service,
            lambda one: (one.done, "", one.part.value),
            more=lambda one: {
                "deck_id": one.deck,
                "day": one.day,
                "months": str(one.months or ""),
                "hours": str(one.hours or ""),
                "withdrawn": one.withdrawn,
            },
        )

    def add(self, service: Service, service_id: str | None = None, *, who: str) -> Stored[Service]:
        """Keep an entry; raises NO_SUCH_RECORD for an unknown deck.

        With an id of the caller's, a failed call can be repeated without a second entry.
        """
        with self._backend.transaction():
            if not self._decks.has(service.deck):
                raise problems.no_such("deck", service.deck)
            if service_id is not None and self.records.has(service_id):
                return self.records.get(service_id)
            return self.records.add(service_id or new_id(), service, who=who)

    def withdraw(self, service_id: str, day: str, *, who: str) -> Stored[Service]:
        """Withdraw an entry from this day on; an empty day brings it back."""
        with self._backend.transaction():
            now = self.records.get(service_id)
            changed = now.thing.model_copy(update={"withdrawn": day})
            return self.records.keep(changed, service_id, who=who, based_on=now.revision)

    def ids_of(self, deck_ids: Sequence[str]) -> tuple[str, ...]:
        """Return the ids of all entries of decks, withdrawn and archived ones too."""
        found = self._backend.select("services", ("id",), {"deck_id": tuple(deck_ids)})
        return tuple(sorted(service_id for (service_id,) in found))

    def of_deck(self, deck_id: str) -> tuple[Stored[Service], ...]:
        """Return the unarchived entries of a deck, newest first."""
        with self._backend.snapshot():
            found = self._backend.select("services", ("id",), {"deck_id": deck_id, "archived": 0})
            kept = [self.records.get(service_id) for (service_id,) in found]
        return tuple(sorted(kept, key=lambda one: (one.thing.day, one.at, one.id), reverse=True))

    def lines(self, after: str, most: int) -> tuple[list[ServiceLine], str]:
        """Return the next ``most`` entries by id, and the id to go on after; empty at the end."""
        found = self._backend.select(
            "services", _LINE, {"id": Above(after)}, order=("id",), limit=most
        )
        lines = [ServiceLine(*row) for row in found]
        return lines, lines[-1].id if len(lines) == most else ""

    def decks_in_use(self, deck_ids: Iterable[str]) -> frozenset[str]:
        """Return those of the decks that are not archived."""
        found = self._backend.select("things", ("id",), {"id": tuple(deck_ids), "archived": 0})
        return frozenset(deck_id for (deck_id,) in found)

    def due_days(
        self,
        deck_ids: Sequence[str],
        said_of_decks: Callable[[Sequence[str], str], Mapping[str, object]],
    ) -> dict[str, date]:
        """Return the day on which the first service of each deck falls due, for those with one.

        ``said_of_decks`` returns one field of the newest records of these decks by id. An entry
        with impossible values is left out.
        """
        where: Conditions = {"archived": 0, "withdrawn": "", "deck_id": tuple(deck_ids)}
        latest: dict[tuple[str, tuple[str, str]], ServiceLine] = {}
        for row in self._backend.select("services", _LINE, where):
            line = ServiceLine(*row)
            key = line.deck_id, about(line.part, line.done)
            known = latest.get(key)
            if known is None or (line.day, line.at, line.id) >= (known.day, known.at, known.id):
                latest[key] = line
        played = {line.deck_id for line in latest.values() if line.hours}
        rates = said_of_decks(tuple(played), "hours_a_week") if played else {}
        days: dict[str, list[date]] = defaultdict(list)
        for line in latest.values():
            said = rates.get(line.deck_id)
            rate = float(said) if isinstance(said, int | float) else None
            try:
                months = int(line.months) if line.months else None
                hours = float(line.hours) if line.hours else None
                ends = ends_of(date.fromisoformat(line.day), months, hours, rate)
            except ValueError:
                continue
            days[line.deck_id] += [day for day in ends if day is not None]
        return {deck_id: min(of_deck) for deck_id, of_deck in days.items() if of_deck}
