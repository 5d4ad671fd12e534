"""A document read record by record says what it says read whole, and leaves nothing when it fails.

Read whole by Python's json and by pydantic: the reader under test knows neither windows nor places
from them.
"""

from __future__ import annotations

import gc
import json
import os
import random
import tracemalloc
from pathlib import Path
from typing import Any, Final

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic_core import from_json

from core.fitting import NoteWritten
from core.store import Library, LibraryProblem, WorkStoppedError, documents
from core.store.document_text import LONGEST_RECORD, DocumentProblem
from core.store.documents import (
    Document,
    DocumentFitting,
    document_from,
    let_go,
    read_document,
)
from core.store.exporting import of_library, write_document
from tests.examples import cartridge, deck

pytestmark = pytest.mark.long

EXAMPLES: Final = sorted((Path(__file__).parent / "examples").glob("document_*.json"))
HEAD: Final = f'{{"format": "setdown library", "version": {documents.VERSION}, '
HARM: Final = (
    *("", "x", '"', "{", "}", "[", "]", ",", ":", "1", "é"),
    *("1e999", "NaN", "\\", "\\ud800", "\0"),
)
SPACES: Final = st.text(" \t\n\r", max_size=5)
MANY: Final = 40


def read_whole(content: bytes) -> Document:
    """Read a document in one piece; ValueError for whatever is wrong with it."""

    def once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        if len(dict(pairs)) < len(pairs):
            raise ValueError("twice")
        return dict(pairs)

    text = content.decode("utf-8-sig")
    from_json(text, allow_inf_nan=False)
    said = json.loads(text, object_pairs_hook=once_each)
    if said["format"] != documents.FORMAT or said["version"] not in range(1, documents.VERSION + 1):
        raise ValueError("no document")
    document = Document.model_validate({**said, "version": documents.VERSION})
    for place, fitting in enumerate(document.fittings):
        documents._check_steps(fitting, place, "whole")
    return document


