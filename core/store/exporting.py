"""Write documents: select the records, and write them one by one."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Final, TypeVar

from core.language import Name, Numbers, message
from core.records import FrozenModel
from core.store.backend import WorkStoppedError
from core.store.documents import (
    FORMAT,
    LARGEST_BYTES,
    VERSION,
    DocumentContent,
    DocumentFitting,
    DocumentRecord,
    DocumentRevision,
)
from core.store.files import PRIVATE, write_whole
from core.store.library import Library
from core.store.problems import no_such
from core.store.revisions import RevisionStore
from core.store.rows import FittingRow, RecordRow

_NAMED: Final = 3
"""How many names a title lists; the rest are counted."""
_BYTES_OF_ENTRY: Final = 600
_BYTES_OF_RECORD: Final = 6_000

T = TypeVar("T", bound=FrozenModel)
Listed = TypeVar("Listed", RecordRow, FittingRow)


@dataclass(frozen=True, slots=True)
class Selection:
    """The records that go into a document, by their ids in the library.

    ``is_private`` marks a document that nobody else may read. ``customers`` and ``pictures`` are
    empty unless asked for: see :func:`with_customers` and :func:`with_pictures`.
    """

    title: str
    decks: tuple[str, ...] = ()
    cartridges: tuple[str, ...] = ()
    fittings: tuple[str, ...] = ()
    jobs: tuple[str, ...] = ()
    customers: tuple[str, ...] = ()
    headshells: tuple[str, ...] = ()
    services: tuple[str, ...] = ()
    pictures: tuple[str, ...] = ()
    test_records: tuple[str, ...] = ()
    is_private: bool = False

    @property
    def count(self) -> int:
        """The number of records selected."""
        apart = (self.jobs, self.customers, self.headshells, self.services, self.test_records)
        return sum(map(len, (self.decks, self.cartridges, self.fittings, self.pictures, *apart)))


def of_decks(library: Library, *deck_ids: str) -> Selection:
    """Select decks with all their fittings and the cartridges of these."""
    rows = [row for deck_id in deck_ids for row in library.fittings(deck_id=deck_id)]
    return Selection(
        title=_title(_all_of(library.deck_records.rows_of(deck_ids), deck_ids, "deck")),
        decks=_once(deck_ids),
        cartridges=_once(row.cartridge_id for row in rows),
        fittings=_once(row.id for row in rows),
        jobs=_jobs_of(library, rows),
        headshells=_headshells_of(library, rows),
        services=library.service.ids_of(deck_ids),
    )


def of_cartridges(library: Library, *cartridge_ids: str) -> Selection:
    """Select cartridges alone."""
    rows = _all_of(library.cartridge_records.rows_of(cartridge_ids), cartridge_ids, "cartridge")
    return Selection(title=_title(rows), cartridges=_once(cartridge_ids))


def of_fittings(library: Library, *fitting_ids: str) -> Selection:
    """Select fittings with their decks and cartridges."""
    rows = _all_of(library.log.rows_of(fitting_ids), fitting_ids, "fitting")
    return Selection(
        title="Fittings",
        decks=_once(row.deck_id for row in rows),
        cartridges=_once(row.cartridge_id for row in rows),
        fittings=_once(fitting_ids),
        jobs=_jobs_of(library, rows),
        headshells=_headshells_of(library, rows),
    )


def of_jobs(library: Library, *job_ids: str) -> Selection:
    """Select jobs with their fittings, and the decks and cartridges of these."""
    rows = _all_of(library.jobs.records.rows_of(job_ids), job_ids, "job")
    fittings = [row for job_id in job_ids for row in library.fittings(job_id=job_id)]
    return Selection(
        title=_title(rows),
        decks=_once(row.deck_id for row in fittings),
        cartridges=_once(row.cartridge_id for row in fittings),
        fittings=_once(row.id for row in fittings),
        jobs=_once(job_ids),
        headshells=_headshells_of(library, fittings),
    )


def of_headshells(library: Library, *headshell_ids: str) -> Selection:
    """Select headshells alone."""
    rows = _all_of(library.headshell_records.rows_of(headshell_ids), headshell_ids, "headshell")
    return Selection(title=_title(rows), headshells=_once(headshell_ids))


def of_test_records(library: Library, *record_ids: str) -> Selection:
    """Select test records alone."""
    rows = _all_of(library.test_records.rows_of(record_ids), record_ids, "test record")
    return Selection(title=_title(rows), test_records=_once(record_ids))


def with_customers(library: Library, selection: Selection) -> Selection:
    """Return the selection with the customers of its jobs, marked private."""
    named = library.jobs.customers_of(selection.jobs)
    return replace(selection, customers=named, is_private=True)


def with_pictures(library: Library, selection: Selection) -> Selection:
    """Return the selection with the pictures of all its records."""
    owners = (
        ("deck", selection.decks),
        ("cartridge", selection.cartridges),
        ("job", selection.jobs),
        ("fitting", selection.fittings),
    )
    found = [one for sort, ids in owners for one in library.pictures.ids_of(sort, ids)]
    return replace(selection, pictures=tuple(found))


def bytes_in_document(library: Library, selection: Selection) -> int:
    """Return how many bytes the selection's pictures take in a document."""
    return library.pictures.bytes_of(selection.pictures) * 4 // 3


