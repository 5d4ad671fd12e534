"""Power that goes at any instant, and two windows at once: every confirmed entry is there."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from core.store import Library, backups
from core.store.documents import of_library, write_document
from core.store.files import UNFINISHED
from tests.core.store.worked import LATER, everything, work_on

ROOT = Path(__file__).parents[3]
DOCUMENT = Path(__file__).parent / "examples" / "document_1.json"

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="there is no fork there")


class Writer:
    """The program in writer.py, and what it has confirmed so far."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self._process = process
        self.kept: defaultdict[str, list[str]] = defaultdict(list)

    def kill_one(self, work: str, seed: int, after_lines: int, after_s: float) -> int:
        """Start a child, kill it some time after some lines, and return what it confirmed."""
        assert self._process.stdin is not None
        self._process.stdin.write(f"{work} {seed}\n")
        self._process.stdin.flush()
        name, child = self._next()
        assert name == "child"
        confirmed = sum(self._note(self._next()) for _ in range(after_lines))
        time.sleep(after_s)
        os.kill(int(child), signal.SIGKILL)
        while (words := self._next()) != ["gone", child]:
            confirmed += self._note(words)
        return confirmed

    def _next(self) -> list[str]:
        assert self._process.stdout is not None
        return self._process.stdout.readline().split()

    def _note(self, words: list[str]) -> bool:
        if words[0] == "kept":
            self.kept[words[1]].append(words[2])
            return True
        assert words[0] in ("open", "round")
        return False


@contextmanager
def writer_on(place: Path) -> Iterator[Writer]:
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.core.store.writer", str(place), str(DOCUMENT)],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        yield Writer(process)
    finally:
        process.kill()
        process.communicate()


def assert_all_there(place: Path, kept: dict[str, list[str]]) -> None:
    """Check that everything confirmed is in the file, in order, and the file is sound."""
    with Library.open(place) as library:
        assert library.faults() == []
        rows = {row.id: row for row in library.fittings()}
        for fitting_id, confirmed in kept.items():
            log = library.fitting(fitting_id)
            found = [entry.id for entry in log.entries]
            assert found[: len(confirmed)] == confirmed
            assert len(found) <= len(confirmed) + 30  # at most the one change not yet confirmed
            assert rows[fitting_id].entry_count == len(found)
            assert rows[fitting_id].finished is log.is_finished


def kill_at_random(writer: Writer, work: str, kills: int, most_lines: int) -> list[int]:
    """Kill so many children and return what each had confirmed.

    One in five dies while it opens the library, the others after any number of changes.
    """
    chance = random.Random(20250301)
    return [
        writer.kill_one(
            work,
            seed=number,
            after_lines=0 if number % 5 == 0 else chance.randint(1, most_lines),
            after_s=chance.uniform(0.0, 0.01),
        )
        for number in range(kills)
    ]


@pytest.mark.parametrize(
    ("work", "kills", "most_lines"),
    [("entries", 200, 9), ("documents", 40, 70), ("backups", 40, 8)],
)
def test_every_confirmed_entry_survives_being_killed_at_random_instants(
    place: Path, work: str, kills: int, most_lines: int
) -> None:
    Library.open(place).close()
    with writer_on(place) as writer:
        confirmed = kill_at_random(writer, work, kills, most_lines)
        assert_all_there(place, writer.kept)
    assert sum(count > 0 for count in confirmed) > kills / 2, "most died before they had begun"
    for backup in backups.backups_of(place):
        with Library.open(backup.path, read_only=True) as copy:
            assert copy.faults() == []


def test_a_killed_restoration_leaves_the_present_state_or_the_earlier_one(
    place: Path, library: Library
) -> None:
    begun = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)
    early = library.back_up()
    early.path.rename(place.with_name("early"))
    work_on(library, begun)
    late = library.fitting(begun.id).entries
    seen = []
    with writer_on(place) as writer:
        for number in range(8):
            kill_at_random(writer, "restorations", 5, 3)
            entries = library.fitting(begun.id).entries
            assert entries in ((), late)
            seen.append(entries)
            assert library.faults() == []
            if number % 2:
                work_on(library, begun)
                late = library.fitting(begun.id).entries
    assert () in seen
    for backup in backups.backups_of(place):
        with Library.open(backup.path, read_only=True) as copy:
            assert copy.faults() == []


def test_a_killed_migration_leaves_the_old_version_or_the_new_one(place: Path) -> None:
    shutil.copy(DOCUMENT.with_name("version_1.library"), place)
    with Library.open(place) as library:
        before = everything(library)
    with writer_on(place) as writer:
        kill_at_random(writer, "migrations", 30, 3)
    copies = sorted(place.parent.glob("copy-*.library"))
    for path in copies:
        with Library.open(path, schema=LATER) as library:
            assert everything(library) == before
            assert library.faults() == []
    assert len(copies) >= 15


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
    assert backups.backups_of(place) == ()
    write_document(library, place.with_name("out.json"), of_library(library))
    assert leftover.read_text() == "half a backup"
