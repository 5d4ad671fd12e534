"""Whatever is wrong with the file: one sentence, a way on, nothing lost."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from core.fitting import Fitting, NoteWritten, new_id
from core.store import Library, LibraryProblem, ProblemKind
from core.store.places import default_library_path
from core.store.sqlite.backups import FileBackups
from tests.core.store.worked import problem_of, told
from tests.examples import deck

ROOT = Path(__file__).parents[3]


def test_a_missing_folder_is_said_and_not_made(tmp_path: Path) -> None:
    problem = problem_of(tmp_path / "no" / "such" / "x.library")
    assert problem.kind is ProblemKind.MISSING_FOLDER
    assert str(tmp_path / "no" / "such") in problem.sentence
    assert not (tmp_path / "no").exists()


def test_the_default_folder_is_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "data"))
    if sys.platform == "darwin":
        pytest.skip("the place can't be moved there")
    Library.open(default_library_path()).close()
    assert (tmp_path / "data" / "setdown" / "setdown.library").is_file()


def test_a_default_folder_that_cannot_be_made_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "data").write_text("a file where a folder should be")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    if sys.platform in ("darwin", "win32"):
        pytest.skip("the place is told otherwise there")
    problem_of(default_library_path())
    assert (tmp_path / "data").read_text() == "a file where a folder should be"


@pytest.mark.parametrize(
    "content",
    [b"not a database", b"\x00" * 5000, b"SQLite format 2\x00" + b"x" * 4096, b"\xff\xfe" * 60],
)
@pytest.mark.parametrize("read_only", [False, True])
def test_a_file_that_is_no_database_is_left_alone(
    place: Path, content: bytes, read_only: bool
) -> None:
    place.write_bytes(content)
    assert problem_of(place, read_only=read_only).kind is ProblemKind.NOT_A_LIBRARY
    assert place.read_bytes() == content
    assert sorted(path.name for path in place.parent.iterdir()) == [place.name]


def test_a_folder_is_no_library(tmp_path: Path) -> None:
    assert problem_of(tmp_path).kind is ProblemKind.NOT_A_LIBRARY


@pytest.mark.parametrize("path", ["a\x00b", "~nobody-of-that-name/x.library", "", "x" * 5000])
def test_a_path_that_is_none_is_said(path: str) -> None:
    with pytest.raises(LibraryProblem) as caught:
        Library.open(path)
    told(caught.value)


@pytest.mark.parametrize("read_only", [False, True])
@pytest.mark.parametrize("mark", [0, 0x12345678])
def test_another_programs_database_is_left_alone(place: Path, read_only: bool, mark: int) -> None:
    connection = sqlite3.connect(place)
    connection.execute("CREATE TABLE theirs (x)")
    connection.execute(f"PRAGMA application_id={mark}")
    connection.commit()
    connection.close()
    before = place.read_bytes()
    problem = problem_of(place, read_only=read_only)
    assert problem.kind is ProblemKind.NOT_A_LIBRARY
    assert "another program" in problem.sentence
    assert place.read_bytes() == before


@pytest.mark.parametrize("read_only", [False, True])
def test_a_newer_library_is_left_alone(place: Path, read_only: bool) -> None:
    Library.open(place).close()
    connection = sqlite3.connect(place)
    connection.execute("PRAGMA user_version=99")
    connection.close()
    before = place.read_bytes()
    problem = problem_of(place, read_only=read_only)
    assert problem.kind is ProblemKind.NEWER
    assert "version 99" in problem.sentence
    assert "Update" in problem.remedy
    assert place.read_bytes() == before


@pytest.mark.parametrize("left", [60, 99, 5000, 50_000])
def test_a_truncated_library_is_damaged_and_a_backup_brings_it_back(place: Path, left: int) -> None:
    with Library.open(place) as library:
        kept = library.keep_deck(deck())
        backup = library.address.backups.make()
    os.truncate(place, left)
    problem = problem_of(place)
    assert problem.kind is ProblemKind.DAMAGED
    assert "backup" in problem.remedy
    assert place.stat().st_size == left
    FileBackups(place).restore(backup.path)
    with Library.open(place) as library:
        assert library.deck(kept.id) == kept
    (aside,) = (place.parent / "backups").glob("set aside*/*")
    assert aside.stat().st_size == left


def test_overwritten_pages_are_damage(place: Path) -> None:
    Library.open(place).close()
    size = place.stat().st_size
    with place.open("rb+") as stream:
        stream.seek(4096)
        stream.write(b"\xa5" * (size - 4096))
    assert problem_of(place).kind is ProblemKind.DAMAGED
    with pytest.raises(LibraryProblem) as caught, Library.open(place, read_only=True) as looked:
        looked.decks()
    assert told(caught.value).kind is ProblemKind.DAMAGED


def test_damage_found_later_is_said_too(place: Path, library: Library) -> None:
    library.address.backups.make()
    library._backend.run("PRAGMA wal_checkpoint(TRUNCATE)")
    library.close()
    size = place.stat().st_size
    with place.open("rb+") as stream:
        stream.seek(4096)
        stream.write(b"\xa5" * (size - 4096))
    opened = Library.open(place, read_only=True)
    with pytest.raises(LibraryProblem) as caught:
        opened.fittings()
    opened.close()
    assert told(caught.value).kind is ProblemKind.DAMAGED


def test_one_unreadable_record_does_not_hide_the_others(library: Library, fitting: Fitting) -> None:
    library._backend.update("thing_revisions", {"body": "{"}, {"thing_id": fitting.deck_id})
    with pytest.raises(LibraryProblem, match=f"revision 1 of the deck {fitting.deck_id}"):
        library.deck(fitting.deck_id)
    assert library.cartridge(fitting.cartridge_id).revision == 1
    assert fitting.deck_id in [row.id for row in library.decks()]
    library.append(fitting.id, NoteWritten(text="x"))
    library._backend.update("entries", {"body": "{}"}, {})
    with pytest.raises(LibraryProblem, match=r"the entry \w+ can't be read"):
        library.fitting(fitting.id)


def test_a_library_that_went_missing_is_not_silently_begun_anew(place: Path) -> None:
    with Library.open(place) as library:
        library.keep_deck(deck())
        backup = library.address.backups.make()
    place.unlink()
    assert problem_of(place).kind is ProblemKind.VANISHED
    place.touch()
    assert problem_of(place).kind is ProblemKind.VANISHED
    FileBackups(place).restore(backup.path)
    Library.open(place).close()
    place.unlink()
    Library.open(place, begin_anew=True).close()


def test_a_log_left_behind_is_never_thrown_away(place: Path) -> None:
    log = place.with_name(place.name + "-wal")
    log.write_bytes(b"entries that were confirmed")
    assert problem_of(place).kind is ProblemKind.VANISHED
    assert log.read_bytes() == b"entries that were confirmed"
    Library.open(place, begin_anew=True).close()
    (aside,) = (place.parent / "backups").glob("set aside*/*")
    assert aside.read_bytes() == b"entries that were confirmed"


def test_looking_at_what_is_not_there_makes_nothing(place: Path) -> None:
    assert problem_of(place, read_only=True).kind is ProblemKind.VANISHED
    assert not place.exists()
    place.touch()
    assert problem_of(place, read_only=True).kind is ProblemKind.NOT_A_LIBRARY


def test_looking_only_reads_everything_and_writes_nothing(place: Path) -> None:
    with Library.open(place) as library:
        begun = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)
        library.append(begun.id, NoteWritten(text="kept"))
        lists = (library.decks(), library.cartridges(), library.fittings())
        log = library.fitting(begun.id)
    before = place.read_bytes()
    with Library.open(place, read_only=True) as library:
        assert library.read_only
        assert (library.decks(), library.cartridges(), library.fittings()) == lists
        assert library.fitting(begun.id) == log
        for change in (
            lambda: library.append(begun.id, NoteWritten(text="not kept")),
            lambda: library.keep_deck(deck()),
            lambda: library.archive_fitting(begun.id),
            lambda: library.start_fitting(begun.deck_id, begun.cartridge_id),
        ):
            with pytest.raises(LibraryProblem) as caught:
                change()
            assert told(caught.value).kind is ProblemKind.READ_ONLY
    assert place.read_bytes() == before


@pytest.fixture
def shared_folder(tmp_path: Path) -> Iterator[Path]:
    """A folder that every user can look into; pytest's own are for one user only."""
    folder = Path("/var/tmp") / f"setdown-{new_id()}"  # noqa: S108 - removed below
    folder.mkdir(mode=0o755)
    yield folder
    folder.chmod(0o755)
    shutil.rmtree(folder)


