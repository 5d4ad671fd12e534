"""Documents with any fault a cable, a disk or a careless hand can put into them."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.store import Library
from core.store.documents import DocumentProblem, document_from, read_document
from core.store.exchange import Decision, Plan, plan, take_in
from tests.core.store.worked import everything

EXAMPLE = Path(__file__).parent / "examples" / "document_1.json"

_SAID: dict[str, Any] = json.loads(EXAMPLE.read_text(encoding="utf-8"))

_ODD = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.integers(-(10**30), 10**30),
    st.floats(),
    st.text(max_size=8),
    st.sampled_from(["", "0001-01-01T00:00:00+14:00", "deck", "1e999", "x" * 5000, "\x00"]),
    st.lists(st.integers(), max_size=2),
    st.dictionaries(st.text(max_size=3), st.integers(), max_size=2),
)


def _places(said: Any, before: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    inner: list[tuple[Any, Any]] = []
    if isinstance(said, dict):
        inner = list(said.items())
    elif isinstance(said, list):
        inner = list(enumerate(said))
    found = [(*before, key) for key, _ in inner]
    return found + [place for key, part in inner for place in _places(part, (*before, key))]


_PLACES = _places(_SAID)


@st.composite
def mutated(draw: st.DrawFn) -> bytes:
    """Draw the stored example with some values changed, taken out, doubled or swapped."""
    said = json.loads(json.dumps(_SAID))
    for _ in range(draw(st.integers(1, 3))):
        *way, last = draw(st.sampled_from(_PLACES))
        inner = said
        try:
            for key in way:
                inner = inner[key]
            match draw(st.sampled_from(["change", "change", "remove", "double", "copy"])):
                case "change":
                    inner[last] = draw(_ODD)
                case "remove":
                    del inner[last]
                case "double" if isinstance(inner, list):
                    inner.append(inner[last])
                case _:
                    inner[last] = json.loads(json.dumps(said[draw(st.sampled_from(sorted(said)))]))
        except (KeyError, IndexError, TypeError):
            continue
    text = json.dumps(said).encode()
    if draw(st.booleans()):
        return text
    place = draw(st.integers(0, len(text) - 1))
    return text[:place] + draw(st.binary(max_size=3)) + text[place + draw(st.integers(0, 3)) :]


@pytest.fixture(scope="module")
def fuzzed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Library]:
    """A library that holds the stored example, and nothing else so that it is quickly read."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Library, "add_starters", lambda _: None)
        library = Library.open(tmp_path_factory.mktemp("fuzz") / "fuzz.library")
    take_in(library, plan(library, read_document(EXAMPLE)), {})
    yield library
    library.close()


class UndoError(Exception):
    """Ends a transaction without keeping it."""


def take_in_and_undo(library: Library, planned: Plan) -> None:
    """Take everything in, check that the library can still read itself, and take it back."""
    with suppress(UndoError), library.transaction():
        take_in(library, planned, {item.id: Decision.BOTH for item in planned.conflicts})
        everything(library)
        assert library._file.rows("PRAGMA foreign_key_check") == []
        raise UndoError


def fault_of(library: Library, content: bytes) -> str:
    """Return the sentence a document is refused with, empty if it is taken."""
    try:
        take_in_and_undo(library, plan(library, document_from(content, "mutated.json")))
    except DocumentProblem as problem:
        return problem.sentence
    return ""


@settings(max_examples=200)
@given(content=mutated())
def test_a_mutated_document_is_taken_or_refused_in_a_sentence_and_never_half(
    fuzzed: Library, content: bytes
) -> None:
    before = everything(fuzzed)
    sentence = fault_of(fuzzed, content)
    assert sentence == "" or (sentence.endswith(".") and "\n" not in sentence)
    assert everything(fuzzed) == before


def test_the_unchanged_document_is_taken_and_a_broken_one_refused(fuzzed: Library) -> None:
    assert fault_of(fuzzed, EXAMPLE.read_bytes()) == ""
    assert fault_of(fuzzed, EXAMPLE.read_bytes()[:-10]) != ""
