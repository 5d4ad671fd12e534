"""Backups: dated, thinned out, and the way back."""

from __future__ import annotations

import os
import shutil
from datetime import UTC, datetime, timedelta, timezone
from datetime import time as clock
from pathlib import Path

import pytest

from core.fitting import Fitting, NoteWritten
from core.store import Library, LibraryProblem, ProblemKind, WorkStoppedError
from core.store.backend import Backup
from core.store.sqlite import backups, file
from core.store.sqlite.backups import FileBackups
from tests.core.store.worked import everything, told, work_on
from tests.examples import deck

NOON = datetime(2025, 3, 31, 12, tzinfo=UTC)


def test_a_backup_is_a_whole_library_of_its_own(
    place: Path, library: Library, fitting: Fitting
) -> None:
    work_on(library, fitting)
    backup = FileBackups(place).make(NOON)
    assert backup.path == place.parent / "backups" / "example 2025-03-31 12-00-00.library"
    assert FileBackups(place).all() == (backup,)
    assert [path.name for path in backup.path.parent.iterdir()] == [backup.path.name]
    with Library.open(backup.path, read_only=True) as copy:
        assert everything(copy) == everything(library)
        assert copy.faults() == []


def test_two_backups_in_one_second_are_two(place: Path, library: Library) -> None:
    made = [library.address.backups.make(NOON) for _ in range(10)]
    assert FileBackups(place).all() == tuple(reversed(made)), "the newest first"


def test_a_backup_takes_entries_that_are_still_in_the_log(
    place: Path, library: Library, fitting: Fitting
) -> None:
    for number in range(50):
        library.append(fitting.id, NoteWritten(text=f"note {number}"))
    assert place.with_name(place.name + "-wal").stat().st_size > 0
    backup = FileBackups(place).make()
    with Library.open(backup.path, read_only=True) as copy:
        assert copy.fitting(fitting.id) == library.fitting(fitting.id)


def test_a_backup_is_due_once_a_day(place: Path, library: Library) -> None:
    assert FileBackups(place).is_due(NOON)
    library.address.backups.make(NOON)
    assert not FileBackups(place).is_due(NOON + timedelta(hours=3))
    assert FileBackups(place).is_due(NOON + timedelta(hours=13))
    assert FileBackups(place).is_due(NOON - timedelta(days=30)), "a clock that once stood wrong"


def test_the_newest_ten_and_one_a_month_are_kept(place: Path, library: Library) -> None:
    days = [NOON - timedelta(days=back) for back in range(100)]
    source = library.address.backups.make(days[0]).path
    for day in days[1:]:
        name = f"example {day:%Y-%m-%d %H-%M-%S}.library"
        shutil.copy(source, source.with_name(name))
    for stranger in ("notes.txt", "other 2024-01-01 00-00-00.library", "example x.library"):
        (source.parent / stranger).write_text("not ours")
    FileBackups(place).thin_out()
    kept = [f"{backup.at:%m-%d}" for backup in FileBackups(place).all()]
    newest_ten = [f"{day:%m-%d}" for day in days[:10]]
    assert kept == [*newest_ten, "02-28", "01-31", "12-31"]
    assert len(list(source.parent.iterdir())) == len(kept) + 3


def test_restoring_brings_the_old_state_back_and_keeps_the_present_one(
    place: Path, library: Library, fitting: Fitting
) -> None:
    early = everything(library)
    backup = library.address.backups.make(NOON)
    work_on(library, fitting)
    late = everything(library)
    FileBackups(place).restore(backup.path)
    assert everything(library) == early  # the open window sees it at once
    library.close()
    with Library.open(place) as again:
        assert everything(again) == early
        assert again.faults() == []
    newest = FileBackups(place).all()[0]
    assert newest.path != backup.path
    FileBackups(place).restore(newest.path)
    with Library.open(place) as again:
        assert everything(again) == late


def test_the_backup_that_is_restored_is_not_thinned_out_meanwhile(
    place: Path, library: Library
) -> None:
    oldest = library.address.backups.make(NOON)
    for minutes in range(1, 10):
        library.address.backups.make(NOON + timedelta(minutes=minutes))
    FileBackups(place).restore(oldest.path)
    assert oldest in FileBackups(place).all()


@pytest.mark.parametrize("content", [b"", b"not a database", b"SQLite format 3\x00" + b"x" * 50])
def test_a_file_that_is_no_good_is_set_aside_whole(place: Path, content: bytes) -> None:
    with Library.open(place) as library:
        before = everything(library)
        backup = library.address.backups.make(NOON)
    place.write_bytes(content)
    FileBackups(place).restore(backup.path)
    with Library.open(place) as again:
        assert everything(again) == before
    aside = list((place.parent / "backups").glob("set aside */example.library"))
    assert [path.read_bytes() for path in aside] == [content]


def test_restoring_waits_for_another_window_and_gives_up_in_a_sentence(
    place: Path, library: Library
) -> None:
    backup = library.address.backups.make(NOON)
    with library.transaction():
        library.keep_deck(deck(name="Half done"))
        with pytest.raises(LibraryProblem) as caught:
            FileBackups(place).restore(backup.path, wait_s=0.2)
        assert told(caught.value).kind is ProblemKind.LOCKED
    assert "Half done" in [row.name for row in library.decks()]


