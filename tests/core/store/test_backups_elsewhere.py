"""Backups in another folder: made there, listed with the others, beside while it is away."""

from __future__ import annotations

import shutil
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from core.fitting import Fitting, NoteWritten
from core.language import Numbers
from core.store import Library, LibraryProblem, ProblemKind
from core.store.sqlite import backups
from core.store.sqlite.backups import FileBackups
from tests.core.store.worked import told

NOON = datetime(2025, 3, 31, 12, tzinfo=UTC)


@pytest.fixture
def disk(tmp_path: Path) -> Path:
    disk = tmp_path / "other disk"
    disk.mkdir()
    return disk


def test_the_next_one_is_made_there_and_all_are_listed(
    place: Path, library: Library, disk: Path
) -> None:
    kept = FileBackups(place)
    first = kept.make(NOON - timedelta(days=1))
    kept.put_in(disk)
    second = kept.make(NOON)
    assert second.path.is_relative_to(disk)
    assert kept.all() == (second, first)
    assert stat.S_IMODE(second.path.parent.stat().st_mode) == 0o700
    assert FileBackups(place).folder == second.path.parent, "another window knows of it"
    kept.put_in(None)
    assert kept.make(NOON + timedelta(days=1)).path.parent == first.path.parent


def test_two_libraries_of_one_name_do_not_mix_on_one_disk(
    place: Path, library: Library, disk: Path
) -> None:
    there = place.parent / "second"
    there.mkdir()
    Library.open(there / place.name).close()
    for one in (FileBackups(place), FileBackups(there / place.name)):
        one.put_in(disk)
        one.make(NOON)
        assert len(one.all()) == 1


def test_while_the_disk_is_away_backups_are_made_beside_and_that_is_said(
    place: Path, library: Library, fitting: Fitting, disk: Path
) -> None:
    kept = FileBackups(place)
    kept.put_in(disk)
    away = kept.make(NOON - timedelta(days=1))
    unplugged = disk.rename(disk.with_name("unplugged"))
    assert kept.all() == ()
    assert kept.is_due(NOON)
    warning = kept.warning()
    assert warning is not None
    words = Numbers().text(warning)
    assert str(disk) in words
    assert "is not there now" in words
    library.append(fitting.id, NoteWritten(text="meanwhile"))
    beside = kept.make(NOON)
    assert beside.path.parent == place.parent / "backups"
    unplugged.rename(disk)
    assert kept.all() == (beside, away)
    assert kept.warning() is None
    kept.restore(away.path)
    assert away.path.exists()


def test_a_folder_that_cannot_be_written_is_refused_and_the_old_one_stays(
    place: Path, library: Library, tmp_path: Path
) -> None:
    letter = tmp_path / "letter"
    letter.write_text("Dear customer,")
    with pytest.raises(LibraryProblem) as caught:
        FileBackups(place).put_in(letter)
    assert told(caught.value).kind is not ProblemKind.DAMAGED
    assert FileBackups(place).elsewhere is None
    FileBackups(place)._pointer.write_bytes(b"\xff\xfe no folder")
    assert FileBackups(place).folder == place.parent / "backups"


def test_the_share_is_that_of_the_disk_they_lie_on(
    place: Path, library: Library, disk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    size = place.stat().st_size
    roomy = shutil.disk_usage(disk)

    def usage(folder: Path) -> object:
        return roomy._replace(total=size * (10_000 if Path(folder).is_relative_to(disk) else 50))

    monkeypatch.setattr(backups.shutil, "disk_usage", usage)
    assert FileBackups(place).warning() is not None
    FileBackups(place).put_in(disk)
    assert FileBackups(place).warning() is None
