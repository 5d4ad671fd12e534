"""Recordings kept as FLAC: the very same file comes out again, and its fingerprint still checks."""

from __future__ import annotations

import hashlib
import multiprocessing
import time
from collections.abc import Iterator
from itertools import count
from pathlib import Path

import numpy as np
import pytest
import soundfile

from core.recordings import unpacked
from core.store import Library, LibraryProblem, WorkStoppedError
from core.store.kept_sound import SoundShelf
from core.store.sqlite.backups import FileBackups
from tests.core.store.test_kept_sound import NOON, read_in, shelf_of


def tone_in(
    folder: Path,
    name: str,
    subtype: str = "PCM_24",
    *,
    rate: int = 48_000,
    channels: int = 2,
    seconds: float = 2.0,
    form: str | None = None,
) -> tuple[Path, str]:
    """Return a file of a tone with noise, and its fingerprint."""
    rng = np.random.default_rng(3)
    at = np.arange(round(seconds * rate)) / rate
    sound = 0.3 * np.sin(2 * np.pi * 3150.0 * at)[:, None] + 0.003 * rng.standard_normal(
        (at.size, channels)
    )
    path = folder / name
    soundfile.write(path, sound, rate, subtype=subtype, format=form)
    return path, fingerprint(path)


def fingerprint(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


@pytest.mark.parametrize("rate", [44_100, 96_000, 192_000])
@pytest.mark.parametrize("subtype", ["PCM_16", "PCM_24"])
@pytest.mark.parametrize(
    ("ending", "form", "channels"),
    [
        ("wav", None, 2),
        ("wav", "WAVEX", 2),
        ("wav", "RF64", 2),
        ("aiff", None, 2),
        ("wav", None, 8),
    ],
)
def test_whole_numbers_are_kept_as_flac_and_come_out_byte_for_byte(
    place: Path, rate: int, subtype: str, ending: str, form: str | None, channels: int
) -> None:
    path, sha256 = tone_in(
        place.parent, f"side.{ending}", subtype, rate=rate, channels=channels, form=form
    )
    shelf = shelf_of(place)
    kept = shelf.keep(path, sha256)
    assert kept.name == f"side {sha256}.flac"
    with soundfile.SoundFile(kept) as file:
        assert (file.format, file.subtype, file.samplerate) == ("FLAC", subtype, rate)
    assert kept.stat().st_size < path.stat().st_size
    assert b"".join(unpacked(kept)) == path.read_bytes()
    assert np.array_equal(soundfile.read(kept)[0], soundfile.read(path)[0])
    assert shelf.faults() == ()
    assert shelf.keep(path, sha256) == kept


@pytest.mark.parametrize(
    ("name", "subtype", "channels"),
    [
        ("float.wav", "FLOAT", 2),
        ("eight bit.wav", "PCM_U8", 2),
        ("nine channels.wav", "PCM_16", 9),
        ("coded.ogg", "VORBIS", 2),
    ],
)
def test_what_flac_does_not_hold_exactly_stays_as_it_is(
    place: Path, name: str, subtype: str, channels: int
) -> None:
    path, sha256 = tone_in(place.parent, name, subtype, channels=channels)
    kept = shelf_of(place).keep(path, sha256)
    assert kept.suffix == path.suffix
    assert kept.read_bytes() == path.read_bytes()


def test_what_programs_wrote_around_the_sound_comes_out_too(place: Path) -> None:
    path, _ = tone_in(place.parent, "noted.wav")
    riff = bytearray(path.read_bytes())
    riff += b"LIST" + (10).to_bytes(4, "little") + b"INFOabcdef"
    riff[4:8] = (len(riff) - 8).to_bytes(4, "little")
    path.write_bytes(riff)
    kept = shelf_of(place).keep(path, fingerprint(path))
    assert kept.suffix == ".flac"
    assert b"".join(unpacked(kept)) == bytes(riff)


def test_a_recording_that_was_cut_short_stays_as_it_is(place: Path) -> None:
    path, _ = tone_in(place.parent, "short.wav")
    path.write_bytes(path.read_bytes()[:-5])
    kept = shelf_of(place).keep(path, fingerprint(path))
    assert b"".join(unpacked(kept) if kept.suffix == ".flac" else (kept.read_bytes(),)) == (
        path.read_bytes()
    )


def test_a_changed_recording_is_not_kept(place: Path) -> None:
    path, _ = tone_in(place.parent, "changed.wav")
    with pytest.raises(LibraryProblem, match="is not the recording that was read"):
        shelf_of(place).keep(path, "0" * 64)
    assert list(shelf_of(place).folder.iterdir()) == []


def test_a_spoilt_packed_recording_is_found_out_and_mended(place: Path) -> None:
    path, sha256 = tone_in(place.parent, "side.wav")
    shelf = shelf_of(place)
    kept = shelf.keep(path, sha256)
    content = bytearray(kept.read_bytes())
    content[len(content) // 2] ^= 1
    kept.write_bytes(content)
    assert shelf.faults() == (kept,)
    assert shelf.keep(path, sha256) == kept
    assert shelf.faults() == ()


def test_a_recording_kept_as_it_is_before_stays_and_goes_once_spoilt(place: Path) -> None:
    path, sha256 = tone_in(place.parent, "side.wav")
    shelf = shelf_of(place)
    shelf.folder.mkdir(parents=True)
    before = shelf.folder / f"side {sha256}.wav"
    before.write_bytes(path.read_bytes())
    assert shelf.keep(path, sha256) == before
    before.write_bytes(b"half")
    assert shelf.keep(path, sha256).suffix == ".flac"
    assert len(shelf.all()) == 1


def test_a_packed_recording_goes_into_backups_and_comes_back(place: Path) -> None:
    path, sha256 = tone_in(place.parent, "side.wav")
    with Library.open(place) as library:
        shelf_of(place).keep(path, sha256)
        read_in(library, sha256)
    backups = FileBackups(place)
    backups.take_sound(wanted=True)
    made = backups.make(NOON)
    assert made.sound_left is None
    kept = shelf_of(place).find(sha256)
    assert kept is not None
    kept.unlink()
    backups.restore(made.path)
    back = shelf_of(place).find(sha256)
    assert back is not None
    assert b"".join(unpacked(back)) == path.read_bytes()


@pytest.mark.parametrize("stops_at", [1, 4, 8])
def test_given_up_it_leaves_nothing(place: Path, stops_at: int) -> None:
    path, sha256 = tone_in(place.parent, "side.wav", rate=192_000)
    asked: Iterator[int] = count(1)
    with pytest.raises(WorkStoppedError):
        shelf_of(place).keep(path, sha256, go_on=lambda: next(asked) < stops_at)
    assert list(shelf_of(place).folder.iterdir()) == []


def _keep_slowly(folder: str, path: str, sha256: str) -> None:
    def go_on() -> bool:
        time.sleep(0.02)
        return True

    SoundShelf(Path(folder)).keep(Path(path), sha256, go_on=go_on)


@pytest.mark.parametrize("after_s", [0.0, 0.05, 0.12, 0.2])
def test_killed_at_any_instant_it_leaves_nothing_half(place: Path, after_s: float) -> None:
    path, sha256 = tone_in(place.parent, "side.wav", rate=192_000)
    shelf = shelf_of(place)
    keeper = multiprocessing.get_context("spawn").Process(
        target=_keep_slowly, args=(str(shelf.folder), str(path), sha256)
    )
    keeper.start()
    for _ in range(1000):  # until it has begun
        if shelf.folder.exists() and any(shelf.folder.iterdir()):
            break
        time.sleep(0.01)
    time.sleep(after_s)
    keeper.kill()
    keeper.join()
    assert shelf.all() == () or shelf.faults() == ()
    kept = shelf.keep(path, sha256)
    assert shelf.faults() == ()
    assert b"".join(unpacked(kept)) == path.read_bytes()
