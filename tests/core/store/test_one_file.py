"""The one file is the library: copied or moved, nothing is lost and nothing mixed in."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import pytest

from core.fitting import Fitting, NoteWritten
from core.language import Numbers
from core.store import Library, LibraryProblem, ProblemKind
from core.store.sqlite.file import companion
from tests.core.store.worked import everything, told

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="an open file can't be moved there")


def notes(library: Library, fitting: Fitting) -> list[str]:
    return [entry.body.model_dump()["text"] for entry in library.fitting(fitting.id).entries]


def write(library: Library, fitting: Fitting, *texts: str) -> None:
    for text in texts:
        library.append(fitting.id, NoteWritten(text=text))


def test_the_settled_file_alone_is_whole(
    place: Path, library: Library, fitting: Fitting, tmp_path: Path
) -> None:
    write(library, fitting, "one", "two")
    assert library.settle()
    alone = Path(shutil.copy(place, tmp_path / "alone.library"))
    with Library.open(alone, read_only=True) as copy:
        assert notes(copy, fitting) == ["one", "two"]
        assert copy.faults() == []
    assert library.settle(), "nothing new is settled as well"


def test_settling_never_waits_for_somebody_who_reads(
    place: Path, library: Library, fitting: Fitting
) -> None:
    with Library.open(place, read_only=True) as other, other.snapshot():
        other.decks()
        write(library, fitting, "later")
        assert not library.settle()
    assert library.settle()


def test_closing_one_of_two_windows_leaves_a_whole_file(
    place: Path, library: Library, fitting: Fitting, tmp_path: Path
) -> None:
    with Library.open(place) as other:
        write(other, fitting, "from the other window")
    alone = Path(shutil.copy(place, tmp_path / "alone.library"))
    with Library.open(alone, read_only=True) as copy:
        assert notes(copy, fitting) == ["from the other window"]


def test_a_library_that_was_moved_is_noticed_by_looking(
    place: Path, library: Library, fitting: Fitting
) -> None:
    place.rename(place.with_name("elsewhere.library"))
    for look in (library.others_wrote, library.settle):
        with pytest.raises(LibraryProblem) as caught:
            look()
        assert told(caught.value).kind is ProblemKind.VANISHED


def test_a_library_moved_before_anything_was_done_is_taken_up_again_once_it_is_back(
    place: Path, library: Library, fitting: Fitting
) -> None:
    write(library, fitting, "before")
    with Library.open(place) as opened:
        elsewhere = place.rename(place.with_name("elsewhere.library"))
        with pytest.raises(LibraryProblem) as caught:
            write(opened, fitting, "meanwhile")
        assert told(caught.value).kind is ProblemKind.VANISHED
        elsewhere.rename(place)
        write(opened, fitting, "after")
        assert notes(opened, fitting) == ["before", "after"]


def test_a_library_that_came_back_takes_no_entry_through_the_old_log(
    place: Path, library: Library, fitting: Fitting
) -> None:
    write(library, fitting, "before")
    library.settle()
    elsewhere = place.rename(place.with_name("elsewhere.library"))
    with pytest.raises(LibraryProblem):
        library.others_wrote()
    with Library.open(elsewhere) as other:
        write(other, fitting, *(f"elsewhere {number}" for number in range(200)))
    elsewhere.rename(place)
    with pytest.raises(LibraryProblem) as caught:
        write(library, fitting, "through the old log")
    assert told(caught.value).kind is ProblemKind.VANISHED
    library.close()
    with Library.open(place) as again:
        assert again.faults() == []
        assert len(notes(again, fitting)) == 201


@pytest.mark.parametrize("foreign", ["another library", "an older state"])
@pytest.mark.parametrize("read_only", [False, True])
def test_a_foreign_log_is_set_aside_and_told(tmp_path: Path, foreign: str, read_only: bool) -> None:
    place = tmp_path / "example.library"
    replaced = tmp_path / "replaced"
    with Library.open(place) as library:
        fitting = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)
        library.settle()
        shutil.copy(place, replaced)
        write(library, fitting, "one")
        library.settle()
        write(library, fitting, "two")
        log = companion(place).read_bytes()
    if foreign == "another library":
        with Library.open(tmp_path / "other.library") as other:
            other.keep_deck(other.deck(other.decks()[0].id).thing.model_copy(update={"name": "X"}))
        shutil.copy(tmp_path / "other.library", replaced)
    shutil.copy(replaced, place)
    with Library.open(Path(shutil.copy(replaced, tmp_path / "as it was")), read_only=True) as asked:
        expected = everything(asked)
    companion(place).write_bytes(log)
    with Library.open(place, read_only=read_only) as opened:
        assert everything(opened) == expected
        assert opened.faults() == []
        assert (opened.notice is None) is read_only
    aside = list((tmp_path / "backups").glob("set aside*/*-wal"))
    if read_only:
        assert companion(place).read_bytes() == log, "only looked at"
    else:
        assert opened.notice is not None
        assert [one.read_bytes() for one in aside] == [log]
        assert str(aside[0].parent) in Numbers().text(opened.notice)


def test_a_log_of_its_own_is_taken_in_also_after_both_were_copied(tmp_path: Path) -> None:
    place, copied = tmp_path / "example.library", tmp_path / "copied" / "example.library"
    copied.parent.mkdir()
    with Library.open(place) as library:
        fitting = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)
        write(library, fitting, *(str(number) for number in range(40)))
        shutil.copy(place, copied)
        shutil.copy(companion(place), companion(copied))
    with Library.open(copied) as opened:
        assert notes(opened, fitting) == [str(number) for number in range(40)]
        assert opened.notice is None
    assert not (copied.parent / "backups").exists()


def test_a_log_without_marks_on_a_library_without_marks_is_its_own(tmp_path: Path) -> None:
    example = Path(__file__).parent / "examples" / "version_1.library"
    place = Path(shutil.copy(example, tmp_path / "example.library"))
    with Library.open(place, "Old") as library:
        assert library.notice is None
        assert library.faults() == []
