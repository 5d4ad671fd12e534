"""Every text that is kept has a longest length, and a document with a longer one gets its sentence.

The lengths are what the program promises; the forms' own sentences are tested in
tests/desktop/forms/test_length_limits.py.
"""

from __future__ import annotations

import json
import types
import typing
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pytest
from pydantic import BaseModel

from core.fitting import Fitting, NoteWritten
from core.language import Numbers
from core.records import (
    Cartridge,
    Customer,
    CutRecord,
    Deck,
    Headshell,
    Job,
    KeptPicture,
    RecordPlayed,
    Service,
)
from core.steps.mount.readings import RecordedSweep
from core.steps.skating.readings import RecordedTracking
from core.steps.speed.tone import RecordedTone
from core.steps.tilt.readings import RecordedLeak
from core.store import Library
from core.store.document_text import DocumentProblem
from core.store.documents import document_from
from core.store.exporting import of_library, write_document

LIMITED_OTHERWISE: Final = {
    "Job.received": "a day of ten characters",
    "Job.promised": "a day of ten characters",
    "Job.handed_over": "a day of ten characters",
    "Customer.forgotten": "a day of ten characters",
    "Headshell.taken_apart": "a day of ten characters",
    "Service.day": "a day of ten characters",
    "Service.withdrawn": "a day of ten characters",
    "KeptPicture.day": "a day of ten characters",
    "KeptPicture.withdrawn": "a day of ten characters",
    "KeptPicture.erased": "a day of ten characters",
    "KeptPicture.content": "a digest of 64 digits",
    "Fitting.id": "a document's numbers have at most 64 characters",
    "Fitting.deck_id": "a document's numbers have at most 64 characters",
    "Fitting.cartridge_id": "a document's numbers have at most 64 characters",
    "ReadingTaken.reading[]": "names of the fields of a reading",
    "ChoiceMade.choices[]": "names of the fields of a choice",
}
MOVE: Final = {"control": "counterweight", "amount": 1.0, "unit": "turns"}
START: Final = {"step": "level", "key": "across"}
GAIN: Final = {
    "step": "level",
    "control": "counterweight",
    "value": 1.0,
    "half_width": 0.1,
    "unit": "gf",
    "samples": 1,
}
BODIES: Final[list[tuple[dict[str, Any], tuple[str | int, ...], int]]] = [
    ({"kind": "note"}, ("text",), 4000),
    ({"kind": "note", "text": "x"}, ("step",), 40),
    ({"kind": "reading", "reading": {}}, ("step",), 40),
    ({"kind": "move", "step": "level", "parts": [MOVE]}, ("note",), 4000),
    ({"kind": "move", "step": "level", "parts": [MOVE]}, ("parts", 0, "where"), 40),
    ({"kind": "move", "step": "level", "parts": [MOVE]}, ("parts", 0, "unit"), 40),
    ({"kind": "withdrawn", "entry": "x"}, ("reason",), 4000),
    ({"kind": "withdrawn"}, ("entry",), 64),
    ({"kind": "finished"}, ("note",), 4000),
    ({"kind": "reopened"}, ("reason",), 4000),
    ({"kind": "hours", "hours": 1.0}, ("note",), 200),
    ({"kind": "job"}, ("job",), 64),
    ({"kind": "job"}, ("number",), 40),
    ({"kind": "planned"}, ("from_fitting",), 64),
    ({"kind": "planned", "from_fitting": "x"}, ("settings_of",), 64),
    ({"kind": "planned", "from_fitting": "x", "starts": [START]}, ("starts", 0, "reason"), 4000),
    ({"kind": "planned", "from_fitting": "x", "starts": [START]}, ("starts", 0, "key"), 40),
    ({"kind": "planned", "from_fitting": "x", "starts": [START]}, ("starts", 0, "unit"), 40),
    ({"kind": "planned", "from_fitting": "x", "gains": [GAIN]}, ("gains", 0, "where"), 40),
    ({"kind": "planned", "from_fitting": "x", "gains": [GAIN]}, ("gains", 0, "unit"), 40),
]
THINGS: Final = [
    ("decks", ("name",), 120),
    ("decks", ("owner_reference",), 120),
    ("decks", ("notes",), 4000),
    ("decks", ("plinth", "feet", 0, "name"), 40),
    ("cartridges", ("name",), 120),
    ("cartridges", ("notes",), 4000),
]


