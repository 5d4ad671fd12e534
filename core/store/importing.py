"""Import a document: first a plan; once its conflicts are decided, all of it or nothing.

Nothing in the library is ever overwritten. Importing the same document twice adds nothing. A
conflict that was decided with 'keep what is here' is asked about again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any, Final, TypeVar

from pydantic import ValidationError

from core.fitting import Entry, Fitting, HeadshellUsed, JobGiven, ThingsRevised
from core.language import Name, Numbers, message
from core.records import (
    AnyRecord,
    Choice,
    Customer,
    Deck,
    FrozenModel,
    Job,
    KeptPicture,
    Service,
    name_of,
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
"""Sorts of records that have revisions."""


class ImportDecision(Choice):
    """What the person decides about a record that differs."""

    MINE = "keep mine", "Keep what is here"
    THEIRS = "take theirs", "Take what came in; what is here stays in the history"
    BOTH = "keep both", "Keep both, as two"


@dataclass(frozen=True, slots=True)
class FieldsChosen:
    """A decision for a record merged from both sides, to be kept as the newest revision."""

    thing: AnyRecord
    who: str = ""


@dataclass(frozen=True, slots=True)
class Versions:
    """The newest revisions of a record that differs, here and in the document.

    ``common`` is the newest revision that both have, or None. ``named`` maps the numbers of the
    customers that the two name to the customers.
    """

    here: Stored[Any]
    incoming: DocumentRevision[Any]
    common: FrozenModel | None
    named: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Logs:
    """The entries of two differing logs after their ``agreeing`` common entries."""

    here: Fitting
    incoming: Fitting
    agreeing: int


@dataclass(frozen=True, slots=True)
class ImportItem:
    """One record of a document and what the import would do with it.

    ``sort`` is deck, cartridge, job, headshell, test record, customer, service, fitting or picture.
    ``id`` is its own; ``target`` is its id in the library, which differs if it was once kept as a
    second record. ``decisions`` lists the possible decisions (only for conflicts), ``differences``
    what differs between the newest revisions, ``versions`` what can be chosen field by field,
    ``logs`` the entries that only one of two logs holds.

    ``owner`` is the id of the record it belongs to: once that is kept as a second record, nothing
    is asked about this one. ``erased_there`` is the day on which the other bench erased it; it
    stays here.
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
        """Whether this conflict is still open, given the decisions about other records."""
        return decisions.get(self.owner) is not ImportDecision.BOTH

    def is_decided_by(self, decision: ImportDecision | FieldsChosen | None) -> bool:
        """Whether this decision is possible here."""
        if isinstance(decision, FieldsChosen):
            return self.versions is not None and (
                type(decision.thing) is type(self.versions.here.thing)
            )
        return decision in self.decisions


@dataclass(frozen=True, slots=True)
class ImportPlan:
    """What importing a document would do."""

    document: Document
    items: tuple[ImportItem, ...]

    @property
    def conflicts(self) -> tuple[ImportItem, ...]:
        """The records the person must decide about."""
        return tuple(item for item in self.items if item.status is MatchKind.CONFLICT)

    def count(self, status: MatchKind) -> int:
        """Return how many records have this kind of match."""
        return sum(item.status is status for item in self.items)


def plan(
    library: Library, document: Document, go_on: Callable[[], bool] = lambda: True
) -> ImportPlan:
    """Compare a document to the library; changes nothing.

    Raises DocumentProblem if ids in the document belong to other records in the library. ``go_on``
    is called after every record; WorkStoppedError once it returns False.
    """
    items: list[ImportItem] = []
    with library.snapshot():
        for item in _planned(library, document):
            items.append(item)
            if not go_on():
                raise WorkStoppedError
    return ImportPlan(document, tuple(items))


