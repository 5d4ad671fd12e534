"""Importing a document: first a plan, then, once conflicts are decided, all of it or nothing.

Nothing in the library is ever overwritten. Importing the same document twice adds nothing; a
conflict that was decided with 'keep what is here' is asked about again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any, Final, TypeVar

from pydantic import ValidationError

from core.fitting import Entry, Fitting, HeadshellUsed, JobGiven, ThingsRevised
from core.language import Name, message
from core.records import (
    Cartridge,
    Choice,
    Customer,
    CutRecord,
    Deck,
    FrozenModel,
    Headshell,
    Job,
    KeptPicture,
    Service,
)
from core.store import problems
from core.store.backend import WorkStoppedError
from core.store.differences import Difference, differences
from core.store.document_text import DocumentProblem, shown
from core.store.documents import Document, DocumentFitting, DocumentRecord, DocumentRevision
from core.store.library import Library
from core.store.matching import (
    MatchKind,
    RecordMatch,
    beside,
    key_of,
    match_fitting,
    match_record,
    second_fitting_id,
    second_record_id,
    under,
)
from core.store.revisions import RevisionStore
from core.store.rows import Stored
from core.store.taking_back import Brought, Came

__all__ = [
    "FieldsChosen",
    "ImportDecision",
    "ImportItem",
    "ImportPlan",
    "Logs",
    "MatchKind",
    "Versions",
    "plan",
    "take_in",
]

T = TypeVar("T", bound=FrozenModel)
Thing = Deck | Cartridge | Headshell | CutRecord | Job | Customer | Service | KeptPicture
"""What has revisions."""


class ImportDecision(Choice):
    """What the person wants done about a record that differs."""

    MINE = "keep mine", "Keep what is here"
    THEIRS = "take theirs", "Take what came in; what is here stays in the history"
    BOTH = "keep both", "Keep both, as two"


@dataclass(frozen=True, slots=True)
class FieldsChosen:
    """Another decision: a record put together from both, to be the newest revision."""

    thing: Thing
    who: str = ""


@dataclass(frozen=True, slots=True)
class Versions:
    """The newest revisions of a record that differs, here and in the document.

    ``common`` is the newest that both have, None if they have none. ``named`` tells by their
    numbers who the customers are that the two name.
    """

    here: Stored[Any]
    incoming: DocumentRevision[Any]
    common: FrozenModel | None
    named: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Logs:
    """What the logs of a fitting that differs hold after the ``agreeing`` entries both have."""

    here: Fitting
    incoming: Fitting
    agreeing: int


@dataclass(frozen=True, slots=True)
class ImportItem:
    """One record of a document and what would become of it.

    ``sort`` is deck, cartridge, job, headshell, test record, customer, service, fitting or picture;
    ``id`` is its own, ``target`` the one it has or gets in the library, which differs if it was
    kept as a second one before; ``decisions`` what may be decided (only for conflicts);
    ``differences`` what differs between the newest revisions side by side; ``versions`` what can be
    chosen from field by field; ``logs`` what only one of two logs holds. ``owner`` is the number of
    what it belongs to: nothing is asked about it once its owner is kept as a second one.
    ``erased_there`` is the day from which the other bench knows it no more; it stays here.
    """

    sort: str
    id: str
    name: str
    status: MatchKind
    target: str
    decisions: tuple[ImportDecision, ...] = ()
    differences: tuple[Difference, ...] = ()
    versions: Versions | None = None
    logs: Logs | None = None
    owner: str = ""
    erased_there: str = ""

    def is_asked_beside(self, decisions: Mapping[str, ImportDecision | FieldsChosen]) -> bool:
        """Whether a conflict must still be decided about when these are decided."""
        return decisions.get(self.owner) is not ImportDecision.BOTH

    def is_decided_by(self, decision: ImportDecision | FieldsChosen | None) -> bool:
        """Whether this is a decision that can be taken here."""
        if isinstance(decision, FieldsChosen):
            return self.versions is not None and (
                type(decision.thing) is type(self.versions.here.thing)
            )
        return decision in self.decisions


@dataclass(frozen=True, slots=True)
class ImportPlan:
    """What taking in a document would do."""

    document: Document
    items: tuple[ImportItem, ...]

    @property
    def conflicts(self) -> tuple[ImportItem, ...]:
        """The records the person must decide about."""
        return tuple(item for item in self.items if item.status is MatchKind.CONFLICT)

    def count(self, status: MatchKind) -> int:
        """Return how many records stand so."""
        return sum(item.status is status for item in self.items)


def plan(
    library: Library, document: Document, go_on: Callable[[], bool] = lambda: True
) -> ImportPlan:
    """Compare a document to the library; changes nothing.

    DocumentProblem if ids in the document belong to other records in the library. ``go_on`` is
    asked after every record; WorkStoppedError once it says no.
    """
    items: list[ImportItem] = []
    with library.snapshot():
        for item in _planned(library, document):
            items.append(item)
            if not go_on():
                raise WorkStoppedError
    return ImportPlan(document, tuple(items))


def _planned(library: Library, document: Document) -> Iterator[ImportItem]:
    """Yield every record of a document as it compares, what others belong to before them."""
    found: dict[tuple[str, str], ImportItem] = {}

    def noted(item: ImportItem) -> ImportItem:
        found[item.sort, item.id] = item
        return item

    for deck in document.decks:
        _check_sort(library.cartridge_records, deck, "cartridge")
        yield noted(_plan_record(library.deck_records, deck))
    for cartridge in document.cartridges:
        _check_sort(library.deck_records, cartridge, "deck")
        yield noted(_plan_record(library.cartridge_records, cartridge))
    things = {item.id: item for item in found.values()}
    for job in document.jobs:
        yield noted(_plan_job(library, document, job))
    apart: list[tuple[RevisionStore[Any], Iterable[DocumentRecord[Any]]]] = [
        (library.headshell_records, document.headshells),
        (library.test_records, document.test_records),
    ]
    for store, records in apart:
        yield from (_plan_record(store, record) for record in records)
    for customer in document.customers:
        yield _plan_customer(library, customer)
    for service in document.services:
        yield _plan_service(library, service, things)
    for fitting in document.fittings:
        yield noted(_plan_fitting(library, fitting, things))
    for picture in document.pictures:
        yield _plan_picture(library, picture, found[picture.revisions[-1].thing.owner])


def take_in(
    library: Library,
    planned: ImportPlan,
    decisions: Mapping[str, ImportDecision | FieldsChosen],
    *,
    go_on: Callable[[], bool] = lambda: True,
    told: Callable[[int], None] = lambda _taken: None,
) -> Brought:
    """Import what was planned and decided, in one transaction; return what came in.

    ``decisions`` holds for every conflict, by the id of its record, what the person chose.
    ``go_on`` is asked after every record, and ``told`` how many are through. Nothing is imported
    once ``go_on`` says no (WorkStoppedError), if something is not decided yet (DocumentProblem), if
    the library changed since it was planned for (CHANGED_ELSEWHERE), or after any other
    LibraryProblem.
    """
    for item in planned.conflicts:
        if item.is_asked_beside(decisions) and not item.is_decided_by(decisions.get(item.id)):
            raise DocumentProblem(
                message("storage.undecided", sort=item.sort, name=Name(shown(item.name, 120))),
                message("storage.undecided_todo"),
            )
    document = planned.document
    with library.transaction():
        if plan(library, document, go_on) != planned:
            raise problems.changed_elsewhere("library")
        importing = _Import(library, document, decisions)
        count = 0

        def through() -> None:
            nonlocal count
            count += 1
            told(count)
            if not go_on():
                raise WorkStoppedError

        revised: list[tuple[RevisionStore[Any], Iterable[DocumentRecord[Any]]]] = [
            (library.deck_records, document.decks),
            (library.cartridge_records, document.cartridges),
            (library.jobs.records, document.jobs),
            (library.headshell_records, document.headshells),
            (library.test_records, document.test_records),
        ]
        for store, records in revised:
            for record in records:
                importing.take_record(store, record)
                through()
        others: list[tuple[Callable[[Any], None], Iterable[Any]]] = [
            (importing.take_customer, document.customers),
            (importing.take_service, document.services),
            (importing.take_fitting, document.fittings),
            (importing.take_picture, document.pictures),
        ]
        for take, incoming in others:
            for one in incoming:
                take(one)
                through()
        return Brought(tuple(importing.came))


class _Import:
    """One document being imported: which revision here each of its revisions became."""

    def __init__(
        self,
        library: Library,
        document: Document,
        decisions: Mapping[str, ImportDecision | FieldsChosen],
    ) -> None:
        self._library = library
        self._decisions = decisions
        self._revision: dict[tuple[str, int], int] = {}
        self._id: dict[str, str] = {}
        self._place: dict[tuple[str, str], str] = {}
        self._contents = {one.id: one for one in document.contents}
        self.came: list[Came] = []
        self._named = {
            named
            for fitting in document.fittings
            for deck, cartridge in fitting.named_revisions()
            for named in ((fitting.deck_id, deck), (fitting.cartridge_id, cartridge))
        }

    def take_record(
        self, store: RevisionStore[T], record: DocumentRecord[T], known_as: str = ""
    ) -> None:
        """Take in what is not here; ``known_as`` is its number in the document if that differs."""
        match = match_record(store, record)
        target, missing = match.target, list(match.missing)
        if match.status is MatchKind.CONFLICT:
            decision = self._decisions.get(known_as or record.id)
            if decision is ImportDecision.BOTH:
                target, missing = second_record_id(store, record), list(record.revisions)
            else:
                missing = self._decided(store, record, missing, decision)
        before = store.newest(target)
        is_new = before is None
        for revision in missing:
            store.add(target, revision.thing, who=revision.who, at=revision.at)
        if before is not None and store.sort == "deck":
            self._keep_arms_in_use(target, before)
        after = store.newest(target)
        if after is not None and after != before:
            self.came.append(Came(store.sort, target, before, after))
        if record.archived and is_new:
            store.archive([target], archived=True)
        self._note_places(store, record, target)

    def _keep_arms_in_use(self, deck_id: str, before: int) -> None:
        """Put arms away, rather than lose them, that fittings here name and that came in gone."""
        store = self._library.deck_records
        then, now = store.get(deck_id, before).thing, store.get(deck_id).thing
        used = self._library.log.arms_in_use(deck_id) - {arm.key for arm in now.further_arms}
        lost = [arm for arm in then.further_arms if arm.key in used]
        if not lost:
            return
        names = {now.first_arm_name, then.first_arm_name, *(arm.name for arm in now.further_arms)}
        free = {arm.key: arm.name if arm.name not in names else arm.key[:60] for arm in lost}
        kept = [arm.model_copy(update={"put_away": True, "name": free[arm.key]}) for arm in lost]
        arms = {
            "first_arm_name": now.first_arm_name or then.first_arm_name,
            "further_arms": (*now.further_arms, *kept),
        }
        try:
            whole = Deck.model_validate(now.model_copy(update=arms).model_dump())
        except ValidationError:  # more arms than a deck may have: their fittings still know theirs
            return
        store.add(deck_id, whole, who=self._library.who)

    def _decided(
        self,
        store: RevisionStore[T],
        record: DocumentRecord[T],
        missing: list[DocumentRevision[T]],
        decision: ImportDecision | FieldsChosen | None,
    ) -> list[DocumentRevision[T]]:
        """Return which revisions come in, the last of them to be the newest.

        What is here is kept unless something else was decided. Of the other side comes in then
        only what a fitting names.
        """
        if isinstance(decision, FieldsChosen) and not _is_agreed(store, record):
            chosen, who = decision.thing, decision.who or self._library.who
            newest = DocumentRevision[Any](revision=1, at=datetime.now(UTC), who=who, thing=chosen)
            return [*missing, newest]
        if decision is ImportDecision.THEIRS:
            newest = record.revisions[-1]
            return missing if newest in missing else [*missing, newest]
        if any((record.id, revision.revision) in self._named for revision in missing):
            return [*missing, DocumentRevision[Any](**_said(store.get(record.id)))]
        return []

    def take_customer(self, record: DocumentRecord[Customer]) -> None:
        """Take in what is new of a customer, but of nobody who was forgotten here or there."""
        match = _customer_match(self._library, record)
        if match.status is MatchKind.NEW and record.revisions[-1].thing.forgotten:
            blank = {"thing": record.revisions[-1].thing}
            revisions = tuple(one.model_copy(update=blank) for one in record.revisions)
            record = record.model_copy(update={"revisions": revisions})
        if match.status is not MatchKind.SAME:
            self.take_record(self._library.jobs.customers, record)

    def take_service(self, record: DocumentRecord[Service]) -> None:
        """Take in what is new of an entry in a service record."""
        known_as, deck_id = record.id, self._id[record.revisions[-1].thing.deck]
        record = _service_under(record, deck_id)
        self.take_record(self._library.service.records, record, known_as)

    def take_picture(self, record: DocumentRecord[KeptPicture]) -> None:
        """Take in what is new of a picture, unless its thing has the same one already."""
        known_as, thing = record.id, record.revisions[-1].thing
        record, match = _picture_match(self._library, record, self._place[thing.owner])
        if match.status is not MatchKind.SAME:
            if not thing.erased:
                self._library.pictures.keep_content(self._contents[thing.content].content)
            self.take_record(self._library.pictures.records, record, known_as)

    def _note_places(self, store: RevisionStore[T], record: DocumentRecord[T], target: str) -> None:
        self._id[record.id] = self._place[store.sort, record.id] = target
        places = {key_of(kept): kept.revision for kept in store.history(target)}
        for revision in record.revisions:
            place = places.get(key_of(revision))
            if place is not None:
                self._revision[record.id, revision.revision] = place

    def take_fitting(self, record: DocumentFitting) -> None:
        log = self._library.log
        deck_id, cartridge_id = self._id[record.deck_id], self._id[record.cartridge_id]
        match = match_fitting(log, record, deck_id, cartridge_id)
        self._place["fitting", record.id] = match.target
        if match.status is MatchKind.NEW:
            self._add(self._moved(match.record), record)
        elif match.status is MatchKind.AHEAD:
            here = log.get(match.target)
            if (here.deck_id, here.cartridge_id) == (deck_id, cartridge_id):
                rest = self._moved(match.record).entries[len(here.entries) :]
                log.extend(match.target, rest)
                before = len(here.entries)
                self.came.append(Came("fitting", match.target, before, before + len(rest)))
            else:  # it goes on with a deck or cartridge that was kept as a second one
                self._take_beside(record)
        elif match.status is MatchKind.CONFLICT and (
            self._decisions.get(record.id) is ImportDecision.BOTH
        ):
            self._take_beside(record)

    def _take_beside(self, record: DocumentFitting) -> None:
        second = under(record, second_fitting_id(self._library.log, record))
        self._add(self._moved(second), record)

    def _add(self, fitting: Fitting, record: DocumentFitting) -> None:
        self._place["fitting", record.id] = fitting.id
        self._library.log.add(fitting, archived=record.archived)
        self.came.append(Came("fitting", fitting.id, None, len(fitting.entries)))

    def _moved(self, record: DocumentFitting) -> Fitting:
        """Return the fitting with the numbers its deck and cartridge have in this library."""

        def place(thing_id: str, revision: int) -> int:
            return self._revision[thing_id, revision]

        def moved(entry: Entry) -> Entry:
            if isinstance(entry.body, JobGiven):
                job = self._id.get(entry.body.job, entry.body.job)
                return entry.model_copy(update={"body": entry.body.model_copy(update={"job": job})})
            if isinstance(entry.body, HeadshellUsed):
                shell = self._id.get(entry.body.headshell, entry.body.headshell)
                used = entry.body.model_copy(update={"headshell": shell})
                return entry.model_copy(update={"body": used})
            if not isinstance(entry.body, ThingsRevised):
                return entry
            body = ThingsRevised(
                deck_revision=place(record.deck_id, entry.body.deck_revision),
                cartridge_revision=place(record.cartridge_id, entry.body.cartridge_revision),
            )
            return entry.model_copy(update={"body": body})

        return Fitting(
            id=record.id,
            deck_id=self._id[record.deck_id],
            deck_revision=place(record.deck_id, record.deck_revision),
            cartridge_id=self._id[record.cartridge_id],
            cartridge_revision=place(record.cartridge_id, record.cartridge_revision),
            started_at=record.started_at,
            who=record.who,
            entries=tuple(moved(entry) for entry in record.entries),
        )


_ALL_WAYS: Final = (ImportDecision.MINE, ImportDecision.THEIRS, ImportDecision.BOTH)
_ONE_OF_TWO: Final = (ImportDecision.MINE, ImportDecision.THEIRS)
"""What can be decided about what is never two: a person, or a thing done or seen once."""


def _plan_record(
    store: RevisionStore[T],
    record: DocumentRecord[T],
    ways: tuple[ImportDecision, ...] = _ALL_WAYS,
    match: RecordMatch[T] | None = None,
) -> ImportItem:
    match = match or match_record(store, record)
    if match.status is not MatchKind.CONFLICT:
        return ImportItem(store.sort, record.id, _name(record), match.status, match.target)
    if _is_agreed(store, record):
        return ImportItem(store.sort, record.id, _name(record), MatchKind.SAME, match.target)
    here, incoming = store.get(record.id), record.revisions[-1]
    known = {key_of(kept) for kept in store.history(record.id)}
    common = next((one.thing for one in reversed(record.revisions) if key_of(one) in known), None)
    return ImportItem(
        store.sort,
        record.id,
        _name(record),
        match.status,
        match.target,
        ways,
        differences(here.thing, incoming.thing),
        Versions(here, incoming, common),
    )


def _is_agreed(store: RevisionStore[T], record: DocumentRecord[T]) -> bool:
    """Whether both say the same in the end, so that there is nothing to choose from."""
    return store.has(record.id) and store.get(record.id).thing == record.revisions[-1].thing


def _plan_job(library: Library, document: Document, record: DocumentRecord[Job]) -> ImportItem:
    """Plan a job; where it has another customer, say who the two are."""
    item = _plan_record(library.jobs.records, record)
    if item.versions is None:
        return item
    here, incoming = item.versions.here.thing.customer, item.versions.incoming.thing.customer
    if here == incoming:
        return item
    there = {one.id: one.revisions[-1].thing.name for one in document.customers}
    rows = {row.id: row.name for row in library.jobs.customers.rows_of((here, incoming))}
    named = tuple(sorted((there | rows).items()))
    return replace(item, versions=replace(item.versions, named=named))


def _plan_customer(library: Library, record: DocumentRecord[Customer]) -> ImportItem:
    match = _customer_match(library, record)
    item = _plan_record(library.jobs.customers, record, _ONE_OF_TWO, match)
    there = record.revisions[-1].thing.forgotten
    if not there or not library.jobs.customers.has(record.id):
        return item
    here = library.jobs.customers.get(record.id).thing
    return item if here.forgotten else replace(item, name=here.name, erased_there=there)


def _customer_match(library: Library, record: DocumentRecord[Customer]) -> RecordMatch[Customer]:
    """Return whether a customer is new, goes on from here, or differs.

    Who was forgotten on one bench must not come back by a document of another. Nor does a document
    make anybody forgotten here: that erases, and could not be taken back.
    """
    store = library.jobs.customers
    if store.has(record.id) and (
        store.get(record.id).thing.forgotten or record.revisions[-1].thing.forgotten
    ):
        return RecordMatch(record.id, MatchKind.SAME, ())
    return match_record(store, record)


def _plan_service(
    library: Library, record: DocumentRecord[Service], things: Mapping[str, ImportItem]
) -> ImportItem:
    deck, store = record.revisions[-1].thing.deck, library.service.records
    moved = _service_under(record, things[deck].target)
    if store.has(moved.id) and store.get(moved.id).thing.deck != things[deck].target:
        raise _number_taken("service", record)
    item = _plan_record(store, moved, _ONE_OF_TWO)
    name = f"{things[deck].name}: {item.name}"
    return replace(item, id=record.id, name=name, owner=deck)


def _service_under(record: DocumentRecord[Service], deck_id: str) -> DocumentRecord[Service]:
    """Return an entry as it is under its deck's number here.

    The entries of a deck that is kept as a second one go with it, under numbers of their own.
    """
    if deck_id == record.revisions[-1].thing.deck:
        return record
    return _moved(record, "deck", deck_id)


def _moved(record: DocumentRecord[T], field: str, target: str) -> DocumentRecord[T]:
    """Return what belongs to a thing, under its number here, with a number of its own."""
    revisions = tuple(
        one.model_copy(update={"thing": one.thing.model_copy(update={field: target})})
        for one in record.revisions
    )
    return record.model_copy(update={"id": beside(record.id, target), "revisions": revisions})


def _plan_picture(
    library: Library, record: DocumentRecord[KeptPicture], owner: ImportItem
) -> ImportItem:
    store = library.pictures.records
    moved, match = _picture_match(library, record, owner.target)
    if store.has(moved.id):
        here, there = store.get(moved.id).thing, moved.revisions[-1].thing
        if (here.owner, here.content) != (there.owner, there.content):
            raise _number_taken("picture", record)
    item = _plan_record(store, moved, _ONE_OF_TWO, match)
    is_erased_there = store.has(moved.id) and not store.get(moved.id).thing.erased
    return replace(
        item,
        id=record.id,
        name=f"{owner.name}: {item.name}",
        owner=owner.id,
        erased_there=record.revisions[-1].thing.erased if is_erased_there else "",
    )


def _picture_match(
    library: Library, record: DocumentRecord[KeptPicture], target: str
) -> tuple[DocumentRecord[KeptPicture], RecordMatch[KeptPicture]]:
    """Return a picture as it is under its thing's number here, and how that compares.

    The pictures of what is kept as a second one go with it, under numbers of their own. What a
    thing has already is not kept twice; what was erased on either bench does not come back here,
    nor is it erased here by a document, which could not be taken back.
    """
    sort, thing_id = record.revisions[-1].thing.owner
    pictures = library.pictures
    known = pictures.records
    is_erased = known.has(record.id) and known.get(record.id).thing.erased
    if target != thing_id:
        record = _moved(record, "thing", target)
    if is_erased or (known.has(record.id) and record.revisions[-1].thing.erased):
        return record, RecordMatch(record.id, MatchKind.SAME, ())
    match = match_record(known, record)
    same = pictures.same(sort, target, record.revisions[-1].thing.content)
    if match.status is MatchKind.NEW and same is not None:
        match = RecordMatch(record.id, MatchKind.SAME, ())
    return record, match


def _number_taken(sort: str, record: DocumentRecord[Any]) -> DocumentProblem:
    name = Name(shown(_name(record), 120))
    return DocumentProblem(message("storage.number_of_another", sort=sort, name=name))


def _plan_fitting(
    library: Library, record: DocumentFitting, things: Mapping[str, ImportItem]
) -> ImportItem:
    deck, cartridge = things[record.deck_id], things[record.cartridge_id]
    name = f"{deck.name} with {cartridge.name}, {record.started_at.date().isoformat()}"
    if library.log.has_entries_of_others(record.id, [entry.id for entry in record.entries]):
        raise DocumentProblem(message("storage.entry_of_another", name=Name(shown(name, 120))))
    match = match_fitting(library.log, record, deck.target, cartridge.target)
    if match.status is not MatchKind.CONFLICT:
        return ImportItem("fitting", record.id, name, match.status, match.target)
    here = library.fitting(record.id)
    incoming = Fitting(
        id=record.id,
        deck_id=record.deck_id,
        deck_revision=record.deck_revision,
        cartridge_id=record.cartridge_id,
        cartridge_revision=record.cartridge_revision,
        started_at=record.started_at,
        who=record.who,
        entries=record.entries[match.agreeing :],
    )
    return ImportItem(
        "fitting",
        record.id,
        name,
        match.status,
        match.target,
        (ImportDecision.MINE, ImportDecision.BOTH),
        logs=Logs(
            here.model_copy(update={"entries": here.entries[match.agreeing :]}),
            incoming,
            match.agreeing,
        ),
    )


def _check_sort(other: RevisionStore[Any], record: DocumentRecord[Any], sort: str) -> None:
    if other.has(record.id):
        raise _number_taken(sort, record)


def _name(record: DocumentRecord[Any]) -> str:
    thing: Thing = record.revisions[-1].thing
    if isinstance(thing, KeptPicture):
        return thing.caption or thing.day
    if isinstance(thing, Service):
        return f"{thing.day} {thing.done}"
    return thing.number or thing.brought if isinstance(thing, Job) else thing.name


def _said(kept: Stored[Any]) -> dict[str, Any]:
    return {"revision": kept.revision, "at": kept.at, "who": kept.who, "thing": kept.thing}
