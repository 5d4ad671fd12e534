"""Who was forgotten is in no byte of the library file and its log."""

from __future__ import annotations

import random
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from core.history.stray_entries import StrayEntriesFile
from core.language import Numbers
from core.records import Customer, Job
from core.store import Library, address_of
from core.store.rescue import rescue

NAME = b"Zebulon-Quill-Xylander"
CONTACT = b"Zq-0000-555-0199"


def bytes_of(place: Path) -> bytes:
    """Return all that lies on the disk of a library: the file and its log."""
    log = place.with_name(f"{place.name}-wal")
    return place.read_bytes() + (log.read_bytes() if log.exists() else b"")


def holds(place: Path) -> bool:
    """Whether a piece of the name or the way to reach them can be found."""
    found = bytes_of(place)
    return any(piece in found for piece in (NAME, CONTACT, NAME[:9], NAME.lower()))


def crowded(library: Library, count: int) -> str:
    """Keep many customers in mixed order, so that pages are split; return the one to forget."""
    chance = random.Random(4)
    wanted = ""
    known = []
    for number in range(count):
        name = f"Somebody {number} " + "x" * chance.randrange(80)
        kept = library.keep_customer(Customer(name=name, contact="c" * chance.randrange(100)))
        known.append(kept)
        if number == count // 2:
            wanted = library.keep_customer(Customer(name=NAME.decode(), contact="first")).id
            library.keep_job(Job(customer=wanted))
        if number % 3 == 0:
            other = chance.choice(known)
            library.keep_customer(Customer(name=f"{name} again"), id=other.id)
        if wanted and number % 7 == 0:
            changed = Customer(name=f"{NAME.decode()} {number}", contact=CONTACT.decode())
            library.keep_customer(changed, id=wanted)
    return wanted


@pytest.mark.parametrize("count", [12, 150])
def test_no_byte_is_left_of_who_was_forgotten(place: Path, count: int) -> None:
    with Library.open(place) as library:
        wanted = crowded(library, count)
        assert holds(place)
        assert library.forget_customer(wanted)
        assert not holds(place), "while the program goes on"
        assert b"Somebody 3 " in bytes_of(place), "the others are there"
        assert library.faults() == []
        assert len(library.jobs.customers.rows()) == count + 1
    assert not holds(place), "and after it has ended"


def test_with_another_window_reading_it_goes_when_that_rests(place: Path) -> None:
    with Library.open(place) as library, Library.open(place) as other:
        wanted = crowded(library, 12)
        with other.snapshot():
            assert other.decks()
            assert not library.forget_customer(wanted)
            assert holds(place), "the log still has it, and that is said"
        assert library.settle()
        assert not holds(place)


def test_a_file_begun_by_an_older_program_forgets_as_well(place: Path) -> None:
    shutil.copy(Path(__file__).parent / "examples" / "version_4.library", place)
    with Library.open(place) as library:
        wanted = crowded(library, 40)
        library.settle()
        assert library.forget_customer(wanted)
        assert not holds(place)


def test_jobs_and_customers_are_rescued(place: Path) -> None:
    with Library.open(place) as library:
        wanted = crowded(library, 5)
        library.forget_customer(wanted)
        archived = library.keep_job(Job(number="A", brought="away"))
        library.archive("job", [archived.id], archived=True)
        jobs = [library.jobs.records.history(row.id) for row in library.jobs.records.rows()]
        people = [library.jobs.customers.history(r.id) for r in library.jobs.customers.rows()]
    target = place.with_name("rescued.library")
    told = rescue(
        address_of(place), address_of(target), keep_strays=StrayEntriesFile(target, Numbers())
    )
    assert (told.jobs, told.lines()) == (2, [])
    with Library.open(target) as other:
        rows = other.jobs.records.rows()
        assert [other.jobs.records.history(row.id) for row in rows] == jobs
        assert [other.jobs.customers.history(r.id) for r in other.jobs.customers.rows()] == people


def test_backups_forget_as_well_when_they_are_asked_to(place: Path) -> None:
    with Library.open(place) as library:
        wanted = crowded(library, 40)
        backups = library.address.backups
        backup = backups.make().path
        before = backups.contents_of(backup)
        assert NAME in backup.read_bytes()
        library.forget_customer(wanted)
        assert NAME in backup.read_bytes(), "not unless asked"
        assert library.forget_in_backups(wanted) == ()
        found = backup.read_bytes()
        assert NAME not in found
        assert CONTACT not in found
        assert b"Somebody 3 " in found
        assert replace(backups.contents_of(backup), size=before.size) == before
        assert [path.name for path in backup.parent.iterdir()] == [backup.name]
        with Library.open(backup, read_only=True) as copy:
            assert copy.faults() == []
            assert copy.jobs.customers.get(wanted).thing.forgotten


def test_a_backup_that_cant_be_read_is_named_and_left_as_it_is(place: Path) -> None:
    with Library.open(place) as library:
        wanted = crowded(library, 12)
        backup = library.address.backups.make().path
        harmed = b"SQLite" + b"?" * 5000
        backup.write_bytes(harmed)
        library.forget_customer(wanted)
        assert library.forget_in_backups(wanted) == (backup,)
        assert backup.read_bytes() == harmed
