"""The test record that ``--record`` names: of a document, the library, or one that came along."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from core.language import Name, Series, message
from core.recordings import RecordingProblem, record_named
from core.records import CutRecord
from core.store import Library, LibraryProblem, default_library_path
from core.store.document_text import DocumentProblem
from core.store.documents import Document, read_document

_MARK: Final = b'"setdown library"'
_LOOKED_AT: Final = 2_000
_MOST_NAMED: Final = 5


def record_asked(asked: str, library: Path | None = None) -> CutRecord:
    """Return the record of a document, or the one with this name.

    ``library`` is the file whose records are known by name too, None for the usual one. Raises
    RecordingProblem, or LibraryProblem where the library that was named can't be read.
    """
    path = Path(asked).expanduser()
    if path.suffix.casefold() != ".json":
        return record_named(asked, _own(library))
    if not _is_document(path):
        return record_named(asked)
    try:
        return _only(read_document(path), path)
    except DocumentProblem as problem:
        raise RecordingProblem(problem.what, problem.todo) from problem


def _only(document: Document, path: Path) -> CutRecord:
    records = [one.revisions[-1].thing for one in document.test_records]
    if len(records) == 1:
        return records[0]
    names = Series(tuple(Name(one.name) for one in records[:_MOST_NAMED]), ";")
    if records:
        raise RecordingProblem(
            message("tones.record.several", file=Name(path.name), names=names),
            message("tones.record.several_todo"),
        )
    raise RecordingProblem(
        message("tones.record.unusable", file=Name(path.name)),
        message("tones.record.unusable_todo"),
    )


def _is_document(path: Path) -> bool:
    try:
        with path.open("rb") as stream:
            return _MARK in stream.read(_LOOKED_AT)
    except (OSError, ValueError):
        return False  # whoever reads it says what is wrong


def _own(library: Path | None) -> tuple[CutRecord, ...]:
    place = library.expanduser() if library is not None else default_library_path()
    try:
        if library is None and not place.is_file():
            return ()
        with Library.open(place, read_only=True) as opened:
            return tuple(one.record for one in opened.records_to_play())
    except LibraryProblem:
        if library is None:
            return ()  # the examples are there without it
        raise
