"""Undo an import, as far as nobody has changed since what it brought.

Nothing is deleted. New records are archived; entries that were added to a fitting are withdrawn;
where a deck or cartridge got a newer revision, the previous one becomes the newest again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Final

from core.fitting import Entry, Withdrawn
from core.store.backend import WorkStoppedError
from core.store.library import Library

_RECORDS: Final = (
    *("deck", "cartridge", "job", "customer", "headshell", "service"),
    *("test record", "picture"),
)


@dataclass(frozen=True, slots=True)
class Came:
    """One record that an import added or changed.

    ``before`` and ``after`` are its newest revision, or for a fitting the number of its entries,
    before and after; ``before`` is None for a record that was new here.
    """

    sort: str
    id: str
    before: int | None
    after: int


@dataclass(frozen=True, slots=True)
class Brought:
    """All that one import added or changed, in order."""

    came: tuple[Came, ...]


@dataclass(slots=True)
class TakenBack:
    """The result of undoing an import.

    ``archived`` counts archived records by sort; ``left`` are sort and id of the records that
    somebody has changed or used since, which stay as they are.
    """

    archived: dict[str, int] = field(default_factory=dict)
    put_back: int = 0
    withdrawn: int = 0
    left: list[tuple[str, str]] = field(default_factory=list)


def take_back(
    library: Library,
    brought: Brought,
    *,
    who: str = "",
    reason: str = "",
    go_on: Callable[[], bool] = lambda: True,
    told: Callable[[int], None] = lambda _count: None,
) -> TakenBack:
    """Undo an import, except for what was changed since; all or nothing.

    ``who`` and ``reason`` are kept with withdrawn entries. WorkStoppedError once ``go_on`` returns
    False; ``told`` is called with the number of records done.
    """
    with library.transaction():
        taking = _Taking(library, who or library.who, reason)
        fittings = [one for one in brought.came if one.sort == "fitting"]
        records = [one for one in brought.came if one.sort != "fitting"]
        for count, one in enumerate(_while(fittings, go_on), 1):
            taking.take_fitting(one)
            told(count)
        taking.put_away("fitting")
        used = _used_by_others(library, records)
        for count, one in enumerate(_while(records, go_on), len(fittings) + 1):
            taking.take_record(one, is_used=one.id in used)
            told(count)
        for sort in _RECORDS:
            taking.put_away(sort)
    return taking.done


def _while(came: Iterable[Came], go_on: Callable[[], bool]) -> Iterable[Came]:
    for one in came:
        if not go_on():
            raise WorkStoppedError
        yield one


def _used_by_others(library: Library, records: Iterable[Came]) -> set[str]:
    """Return which records an unarchived fitting uses."""
    new = {one.id for one in records if one.before is None}
    return {used for used in library.log.records_in_use() if used in new} if new else set()


class _Taking:
    """One import being undone."""

    def __init__(self, library: Library, who: str, reason: str) -> None:
        self._library, self._who, self._reason = library, who, reason
        self.done = TakenBack()
        self._away: dict[str, list[str]] = {}

    def put_away(self, sort: str) -> None:
        """Archive all records of one sort that are unchanged since the import."""
        act = self._library.archive(sort, self._away.pop(sort, ()), archived=True)
        if act.before:
            self.done.archived[sort] = len(act.before)

    def take_fitting(self, one: Came) -> None:
        """Note a new fitting for archiving, or withdraw the entries that were added to one."""
        log = self._library.log
        fitting = log.get(one.id)
        if len(fitting.entries) != one.after:
            self.done.left.append((one.sort, one.id))
        elif one.before is None:
            self._away.setdefault(one.sort, []).append(one.id)
        else:
            now, who = datetime.now(UTC), self._who
            added = fitting.entries[one.before : one.after]
            bodies = [Withdrawn(entry=entry.id, reason=self._reason) for entry in added]
            log.extend(one.id, [Entry(at=now, who=who, body=body) for body in bodies])
            self.done.withdrawn += len(bodies)

    def take_record(self, one: Came, *, is_used: bool) -> None:
        """Note a new record for archiving, or make its previous revision the newest again."""
        library = self._library
        store = library.records(one.sort)
        if store.newest(one.id) != one.after or is_used or self._would_lose_an_arm(one):
            self.done.left.append((one.sort, one.id))
        elif one.before is None:
            self._away.setdefault(one.sort, []).append(one.id)
        else:
            store.add(one.id, store.get(one.id, one.before).thing, who=self._who)
            self.done.put_back += 1

    def _would_lose_an_arm(self, one: Came) -> bool:
        """Whether a fitting names an arm that the deck's previous revision lacks."""
        if one.sort != "deck" or one.before is None:
            return False
        then, now = (self._library.deck(one.id, at).thing for at in (one.before, one.after))
        came = {arm.key for arm in now.further_arms} - {arm.key for arm in then.further_arms}
        used = {row.arm_key for row in self._library.fittings(deck_id=one.id, archived=False)}
        return bool(came & used)


def names_of(library: Library, records: Iterable[tuple[str, str]]) -> Mapping[str, str]:
    """Return the names of records by id; for a job its number, for a fitting its deck."""
    by_sort: dict[str, list[str]] = {}
    for sort, record_id in records:
        by_sort.setdefault(sort, []).append(record_id)
    found = {row.id: row.name for row in library.deck_records.rows_of(by_sort.get("deck", ()))}
    for sort in _RECORDS[1:]:
        rows = library.records(sort).rows_of(by_sort.get(sort, ()))
        found |= {row.id: row.name for row in rows}
    found |= {row.id: row.deck_name for row in library.log.rows_of(by_sort.get("fitting", ()))}
    return found
