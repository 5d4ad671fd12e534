"""Documents: a deck with its fittings, a cartridge or a whole library as readable JSON.

Format ``setdown library``, version 5: one object with ``format``, ``version`` and lists of decks,
cartridges, fittings, headshells, jobs, services and, only where somebody asked for them, customers
and pictures, with what these show beside them. All but fittings and picture contents carry all
their revisions, numbered from 1; fittings carry their whole log. A document is complete: it holds
everything a fitting works with, the deck of every service entry, and the subject of every picture.
Not required are the fitting that another was planned from (the plan says all that counts), the
headshell, the job, and a job's customer.

Version 1 knew no entry of the kinds that came with plans for another cartridge and with stylus
hours, and no deck's months to the next check and hours a week.
"""

from __future__ import annotations

import base64
import binascii
import os
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Annotated, Any, Final, Generic, Literal, Self, TypeVar

from pydantic import (
    AfterValidator,
    AwareDatetime,
    BeforeValidator,
    FailFast,
    Field,
    PlainSerializer,
    ValidationError,
    model_validator,
)

from core.fitting import (
    ArmUsed,
    ChoiceMade,
    Fitting,
    LogText,
    Planned,
    ReadingTaken,
    ThingsRevised,
    Who,
    WorkAsked,
)
from core.language import Name, message
from core.records import (
    Cartridge,
    Customer,
    CutRecord,
    Deck,
    FrozenModel,
    Headshell,
    Job,
    KeptPicture,
    Service,
)
from core.store.document_text import (
    DocumentFault,
    DocumentProblem,
    DocumentText,
    Pieces,
    RecordTooLarge,
    place_in_words,
    refused,
    shown,
)
from core.store.file_problems import missing_folder, named
from core.store.jpeg import Content, NoPictureError
from core.store.problems import LibraryProblem, ProblemKind

FORMAT: Final = "setdown library"
VERSION: Final = 5

LARGEST_BYTES: Final = 100_000_000
"""About 280,000 entries; reading them takes about six times as much memory."""

_PIECE: Final = 250_000
"""Bytes decoded at a time, so that decoding causes no pause."""

_HEAD: Final = ("format", "version")
_MOST_STRANGE: Final = 100
"""After this many unknown names the file is taken not to be a document."""

T = TypeVar("T", bound=FrozenModel)


def _within_years(moment: datetime) -> datetime:
    try:
        return moment.astimezone(UTC)
    except OverflowError:
        raise ValueError("The date lies outside the years 1 to 9999.") from None


WrittenAt = Annotated[AwareDatetime, AfterValidator(_within_years)]
Number = Annotated[str, Field(min_length=1, max_length=64)]


class DocumentRevision(FrozenModel, Generic[T]):
    """One revision of a deck, cartridge, job or customer."""

    revision: int = Field(ge=1)
    at: WrittenAt
    who: Who = ""
    thing: T


class DocumentRecord(FrozenModel, Generic[T]):
    """A deck, cartridge, job or customer with all its revisions."""

    id: Number
    archived: bool = False
    revisions: Annotated[tuple[DocumentRevision[T], ...], FailFast()] = Field(min_length=1)

    @model_validator(mode="after")
    def _numbered_from_one(self) -> Self:
        numbers = [record.revision for record in self.revisions]
        if numbers != list(range(1, len(numbers) + 1)):
            raise ValueError("The revisions must be numbered 1, 2, 3 and so on.")
        return self


class DocumentFitting(Fitting):
    """A fitting with its whole log."""

    id: Number
    deck_id: Number
    cartridge_id: Number
    started_at: WrittenAt
    archived: bool = False

    @model_validator(mode="after")
    def _entries_are_sound(self) -> Self:
        ids = [entry.id for entry in self.entries]
        if len(set(ids)) != len(ids):
            raise ValueError("Two entries have the same number.")
        for entry in self.entries:
            _within_years(entry.at)
        return self

    def named_revisions(self) -> Iterator[tuple[int, int]]:
        """Yield each pair of deck and cartridge revision that the fitting names."""
        yield self.deck_revision, self.cartridge_revision
        for entry in self.entries:
            if isinstance(entry.body, ThingsRevised):
                yield entry.body.deck_revision, entry.body.cartridge_revision