@pytest.fixture
def said(library: Library, fitting: Fitting, tmp_path: Path) -> dict[str, Any]:
    """Return a document with one note, as JSON holds it."""
    library.append(fitting.id, NoteWritten(text="x"), who="x")
    write_document(library, tmp_path / "one.json", of_library(library))
    read: dict[str, Any] = json.loads((tmp_path / "one.json").read_text("utf-8"))
    return read


def put(where: Any, path: tuple[str | int, ...], value: str) -> None:
    for part in path[:-1]:
        where = where[part]
    where[path[-1]] = value


def sentence_of(document: dict[str, Any]) -> str:
    with pytest.raises(DocumentProblem) as refused:
        document_from(json.dumps(document).encode(), "one.json")
    return Numbers().text(refused.value.sentence)


@pytest.mark.parametrize(("body", "path", "limit"), BODIES)
def test_an_entry_with_a_text_too_long_is_refused_with_its_sentence(
    said: dict[str, Any], body: dict[str, Any], path: tuple[str | int, ...], limit: int
) -> None:
    entry = said["fittings"][0]["entries"][0]
    entry["body"] = json.loads(json.dumps(body))
    put(entry["body"], path, "x" * (limit + 1))
    assert f"must have at most {limit} characters" in sentence_of(said)


@pytest.mark.parametrize(("sort", "path", "limit"), THINGS)
def test_a_record_with_a_text_too_long_is_refused_with_its_sentence(
    said: dict[str, Any], sort: str, path: tuple[str | int, ...], limit: int
) -> None:
    put(said[sort][0]["revisions"][0]["thing"], path, "x" * (limit + 1))
    assert f"must have at most {limit} characters" in sentence_of(said)


@pytest.mark.parametrize(
    "where", [("fittings", 0), ("fittings", 0, "entries", 0), ("decks", 0, "revisions", 0)]
)
def test_a_name_of_a_person_too_long_is_refused_with_its_sentence(
    said: dict[str, Any], where: tuple[str | int, ...]
) -> None:
    put(said, (*where, "who"), "x" * 121)
    assert "must have at most 120 characters" in sentence_of(said)


def test_no_text_that_is_kept_is_without_a_limit() -> None:
    found: dict[str, int | None] = {}
    recorded = (RecordedSweep, RecordedTracking, RecordedTone, RecordedLeak, RecordPlayed)
    things = (Deck, Cartridge, Headshell, CutRecord, Job, Customer, Service, KeptPicture)
    for model in (*things, *recorded, Fitting):
        found |= dict(texts_of(model, set()))
    without = {path for path, limit in found.items() if limit is None}
    assert without == LIMITED_OTHERWISE.keys()
    assert len(found) > 40


def texts_of(model: type[BaseModel], seen: set[type]) -> Iterator[tuple[str, int | None]]:
    if model not in seen:
        seen.add(model)
        for name, field in model.model_fields.items():
            of = f"{model.__name__}.{name}"
            yield from texts_in(of, field.annotation, list(field.metadata), seen)


def texts_in(
    path: str, kind: Any, marks: list[Any], seen: set[type]
) -> Iterator[tuple[str, int | None]]:
    while typing.get_origin(kind) is typing.Annotated:
        kind, *more = typing.get_args(kind)
        marks = [*marks, *more]
    if kind is str:
        flat = [inner for mark in marks for inner in (mark, *getattr(mark, "metadata", ()))]
        limits = [one for mark in flat if (one := getattr(mark, "max_length", None)) is not None]
        yield path, min(limits, default=None)
    elif isinstance(kind, type) and issubclass(kind, BaseModel):
        yield from texts_of(kind, seen)
    elif (of := typing.get_origin(kind)) is not None:
        is_choice = of in (typing.Union, types.UnionType)
        for one in typing.get_args(kind):
            inside = path if is_choice else f"{path}[]"
            yield from texts_in(inside, one, marks if is_choice else [], seen)