def may_be_too_large(library: Library, selection: Selection) -> bool:
    """Whether a document with these pictures may exceed the size limit.

    Counts pictures as base64; the rest is estimated, rather too high.
    """
    pictures = bytes_in_document(library, selection)
    entries = sum(row.entry_count for row in library.log.rows_of(selection.fittings))
    rest = entries * _BYTES_OF_ENTRY + selection.count * _BYTES_OF_RECORD
    return pictures + rest > LARGEST_BYTES


def _jobs_of(library: Library, rows: Iterable[FittingRow]) -> tuple[str, ...]:
    """Return the jobs of fittings that are in the library."""
    return tuple(
        row.id for row in library.jobs.records.rows_of(_once(r.job_id for r in rows if r.job_id))
    )


def _headshells_of(library: Library, rows: Iterable[FittingRow]) -> tuple[str, ...]:
    """Return the headshells of fittings that are in the library."""
    named = library.log.headshells_of(tuple(row.id for row in rows))
    return tuple(row.id for row in library.headshell_records.rows_of(_once(named)))


def of_library(library: Library) -> Selection:
    """Select everything but customers, archived records too."""
    return Selection(
        title=Numbers().text(message("storage.whole_library")),
        decks=tuple(row.id for row in library.decks()),
        cartridges=tuple(row.id for row in library.cartridges()),
        fittings=tuple(row.id for row in library.fittings()),
        jobs=tuple(row.id for row in library.jobs.records.rows()),
        headshells=tuple(row.id for row in library.headshells()),
        services=tuple(row.id for row in library.service.records.rows()),
        test_records=tuple(row.id for row in library.test_records.rows()),
        is_private=True,
    )


def _all_of(rows: tuple[Listed, ...], ids: Sequence[str], sort: str) -> tuple[Listed, ...]:
    """Return the rows with these ids; raises if one is missing."""
    found = {row.id for row in rows}
    for one in ids:
        if one not in found:
            raise no_such(sort, one)
    return rows


def _title(rows: Sequence[RecordRow]) -> str:
    names = [row.name for row in rows[:_NAMED]]
    more = len(rows) - len(names)
    named = ", ".join(names)
    if not more:
        return named
    return Numbers().text(message("documents.title_of_many", names=Name(named), more=more))


def _once(ids: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(ids))


