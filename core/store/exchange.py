"""Taking a document into a library: first a plan, then, once decided, all of it or nothing.

Nothing in the library is ever overwritten. Sameness is judged by what a record says, so taking in
the same document twice adds nothing, whatever was decided the first time but 'keep mine'.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from core.cartridge import Cartridge
from core.deck import Deck
from core.fitting import Entry, Fitting, ThingsRevised, Withdrawn
from core.quantities import Choice
from core.store import problems
from core.store.documents import (
    Document,
    DocumentProblem,
    FittingRecord,
    RevisionRecord,
    ThingRecord,
)
from core.store.library import Library
from core.store.rows import Kept, stamp, text_of
from core.store.side_by_side import Difference, differences
from core.store.things import Shelf
from core.thing import Thing

T = TypeVar("T", bound=Thing)


class Standing(Choice):
    """How a record of a document stands to the library."""

    NEW = "new", "Not here yet"
    SAME = "same", "Already here"
    AHEAD = "ahead", "Goes on from what is here"
    CONFLICT = "conflict", "Differs from what is here"


class Decision(Choice):
    """What the person wants done about a record that differs."""

    MINE = "keep mine", "Keep what is here"
    THEIRS = "take theirs", "Take what came in; what is here stays in the history"
    BOTH = "keep both", "Keep both, as two"


@dataclass(frozen=True, slots=True)
class PlanItem:
    """One record of a document and what would become of it.

    ``sort`` is deck, cartridge or fitting; ``decisions`` what may be decided (only for conflicts);
    ``differences`` what differs between the newest revisions, or the logs, side by side.
    """

    sort: str
    id: str
    name: str
    standing: Standing
    decisions: tuple[Decision, ...] = ()
    differences: tuple[Difference, ...] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """What taking in a document would do."""

    document: Document
    items: tuple[PlanItem, ...]

    @property
    def conflicts(self) -> tuple[PlanItem, ...]:
        """The records the person must decide about."""
        return tuple(item for item in self.items if item.standing is Standing.CONFLICT)

    def count(self, standing: Standing) -> int:
        """Return how many records stand so."""
        return sum(item.standing is standing for item in self.items)


def plan(library: Library, document: Document) -> Plan:
    """Compare a document to the library; changes nothing.

    Raises
    ------
    DocumentProblem
        If numbers in the document belong to other things in the library.
    """
    items: list[PlanItem] = []
    with library.snapshot():
        for deck in document.decks:
            _check_sort(library.cartridge_shelf, deck, "cartridge")
            items.append(_plan_thing(library.deck_shelf, deck))
        for cartridge in document.cartridges:
            _check_sort(library.deck_shelf, cartridge, "deck")
            items.append(_plan_thing(library.cartridge_shelf, cartridge))
        names = {item.id: item.name for item in items}
        items += [_plan_fitting(library, fitting, names) for fitting in document.fittings]
    return Plan(document, tuple(items))


def take_in(library: Library, planned: Plan, decisions: Mapping[str, Decision]) -> None:
    """Do what was planned and decided, in one transaction.

    Parameters
    ----------
    decisions
        For every conflict, by the id of its record, what the person chose.

    Raises
    ------
    DocumentProblem
        If something is not decided yet.
    LibraryProblem
        CHANGED_ELSEWHERE if the library is no longer as it was planned for; or what the disk or
        another window causes. Nothing is then taken in.
    """
    for item in planned.conflicts:
        if decisions.get(item.id) not in item.decisions:
            raise DocumentProblem(
                f"It is not decided yet what to do about {item.sort} {item.name!r}.",
                "Choose for every record that differs; nothing was changed in the library.",
            )
    document = planned.document
    with library.transaction():
        if plan(library, document) != planned:
            raise problems.changed_elsewhere("The library")
        standings = {item.id: item.standing for item in planned.items}
        taking = _Taking(library, document, standings, decisions)
        for deck in document.decks:
            taking.take_thing(library.deck_shelf, deck)
        for cartridge in document.cartridges:
            taking.take_thing(library.cartridge_shelf, cartridge)
        for fitting in document.fittings:
            taking.take_fitting(fitting)


class _Taking:
    """One document on its way in: where each of its revisions ended up."""

    def __init__(
        self,
        library: Library,
        document: Document,
        standings: Mapping[str, Standing],
        decisions: Mapping[str, Decision],
    ) -> None:
        self._library = library
        self._standings = standings
        self._decisions = decisions
        self._revision: dict[tuple[str, int], int] = {}
        self._id: dict[str, str] = {}
        self._named = {
            named
            for fitting in document.fittings
            for deck, cartridge in fitting.named_revisions()
            for named in ((fitting.deck_id, deck), (fitting.cartridge_id, cartridge))
        }

    def take_thing(self, shelf: Shelf[T], record: ThingRecord[T]) -> None:
        history = shelf.history(record.id)
        keys_here = {_key(kept) for kept in history}
        missing = [r for r in record.revisions if _key(r) not in keys_here]
        target = record.id
        standing = self._standings[record.id]
        decision = self._decisions.get(record.id)
        if standing is Standing.NEW:
            missing = list(record.revisions)
        elif standing is Standing.SAME:
            target = _split_id(record) if missing else record.id
            missing = []
        elif standing is Standing.CONFLICT and decision is Decision.BOTH:
            target, missing = _split_id(record), list(record.revisions)
        elif standing is Standing.CONFLICT and decision is Decision.MINE:
            if any((record.id, r.revision) in self._named for r in missing):
                missing.append(RevisionRecord[Any](**_said(history[-1])))  # mine stays the newest
            else:
                missing = []
        elif standing is Standing.CONFLICT and record.revisions[-1] not in missing:
            missing.append(record.revisions[-1])  # theirs becomes the newest
        for revision in missing:
            shelf.add(target, revision.thing, who=revision.who, at=revision.at)
        if record.archived and (standing is Standing.NEW or target != record.id):
            shelf.archive([target], archived=True)
        self._note_places(shelf, record, target)

    def _note_places(self, shelf: Shelf[T], record: ThingRecord[T], target: str) -> None:
        self._id[record.id] = target
        places = {_key(kept): kept.revision for kept in shelf.history(target)}
        for revision in record.revisions:
            place = places.get(_key(revision))
            if place is not None:
                self._revision[record.id, revision.revision] = place

    def take_fitting(self, record: FittingRecord) -> None:
        log = self._library.log
        standing = self._standings[record.id]
        is_split = (
            self._id[record.deck_id] != record.deck_id
            or self._id[record.cartridge_id] != record.cartridge_id
        )
        if standing is Standing.NEW:
            log.add(self._moved(record), archived=record.archived)
        elif standing is Standing.AHEAD and not is_split:
            here = {entry.id for entry in log.get(record.id).entries}
            rest = [entry for entry in self._moved(record).entries if entry.id not in here]
            log.extend(record.id, rest)
        elif standing is Standing.AHEAD or (
            standing is Standing.CONFLICT and self._decisions[record.id] is Decision.BOTH
        ):
            log.add(_split(record, self._moved(record)), archived=record.archived)

    def _moved(self, record: FittingRecord) -> Fitting:
        """Return the fitting with the numbers its deck and cartridge have in this library."""

        def place(thing_id: str, revision: int) -> int:
            return self._revision[thing_id, revision]

        def moved(entry: Entry) -> Entry:
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


def _plan_thing(shelf: Shelf[T], record: ThingRecord[T]) -> PlanItem:
    history = shelf.history(record.id)
    if not history:
        return PlanItem(shelf.sort, record.id, _name(record), Standing.NEW)
    here = {_key(kept) for kept in history}
    incoming = [_key(revision) for revision in record.revisions]
    missing = [place for place, key in enumerate(incoming) if key not in here]
    newest_here = _key(history[-1])
    standing = Standing.CONFLICT
    if not missing or _has_split(shelf, record):
        standing = Standing.SAME
    elif newest_here in incoming and missing[0] > incoming.index(newest_here):
        standing = Standing.AHEAD
    if standing is not Standing.CONFLICT:
        return PlanItem(shelf.sort, record.id, _name(record), standing)
    return PlanItem(
        shelf.sort,
        record.id,
        _name(record),
        standing,
        (Decision.MINE, Decision.THEIRS, Decision.BOTH),
        differences(history[-1].thing, record.revisions[-1].thing),
    )


def _plan_fitting(library: Library, record: FittingRecord, names: Mapping[str, str]) -> PlanItem:
    name = (
        f"{names[record.deck_id]} with {names[record.cartridge_id]}, "
        f"{record.started_at.date().isoformat()}"
    )
    foreign = library.log.foreign_entries(record.id, [entry.id for entry in record.entries])
    if foreign and not library.log.has(_split_id(record)):
        raise DocumentProblem(
            f"An entry of the fitting {name!r} has a number that belongs to another fitting here."
        )
    if not library.log.has(record.id):
        return PlanItem("fitting", record.id, name, Standing.NEW)
    here = library.fitting(record.id)
    ours = {entry.id: _said_by(entry) for entry in here.entries}
    same_start = (
        here.started_at == record.started_at
        and here.who == record.who
        and (here.deck_id, here.cartridge_id) == (record.deck_id, record.cartridge_id)
    )
    agree = [ours.get(entry.id) == _said_by(entry) for entry in record.entries]
    if (same_start and all(agree)) or library.log.has(_split_id(record)):
        return PlanItem("fitting", record.id, name, Standing.SAME)
    known = len(here.entries)
    if same_start and all(agree[:known]) and len(record.entries) > known:
        theirs = [entry.id for entry in record.entries[:known]]
        if theirs == [entry.id for entry in here.entries] and not any(
            entry.id in ours for entry in record.entries[known:]
        ):
            return PlanItem("fitting", record.id, name, Standing.AHEAD)
    count = sum(agree)
    return PlanItem(
        "fitting",
        record.id,
        name,
        Standing.CONFLICT,
        (Decision.MINE, Decision.BOTH),
        (
            Difference("Entries", str(len(here.entries)), str(len(record.entries))),
            Difference("Entries in both", str(count), str(count)),
        ),
    )


def _check_sort(other: Shelf[Any], record: ThingRecord[Any], sort: str) -> None:
    if other.has(record.id):
        raise DocumentProblem(f"The number of {_name(record)!r} belongs to a {sort} here.")


def _name(record: ThingRecord[Any]) -> str:
    thing: Deck | Cartridge = record.revisions[-1].thing
    return thing.name


def _key(revision: Kept[Any] | RevisionRecord[Any]) -> tuple[str, str, str]:
    """Return what makes two revisions the same: when, by whom, and what they say."""
    return stamp(revision.at), revision.who, text_of(revision.thing)


def _said(kept: Kept[Any]) -> dict[str, Any]:
    return {"revision": kept.revision, "at": kept.at, "who": kept.who, "thing": kept.thing}


def _said_by(entry: Entry) -> tuple[str, str, str]:
    """Return what an entry says; revision numbers may differ from library to library."""
    body = "" if isinstance(entry.body, ThingsRevised) else text_of(entry.body)
    return stamp(entry.at), entry.who, body


def _has_split(shelf: Shelf[T], record: ThingRecord[T]) -> bool:
    here = {_key(kept) for kept in shelf.history(_split_id(record))}
    return bool(here) and all(_key(revision) in here for revision in record.revisions)


def _split_id(record: Thing) -> str:
    """Return the id under which a differing record is kept beside ours: the same each time."""
    return _digest([text_of(record)])


def _split(record: FittingRecord, moved: Fitting) -> Fitting:
    """Return a fitting under an id of its own, its entries too, so that both logs can be kept."""
    fitting_id = _split_id(record)

    def renamed(entry: Entry) -> Entry:
        body = entry.body
        if isinstance(body, Withdrawn):
            body = body.model_copy(update={"entry": _digest([fitting_id, body.entry])})
        return entry.model_copy(update={"id": _digest([fitting_id, entry.id]), "body": body})

    return moved.model_copy(
        update={"id": fitting_id, "entries": tuple(renamed(entry) for entry in moved.entries)}
    )


def _digest(parts: Iterable[str]) -> str:
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:32]
