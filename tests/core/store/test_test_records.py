"""Test records in a library: revisions, documents, imports, rescue, and what is played."""

from __future__ import annotations

from pathlib import Path

import pytest
from pydantic import ValidationError

from core.language import message
from core.records import BandUse, CutRecord, RecordBand, RecordPlayed
from core.store import Library, LibraryAddress
from core.store.addresses import address_of
from core.store.documents import read_document
from core.store.exporting import of_library, of_test_records, write_document
from core.store.importing import ImportDecision, MatchKind, plan, take_in
from core.store.rescue import rescue
from core.store.taking_back import take_back
from tests.examples import deck

RECORD = CutRecord(
    name="Record A",
    bands=(
        RecordBand(label="Speed", kind=BandUse.SPEED, hz=1000.0),
        RecordBand(label="Sweep", kind=BandUse.SWEEP, hz=4.0, to_hz=20.0),
    ),
)


def test_every_revision_is_kept_and_the_list_names_its_bands(library: Library) -> None:
    kept = library.keep_test_record(RECORD)
    truer = RECORD.model_copy(update={"cut_percent": 0.1})
    library.keep_test_record(truer, id=kept.id, based_on=1)
    assert [one.thing.cut_percent for one in library.test_records.history(kept.id)] == [0.5, 0.1]
    row = next(row for row in library.test_records.rows() if row.id == kept.id)
    assert (row.name, row.owner_reference) == ("Record A", "Speed, Sweep")
    assert [one.id for one in library.records_to_play()] == [
        row.id for row in library.test_records.rows()
    ]
    library.archive("test record", [kept.id], archived=True)
    assert kept.id not in [one.id for one in library.records_to_play()]


def test_it_goes_to_another_library_and_is_taken_back(
    library: Library, other_address: LibraryAddress, tmp_path: Path
) -> None:
    kept = library.keep_test_record(RECORD)
    path = tmp_path / "record.json"
    write_document(library, path, of_test_records(library, kept.id))
    document = read_document(path)
    assert (document.decks, document.fittings) == ((), ())
    with Library.open(other_address) as other:
        brought = take_in(other, plan(other, document), {})
        assert other.test_records.get(kept.id).thing == RECORD
        assert plan(other, document).count(MatchKind.SAME) == 1
        take_back(other, brought)
        assert kept.id not in [one.id for one in other.records_to_play()]


def test_one_that_differs_is_asked_about_and_kept_as_two(
    library: Library, other_address: LibraryAddress, tmp_path: Path
) -> None:
    kept = library.keep_test_record(RECORD)
    path = tmp_path / "all.json"
    write_document(library, path, of_library(library))
    with Library.open(other_address) as other:
        other.test_records.add(kept.id, RECORD.model_copy(update={"notes": "mine"}), who="Another")
        planned = plan(other, read_document(path))
        (conflict,) = planned.conflicts
        assert conflict.sort == "test record"
        take_in(other, planned, {conflict.id: ImportDecision.BOTH})
        assert sum(row.name.startswith("Record A") for row in other.test_records.rows()) == 2


def test_it_is_rescued_from_a_damaged_library(place: Path) -> None:
    with Library.open(place) as library:
        kept = library.keep_test_record(RECORD)
    target = address_of(place.with_name("new.library"))
    assert (
        rescue(address_of(place), target, keep_strays=lambda _: message("swap.unread")).lost == []
    )
    with Library.open(target) as rescued:
        assert rescued.test_records.get(kept.id).thing == RECORD


def test_a_deck_remembers_what_was_played_on_it_in_a_revision(library: Library) -> None:
    deck_id = library.keep_deck(deck()).id
    played = RecordPlayed(id="a", record=RECORD)
    library.remember_played(deck_id, played, who="Ann")
    library.remember_played(deck_id, played, who="Ann")
    now = library.deck(deck_id)
    assert (now.revision, now.thing.bench.played) == (2, played)


def test_bands_of_before_said_only_whether_they_tell_the_speed() -> None:
    said = {"label": "Speed", "hz": 3150, "is_for_speed": True}
    assert RecordBand.model_validate(said).kind is BandUse.SPEED
    assert RecordBand.model_validate({**said, "is_for_speed": False}).kind is BandUse.OTHER


def test_two_tones_for_speed_are_refused() -> None:
    bands = [{"label": "a", "kind": "speed", "hz": hz} for hz in (3000, 3150)]
    with pytest.raises(ValidationError, match="one frequency"):
        CutRecord.model_validate({"name": "a", "bands": bands})