def in_pieces(content: bytes, size: int) -> Document:
    """Read a document from pieces of so many bytes."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(documents, "_PIECE", size)
        return document_from(content, "pieces.json")


def written(said: Any, draw: random.Random, spaces: list[str]) -> str:
    """Write JSON with any space between its signs, in any order of names, escapes at random."""

    def space() -> str:
        return draw.choice(spaces)

    def joined(members: list[str]) -> str:
        return space() + f"{space()},{space()}".join(members) + space()

    if isinstance(said, dict):
        names = draw.sample(list(said), len(said))
        parts = [(written(name, draw, spaces), written(said[name], draw, spaces)) for name in names]
        return "{" + joined([f"{name}{space()}:{space()}{one}" for name, one in parts]) + "}"
    if isinstance(said, list):
        return "[" + joined([written(one, draw, spaces) for one in said]) + "]"
    return json.dumps(said, ensure_ascii=draw.random() < 0.5)


@settings(suppress_health_check=[HealthCheck.too_slow], max_examples=60)
@given(
    example=st.sampled_from(EXAMPLES),
    words=st.text(st.characters(exclude_categories=["Cs"]), max_size=30),
    spaces=st.lists(SPACES, min_size=1, max_size=4),
    seed=st.integers(0, 10_000),
    size=st.integers(1, 300),
    mark=st.booleans(),
)
def test_record_by_record_is_the_same_as_whole(
    example: Path, words: str, spaces: list[str], seed: int, size: int, mark: bool
) -> None:
    said = json.loads(example.read_text(encoding="utf-8"))
    said["title"] = words
    said["decks"][0]["revisions"][0]["thing"]["notes"] = words
    text = written(said, random.Random(seed), spaces)
    content = text.encode("utf-8-sig" if mark else "utf-8")
    assert in_pieces(content, size) == read_whole(content)


@settings(suppress_health_check=[HealthCheck.too_slow], max_examples=150)
@given(
    example=st.sampled_from(EXAMPLES),
    share=st.floats(0, 1),
    put_in=st.sampled_from(HARM),
    taken=st.integers(0, 40),
    size=st.integers(1, 3_000),
)
def test_what_was_damaged_is_refused_where_it_is_refused_whole(
    example: Path, share: float, put_in: str, taken: int, size: int
) -> None:
    text = example.read_text(encoding="utf-8")
    at = round(share * len(text))
    content = (text[:at] + put_in + text[at + taken :]).encode()
    try:
        whole: Document | None = read_whole(content)
    except (ValueError, KeyError, TypeError, AttributeError, LibraryProblem):
        whole = None
    if whole is None:
        with pytest.raises(DocumentProblem):
            in_pieces(content, size)
    else:
        assert in_pieces(content, size) == whole


@pytest.fixture
def long(library: Library, tmp_path: Path) -> Path:
    """A document of many fittings."""
    kept, pick = library.keep_deck(deck()), library.keep_cartridge(cartridge())
    for number in range(MANY):
        fitting = library.start_fitting(kept.id, pick.id)
        library.append(fitting.id, NoteWritten(text=f"Number {number}, ½ turn"))
    path = tmp_path / "long.json"
    write_document(library, path, of_library(library))
    return path


@pytest.mark.parametrize("size", [17, 1_000, 1_000_000])
@pytest.mark.parametrize("share", [0.3, 0.7, 0.99])
def test_the_place_of_damage_is_told_by_line_and_character(
    long: Path, share: float, size: int
) -> None:
    lines = long.read_text(encoding="utf-8").split("\n")
    line = round(share * len(lines)) - 2
    inside = len(lines[line]) - len(lines[line].lstrip())
    lines[line] = lines[line][:inside] + "½" + lines[line][inside:]
    with pytest.raises(
        DocumentProblem, match=f"goes wrong at line {line + 1}, character {inside + 1}\\."
    ):
        in_pieces("\n".join(lines).encode(), size)


@pytest.mark.parametrize("size", [100, 1_000_000])
def test_half_a_character_is_told_by_line_and_character(long: Path, size: int) -> None:
    text = long.read_text(encoding="utf-8").replace("Number 30, ½", "½ Number \\ud800")
    before = text[: text.index("\\ud800")]
    line = before.count("\n") + 1
    with pytest.raises(DocumentProblem, match=f"a broken character at line {line}, ") as caught:
        in_pieces(text.encode(), size)
    told = int(str(caught.value).split("character ")[2].split(".")[0])
    start = len(before) - before.rindex("\n")
    assert start <= told <= start + len("\\ud800")


@pytest.mark.parametrize("share", [0.2, 0.9])
def test_a_document_cut_in_the_middle_of_a_character_is_no_text(long: Path, share: float) -> None:
    content = long.read_bytes()
    at = content.index("½".encode(), round(share * len(content) * 0.9)) + 1
    with pytest.raises(DocumentProblem, match=f"from byte {at} on it is not UTF-8 text"):
        document_from(content[:at], "cut.json")
    with pytest.raises(DocumentProblem, match=f"from byte {at} on it is not UTF-8 text"):
        in_pieces(content[:at] + b" " + content[at:], 7)


def alive() -> int:
    """Return how many fittings of documents there are."""
    return sum(isinstance(one, DocumentFitting) for one in gc.get_objects())


def test_stopped_in_the_middle_nothing_is_left(long: Path) -> None:
    gc.collect()
    before, there, asked = alive(), 0, 0

    def go_on() -> bool:
        nonlocal there, asked
        asked += 1
        if asked % 25 == 0:  # seldom: all objects of the tests before are looked through
            there = alive() - before
        return there == 0

    with pytest.raises(WorkStoppedError) as caught:
        read_document(long, go_on)
    assert 0 < there < MANY
    assert caught.tb is not None  # what is told holds the frames in which it happened
    assert alive() == before


@pytest.mark.parametrize("harm", ["fitting", "whole"])
def test_of_a_refused_document_nothing_is_left(long: Path, harm: str) -> None:
    said = json.loads(long.read_text(encoding="utf-8"))
    if harm == "fitting":
        said["fittings"][-1]["who"] = 5
    else:
        said["fittings"][-1]["deck_revision"] = 7
    gc.collect()
    before = alive()
    with pytest.raises(DocumentProblem, match=f"[Ff]itting {MANY}") as caught:
        document_from(json.dumps(said).encode(), "long.json")
    assert caught.tb is not None
    assert alive() == before


def test_a_document_that_is_let_go_is_empty(long: Path) -> None:
    gc.collect()
    before = alive()
    document = read_document(long)
    assert alive() == before + MANY
    let_go(document)
    assert alive() == before
    assert document.fittings == document.decks == document.cartridges == ()


def test_it_is_told_how_much_is_read(long: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(documents, "_PIECE", 1_000)
    told: list[int] = []
    read_document(long, told=told.append)
    assert told == sorted(told)
    assert len(told) > 10
    assert told[-1] == long.stat().st_size


def test_a_giant_record_is_refused_and_named() -> None:
    giant = json.dumps({"id": "a" * LONGEST_RECORD})
    one = json.loads(EXAMPLES[-1].read_text(encoding="utf-8"))["decks"][0]
    content = f'{HEAD}"decks": [{json.dumps(one)}, {giant}]}}'
    with pytest.raises(
        DocumentProblem, match="deck 2 is longer than the 2 million characters"
    ) as caught:
        document_from(content.encode(), "giant.json")
    assert caught.value.remedy == "Nothing was changed in the library."


def test_a_record_that_never_ends_is_not_read_to_the_end_of_the_file(tmp_path: Path) -> None:
    endless = tmp_path / "endless.json"
    endless.write_text(f'{HEAD}"fittings": [{{"id": "' + "a" * 30_000_000)
    tracemalloc.start()
    try:
        with pytest.raises(DocumentProblem, match="fitting 1 is longer than"):
            read_document(endless)
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert most < 8 * LONGEST_RECORD


def test_spaces_are_passed_over_and_not_kept(tmp_path: Path) -> None:
    spaces = tmp_path / "spaces.json"
    spaces.write_text(f'{HEAD}"decks": [' + " \n" * 10_000_000 + "]}")
    tracemalloc.start()
    try:
        assert read_document(spaces).decks == ()
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert most < spaces.stat().st_size / 8


def test_reading_is_stopped_within_spaces(tmp_path: Path) -> None:
    spaces = tmp_path / "spaces.json"
    spaces.write_text(f'{HEAD}"decks": [' + " " * 5_000_000 + "]}")
    asked = 0

    def go_on() -> bool:
        nonlocal asked
        asked += 1
        return asked < 12

    with pytest.raises(WorkStoppedError):
        read_document(spaces, go_on)


@pytest.mark.parametrize("depth", [190, 300, 100_000])
def test_a_record_nested_too_deep_is_refused(depth: int) -> None:
    deep = "[" * depth + "]" * depth
    sentence = "must be a record" if depth < 200 else "nested too deeply at line 1"
    with pytest.raises(DocumentProblem, match=sentence):
        document_from(f'{HEAD}"decks": [{deep}]}}'.encode(), "deep.json")


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        ('{"decks": [], "version": 5}', "not a Setdown document"),
        ('{"decks": [], "version": 6, "format": "setdown library"}', "newer version"),
        ('{"decks": [{}], "format": "setdown library", "version": 5}', "deck 1, 'id' is missing"),
        ('{"items": [' + "1," * LONGEST_RECORD + "1]}", "not a Setdown document"),
        ("{" + ", ".join(f'"n{n}": 1' for n in range(300)) + "}", "not a Setdown document"),
        ("[" + "1," * LONGEST_RECORD + "1]", "not a Setdown document"),
        (HEAD + '"decks": []} {}', "goes wrong at line 1, character 58"),
        (HEAD + '"decks": [], "decks": []}', "the name “decks” twice"),
        (HEAD + '"format": "setdown library"}', "the name “format” twice"),
        (HEAD + '"decks": [],}', "not a complete JSON"),
        (HEAD + '"decks" []}', "not a complete JSON"),
        (HEAD + "decks: []}", "not a complete JSON"),
        (HEAD + '"decks": {}}', "'decks' must be a list"),
        (HEAD + '"decks": 1' + "1" * 5_000 + "}", "too many digits"),
        (HEAD + '"others": [1]}', "'others' is a name that this program does not know"),
    ],
)
def test_what_stands_around_the_records_is_told_too(content: str, sentence: str) -> None:
    with pytest.raises(DocumentProblem, match=sentence):
        document_from(content.encode(), "odd.json")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes with names")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.json"
    os.mkfifo(pipe)
    with pytest.raises(DocumentProblem, match="not a Setdown document"):
        read_document(pipe)
