"""Compare a record of a document with the library.

Revisions and entries are the same if content, time and author are; revision numbers may differ from
bench to bench. A record that was kept beside ours as a second one is recognised: its id is a hash
of the record's own id and of the first revision or entry in which it differs from ours.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import takewhile
from typing import Any, Generic, TypeVar

from core.fitting import (
    Entry,
    Fitting,
    HeadshellUsed,
    JobGiven,
    ReadingTaken,
    ThingsRevised,
    Withdrawn,
)
from core.records import Choice, FrozenModel
from core.store.documents import DocumentFitting, DocumentRecord, DocumentRevision
from core.store.log import FittingLog
from core.store.revisions import RevisionStore
from core.store.rows import Stored, stamp, text_of

T = TypeVar("T", bound=FrozenModel)
Key = tuple[str, str, str]


class MatchKind(Choice):
    """How a record of a document compares with the library."""

    NEW = "new", "Not here yet"
    SAME = "same", "Already here"
    AHEAD = "ahead", "Goes on from what is here"
    CONFLICT = "conflict", "Differs from what is here"


@dataclass(frozen=True, slots=True)
class RecordMatch(Generic[T]):
    """The id a deck or cartridge of a document has in the library; the missing revisions."""

    target: str
    status: MatchKind
    missing: tuple[DocumentRevision[T], ...]


@dataclass(frozen=True, slots=True)
class FittingMatch:
    """The match of a fitting; ``record`` has the ids it has or would have in the library."""

    target: str
    status: MatchKind
    record: DocumentFitting
    agreeing: int = 0


def key_of(revision: Stored[Any] | DocumentRevision[Any]) -> Key:
    """Return the key by which two revisions are the same: time, author and content."""
    return stamp(revision.at), revision.who, text_of(revision.thing)


def match_record(store: RevisionStore[T], record: DocumentRecord[T]) -> RecordMatch[T]:
    """Compare a deck or cartridge with the library."""
    first = _against_history(record.id, store.history(record.id), record)
    if first.status is not MatchKind.CONFLICT:
        return first
    for second_id in _second_ids(record.id, key_of(first.missing[0])):
        history = store.history(second_id)
        if not history:
            return first
        second = _against_history(second_id, history, record)
        if second.status is not MatchKind.CONFLICT:
            return second
    return first


def second_record_id(store: RevisionStore[T], record: DocumentRecord[T]) -> str:
    """Return the id for a differing deck or cartridge that is kept beside ours."""
    missing = _against_history(record.id, store.history(record.id), record).missing
    ids = _second_ids(record.id, key_of(missing[0]))
    return next(second for second in ids if not store.has(second))


def _against_history(
    target: str, history: Sequence[Stored[T]], record: DocumentRecord[T]
) -> RecordMatch[T]:
    here = {key_of(kept) for kept in history}
    incoming = [key_of(revision) for revision in record.revisions]
    missing = [place for place, key in enumerate(incoming) if key not in here]
    if not history:
        status = MatchKind.NEW
    elif not missing:
        status = MatchKind.SAME
    else:
        newest = key_of(history[-1])
        goes_on = newest in incoming and incoming.index(newest) < missing[0]
        status = MatchKind.AHEAD if goes_on else MatchKind.CONFLICT
    return RecordMatch(target, status, tuple(record.revisions[place] for place in missing))


def beside(record_id: str, deck_id: str) -> str:
    """Return the id for what belongs to a deck that is kept as a second one."""
    return _digest(record_id, deck_id)


def match_fitting(
    log: FittingLog, record: DocumentFitting, deck_target: str, cartridge_target: str
) -> FittingMatch:
    """Compare a fitting with the library; the targets say where its deck and cartridge are."""
    decks = (record.deck_id, deck_target)
    cartridges = (record.cartridge_id, cartridge_target)
    first = _against_log(log, record, decks, cartridges)
    if first.status in (MatchKind.NEW, MatchKind.SAME):
        return first
    for second_id in _second_ids(record.id, _first_difference(record, first.agreeing)):
        if not log.has(second_id):
            return first
        second = _against_log(log, under(record, second_id), decks, cartridges)
        if second.status is not MatchKind.CONFLICT:
            return second
    return first


def second_fitting_id(log: FittingLog, record: DocumentFitting) -> str:
    """Return the id for a differing fitting that is kept beside ours."""
    agreeing = _agreeing(log.get(record.id), record)
    ids = _second_ids(record.id, _first_difference(record, agreeing))
    return next(second for second in ids if not log.has(second))


def under(record: DocumentFitting, fitting_id: str) -> DocumentFitting:
    """Return a fitting with another id, and new entry ids, so that both logs can be kept."""

    def renamed(entry: Entry) -> Entry:
        body = entry.body
        if isinstance(body, Withdrawn):
            body = body.model_copy(update={"entry": _digest(fitting_id, body.entry)})
        elif isinstance(body, ReadingTaken):
            body = body.naming(lambda name: _digest(fitting_id, name))
        return entry.model_copy(update={"id": _digest(fitting_id, entry.id), "body": body})

    entries = tuple(renamed(entry) for entry in record.entries)
    return record.model_copy(update={"id": fitting_id, "entries": entries})


def _against_log(
    log: FittingLog,
    record: DocumentFitting,
    decks: tuple[str, str],
    cartridges: tuple[str, str],
) -> FittingMatch:
    if not log.has(record.id):
        return FittingMatch(record.id, MatchKind.NEW, record)
    here = log.get(record.id)
    agreeing = _agreeing(here, record)
    same_start = (
        stamp(here.started_at) == stamp(record.started_at)
        and here.who == record.who
        and here.deck_id in decks
        and here.cartridge_id in cartridges
    )
    status = MatchKind.CONFLICT
    if same_start and agreeing == len(record.entries):
        status = MatchKind.SAME
    elif same_start and agreeing == len(here.entries):
        status = MatchKind.AHEAD
    return FittingMatch(record.id, status, record, agreeing)


def _agreeing(here: Fitting, record: DocumentFitting) -> int:
    """Return how many entries, counted from the first, are the same in both logs."""
    pairs = zip(here.entries, record.entries, strict=False)
    return sum(1 for _ in takewhile(lambda pair: _says(pair[0]) == _says(pair[1]), pairs))


def _says(entry: Entry) -> tuple[str, str, str, str]:
    """Return an entry's content without record ids, which may differ between benches."""
    by_number = ThingsRevised | JobGiven | HeadshellUsed
    body = "" if isinstance(entry.body, by_number) else text_of(entry.body)
    return entry.id, stamp(entry.at), entry.who, body


def _first_difference(record: DocumentFitting, agreeing: int) -> tuple[str, ...]:
    if agreeing < len(record.entries):
        return _says(record.entries[agreeing])
    return stamp(record.started_at), record.who, record.deck_id, record.cartridge_id


def _second_ids(record_id: str, parting: Sequence[str]) -> Iterator[str]:
    found = _digest(record_id, *parting)
    while True:
        yield found
        found = _digest(found)


def _digest(*parts: str) -> str:
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:32]