@pytest.mark.parametrize("harm", ["missing", "folder", "text", "cut short", "overwritten", "newer"])
def test_a_backup_that_is_no_good_changes_nothing(place: Path, library: Library, harm: str) -> None:
    backup = library.address.backups.make(NOON)
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
        FileBackups(place).restore(backup.path)
    told(caught.value)
    assert everything(library) == before


def test_a_foreign_file_among_the_backups_is_no_backup(place: Path, library: Library) -> None:
    folder = place.parent / "backups"
    folder.mkdir()
    (folder / "example 2025-13-99 00-00-00.library").write_text("no such date")
    assert FileBackups(place).all() == ()
    good = library.address.backups.make(NOON)
    assert FileBackups(place).all() == (Backup(good.path, NOON),)


def test_a_folder_that_cannot_be_made_is_said(place: Path, library: Library) -> None:
    (place.parent / "backups").write_text("a file where a folder should be")
    with pytest.raises(LibraryProblem) as caught:
        library.address.backups.make()
    told(caught.value)


def test_nothing_new_needs_no_backup_and_a_day_is_the_benchs_own(
    place: Path, library: Library, fitting: Fitting
) -> None:
    library.close()
    written = datetime.fromtimestamp(place.stat().st_mtime, UTC)
    FileBackups(place).make(written + timedelta(minutes=2))  # by then the copy is made
    assert not FileBackups(place).is_due(written + timedelta(days=3))
    with Library.open(place) as again:
        again.append(fitting.id, NoteWritten(text="something new"))
        os.utime(place, (written.timestamp() + 300,) * 2)
        late = timezone(timedelta(hours=12 - written.hour))  # no midnight is near
        midnight = datetime.combine(written.astimezone(late).date(), clock.min, late)
        assert FileBackups(place).is_due(midnight + timedelta(days=1))
        assert not FileBackups(place).is_due(midnight + timedelta(days=1, seconds=-1))


def test_what_is_in_a_backup_is_told_by_counts(
    place: Path, library: Library, fitting: Fitting
) -> None:
    work_on(library, fitting)
    backup = library.address.backups.make(NOON)
    holding = FileBackups(place).contents_of(backup.path)
    assert holding.size == backup.path.stat().st_size
    assert (holding.fittings, holding.entries) == (1, 5)
    assert holding.decks == len(library.decks())
    assert holding.cartridges == len(library.cartridges())
    backup.path.write_bytes(backup.path.read_bytes()[:5000])
    with pytest.raises(LibraryProblem) as caught:
        FileBackups(place).contents_of(backup.path)
    told(caught.value)


def test_restoring_says_where_the_present_state_is_kept(place: Path, library: Library) -> None:
    backup = library.address.backups.make(NOON)
    library.keep_deck(deck(name="Later"))
    later = everything(library)
    kept = FileBackups(place).restore(backup.path)
    assert kept is not None
    with Library.open(kept, read_only=True) as copy:
        assert everything(copy) == later
    library.close()
    place.write_bytes(b"no library any more")
    aside = FileBackups(place).restore(backup.path)
    assert aside is not None
    assert (aside / place.name).read_bytes() == b"no library any more"
    place.unlink()
    assert FileBackups(place).restore(backup.path) is None


def test_entries_go_on_while_a_backup_is_made_and_are_not_in_it(
    place: Path, library: Library, fitting: Fitting
) -> None:
    for number in range(60):  # some thousand pages, so that there is a meanwhile
        library.append(fitting.id, NoteWritten(text=f"{number} " + "x" * 3990))
    before, asked = everything(library), []

    def goes_on() -> bool:
        library.append(fitting.id, NoteWritten(text=f"meanwhile {len(asked)}"))
        asked.append(True)
        return True

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(file, "_PAGES_AT_ONCE", 10)
        backup = FileBackups(place).make(NOON, go_on=goes_on)
    assert len(asked) > 3
    with Library.open(backup.path, read_only=True) as copy:
        assert everything(copy) == before
    assert len(library.fitting(fitting.id).entries) == 60 + len(asked)


def test_a_backup_nobody_wants_any_more_leaves_nothing_behind(
    place: Path, library: Library
) -> None:
    with pytest.raises(WorkStoppedError):
        FileBackups(place).make(NOON, go_on=lambda: False)
    assert list((place.parent / "backups").iterdir()) == []
    assert library.faults() == []


def test_a_backup_that_would_fill_the_disk_is_not_begun(
    place: Path, library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    size = place.stat().st_size
    usage = shutil.disk_usage(place.parent)._replace(free=size + 10)
    monkeypatch.setattr(backups.shutil, "disk_usage", lambda _: usage)
    with pytest.raises(LibraryProblem) as caught:
        FileBackups(place).make(NOON)
    assert told(caught.value).kind is ProblemKind.FULL
    assert FileBackups(place).all() == ()


def test_leftovers_of_backups_cut_short_are_swept_up_after_a_day(
    place: Path, library: Library
) -> None:
    folder = place.parent / "backups"
    folder.mkdir()
    old, new, other = (
        folder / f".{name} 2025-03-01 00-00-00.library.0.unfinished{ending}"
        for name, ending in (("example", ""), ("example", "-journal"), ("else", ""))
    )
    for leftover in (old, new, other):
        leftover.write_text("half a backup")
    for leftover in (old, other):
        os.utime(leftover, (0, 0))
    library.address.backups.make(NOON)
    assert not old.exists()
    assert new.exists()
    assert other.exists()
