"""A damaged library is noticed before it counts as a copy, and no sound copy is given up for it."""

from __future__ import annotations

import os
import random
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from core.fitting import Fitting, NoteWritten
from core.language import Numbers
from core.store import Library, LibraryProblem, ProblemKind
from core.store.sqlite import backups
from core.store.sqlite.backups import NEWEST_KEPT, FileBackups
from tests.core.store.damaging import damage_page, large_library
from tests.core.store.worked import told
from tests.examples import deck

NOON = datetime(2025, 3, 31, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A library too large to be read through on opening."""
    return large_library(tmp_path_factory.mktemp("large") / "large.library")


@pytest.mark.parametrize("seed", range(6))
def test_no_copy_is_made_of_a_damaged_library_and_none_is_given_up(
    large: Path, tmp_path: Path, seed: int
) -> None:
    place = Path(shutil.copy(large, tmp_path / "example.library"))
    sound = [FileBackups(place).make(NOON - timedelta(days=days)) for days in range(14, 0, -1)]
    damage_page(place, random.Random(seed))
    with pytest.raises(LibraryProblem) as caught:
        FileBackups(place).make(NOON)
    assert told(caught.value).kind is ProblemKind.DAMAGED
    assert str(place) in caught.value.sentence
    assert set(FileBackups(place).all()) <= set(sound)
    assert len(FileBackups(place).all()) >= NEWEST_KEPT
    assert list(place.parent.glob("backups/.*")) == []


def test_a_small_one_is_checked_thoroughly_on_opening(
    place: Path, library: Library, fitting: Fitting
) -> None:
    library._backend.run("PRAGMA writable_schema=ON")
    library._backend.run("DELETE FROM sqlite_master WHERE name = 'fittings_by_time'")
    library.close()  # an index that is gone from the list: quick checks see nothing
    with pytest.raises(LibraryProblem) as caught:
        Library.open(place)
    assert told(caught.value).kind is ProblemKind.DAMAGED


def test_ten_presses_of_one_afternoon_do_not_push_out_the_days(
    place: Path, library: Library, fitting: Fitting
) -> None:
    days = [NOON - timedelta(days=back) for back in range(9, 0, -1)]
    for day in days:
        library.append(fitting.id, NoteWritten(text=f"{day}"))
        FileBackups(place).make(day)
    for minute in range(30):
        library.append(fitting.id, NoteWritten(text=f"{minute}"))
        FileBackups(place).make(NOON + timedelta(minutes=minute))
    kept = [backup.at for backup in FileBackups(place).all()]
    assert set(days) <= set(kept)
    assert len(kept) == len(days) + NEWEST_KEPT


def test_a_copy_that_alone_holds_an_entry_is_kept(
    place: Path, library: Library, fitting: Fitting
) -> None:
    early = FileBackups(place).make(NOON - timedelta(days=60))
    library.append(fitting.id, NoteWritten(text="only in this copy"))
    alone = FileBackups(place).make(NOON - timedelta(days=59))
    library.keep_deck(deck(name="Afterwards"))
    FileBackups(place).restore(early.path)
    for hours in range(20):
        FileBackups(place).make(NOON - timedelta(hours=hours))
    assert alone in FileBackups(place).all()


def test_the_copy_just_made_stays_whatever_the_clock_says(place: Path, library: Library) -> None:
    for days in range(30):
        FileBackups(place).make(NOON - timedelta(days=days))
    set_back = FileBackups(place).make(NOON - timedelta(days=500))
    also = FileBackups(place).make(NOON - timedelta(days=500, minutes=1))
    assert also in FileBackups(place).all()
    assert set_back in FileBackups(place).all()


def test_a_sound_copy_does_not_go_for_newer_ones_that_rotted(
    place: Path, library: Library, fitting: Fitting
) -> None:
    made = [FileBackups(place).make(NOON - timedelta(hours=hours)) for hours in range(12)]
    for rotten in made[:10]:
        os.truncate(rotten.path, 9000)
    FileBackups(place).thin_out()
    assert set(made[10:]) & set(FileBackups(place).all())


def test_a_large_share_of_the_disk_is_said(
    place: Path, library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert FileBackups(place).warning() is None
    size = place.stat().st_size
    usage = shutil.disk_usage(place.parent)._replace(total=size * 50)
    monkeypatch.setattr(backups.shutil, "disk_usage", lambda _: usage)
    warning = FileBackups(place).warning()
    assert warning is not None
    assert "20 % of that disk" in Numbers().text(warning)
