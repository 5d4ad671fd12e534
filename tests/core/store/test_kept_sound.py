"""Recordings beside a library: kept byte for byte, copied by choice, swept and brought back."""

from __future__ import annotations

import errno
import hashlib
import os
import stat
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from core.fitting import ReadingTaken
from core.language import Numbers
from core.store import Library, LibraryProblem, ProblemKind
from core.store.kept_sound import SoundShelf
from core.store.sqlite.backups import FileBackups
from tests.examples import cartridge, deck

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)


def sound(folder: Path, name: str = "Speed 33.flac", size: int = 3_000_000) -> tuple[Path, str]:
    """A file of noise; its fingerprint by hashlib, which is the standard's own (FIPS 180-4)."""
    path = folder / name
    content = os.urandom(size)
    path.write_bytes(content)
    return path, hashlib.sha256(content).hexdigest()


def read_in(library: Library, sha256: str) -> None:
    """Let the library speak of a recording."""
    deck_id, cartridge_id = library.keep_deck(deck()).id, library.keep_cartridge(cartridge()).id
    fitting = library.start_fitting(deck_id, cartridge_id)
    recorded = {"file": "a.flac", "sha256": sha256}
    library.append(
        fitting.id, ReadingTaken(step="speed", reading={"way": "tone", "recorded": recorded})
    )


def shelf_of(place: Path) -> SoundShelf:
    return FileBackups(place).shelf


def test_a_file_is_kept_byte_for_byte_under_its_fingerprint(place: Path) -> None:
    path, sha256 = sound(place.parent)
    shelf = shelf_of(place)
    kept = shelf.keep(path, sha256)
    assert kept.read_bytes() == path.read_bytes()
    assert kept.name == f"Speed 33 {sha256}.flac"
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    assert shelf.find(sha256) == kept
    assert shelf.keep(path, sha256) == kept
    assert len(shelf.all()) == 1


def test_a_file_that_was_changed_since_is_not_kept(place: Path) -> None:
    path, sha256 = sound(place.parent)
    path.write_bytes(b"another")
    with pytest.raises(LibraryProblem, match="is not the recording that was read"):
        shelf_of(place).keep(path, sha256)
    assert list(shelf_of(place).folder.iterdir()) == []


def test_a_kept_file_that_was_spoilt_is_found_out_and_mended(place: Path) -> None:
    path, sha256 = sound(place.parent)
    shelf = shelf_of(place)
    kept = shelf.keep(path, sha256)
    kept.write_bytes(b"half")
    assert shelf.keep(path, sha256) == kept
    assert kept.read_bytes() == path.read_bytes()


@pytest.mark.parametrize(
    "name", ["../../x.flac", "a/b.wav", "nul\0.wav", "ö " * 200 + ".flac", ".x"]
)
def test_a_hostile_name_stays_in_its_folder(place: Path, name: str) -> None:
    path, sha256 = sound(place.parent, "a.flac", 100)
    kept = shelf_of(place).keep(path, sha256, name)
    assert kept.parent == shelf_of(place).folder
    assert shelf_of(place).find(sha256) == kept


def test_backups_take_no_sound_until_somebody_wants_it(place: Path) -> None:
    with Library.open(place) as library:
        path, sha256 = sound(place.parent)
        shelf_of(place).keep(path, sha256)
        read_in(library, sha256)
    backups = FileBackups(place)
    assert not backups.takes_sound
    backups.make(NOON)
    assert backups.sounds().in_backups == 0
    backups.take_sound(wanted=True)
    made = backups.make(NOON + timedelta(days=1))
    assert made.sound_left is None
    told = backups.sounds()
    assert (told.beside, told.in_backups) == (1, 1)
    assert told.beside_bytes == told.in_backups_bytes == 3_000_000
    backups.take_sound(wanted=False)
    assert not FileBackups(place).takes_sound


def taking_sound(place: Path) -> tuple[Path, str, FileBackups]:
    """Keep a recording that a reading speaks of; return it, its digest, and backups with it."""
    path, sha256 = sound(place.parent)
    with Library.open(place) as library:
        shelf_of(place).keep(path, sha256)
        read_in(library, sha256)
    backups = FileBackups(place)
    backups.take_sound(wanted=True)
    return path, sha256, backups


