"""Kills a program that writes to a library, at random instants, and looks at what is left.

Used by the tests of kills and, at full count, by tests/bench/hard_times.py.
"""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from core.fitting import Entry, Fitting
from core.store import Library
from core.store.sqlite.address import FileAddress
from core.store.sqlite.backups import FileBackups
from tests.core.store.worked import LATER, everything, work_on

ROOT: Final = Path(__file__).parents[3]
EXAMPLES: Final = Path(__file__).parent / "examples"
MOST_UNCONFIRMED: Final = 30
"""Entries of the one change that was under way and not confirmed yet."""


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
        return words[0] == "round"


@contextmanager
def writer_on(place: Path) -> Iterator[Writer]:
    """Run writer.py on the library at ``place``."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.core.store.writer", str(place)],
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


def kills(
    writer: Writer, work: str, count: int, most_lines: int, seed: int = 20250301
) -> Iterator[int]:
    """Kill so many children, one at a turn, and yield what each had confirmed.

    One in five dies while it opens the library, the others after any number of changes.
    """
    chance = random.Random(f"{work}-{seed}")
    for number in range(count):
        yield writer.kill_one(
            work,
            seed=chance.randrange(10**9),
            after_lines=0 if number % 5 == 0 else chance.randint(1, most_lines),
            after_s=chance.uniform(0.0, 0.01),
        )


def assert_all_there(place: Path, kept: dict[str, list[str]], *, thorough: bool = True) -> None:
    """Check that the library opens, is sound, and holds everything confirmed, in its order.

    ``thorough`` reads every fitting as the program does; else only the ids of the entries.
    """
    with Library.open(place) as library:
        assert library.faults() == []
        ids: defaultdict[str, list[str]] = defaultdict(list)
        for fitting_id, entry_id in library._backend.rows(
            "SELECT fitting_id, id FROM entries ORDER BY fitting_id, seq"
        ):
            ids[fitting_id].append(entry_id)
        rows = {row.id: row for row in library.fittings()}
        for fitting_id, confirmed in kept.items():
            found = ids[fitting_id]
            assert found[: len(confirmed)] == confirmed
            assert len(found) <= len(confirmed) + MOST_UNCONFIRMED
            assert rows[fitting_id].entry_count == len(found)
            if thorough:
                log = library.fitting(fitting_id)
                assert [entry.id for entry in log.entries] == found
                assert rows[fitting_id].finished is log.is_finished


def assert_backups_are_sound(place: Path) -> int:
    """Check that every backup is a whole library; return how many there are."""
    found = FileBackups(place).all()
    for backup in found:
        with Library.open(backup.path, read_only=True) as copy:
            assert copy.faults() == []
    return len(found)


Look = Callable[[Path], None]


def _nothing(_place: Path) -> None:
    """Look at nothing more."""


def kill_at_work(
    place: Path,
    work: str,
    count: int,
    most_lines: int,
    *,
    seed: int = 20250301,
    look: Look = _nothing,
) -> tuple[int, int]:
    """Kill a program that enters, takes in documents or makes backups; look at every corpse.

    Returns
    -------
    tuple of int
        How many had confirmed something, and how many confirmations there were in all.
    """
    Library.open(place).close()
    confirmed = []
    with writer_on(place) as writer:
        for number in kills(writer, work, count, most_lines, seed):
            confirmed.append(number)
            assert_all_there(place, writer.kept, thorough=False)
            look(place)
        assert_all_there(place, writer.kept)
    assert_backups_are_sound(place)
    return sum(number > 0 for number in confirmed), sum(map(len, writer.kept.values()))


def kill_restorations(
    place: Path, count: int, *, seed: int = 20250301, look: Look = _nothing
) -> tuple[int, int]:
    """Kill a program that restores a backup: the present state is there or the earlier one.

    A busy machine kills late: beyond ``count`` it goes on until both states were met.

    Returns
    -------
    tuple of int
        How often the present state was found and how often the earlier.
    """
    with Library.open(place) as library:
        begun = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)
        early = library.address.backups.make()
        early.path.rename(place.with_name("early"))
        late = _worked_on(library, begun)
    found = {"late": 0, "early": 0}
    with writer_on(place) as writer:
        for number, _ in enumerate(kills(writer, "restorations", 20 * count, 3, seed)):
            if number >= count and all(found.values()):
                break
            with Library.open(place) as library:
                assert library.faults() == []
                entries = library.fitting(begun.id).entries
                assert entries in ((), late)
                found["late" if entries else "early"] += 1
                if not entries:
                    late = _worked_on(library, begun)
            look(place)
    assert_backups_are_sound(place)
    return found["late"], found["early"]


def _worked_on(library: Library, begun: Fitting) -> tuple[Entry, ...]:
    work_on(library, begun)
    return library.fitting(begun.id).entries


def kill_migrations(place: Path, count: int, *, seed: int = 20250301) -> tuple[int, int]:
    """Kill a program that brings libraries up to date: each is of the old version or the new.

    Returns
    -------
    tuple of int
        How many libraries were looked at, and how many of them were still of the old version.
    """
    shutil.copy(EXAMPLES / "version_1.library", place)
    with Library.open(place) as library:
        before = everything(library)
    looked, old = 0, 0
    with writer_on(place) as writer:
        for _ in kills(writer, "migrations", count, 3, seed):
            for path in sorted(place.parent.glob("copy-*.library")):
                looked += 1
                old += int.from_bytes(path.read_bytes()[60:64], "big") != LATER.version
                with Library.open(FileAddress(path, LATER)) as library:
                    assert everything(library) == before
                    assert library.faults() == []
                for part in place.parent.glob(f"{path.name}*"):
                    part.unlink()
            for path in FileBackups(place).folder.glob("copy-*.library"):
                with Library.open(path, read_only=True) as library:
                    assert library.faults() == []
                path.unlink()
    return looked, old
