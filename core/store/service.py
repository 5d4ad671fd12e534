"""The service record of decks: entries that can be added and withdrawn, in their own tables."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final, NamedTuple

from core.fitting import new_id
from core.records import Deck, Service
from core.store import problems
from core.store.backend import Above, Backend
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
