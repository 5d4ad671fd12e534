"""A disk without room: nothing that was confirmed is lost, and what was not can be saved later."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from core.fitting import Entry, Fitting, NoteWritten, new_id
from core.store import Library, LibraryProblem, ProblemKind
from core.store.sqlite.backups import FileBackups
from tests.core.store.worked import problem_of, told
from tests.examples import cartridge, deck

IS_ROOT = sys.platform != "win32" and os.geteuid() == 0


def append_until_it_fails(
    library: Library, fitting_id: str, body: NoteWritten
) -> tuple[list[Entry], str, LibraryProblem]:
    """Return the entries that were kept, the id of the one that was not, and why."""
    saved: list[Entry] = []
    for _ in range(1000):
        number = new_id()
        try:
            saved.append(library.append(fitting_id, body, entry_id=number))
        except LibraryProblem as problem:
            return saved, number, problem
    pytest.fail("the disk never became full")


def test_a_disk_that_is_full_loses_nothing_and_the_entry_can_be_saved_later(
    library: Library, fitting: Fitting
) -> None:
    saved = [library.append(fitting.id, NoteWritten(text="before"))]
    ((pages,),) = library._backend.rows("PRAGMA page_count")
    library._backend.run(f"PRAGMA max_page_count={pages}")
    long = NoteWritten(text="x" * 4000)
    more, number, problem = append_until_it_fails(library, fitting.id, long)
    saved += more
    assert told(problem).kind is ProblemKind.FULL
    assert library.fitting(fitting.id).entries == tuple(saved)
    assert library.faults() == []
    library._backend.run("PRAGMA max_page_count=100000")
    saved.append(library.append(fitting.id, long, entry_id=number))
    assert library.fitting(fitting.id).entries == tuple(saved)


@pytest.fixture
def tiny_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of one megabyte."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mount, unmount = shutil.which("mount"), shutil.which("umount")
    if not (IS_ROOT and mount and unmount):
        pytest.skip("only root can make a small disk")
    made = subprocess.run(
        [mount, "-t", "tmpfs", "-o", "size=1m", "none", str(folder)],
        check=False,
        capture_output=True,
    )
    if made.returncode:
        pytest.skip("no small disk can be made here")
    yield folder
    subprocess.run([unmount, str(folder)], check=True)


def test_a_disk_that_is_really_full(tiny_disk: Path) -> None:
    with Library.open(tiny_disk / "x.library") as library:
        kept_deck, kept_cartridge = library.keep_deck(deck()), library.keep_cartridge(cartridge())
        begun = library.start_fitting(kept_deck.id, kept_cartridge.id)
        (tiny_disk / "ballast").write_bytes(b"x" * 100_000)
        long = NoteWritten(text="x" * 4000)
        saved, number, problem = append_until_it_fails(library, begun.id, long)
        assert told(problem).kind is ProblemKind.FULL
        with pytest.raises(LibraryProblem) as caught:
            library.address.backups.make()
        assert told(caught.value).kind is ProblemKind.FULL
        assert FileBackups(library.address.path).all() == ()
        (tiny_disk / "ballast").unlink()
        saved.append(library.append(begun.id, long, entry_id=number))
    with Library.open(tiny_disk / "x.library") as library:
        assert library.fitting(begun.id).entries == tuple(saved)
        assert library.faults() == []


def test_no_room_even_to_begin(tiny_disk: Path) -> None:
    with pytest.raises(OSError, match="No space"):
        (tiny_disk / "ballast").write_bytes(b"x" * 2_000_000)
    assert problem_of(tiny_disk / "x.library").kind is ProblemKind.FULL
    (tiny_disk / "ballast").unlink()
    Library.open(tiny_disk / "x.library").close()