def _bytes_of(said: object) -> object:
    """Decode strict base64 text."""
    if not isinstance(said, str):
        return said
    try:
        return base64.b64decode(said, validate=True)
    except (binascii.Error, ValueError):
        raise ValueError("It is not written in base64.") from None


Bytes = Annotated[
    bytes,
    BeforeValidator(_bytes_of),
    PlainSerializer(lambda said: base64.b64encode(said).decode(), return_type=str),
]


class DocumentContent(FrozenModel):
    """The JPEGs of pictures with this digest, large and small, in base64."""

    id: Number
    image: Bytes
    small: Bytes

    @model_validator(mode="after")
    def _is_a_picture(self) -> Self:
        try:
            content = Content.of(self.image, self.small)
        except NoPictureError:
            raise ValueError("It is no picture as Setdown keeps them.") from None
        if content.hash != self.id:
            raise ValueError("The picture is not the one that its number names.")
        return self

    @property
    def content(self) -> Content:
        """The content as a library keeps it."""
        return Content.of(self.image, self.small)


class Document(FrozenModel):
    """The content of a document."""

    format: Literal["setdown library"] = FORMAT
    version: Literal[5] = VERSION
    title: LogText = ""
    made_at: WrittenAt | None = None
    decks: tuple[DocumentRecord[Deck], ...] = ()
    cartridges: tuple[DocumentRecord[Cartridge], ...] = ()
    fittings: tuple[DocumentFitting, ...] = ()
    jobs: tuple[DocumentRecord[Job], ...] = ()
    customers: tuple[DocumentRecord[Customer], ...] = ()
    headshells: tuple[DocumentRecord[Headshell], ...] = ()
    services: tuple[DocumentRecord[Service], ...] = ()
    pictures: tuple[DocumentRecord[KeptPicture], ...] = ()
    contents: tuple[DocumentContent, ...] = ()
    test_records: tuple[DocumentRecord[CutRecord], ...] = ()

    @model_validator(mode="after")
    def _stands_on_its_own(self) -> Self:
        decks = {record.id: len(record.revisions) for record in self.decks}
        cartridges = {record.id: len(record.revisions) for record in self.cartridges}
        if len(decks) + len(cartridges) != len(self.decks) + len(self.cartridges) or (
            decks.keys() & cartridges.keys()
        ):
            raise ValueError("Two decks or cartridges have the same number.")
        apart = (self.jobs, self.customers, self.headshells, self.services, self.test_records)
        for records in (*apart, self.pictures, self.contents):
            if len({record.id for record in records}) != len(records):
                raise ValueError("Two records of one kind have the same number.")
        _check_services(self.services, decks)
        _check_pictures(self)
        if len({fitting.id for fitting in self.fittings}) != len(self.fittings):
            raise ValueError("Two fittings have the same number.")
        entries = [entry.id for fitting in self.fittings for entry in fitting.entries]
        if len(set(entries)) != len(entries):
            raise ValueError("Two fittings have an entry with the same number.")
        for place, fitting in enumerate(self.fittings, start=1):
            for deck_revision, cartridge_revision in fitting.named_revisions():
                if not (
                    1 <= deck_revision <= decks.get(fitting.deck_id, 0)
                    and 1 <= cartridge_revision <= cartridges.get(fitting.cartridge_id, 0)
                ):
                    raise DocumentFault(message("storage.document.lacks.fitting", number=place))
        return self


def _check_services(services: Sequence[DocumentRecord[Service]], decks: Collection[str]) -> None:
    for place, service in enumerate(services, start=1):
        named = {revision.thing.deck for revision in service.revisions}
        if len(named) > 1 or not named <= set(decks):
            raise DocumentFault(message("storage.document.lacks.service", number=place))


def _check_pictures(document: Document) -> None:
    """Refuse pictures without a subject in the document, and pictures without content.

    An erased picture has no content in a document.
    """
    there = {("deck", one.id) for one in document.decks}
    there |= {("cartridge", one.id) for one in document.cartridges}
    there |= {("job", one.id) for one in document.jobs}
    there |= {("fitting", one.id) for one in document.fittings}
    contents = {one.id for one in document.contents}
    for place, picture in enumerate(document.pictures, start=1):
        named = {(one.thing.owner, one.thing.content) for one in picture.revisions}
        if len(named) > 1 or not {owner for owner, _ in named} <= there:
            raise DocumentFault(message("storage.document.lacks.picture", number=place))
        is_erased = picture.revisions[-1].thing.erased
        if not is_erased and not {content for _, content in named} <= contents:
            raise DocumentFault(message("storage.document.lacks.picture_content", number=place))


