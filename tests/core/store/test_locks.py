"""Locks that this process holds stay held, whatever else in it looks at the library.

A POSIX lock is gone as soon as the process closes any descriptor of the file (fcntl(2): "if a
process closes any file descriptor referring to a file, then all of the process's locks on that
file are released"; memory, not looked up). Without it another program that closes the library
takes itself for the last one and deletes the write-ahead log that is still written to here.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from core.fitting import Fitting, NoteWritten
from core.store import Library, LibraryProblem
from core.store.exporting import of_library, write_document
from core.store.sqlite.backups import FileBackups
from tests.core.store.killing import ROOT

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="locks are no such locks there")

_OTHER_PROGRAM = (
    "import sys; from core.store import Library\n"
    "with Library.open(sys.argv[1]) as library:\n"
    "    print(sum(len(library.fitting(row.id).entries) for row in library.fittings()))\n"
)


def seen_by_another_program(place: Path) -> int:
    """Have another program open the library, count its entries, and close it."""
    said = subprocess.run(
        [sys.executable, "-c", _OTHER_PROGRAM, str(place)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return int(said.stdout)


def back_up(place: Path) -> None:
    FileBackups(place).make()


def open_again(place: Path) -> None:
    Library.open(place).close()


def look_only(place: Path) -> None:
    Library.open(place, read_only=True).close()


def list_backups(place: Path) -> None:
    FileBackups(place).make()
    for backup in FileBackups(place).all():
        FileBackups(backup.path).contents_of(backup.path)
    FileBackups(place).contents_of(place)


def restore_it(place: Path) -> None:
    FileBackups(place).restore(FileBackups(place).make().path)


def export(place: Path) -> None:
    with Library.open(place) as library:
        write_document(library, place.with_name("all.json"), of_library(library))


def fail_to_open(place: Path) -> None:
    with pytest.raises(LibraryProblem):
        Library.open(place.with_name("no folder") / "x.library")


@pytest.mark.parametrize(
    "look",
    [open_again, look_only, back_up, list_backups, restore_it, export, fail_to_open],
    ids=lambda look: look.__name__,
)
def test_the_log_stays_while_the_library_is_open_here(
    place: Path, library: Library, fitting: Fitting, look: Callable[[Path], None]
) -> None:
    library.append(fitting.id, NoteWritten(text="before"))
    log = place.with_name(f"{place.name}-wal")
    look(place)
    inode = log.stat().st_ino
    assert seen_by_another_program(place) == 1
    assert log.exists(), "the other program took itself for the last one"
    assert log.stat().st_ino == inode
    library.append(fitting.id, NoteWritten(text="after"))
    assert seen_by_another_program(place) == 2