def _planned(library: Library, document: Document) -> Iterator[ImportItem]:
    """Yield the comparison of every record of a document, owners before what belongs to them."""
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
    """Import what was planned and decided, in one transaction; return what was added or changed.

    ``decisions`` holds the person's choice for every conflict, by the id of its record. ``go_on``
    is called after every record, ``told`` with the number of records done. Nothing is imported if
    ``go_on`` returns False (WorkStoppedError), if a conflict is undecided (DocumentProblem), if the
    library changed since the plan was made (CHANGED_ELSEWHERE), or after any other LibraryProblem.
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
    """One document being imported; maps its revisions to revisions here."""

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
        """Add what is missing here; ``known_as`` is the record's id in the document, if another."""
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
        """Archive arms that fittings here name and that the imported deck lacks; none is lost."""
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
        except ValidationError:  # too many arms for one deck: their fittings still know theirs
            return
        store.add(deck_id, whole, who=self._library.who)

    def _decided(
        self,
        store: RevisionStore[T],
        record: DocumentRecord[T],
        missing: list[DocumentRevision[T]],
        decision: ImportDecision | FieldsChosen | None,
    ) -> list[DocumentRevision[T]]:
        """Return the revisions to import; the last becomes the newest.

        Unless decided otherwise, the revision here stays the newest; only those revisions of the
        other side are imported that a fitting names.
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
        """Add what is new of a customer, unless the customer was forgotten here or there."""
        match = _customer_match(self._library, record)
        if match.status is MatchKind.NEW and record.revisions[-1].thing.forgotten:
            blank = {"thing": record.revisions[-1].thing}
            revisions = tuple(one.model_copy(update=blank) for one in record.revisions)
            record = record.model_copy(update={"revisions": revisions})
        if match.status is not MatchKind.SAME:
            self.take_record(self._library.jobs.customers, record)

    def take_service(self, record: DocumentRecord[Service]) -> None:
        """Add what is new of an entry in a service record."""
        known_as, deck_id = record.id, self._id[record.revisions[-1].thing.deck]
        record = _service_under(record, deck_id)
        self.take_record(self._library.service.records, record, known_as)

    def take_picture(self, record: DocumentRecord[KeptPicture]) -> None:
        """Add what is new of a picture, unless its subject already has the same one."""
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
            else:  # planned from a fitting of a deck or cartridge that was kept as a second one
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
        """Return the fitting with the ids its deck and cartridge have in this library."""

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
"""The decisions for sorts that are never kept twice: customers, services and pictures."""


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
    """Whether both newest revisions say the same, so that there is nothing to choose."""
    return store.has(record.id) and store.get(record.id).thing == record.revisions[-1].thing


def _plan_job(library: Library, document: Document, record: DocumentRecord[Job]) -> ImportItem:
    """Plan a job; if its customer differs, name both customers."""
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

    A customer forgotten on one bench must not come back through another bench's document. Nor does
    a document make anybody forgotten here: that erases for good.
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
    """Return a service entry with the id its deck has here.

    The entries of a deck that is kept as a second one go with it, with ids of their own.
    """
    if deck_id == record.revisions[-1].thing.deck:
        return record
    return _moved(record, "deck", deck_id)


def _moved(record: DocumentRecord[T], field: str, target: str) -> DocumentRecord[T]:
    """Return a record with its owner's id here, and an id of its own."""
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
    """Return a picture with the id its subject has here, and how it compares.

    The pictures of a record that is kept as a second one go with it, with ids of their own. A
    picture that the subject already has is not kept twice. A picture erased on either bench does
    not come back; nor does a document erase one here, as that is for good.
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
    name = Numbers().text(
        message(
            "documents.fitting",
            deck=Name(deck.name),
            cartridge=Name(cartridge.name),
            day=Name(record.started_at.date().isoformat()),
        )
    )
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
    return name_of(record.revisions[-1].thing)


def _said(kept: Stored[Any]) -> dict[str, Any]:
    return {"revision": kept.revision, "at": kept.at, "who": kept.who, "thing": kept.thing}
