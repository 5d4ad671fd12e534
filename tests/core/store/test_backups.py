"""Backups: dated, thinned out, and the way back."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from core.fitting import Fitting, NoteWritten
from core.store import Library, LibraryProblem, ProblemKind, backups
from core.store.backups import Backup, backups_of, is_due, make_backup, restore
from tests.core.store.worked import everything, told, work_on
from tests.examples import deck

NOON = datetime(2025, 3, 31, 12, tzinfo=UTC)


def test_a_backup_is_a_whole_library_of_its_own(
    place: Path, library: Library, fitting: Fitting
) -> None:
    work_on(library, fitting)
    backup = make_backup(place, NOON)
    assert backup.path == place.parent / "backups" / "example 2025-03-31 12-00-00.library"
    assert backups_of(place) == (backup,)
    assert [path.name for path in backup.path.parent.iterdir()] == [backup.path.name]
    with Library.open(backup.path, read_only=True) as copy:
        assert everything(copy) == everything(library)
        assert copy.faults() == []


def test_two_backups_in_one_second_are_two(place: Path, library: Library) -> None:
    first, second = library.back_up(NOON), library.back_up(NOON)
    assert first.path != second.path
    assert len(backups_of(place)) == 2


def test_a_backup_takes_entries_that_are_still_in_the_log(
    place: Path, library: Library, fitting: Fitting
) -> None:
    for number in range(50):
        library.append(fitting.id, NoteWritten(text=f"note {number}"))
    assert place.with_name(place.name + "-wal").stat().st_size > 0
    backup = make_backup(place)
    with Library.open(backup.path, read_only=True) as copy:
        assert copy.fitting(fitting.id) == library.fitting(fitting.id)


def test_a_backup_is_due_once_a_day(place: Path, library: Library) -> None:
    assert is_due(place, NOON)
    library.back_up(NOON)
    assert not is_due(place, NOON + timedelta(hours=3))
    assert is_due(place, NOON + timedelta(hours=13))


def test_the_newest_ten_and_one_a_month_are_kept(place: Path, library: Library) -> None:
    days = [NOON - timedelta(days=back) for back in range(100)]
    source = library.back_up(days[0]).path
    for day in days[1:]:
        name = f"example {day:%Y-%m-%d %H-%M-%S}.library"
        shutil.copy(source, source.with_name(name))
    for stranger in ("notes.txt", "other 2024-01-01 00-00-00.library", "example x.library"):
        (source.parent / stranger).write_text("not ours")
    backups.thin_out(place)
    kept = [f"{backup.at:%m-%d}" for backup in backups_of(place)]
    newest_ten = [f"{day:%m-%d}" for day in days[:10]]
    assert kept == [*newest_ten, "02-28", "01-31", "12-31"]
    assert len(list(source.parent.iterdir())) == len(kept) + 3


def test_restoring_brings_the_old_state_back_and_keeps_the_present_one(
    place: Path, library: Library, fitting: Fitting
) -> None:
    early = everything(library)
    backup = library.back_up(NOON)
    work_on(library, fitting)
    late = everything(library)
    restore(backup.path, place)
    assert everything(library) == early  # the open window sees it at once
    library.close()
    with Library.open(place) as again:
        assert everything(again) == early
        assert again.faults() == []
    newest = backups_of(place)[0]
    assert newest.path != backup.path
    restore(newest.path, place)
    with Library.open(place) as again:
        assert everything(again) == late


def test_the_backup_that_is_restored_is_not_thinned_out_meanwhile(
    place: Path, library: Library
) -> None:
    oldest = library.back_up(NOON)
    for minutes in range(1, 10):
        library.back_up(NOON + timedelta(minutes=minutes))
    restore(oldest.path, place)
    assert oldest in backups_of(place)


@pytest.mark.parametrize("content", [b"", b"not a database", b"SQLite format 3\x00" + b"x" * 50])
def test_a_file_that_is_no_good_is_set_aside_whole(place: Path, content: bytes) -> None:
    with Library.open(place) as library:
        before = everything(library)
        backup = library.back_up(NOON)
    place.write_bytes(content)
    restore(backup.path, place)
    with Library.open(place) as again:
        assert everything(again) == before
    aside = list((place.parent / "backups").glob("set aside */example.library"))
    assert [path.read_bytes() for path in aside] == [content]


def test_restoring_waits_for_another_window_and_gives_up_in_a_sentence(
    place: Path, library: Library
) -> None:
    backup = library.back_up(NOON)
    with library.transaction():
        library.keep_deck(deck(name="Half done"))
        with pytest.raises(LibraryProblem) as caught:
            restore(backup.path, place, wait_s=0.2)
        assert told(caught.value).kind is ProblemKind.LOCKED
    assert "Half done" in [row.name for row in library.decks()]


@pytest.mark.parametrize("harm", ["missing", "folder", "text", "cut short", "overwritten", "newer"])
def test_a_backup_that_is_no_good_changes_nothing(place: Path, library: Library, harm: str) -> None:
    backup = library.back_up(NOON)
    size = backup.path.stat().st_size
    before = everything(library)
    with backup.path.open("rb+") as stream:
        match harm:
            case "cut short":
                stream.truncate(size // 2)
            case "overwritten":
                stream.seek(size // 2)
                stream.write(b"\xa5" * (size // 4))
            case "newer":
                stream.seek(60)
                stream.write((99).to_bytes(4, "big"))
    if harm in ("missing", "folder", "text"):
        backup.path.unlink()
    if harm == "folder":
        backup.path.mkdir()
    if harm == "text":
        backup.path.write_text("not a database")
    with pytest.raises(LibraryProblem) as caught:
        restore(backup.path, place)
    told(caught.value)
    assert everything(library) == before


def test_a_foreign_file_among_the_backups_is_no_backup(place: Path, library: Library) -> None:
    folder = place.parent / "backups"
    folder.mkdir()
    (folder / "example 2025-13-99 00-00-00.library").write_text("no such date")
    assert backups_of(place) == ()
    good = library.back_up(NOON)
    assert backups_of(place) == (Backup(good.path, NOON),)


def test_a_folder_that_cannot_be_made_is_said(place: Path, library: Library) -> None:
    (place.parent / "backups").write_text("a file where a folder should be")
    with pytest.raises(LibraryProblem) as caught:
        library.back_up()
    told(caught.value)