def write_document(
    library: Library,
    path: Path,
    selection: Selection,
    now: datetime | None = None,
    *,
    go_on: Callable[[], bool] = lambda: True,
    told: Callable[[int], None] = lambda _written: None,
) -> None:
    """Write a document to a file, whole or not at all, and record by record to save memory.

    ``go_on`` is called before every record. Once it returns False, raises WorkStoppedError and
    leaves nothing behind. ``told`` is called with the approximate number of records written.
    """
    mode = PRIVATE if selection.is_private else None
    with library.snapshot():
        pieces = _watched(document_pieces(library, selection, now), go_on, told)
        write_whole(path, pieces, mode, library.address.folder)


def _watched(
    pieces: Iterator[str], go_on: Callable[[], bool], told: Callable[[int], None]
) -> Iterator[str]:
    for written, piece in enumerate(pieces):
        if not go_on():
            raise WorkStoppedError
        yield piece
        told(written)


def document_pieces(
    library: Library, selection: Selection, now: datetime | None = None
) -> Iterator[str]:
    """Yield the text of a document in pieces."""
    head = {
        "format": FORMAT,
        "version": VERSION,
        "title": selection.title,
        "made_at": (now or datetime.now(UTC)).isoformat(),
    }
    pictures = library.pictures.records
    yield json.dumps(head, ensure_ascii=False, indent=1).removesuffix("\n}")
    yield from _listed("decks", (_history_of(library.deck_records, i) for i in selection.decks))
    yield from _listed(
        "cartridges", (_history_of(library.cartridge_records, i) for i in selection.cartridges)
    )
    if selection.jobs:
        yield from _listed("jobs", (_history_of(library.jobs.records, i) for i in selection.jobs))
    if selection.headshells:
        yield from _listed(
            "headshells", (_history_of(library.headshell_records, i) for i in selection.headshells)
        )
    if selection.customers:
        yield from _listed(
            "customers", (_history_of(library.jobs.customers, i) for i in selection.customers)
        )
    if selection.services:
        yield from _listed(
            "services", (_history_of(library.service.records, i) for i in selection.services)
        )
    if selection.pictures:
        yield from _listed("pictures", (_history_of(pictures, i) for i in selection.pictures))
        shown = (pictures.get(picture_id).thing for picture_id in selection.pictures)
        contents = _once(one.content for one in shown if not one.erased)
        yield from _listed("contents", (_content_of(library, one) for one in contents))
    if selection.test_records:
        yield from _listed(
            "test_records", (_history_of(library.test_records, i) for i in selection.test_records)
        )
    yield from _listed("fittings", (document_fitting(library, i) for i in selection.fittings))
    yield "\n}\n"


def _listed(name: str, records: Iterator[FrozenModel]) -> Iterator[str]:
    yield f',\n "{name}": ['
    between = "\n"
    for record in records:
        yield between + json.dumps(record.model_dump(mode="json"), ensure_ascii=False, indent=1)
        between = ",\n"
    yield "]"


def _history_of(store: RevisionStore[T], thing_id: str) -> DocumentRecord[T]:
    history = store.history(thing_id)
    if not history:
        raise no_such(store.sort, thing_id)
    model = store.model
    return DocumentRecord[model](  # type: ignore[valid-type]  # chosen at run time
        id=thing_id,
        archived=history[-1].archived,
        revisions=tuple(
            DocumentRevision[model](  # type: ignore[valid-type]  # the same
                revision=kept.revision, at=kept.at, who=kept.who, thing=kept.thing
            )
            for kept in history
        ),
    )


def _content_of(library: Library, content: str) -> DocumentContent:
    found = library.pictures.content(content)
    if found is None:
        raise no_such("content", content)
    return DocumentContent(id=content, image=found.image, small=found.small)


def document_fitting(library: Library, fitting_id: str) -> DocumentFitting:
    """Return a fitting of the library in its document form."""
    fitting = library.fitting(fitting_id)
    return DocumentFitting.model_construct(
        **dict(fitting), archived=library.log.is_archived(fitting_id)
    )
