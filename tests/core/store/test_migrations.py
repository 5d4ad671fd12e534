"""Older files are brought up to date, with a backup first, whole or not at all."""

from __future__ import annotations

import json
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from core.fitting import Finished, ReadingTaken
from core.paper.letterhead import letterhead_of
from core.store import Library, LibraryProblem, ProblemKind
from core.store.documents import read_document
from core.store.sqlite.address import FileAddress
from core.store.sqlite.backups import FileBackups
from core.store.sqlite.schema import SCHEMA, Schema
from tests.core.store.worked import LATER, everything
from tests.examples import deck

EXAMPLES = Path(__file__).parent / "examples"

BROKEN = Schema(
    version=SCHEMA.version + 1,
    statements=SCHEMA.statements,
    migrations={SCHEMA.version: ("DELETE FROM entries", "DELETE FROM no_such_table")},
)
UNTRUE = Schema(
    version=SCHEMA.version + 1,
    statements=SCHEMA.statements,
    migrations={SCHEMA.version: ("DELETE FROM things",)},
)


def version_of(path: Path) -> int:
    return int.from_bytes(path.read_bytes()[60:64], "big")


@pytest.fixture
def older(place: Path) -> Path:
    """The stored example of this program's version, in a folder of its own."""
    shutil.copy(EXAMPLES / f"version_{SCHEMA.version}.library", place)
    return place


def test_the_first_version_of_files_keeps_opening(place: Path) -> None:
    shutil.copy(EXAMPLES / "version_1.library", place)
    with Library.open(place) as library:
        (row,) = library.fittings()
        assert (row.owner_reference, row.finished, row.entry_count) == ("Job 17", True, 5)
        fitting = library.fitting(row.id)
        assert isinstance(fitting.entries[-1].body, Finished)
        assert fitting.revisions == (2, 1)
        assert library.deck(row.deck_id, 2).thing.arm.offset_deg == 22.5
        assert library.deck(row.deck_id, 1).thing == deck(
            owner_reference="Job 17",
            bench={"bubble_range_div": 6.0},
            tolerances={"height_mm": 0.5},  # as was preset when it was stored
        )
        assert library.faults() == []
    (backup,) = FileBackups(place).all()
    assert version_of(backup.path) == 1


def test_a_file_with_the_same_tables_is_looked_at_as_it_is(place: Path) -> None:
    shutil.copy(EXAMPLES / "version_1.library", place)
    with Library.open(place, read_only=True) as library:
        assert len(library.fittings()) == 1
    assert version_of(place) == 1


def test_the_second_version_of_files_keeps_opening(place: Path) -> None:
    shutil.copy(EXAMPLES / "version_2.library", place)
    with Library.open(place) as library:
        begun = next(row for row in library.fittings() if not row.finished)
        planned = library.fitting(begun.id).planned
        assert planned is not None
        assert library.fitting(planned.from_fitting).is_finished
        assert [gain.samples for gain in planned.gains] == [4]


def test_an_older_file_is_backed_up_and_led_through_every_version(older: Path) -> None:
    with Library.open(older) as library:
        before = everything(library)
    with Library.open(FileAddress(older, LATER)) as library:
        assert everything(library) == before
        assert library._backend.rows("SELECT DISTINCT colour FROM fittings") == [("none",)]
        assert library._backend.rows("PRAGMA foreign_keys") == [(1,)]
    assert version_of(older) == LATER.version
    (backup,) = FileBackups(older).all()
    assert version_of(backup.path) == SCHEMA.version
    with Library.open(FileAddress(older, LATER)):
        pass
    assert FileBackups(older).all() == (backup,)


def test_this_program_says_so_of_a_file_that_a_later_one_has_changed(older: Path) -> None:
    Library.open(FileAddress(older, LATER)).close()
    with pytest.raises(LibraryProblem) as caught:
        Library.open(older)
    assert caught.value.kind is ProblemKind.NEWER


@pytest.mark.parametrize("schema", [BROKEN, UNTRUE])
def test_a_migration_that_fails_leaves_the_file_as_it_was(older: Path, schema: Schema) -> None:
    with Library.open(older) as library:
        before = everything(library)
    with pytest.raises((LibraryProblem, sqlite3.OperationalError)):
        Library.open(FileAddress(older, schema))
    assert version_of(older) == SCHEMA.version
    with Library.open(older) as library:
        assert everything(library) == before
        assert library.faults() == []


def test_without_room_for_a_backup_nothing_is_migrated(older: Path) -> None:
    (older.parent / "backups").write_text("a file where the folder should be")
    with pytest.raises(LibraryProblem):
        Library.open(FileAddress(older, LATER))
    assert version_of(older) == SCHEMA.version


def test_looking_only_does_not_migrate(older: Path) -> None:
    with pytest.raises(LibraryProblem, match="older kind") as caught:
        Library.open(FileAddress(older, LATER), read_only=True)
    assert caught.value.kind is ProblemKind.READ_ONLY
    assert version_of(older) == SCHEMA.version


def test_an_older_backup_is_restored_and_led_on(older: Path) -> None:
    with Library.open(older) as library:
        before = everything(library)
        backup = library.address.backups.make()
    with Library.open(FileAddress(older, LATER)) as library:
        library.keep_deck(deck(name="Later"))
    FileBackups(older, LATER).restore(backup.path)
    assert version_of(older) == LATER.version
    with Library.open(FileAddress(older, LATER)) as library:
        assert everything(library) == before


def all_but_test_records(library: Library) -> dict[str, Any]:
    """Return what is in a library, without those that every library is given once."""
    said: dict[str, Any] = json.loads(everything(library))
    said.pop("test_records", None)
    return said


