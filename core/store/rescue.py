"""Rescue what is readable of a damaged library into a new one.

Every deck, cartridge, headshell, job, customer, service entry, fitting and log entry that is
readable and valid is kept in the new library under its own id; the damaged one is only read. A
fitting whose own row is lost is rebuilt from columns that the library repeats elsewhere. Where that
fails too, its entries are handed over to be kept in another way. What could not be read is listed.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final, TypeVar

from pydantic import TypeAdapter, ValidationError

from core.fitting import Body, Entry, Fitting, ThingsRevised
from core.language import Message, Name, message
from core.records import Cartridge, Deck, FrozenModel
from core.store.backend import LibraryAddress, Salvage, WorkStoppedError
from core.store.jpeg import Content, NoPictureError
from core.store.library import Library
from core.store.problems import LibraryProblem
from core.store.revisions import RevisionStore
from core.store.rows import REVISION_TABLES, TABLES, moment

T = TypeVar("T", bound=FrozenModel)
Record = Mapping[str, Any]
Strays = Mapping[str, Sequence[Entry]]
"""Entries whose deck and cartridge are unknown, by the id of their fitting."""
_MOST_LINES: Final = 12


@dataclass(slots=True)
class Rescued:
    """The result of a rescue: counts, and a line for each thing that could not be read."""

    decks: int = 0
    cartridges: int = 0
    fittings: int = 0
    entries: int = 0
    jobs: int = 0
    lost: list[Message] = field(default_factory=list)

    def lines(self) -> list[Message]:
        """Return lines about what could not be read; the last may count the rest."""
        if len(self.lost) <= _MOST_LINES:
            return self.lost
        rest = len(self.lost) - _MOST_LINES
        return [*self.lost[:_MOST_LINES], message("storage.rescue.more", count=rest)]


def rescue(
    damaged: LibraryAddress,
    target: LibraryAddress,
    *,
    keep_strays: Callable[[Strays], Message],
    go_on: Callable[[], bool] = lambda: True,
) -> Rescued:
    """Read all that is readable and keep it in a new library at ``target``.

    ``keep_strays`` keeps the entries without a fitting, and returns where. The new library holds
    all of it or nothing. Raises LibraryProblem if not even the list of tables can be read, or the
    new library can't be written; WorkStoppedError once ``go_on`` returns False.
    """
    salvaged = damaged.salvage(go_on)
    with Library.open(target, begin_anew=True) as library, library.transaction():
        return _Rescue(library, salvaged, keep_strays, go_on).run()


class _Rescue:
    def __init__(
        self,
        library: Library,
        salvaged: Salvage,
        keep_strays: Callable[[Strays], Message],
        go_on: Callable[[], bool],
    ) -> None:
        self._library = library
        self._salvaged = salvaged
        self._keep_strays = keep_strays
        self._go_on = go_on
        self._bodies: TypeAdapter[Body] = TypeAdapter(Body)
        self._places: dict[str, dict[int, int]] = {}
        self._names: dict[str, str] = {}
        self._told = Rescued()

    def run(self) -> Rescued:
        """Rescue everything; return the result."""
        self._told.lost += [
            message("storage.rescue.cut", table=table) for table in sorted(self._salvaged.cut)
        ]
        self._keep_things()
        self._keep_apart("job", self._library.jobs.records)
        self._keep_apart("customer", self._library.jobs.customers)
        self._keep_apart("headshell", self._library.headshell_records)
        self._keep_apart("service", self._library.service.records)
        self._keep_apart("test record", self._library.test_records)
        self._keep_fittings()
        self._keep_apart("picture", self._library.pictures.records)
        self._keep_contents()
        return self._told

    # decks and cartridges

    def _keep_things(self) -> None:
        heads = {str(row["id"]): row for row in self._salvaged.rows["things"]}
        revisions: dict[str, list[Record]] = defaultdict(list)
        for row in self._salvaged.rows["thing_revisions"]:
            revisions[str(row["thing_id"])].append(row)
        missing_of = Counter(str(key[0]) for key in self._salvaged.missing["thing_revisions"])
        missing = {*missing_of, *(str(key[0]) for key in self._salvaged.missing["things"])}
        unreadable = 0
        for thing_id in sorted({*heads, *revisions, *missing}):
            self._ask()
            head = heads.get(thing_id, {})
            read = [one for row in revisions[thing_id] if (one := _revision(row, head))]
            if not read:
                unreadable += 1
                continue
            self._keep_thing(thing_id, sorted(read, key=lambda one: one[0]), head)
            gone = len(revisions[thing_id]) - len(read)
            gone += sum(
                str(key[0]) == thing_id for key in self._salvaged.missing["thing_revisions"]
            )
            if gone:
                name = Name(self._names[thing_id])
                self._told.lost.append(message("storage.rescue.revisions", name=name, count=gone))
        if unreadable:
            self._told.lost.append(message("storage.rescue.things", count=unreadable))

    def _keep_thing(
        self,
        thing_id: str,
        read: Sequence[tuple[int, datetime, str, Deck | Cartridge]],
        head: Record,
    ) -> None:
        newest = read[-1][3]
        of_sort = [one for one in read if type(one[3]) is type(newest)]
        if isinstance(newest, Deck):
            self._told.decks += 1
            places = _add(self._library.deck_records, thing_id, of_sort)
        else:
            self._told.cartridges += 1
            places = _add(self._library.cartridge_records, thing_id, of_sort)
        self._places[thing_id] = places
        self._names[thing_id] = newest.name
        if head.get("archived") == 1:
            sort = "deck" if isinstance(newest, Deck) else "cartridge"
            self._library.archive(sort, [thing_id], archived=True)

    # jobs, customers and headshells

    def _keep_apart(self, sort: str, store: RevisionStore[T]) -> None:
        """Keep the records of one sort, in the order of their revisions; note what is lost."""
        heads = {str(row["id"]): row for row in self._salvaged.rows[TABLES[sort]]}
        states = self._salvaged.missing[REVISION_TABLES[sort]]
        lost = {str(key[0]) for key in (*states, *self._salvaged.missing[TABLES[sort]])}
        read: dict[str, list[tuple[int, datetime, str, T]]] = defaultdict(list)
        for row in self._salvaged.rows[REVISION_TABLES[sort]]:
            self._ask()
            one = _read_as(store.model, row)
            if one is None:
                lost.add(str(row["thing_id"]))
            else:
                read[str(row["thing_id"])].append(one)
        for record_id, found in read.items():
            _add(store, record_id, sorted(found, key=lambda one: one[0]))
            if heads.get(record_id, {}).get("archived") == 1:
                self._library.archive(sort, [record_id], archived=True)
        if sort == "job":
            self._told.jobs = len(read)
        if lost | (heads.keys() - read.keys()):
            count = len(lost | (heads.keys() - read.keys()))
            self._told.lost.append(message("storage.rescue.apart", sort=sort, count=count))

    def _keep_contents(self) -> None:
        """Keep the contents of pictures one at a time; note how many are lost."""
        there = [str(row["hash"]) for row in self._salvaged.rows["picture_contents"]]
        lost = {str(key[0]) for key in self._salvaged.missing["picture_contents"]} | {*there}
        for digest, image, small in self._salvaged.contents(there):
            self._ask()
            try:
                content = Content.of(image, small)
            except NoPictureError:
                continue
            if content.hash == digest:
                self._library.pictures.keep_content(content)
                lost.discard(digest)
        if lost:
            self._told.lost.append(message("storage.rescue.contents", count=len(lost)))

    # fittings

    def _keep_fittings(self) -> None:
        entries: dict[str, list[Record]] = defaultdict(list)
        for row in self._salvaged.rows["entries"]:
            entries[str(row["fitting_id"])].append(row)
        heads: dict[str, tuple[Fitting, bool]] = {}
        for row in self._salvaged.rows["fittings"]:
            head = self._head(row)
            if head is not None:
                heads[head.id] = head, row["archived"] == 1
        rebuilt = {
            head.id: (head, False)
            for row in self._salvaged.repeated["fittings"]
            if (head := self._head_again(row)) is not None and head.id not in heads
        }
        for head, archived in (heads | rebuilt).values():
            self._ask()
            self._keep_fitting(head, entries.pop(head.id, []), archived=archived)
        named = {str(row["id"]) for row in self._salvaged.rows["fittings"]}
        named |= {str(key[0]) for key in self._salvaged.missing["fittings"]}
        gone = (named | entries.keys()) - heads.keys() - rebuilt.keys()
        if rebuilt:
            self._told.lost.append(message("storage.rescue.rebuilt", count=len(rebuilt)))
        if gone:
            self._told.lost.append(message("storage.rescue.fittings", count=len(gone)))
        self._keep_apart_from_fittings(entries)
        lost_entries = len(self._salvaged.missing["entries"])
        if lost_entries:
            self._told.lost.append(message("storage.rescue.entries", count=lost_entries))

    def _keep_fitting(self, head: Fitting, rows: Sequence[Record], *, archived: bool) -> None:
        there = _in_order(rows)
        read = [one for row in there if (one := self._entry(row, head))]
        self._library.log.add(head.model_copy(update={"entries": tuple(read)}), archived=archived)
        self._told.fittings += 1
        self._told.entries += len(read)
        holes = _holes(there) + len(there) - len(read)
        if holes:
            self._told.lost.append(
                message(
                    "storage.rescue.entries_of",
                    deck=Name(self._names[head.deck_id]),
                    cartridge=Name(self._names[head.cartridge_id]),
                    day=Name(head.started_at.date().isoformat()),
                    count=holes,
                )
            )

    def _keep_apart_from_fittings(self, left: Mapping[str, Sequence[Record]]) -> None:
        strays = {
            fitting_id: [one for row in _in_order(rows) if (one := self._entry(row, None))]
            for fitting_id, rows in left.items()
        }
        strays = {fitting_id: read for fitting_id, read in strays.items() if read}
        if strays:
            self._told.lost.append(self._keep_strays(strays))
        unread = sum(map(len, left.values())) - sum(map(len, strays.values()))
        if unread:
            self._told.lost.append(message("storage.rescue.unread", count=unread))

    def _head_again(self, row: Record) -> Fitting | None:
        """Rebuild a fitting from what the library repeats of it.

        Its deck and cartridge get the revisions that were newest when it was started; who started
        it is lost.
        """
        try:
            began = moment(row["started_at"])
            return Fitting(
                id=row["id"],
                deck_id=row["deck_id"],
                deck_revision=_revision_at(self._library.deck_records, row["deck_id"], began),
                cartridge_id=row["cartridge_id"],
                cartridge_revision=_revision_at(
                    self._library.cartridge_records, row["cartridge_id"], began
                ),
                started_at=began,
            )
        except (ValidationError, ValueError, TypeError, KeyError, LibraryProblem):
            return None

    def _head(self, row: Record) -> Fitting | None:
        try:
            return Fitting(
                id=row["id"],
                deck_id=row["deck_id"],
                deck_revision=self._place(row["deck_id"], row["deck_revision"]),
                cartridge_id=row["cartridge_id"],
                cartridge_revision=self._place(row["cartridge_id"], row["cartridge_revision"]),
                started_at=moment(row["started_at"]),
                who=row["who"],
            )
        except (ValidationError, ValueError, TypeError, KeyError):
            return None

    def _entry(self, row: Record, head: Fitting | None) -> Entry | None:
        try:
            body = self._bodies.validate_json(row["body"])
            if isinstance(body, ThingsRevised) and head is not None:
                body = ThingsRevised(
                    deck_revision=self._place(head.deck_id, body.deck_revision),
                    cartridge_revision=self._place(head.cartridge_id, body.cartridge_revision),
                )
            return Entry(id=row["id"], at=moment(row["at"]), who=row["who"], body=body)
        except (ValidationError, ValueError, TypeError, KeyError):
            return None

    def _place(self, thing_id: str, revision: int) -> int:
        """Return the new number of a revision; for a lost one, that of the nearest before it."""
        places = self._places[thing_id]
        earlier = [one for one in places if one <= revision]
        return places[max(earlier) if earlier else min(places)]

    def _ask(self) -> None:
        if not self._go_on():
            raise WorkStoppedError


def _revision(row: Record, head: Record) -> tuple[int, datetime, str, Deck | Cartridge] | None:
    models: dict[str, type[Deck | Cartridge]] = {"deck": Deck, "cartridge": Cartridge}
    model = models.get(str(head.get("sort")))
    for one in (model,) if model is not None else models.values():
        read = _read_as(one, row)
        if read is not None:
            return read
    return None


def _read_as(model: type[T], row: Record) -> tuple[int, datetime, str, T] | None:
    try:
        thing = model.model_validate_json(row["body"])
        return int(row["revision"]), moment(row["at"]), str(row["who"]), thing
    except (ValidationError, ValueError, TypeError):
        return None


def _add(
    store: RevisionStore[T], thing_id: str, read: Sequence[tuple[int, datetime, str, Any]]
) -> dict[int, int]:
    """Add missing revisions; return the new number of each."""
    there = {(kept.at, kept.who, kept.thing): kept.revision for kept in store.history(thing_id)}
    places = {}
    for revision, at, who, thing in read:
        key = at, who, thing
        if key not in there:
            there[key] = store.add(thing_id, thing, who=who, at=at).revision
        places[revision] = there[key]
    return places


def _revision_at(store: RevisionStore[T], thing_id: str, at: datetime) -> int:
    """Return the newest revision at a time; the first if all are later."""
    history = store.history(thing_id)
    return max((one.revision for one in history if one.at <= at), default=1)


def _in_order(rows: Sequence[Record]) -> list[Record]:
    return sorted(rows, key=lambda one: str(one["seq"]).zfill(20))


def _holes(rows: Sequence[Record]) -> int:
    """Return how many numbers are missing before the last one that could be read."""
    numbers = {row["seq"] for row in rows if isinstance(row["seq"], int)}
    return max(numbers, default=0) - len(numbers)
