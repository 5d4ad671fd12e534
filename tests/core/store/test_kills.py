"""Power that goes at any instant, and two windows at once: every confirmed entry is there."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from core.store import Library
from core.store.exporting import of_library, write_document
from core.store.files import UNFINISHED
from core.store.sqlite.backups import FileBackups
from tests.core.store.killing import ROOT, kill_at_work, kill_migrations, kill_restorations

pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(sys.platform == "win32", reason="there is no fork there"),
]


@pytest.mark.parametrize(
    ("work", "count", "most_lines"),
    [("entries", 100, 9), ("documents", 30, 70), ("backups", 30, 8)],
)
def test_every_confirmed_entry_survives_being_killed_at_random_instants(
    place: Path, work: str, count: int, most_lines: int
) -> None:
    lived, _ = kill_at_work(place, work, count, most_lines)
    assert lived > count / 2, "most died before they had begun"


def test_a_kill_leaves_customers_whole_or_forgotten_in_every_state(place: Path) -> None:
    def look(place: Path) -> None:
        with Library.open(place) as library:
            for row in library.jobs.customers.rows():
                states = [one.thing for one in library.jobs.customers.history(row.id)]
                days = {one.forgotten for one in states}
                assert len(days) == 1, "some states were forgotten and some were not"
                assert all(bool(one.name) is not bool(one.forgotten) for one in states)
                assert (row.name == "") is (days != {""})
            numbers = [row.number for row in library.jobs.rows()]
            assert len(set(numbers)) == len(numbers)

    lived, _ = kill_at_work(place, "customers", 30, 12, look=look)
    assert lived > 15, "most died before they had begun"


def test_a_kill_leaves_service_entries_whole(place: Path) -> None:
    def look(place: Path) -> None:
        with Library.open(place) as library:
            kept = library.service.of_deck(library.decks()[0].id)
            assert len(kept) == len(library.service.records.rows())
            assert all(len(library.service.records.history(one.id)) == one.revision for one in kept)

    lived, _ = kill_at_work(place, "services", 30, 12, look=look)
    assert lived > 15, "most died before they had begun"


def test_a_killed_restoration_leaves_the_present_state_or_the_earlier_one(place: Path) -> None:
    late, early = kill_restorations(place, 30)
    assert late > 0
    assert early > 0


def test_a_killed_migration_leaves_the_old_version_or_the_new_one(place: Path) -> None:
    looked, old = kill_migrations(place, 30)
    assert looked >= 15
    assert old > 0


def test_two_programs_that_write_at_once_lose_nothing_and_keep_their_order(
    place: Path, library: Library
) -> None:
    begun = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)
    code = (
        "import sys; from core.store import Library; from core.fitting import NoteWritten\n"
        "place, fitting, name = sys.argv[1:]\n"
        "with Library.open(place, name) as library:\n"
        "    for number in range(1000):\n"
        "        library.append(fitting, NoteWritten(text=f'{name} {number}'))\n"
    )
    writers = [
        subprocess.Popen([sys.executable, "-c", code, str(place), begun.id, name], cwd=ROOT)
        for name in ("first", "second")
    ]
    assert [writer.wait(timeout=120) for writer in writers] == [0, 0]
    entries = library.fitting(begun.id).entries
    assert len(entries) == 2000
    for name in ("first", "second"):
        said = [entry.body.model_dump()["text"] for entry in entries if entry.who == name]
        assert said == [f"{name} {number}" for number in range(1000)]
    assert library.fittings()[0].entry_count == 2000
    assert library.faults() == []


def test_what_was_not_finished_is_recognised_by_its_name(place: Path, library: Library) -> None:
    (place.parent / "backups").mkdir()
    leftover = place.parent / "backups" / f".example 2025-03-01 00-00-00.library.0{UNFINISHED}"
    leftover.write_text("half a backup")
    assert FileBackups(place).all() == ()
    write_document(library, place.with_name("out.json"), of_library(library))
    assert leftover.read_text() == "half a backup"