# Reading

_UPGRADES: Final[Mapping[int, Callable[[str, Any], Any]]] = {
    1: lambda _list, record: record,  # kinds of entries were added, none was changed
    2: lambda _list, record: record,  # ways of reading were added, none was changed
    3: lambda _list, record: record,  # kinds of entries, ways and fields were added
    4: lambda _list, record: (
        record
    ),  # arms, entries, fields, pictures were added; bands say their use
}
"""For every older document version, the function that migrates a record of a list to the next."""


def read_document(
    path: Path,
    go_on: Callable[[], bool] = lambda: True,
    told: Callable[[int], None] = lambda _bytes: None,
) -> Document:
    """Read a document from a file; DocumentProblem or LibraryProblem in one sentence.

    ``go_on`` is called before every record; WorkStoppedError once it returns False. ``told`` is
    called with the number of bytes read.
    """
    try:
        if not (path.is_file() or path.is_dir()) and path.exists():
            # A pipe would block, a device never ends.
            raise DocumentProblem(
                message("storage.document.no_document", document=Name(shown(path.name, 80)))
            )
        with path.open("rb") as stream:
            _check_size(os.fstat(stream.fileno()).st_size, path.name)

            def pieces() -> Iterator[bytes]:
                stream.seek(0)
                return iter(partial(stream.read, _PIECE), b"")

            return _read(pieces, path.name, go_on, told)
    except OSError as error:
        raise _not_read(error, path) from error


def document_from(content: bytes, name: str, go_on: Callable[[], bool] = lambda: True) -> Document:
    """Read a document: JSON in UTF-8, with or without a byte order mark.

    Raises DocumentProblem for the first fault, with its place in words; ``name``, the file's name,
    stands in the sentence. Time and memory grow linearly with its size.
    """
    _check_size(len(content), name)

    def pieces() -> Iterator[bytes]:
        return (content[at : at + _PIECE] for at in range(0, len(content), _PIECE))

    return _read(pieces, name, go_on, lambda _bytes: None)


def let_go(document: Document) -> None:
    """Empty a document that is no longer needed, piece by piece.

    Python frees a large structure at once without letting another thread run, which would freeze
    the window.
    """
    for key in _RECORDS:
        _empty(list(vars(document).pop(key, ())))
        vars(document)[key] = ()


def _empty(records: list[Any]) -> None:
    """Free records one by one."""
    while records:
        records.pop()


def _check_size(size: int, name: str) -> None:
    if size > LARGEST_BYTES:
        raise DocumentProblem(
            message(
                "storage.document.too_large.what",
                document=Name(shown(name, 80)),
                size=round(LARGEST_BYTES / 1e6),
            ),
            message("storage.document.too_large.todo"),
        )


def _read(
    pieces: Pieces, name: str, go_on: Callable[[], bool], told: Callable[[int], None]
) -> Document:
    """Read a document record by record; validate each before the next is read."""
    name = shown(name, 80)
    taken = 0

    def counted() -> Iterator[bytes]:
        nonlocal taken
        for piece in pieces():
            taken += len(piece)
            _check_size(taken, name)
            told(taken)
            yield piece

    version = _version(DocumentText(pieces(), name, go_on), name)
    said: dict[str, Any] = {}
    held: dict[str, list[FrozenModel]] = {}
    fault: DocumentProblem | None = None
    try:
        for key, place, value in DocumentText(counted(), name, go_on).members(_RECORDS):
            if place is not None:
                held.setdefault(key, []).append(_record(key, place, value, version, name))
            else:
                said[key] = value
                if key not in Document.model_fields:
                    break  # the model refuses it
        try:
            return Document.model_validate({**said, "version": VERSION, **held})
        except ValidationError as error:
            fault = refused(error, name)
    finally:
        for records in held.values():
            _empty(records)
    raise fault  # drop the error, which holds all that was read


