"""A fitting with something of everything in its log, and what a library says of itself."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from core.fitting import Finished, Fitting, NoteWritten, ReadingTaken, ThingsRevised, Withdrawn
from core.store import Library, LibraryProblem
from core.store.exporting import Selection, document_pieces, of_library
from core.store.sqlite.schema import SCHEMA, Schema
from tests.examples import deck

NOON = datetime(2025, 3, 1, 12, tzinfo=UTC)

LATER = Schema(
    version=SCHEMA.version + 2,
    statements=(*SCHEMA.statements, "ALTER TABLE fittings ADD COLUMN colour TEXT"),
    migrations={
        **SCHEMA.migrations,
        SCHEMA.version: ("ALTER TABLE fittings ADD COLUMN color TEXT",),
        SCHEMA.version + 1: (
            "ALTER TABLE fittings RENAME COLUMN color TO colour",
            "UPDATE fittings SET colour = 'none'",
        ),
    },
)
"""A file version of days to come, two steps on."""


def content_of(library: Library, selection: Selection) -> bytes:
    """Return a document as its file holds it."""
    return "".join(document_pieces(library, selection, NOON)).encode()


def everything(library: Library) -> str:
    """All a library holds, as text; the moment of writing left out."""
    return content_of(library, of_library(library)).decode()


def work_on(library: Library, fitting: Fitting) -> None:
    """Enter a note, a reading that is withdrawn, a new revision of the deck, and the end."""

    def at(minute: int) -> datetime:
        return datetime(2025, 3, 1, 10, minute, tzinfo=UTC)

    library.append(fitting.id, NoteWritten(text="Zeile 1\nZeile 2 – „ja“"), at=at(1))
    reading = ReadingTaken(step="rough_downforce", reading={"way": "scale", "downforce_gf": 1.95})
    slip = library.append(fitting.id, reading, at=at(2))
    library.append(fitting.id, Withdrawn(entry=slip.id, reason="slip"), at=at(3))
    library.keep_deck(deck(owner_reference="Job 17", arm={"offset_deg": 22.5}), id=fitting.deck_id)
    revised = ThingsRevised(deck_revision=2, cartridge_revision=1)
    library.append(fitting.id, revised, who="Bo", at=at(4))
    library.append(fitting.id, Finished(note="done"), at=at(5))


def problem_of(path: Path, **how: bool) -> LibraryProblem:
    """Open a library that can't be opened and return what the person is told."""
    with pytest.raises(LibraryProblem) as caught:
        Library.open(path, wait_s=0.1, **how)
    return told(caught.value)


def told(problem: LibraryProblem) -> LibraryProblem:
    """Check that a person can read it: a sentence that names the file, and what to do."""
    assert problem.sentence[0].isupper()
    assert problem.sentence.endswith(".")
    assert problem.remedy.endswith(".")
    assert str(problem) == f"{problem.sentence} {problem.remedy}"
    assert "sqlite3." not in str(problem)
    return problem
