"""Restores a library beside programs that write to it, and looks for what they confirmed.

Used by the tests and, at full count, by tests/bench/hard_times.py.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Final

from core.fitting import NoteWritten
from core.store import Library
from core.store.sqlite.backups import FileBackups

ROOT: Final = Path(__file__).parents[3]
WRITER: Final = """
import sys
from core.fitting import NoteWritten
from core.store import Library, LibraryProblem
place, fitting, name = sys.argv[1:]
print("begun", flush=True)
with Library.open(place, name, wait_s=30) as library:
    number = 0
    while True:
        number += 1
        entry = library.append(fitting, NoteWritten(text=f"{name} {number}"))
        print(entry.id, flush=True)
"""


def restore_beside_writers(place: Path, restorations: int, writers: int = 1) -> tuple[int, int]:
    """Restore the same early state so many times while programs write into one fitting.

    Returns
    -------
    tuple of int
        How many entries were confirmed, and how many of them are neither in the library nor in
        any backup.
    """
    with Library.open(place) as library:
        fitting = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)
        library.append(fitting.id, NoteWritten(text="early"))
        early = FileBackups(place).make().path.rename(place.with_name("early"))
        programs = [
            subprocess.Popen(
                [sys.executable, "-c", WRITER, str(place), fitting.id, f"writer {number}"],
                cwd=ROOT,
                stdout=subprocess.PIPE,
                text=True,
            )
            for number in range(writers)
        ]
        confirmed: set[str] = set()
        for program in programs:
            assert program.stdout is not None
            program.stdout.readline()
            confirmed.add(program.stdout.readline().strip())
        for _ in range(restorations):
            FileBackups(place).restore(early, wait_s=30)
            for program in programs:
                assert program.stdout is not None
                confirmed.add(program.stdout.readline().strip())
        for program in programs:
            program.kill()
            said, _ = program.communicate()
            confirmed |= {line for line in said.split("\n")[:-1] if line}
    found = {entry for path in _all_of(place) for entry in _entries_in(path)}
    return len(confirmed), len(confirmed - found)


def _all_of(place: Path) -> list[Path]:
    return [place, *(backup.path for backup in FileBackups(place).all())]


def _entries_in(path: Path) -> list[str]:
    with Library.open(path, read_only=True) as library:
        assert library.faults() == []
        return [row[0] for row in library._backend.select("entries", ("id",))]