def _not_read(error: OSError, path: Path) -> LibraryProblem:
    """Return why a document can't be read."""
    document = Name(shown(path.name, 80))
    if path.is_dir():
        return DocumentProblem(message("storage.document.folder", document=document))
    if isinstance(error, PermissionError):
        return DocumentProblem(message("storage.document.no_right", document=document))
    if isinstance(error, FileNotFoundError | NotADirectoryError):
        if not path.parent.is_dir():
            return missing_folder(path)
        return LibraryProblem(
            ProblemKind.VANISHED,
            message("storage.document.gone.what", path=named(path)),
            message("storage.document.gone.todo"),
        )
    return LibraryProblem(
        ProblemKind.DISK_FAULT,
        message(
            "storage.document.unreadable.what",
            path=named(path),
            detail=Name(error.strerror or type(error).__name__),
        ),
        message("storage.document.unreadable.todo"),
    )


_RECORDS: Final[Mapping[str, type[FrozenModel]]] = {
    "decks": DocumentRecord[Deck],
    "cartridges": DocumentRecord[Cartridge],
    "fittings": DocumentFitting,
    "jobs": DocumentRecord[Job],
    "customers": DocumentRecord[Customer],
    "headshells": DocumentRecord[Headshell],
    "services": DocumentRecord[Service],
    "pictures": DocumentRecord[KeptPicture],
    "contents": DocumentContent,
    "test_records": DocumentRecord[CutRecord],
}


def _version(text: DocumentText, name: str) -> int:
    """Return the version of a document, whose member may come after the records."""
    head: dict[str, Any] = {}
    strange = 0
    try:
        for key, place, value in text.members(_RECORDS):
            if key in _HEAD:
                head[key] = value
            strange += place is None and key not in Document.model_fields
            if len(head) == len(_HEAD) or strange > _MOST_STRANGE:
                break
    except RecordTooLarge:
        if head.get("format") == FORMAT:
            raise
    if head.get("format") != FORMAT:
        raise DocumentProblem(message("storage.document.no_document", document=Name(name)))
    version = head.get("version")
    if type(version) is not int or version < 1:
        raise DocumentProblem(message("storage.document.no_version", document=Name(name)))
    if version > VERSION:
        raise DocumentProblem(
            message(
                "storage.document.newer.what",
                document=Name(name),
                version=Name(shown(version)),
                known=VERSION,
            ),
            message("storage.document.newer.todo"),
        )
    return version


def _record(key: str, place: int, said: Any, version: int, name: str) -> FrozenModel:
    """Return the record at an index of a list; raises DocumentProblem for the first fault."""
    for older in range(version, VERSION):
        said = _UPGRADES[older](key, said)
    try:
        record = _RECORDS[key].model_validate(said)
    except ValidationError as error:
        raise refused(error, name, (key, place)) from error
    if isinstance(record, DocumentFitting):
        _check_steps(record, place, name)
    return record


def _check_steps(fitting: DocumentFitting, place: int, name: str) -> None:
    """Refuse entries that no step of this program knows."""
    from core.steps import STEP_NAMES, reading_from, step_named  # numpy and all formulas

    for number, entry in enumerate(fitting.entries):
        where = ("fittings", place, "entries", number)
        step = getattr(entry.body, "step", "")
        for one in (step, *_steps_planned(entry.body)):
            if one not in ("", *STEP_NAMES):
                raise DocumentProblem(
                    message(
                        "storage.document.no_step",
                        document=Name(name),
                        place=place_in_words(where),
                        step=Name(shown(one)),
                    )
                )
        try:
            if isinstance(entry.body, ReadingTaken):
                reading_from(step, entry.body.reading)
            for chosen in _chosen(entry.body):
                step_named(chosen.step).Chosen.model_validate(chosen.choices)
        except ValidationError as error:
            raise refused(error, name, where) from error
        except KeyError as error:
            raise DocumentProblem(
                message(
                    "storage.document.belongs_to_no_step",
                    document=Name(name),
                    place=place_in_words(where),
                )
            ) from error


def _chosen(body: object) -> tuple[ChoiceMade, ...]:
    if isinstance(body, Planned):
        return body.choices
    return (body,) if isinstance(body, ChoiceMade) else ()


def _steps_planned(body: object) -> tuple[str, ...]:
    if isinstance(body, WorkAsked):
        return body.steps
    if isinstance(body, ArmUsed):
        return body.keeps
    if not isinstance(body, Planned):
        return ()
    starts, gains = (start.step for start in body.starts), (gain.step for gain in body.gains)
    return (*starts, *gains)
