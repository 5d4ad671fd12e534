"""A stored example of every version there ever was is here, and every one of them opens."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from core.store import Library, LibraryProblem, ProblemKind
from core.store.documents import VERSION, document_from, read_document
from core.store.importing import MatchKind, plan, take_in
from core.store.sqlite.schema import SCHEMA
from core.workflow.replay import journey_of
from tests.core.store.worked import told

EXAMPLES = Path(__file__).parent / "examples"
DOCUMENTS = range(1, VERSION + 1)
FILES = range(1, SCHEMA.version + 1)


def can_be_worked_in(library: Library) -> int:
    """Open every fitting as the program does; return how many entries there are."""
    entries = 0
    for row in library.fittings():
        fitting = library.fitting(row.id)
        deck, cartridge = fitting.revisions
        journey = journey_of(
            library.deck(fitting.deck_id, deck).thing,
            library.cartridge(fitting.cartridge_id, cartridge).thing,
            fitting,
        )
        assert len(journey.statuses) == 9
        entries += len(fitting.entries)
    return entries


@pytest.mark.parametrize("version", DOCUMENTS)
def test_a_document_of_every_version_is_taken_in(version: int, library: Library) -> None:
    path = EXAMPLES / f"document_{version}.json"
    assert json.loads(path.read_bytes())["version"] == version, "the example itself was changed"
    document = read_document(path)
    planned = plan(library, document)
    assert planned.count(MatchKind.NEW) == len(planned.items) > 0
    take_in(library, planned, {})
    assert {row.id for row in library.fittings()} == {record.id for record in document.fittings}
    assert can_be_worked_in(library) == sum(len(one.entries) for one in document.fittings) > 0
    assert plan(library, document).count(MatchKind.SAME) == len(planned.items)


@pytest.mark.parametrize("version", FILES)
def test_a_library_of_every_version_opens(version: int, place: Path) -> None:
    example = EXAMPLES / f"version_{version}.library"
    assert int.from_bytes(example.read_bytes()[60:64], "big") == version
    shutil.copy(example, place)
    with Library.open(place) as library:
        assert library.faults() == []
        assert library.decks()
        assert can_be_worked_in(library) > 0


def test_no_example_is_left_over_or_missing() -> None:
    names = {path.name for path in EXAMPLES.iterdir()}
    assert names == {f"document_{one}.json" for one in DOCUMENTS} | {
        f"version_{one}.library" for one in FILES
    }


def test_what_a_later_version_wrote_gets_its_sentence_and_stays_as_it_is(place: Path) -> None:
    said = json.loads((EXAMPLES / f"document_{VERSION}.json").read_bytes())
    later = json.dumps(said | {"version": VERSION + 1}).encode()
    with pytest.raises(LibraryProblem, match="newer version of Setdown") as caught:
        document_from(later, "later.json")
    assert "Update Setdown" in caught.value.remedy
    shutil.copy(EXAMPLES / f"version_{SCHEMA.version}.library", place)
    with place.open("rb+") as stream:
        stream.seek(60)
        stream.write((SCHEMA.version + 1).to_bytes(4, "big"))
    before = place.read_bytes()
    for read_only in (False, True):
        with pytest.raises(LibraryProblem) as refused:
            Library.open(place, read_only=read_only)
        assert told(refused.value).kind is ProblemKind.NEWER
    assert place.read_bytes() == before