def test_a_restored_library_gets_its_recordings_back(place: Path) -> None:
    path, sha256, backups = taking_sound(place)
    made = backups.make(NOON)
    kept = shelf_of(place).find(sha256)
    assert kept is not None
    kept.unlink()
    backups.restore(made.path)
    back = shelf_of(place).find(sha256)
    assert back is not None
    assert back.read_bytes() == path.read_bytes()


def test_a_spoilt_copy_is_not_brought_back(place: Path) -> None:
    _, sha256, backups = taking_sound(place)
    made = backups.make(NOON)
    (copy,) = SoundShelf(made.path.parent / shelf_of(place).folder.name).all()
    copy.path.write_bytes(b"spoilt")
    kept = shelf_of(place).find(sha256)
    assert kept is not None
    kept.unlink()
    backups.restore(made.path)
    assert shelf_of(place).all() == ()


def test_copies_go_once_nobody_speaks_of_them(place: Path) -> None:
    path, sha256 = sound(place.parent, size=1000)
    strange_path, strange = sound(place.parent, "Strange.flac", 1000)
    backups = FileBackups(place)
    with Library.open(place) as library:
        shelf_of(place).keep(path, sha256)
        shelf_of(place).keep(strange_path, strange)
        read_in(library, sha256)
    backups.take_sound(wanted=True)
    backups.make(NOON)
    copies = SoundShelf(backups.folder / shelf_of(place).folder.name)
    assert [one.sha256 for one in copies.all()] == [sha256]  # of the other no reading speaks
    copies.keep(strange_path, strange)
    backups.thin_out()
    assert [one.sha256 for one in copies.all()] == [sha256]
    assert len(shelf_of(place).all()) == 2  # beside the library nothing is ever deleted


def test_where_a_backup_cannot_be_read_no_copy_goes(place: Path) -> None:
    path, sha256 = sound(place.parent, size=1000)
    backups = FileBackups(place)
    Library.open(place).close()
    made = backups.make(NOON)
    copies = SoundShelf(backups.folder / shelf_of(place).folder.name)
    copies.keep(path, sha256)
    made.path.write_bytes(b"no library")
    backups.thin_out(spared=(made.path,))
    assert len(copies.all()) == 1


def test_without_room_the_backup_stands_and_says_what_is_left(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, _, backups = taking_sound(place)
    monkeypatch.setattr("core.store.kept_sound.ROOM_LEFT_BYTES", 10**18)
    made = backups.make(NOON)
    assert made.path.is_file()
    assert made.sound_left is not None
    assert made.sound_left.kind is ProblemKind.FULL


def test_a_folder_of_recordings_that_cannot_be_read_is_told_with_the_backup(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A backup without its recordings passed for a whole one."""
    _, _, backups = taking_sound(place)
    closed, was = shelf_of(place).folder, Path.iterdir

    def iterdir(path: Path) -> Iterator[Path]:
        if path == closed:
            raise PermissionError(errno.EACCES, "Permission denied", str(path))
        return was(path)

    monkeypatch.setattr(Path, "iterdir", iterdir)
    made = backups.make(NOON)
    assert made.path.is_file()
    assert made.sound_left is not None
    assert closed.name in Numbers().text(made.sound_left.what)


def test_a_recording_that_goes_meanwhile_hides_no_other(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shelf = shelf_of(place)
    kept = [shelf.keep(*sound(place.parent, f"{name}.flac", size)) for name, size in SIZES]
    goes, was = kept[0], Path.is_file

    def is_file(path: Path, **more: bool) -> bool:
        there = was(path, **more)
        if path == goes:  # another window drops it between two looks
            path.unlink(missing_ok=True)
        return there

    monkeypatch.setattr(Path, "is_file", is_file)
    assert [one.path for one in shelf.all()] == kept[1:]


SIZES = (("A", 1000), ("B", 2000), ("C", 3000))