LOOK = """
import os, sys
from pathlib import Path
from core.store import Library, LibraryProblem
path = Path(sys.argv[1])
if os.geteuid() == 0:  # root may write everywhere
    os.setuid(65534)
try:
    Library.open(path).close()
except LibraryProblem as problem:
    print(problem.kind)
else:
    print("opened")
with Library.open(path, read_only=True) as library:
    print(len(library.decks()))
"""


def as_another_user(*arguments: str) -> list[str]:
    result = subprocess.run(
        [sys.executable, "-c", LOOK, *arguments],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert result.returncode == 0, result.stderr
    return result.stdout.split("\n")[:2]


@pytest.mark.skipif(sys.platform == "win32", reason="permissions are told otherwise there")
@pytest.mark.parametrize("part", ["file", "folder", "both"])
def test_a_read_only_library_can_still_be_looked_at(shared_folder: Path, part: str) -> None:
    place = shared_folder / "x.library"
    with Library.open(place) as library:
        count = len(library.decks())
    place.chmod(0o444 if part != "folder" else 0o666)
    shared_folder.chmod(0o555 if part != "file" else 0o777)
    before = place.read_bytes()
    assert as_another_user(str(place)) == ["read only", str(count)]
    assert place.read_bytes() == before


def test_a_second_window_that_is_writing_is_waited_for_and_then_said(
    place: Path, library: Library, fitting: Fitting
) -> None:
    number = new_id()
    with Library.open(place, wait_s=0.1) as other, other.transaction():
        other.keep_deck(deck(name="Half done"))
        with pytest.raises(LibraryProblem) as caught:
            library.append(fitting.id, NoteWritten(text="mine"), entry_id=number)
        assert told(caught.value).kind is ProblemKind.LOCKED
        assert "Half done" not in [row.name for row in library.decks()]
    kept = library.append(fitting.id, NoteWritten(text="mine"), entry_id=number)
    assert library.fitting(fitting.id).entries == (kept,)
    assert "Half done" in [row.name for row in library.decks()]


def test_opening_while_another_window_writes_needs_no_wait(place: Path, library: Library) -> None:
    with library.transaction():
        library.keep_deck(deck())
        Library.open(place, wait_s=0.1).close()


@pytest.mark.skipif(sys.platform == "win32", reason="an open file can't be moved there")
def test_a_file_that_was_moved_away_takes_no_entry_that_nobody_would_find(
    place: Path, library: Library, fitting: Fitting
) -> None:
    kept = library.append(fitting.id, NoteWritten(text="before"))
    moved = place.with_name("moved.library")
    for part in ("", "-wal", "-shm"):
        place.with_name(place.name + part).rename(moved.with_name(moved.name + part))
    with pytest.raises(LibraryProblem) as caught:
        library.append(fitting.id, NoteWritten(text="into the void"))
    assert told(caught.value).kind is ProblemKind.VANISHED
    assert not place.exists()
    library.close()
    with Library.open(moved) as found:
        assert found.fitting(fitting.id).entries == (kept,)


@pytest.mark.skipif(sys.platform == "win32", reason="an open file can't be replaced there")
def test_a_file_that_was_replaced_takes_no_entry(
    place: Path, library: Library, fitting: Fitting
) -> None:
    shutil.copy(place, place.with_name("copy"))
    place.with_name("copy").replace(place)
    with pytest.raises(LibraryProblem) as caught:
        library.append(fitting.id, NoteWritten(text="into the void"))
    assert told(caught.value).kind is ProblemKind.VANISHED