@pytest.mark.parametrize("version", [1, 2, 3, 4, 5])
def test_an_older_file_is_looked_at_as_if_it_were_of_today(place: Path, version: int) -> None:
    shutil.copy(EXAMPLES / f"version_{version}.library", place)
    with Library.open(place, read_only=True) as library:
        seen = all_but_test_records(library)
        row = library.fittings()[0]
        assert version >= 4 or library.drafts.of(row.id, "level") == ()
        assert library.deck_records.listing().find()
        assert library.faults() == []
    assert version_of(place) == version
    with Library.open(place) as library:
        assert all_but_test_records(library) == seen


def test_the_fourth_version_keeps_drafts_and_when_something_was_put_away(place: Path) -> None:
    shutil.copy(EXAMPLES / "version_4.library", place)
    with Library.open(place) as library:
        row = next(row for row in library.fittings() if not row.finished)
        (draft,) = library.drafts.of(row.id, "level")
        assert (draft.form, draft.who) == ("bubble", "Ann")
        assert draft.content == {"direction": "front-back", "divisions": ["2,2", 0]}
        ((away, since),) = library._backend.select(
            "things", ("archived", "archived_at"), {"archived": 1}
        )
        assert away == 1
        assert since.startswith("20")


def test_the_fifth_version_keeps_jobs_headshells_service_and_what_is_asked_for(
    place: Path,
) -> None:
    shutil.copy(EXAMPLES / "version_5.library", place)
    with Library.open(place) as library:
        (job,) = library.jobs.rows()
        assert job.promised == "2026-12-05"
        (customer,) = library.jobs.customers.rows()
        assert library.jobs.customers.get(customer.id).thing.name == "Example customer"
        (shell,) = library.headshells()
        short = next(row for row in library.fittings() if not row.finished)
        fitting = library.fitting(short.id)
        kinds = [entry.body.kind for entry in fitting.entries]
        assert {"work", "job", "headshell", "reading", "listened"} <= set(kinds)
        assert fitting.work is not None
        assert fitting.job_id == job.id
        assert shell.name == "Headshell 1"
        done = library.service.of_deck(fitting.deck_id)
        assert sorted(one.thing.part.value for one in done) == ["belt", "mat"]
        assert letterhead_of(library).name == "Example workshop"


def test_a_document_of_the_fourth_version_carries_all_but_customers(place: Path) -> None:
    document = read_document(EXAMPLES / "document_4.json")
    assert len(document.jobs) == len(document.headshells) == 1
    assert len(document.services) == 2
    assert document.customers == ()
    assert "Example customer" not in (EXAMPLES / "document_4.json").read_text()
    ways = {
        entry.body.reading["way"]
        for fitting in document.fittings
        for entry in fitting.entries
        if isinstance(entry.body, ReadingTaken)
    }
    assert "tone" in ways


def test_the_sixth_version_keeps_test_records_and_what_a_tone_looks_like(place: Path) -> None:
    shutil.copy(EXAMPLES / "version_6.library", place)
    with Library.open(place) as library:
        own = next(row for row in library.test_records.rows() if row.name == "Bench test record")
        first = library.test_records.get(own.id, 1).thing
        assert [(band.kind, band.hz) for band in first.bands] == [
            ("speed", 3000.0),
            ("separation", 1000.0),
            ("sweep", 4.0),
        ]
        assert library.test_records.get(own.id).thing.notes == "Worn at the edge."
        (row,) = (
            row
            for row in library.fittings(arm_key="")
            if library.deck(row.deck_id).thing.bench.played
        )
        read = library.fitting(row.id).entries[-1].body
        assert isinstance(read, ReadingTaken)
        assert read.reading["recorded"]["record"]["id"] == own.id
        assert len(read.reading["recorded"]["speed"]["turn_percent"]) == 72
        played = library.deck(row.deck_id).thing.bench.played
        assert played is not None
        assert played.record == first


def test_a_library_of_before_gets_the_invented_test_records_once(place: Path) -> None:
    shutil.copy(EXAMPLES / "version_5.library", place)
    with Library.open(place) as library:
        names = [row.name for row in library.test_records.rows()]
        assert names == ["Example test record, 12-inch", "Example test record, 7-inch at 45"]
        library.archive("test record", [library.test_records.rows()[0].id], archived=True)
    with Library.open(place) as library:
        assert len(library.test_records.rows(archived=False)) == 1


def test_a_document_of_the_fifth_version_carries_its_test_records() -> None:
    document = read_document(EXAMPLES / "document_5.json")
    own = next(one for one in document.test_records if len(one.revisions) == 2)
    assert own.revisions[0].thing.nominal_hz == 3000.0


def test_the_sixth_version_keeps_the_arms_of_a_deck_and_what_was_fitted_to_each(
    place: Path,
) -> None:
    shutil.copy(EXAMPLES / "version_6.library", place)
    with Library.open(place) as library:
        (rear,) = library.fittings(arm_key="rear")
        assert (rear.arm_name, rear.finished) == ("Rear arm", True)
        deck = library.deck(rear.deck_id).thing
        assert [arm.name for arm in deck.further_arms] == ["Rear arm"]
        fitting = library.fitting(rear.id)
        assert fitting.arm is not None
        assert fitting.arm.arm == deck.further_arms[0].arm
        assert len(library.fittings(deck_id=rear.deck_id, arm_key="")) == 1


def test_a_document_of_the_fifth_version_carries_the_arms() -> None:
    document = read_document(EXAMPLES / "document_5.json")
    (deck,) = document.decks
    assert [arm.name for arm in deck.revisions[-1].thing.further_arms] == ["Rear arm"]
    assert {fitting.arm_key for fitting in document.fittings} == {"", "rear"}
