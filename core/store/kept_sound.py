"""Recordings that are kept beside a library, and copied into its backups if somebody wants it.

Each is a file that was read for a reading, named by what it was called and its SHA-256: the
fingerprint that the reading keeps. So nothing else needs to say which is which, the same sound is
kept once, and a copy is worth something only after it was read back. Where FLAC holds it exactly it
is packed so, and the fingerprint is that of the file that comes out of it again; else it is kept as
it is.
"""

from __future__ import annotations

import hashlib
import re
import shutil
from collections.abc import Callable, Collection, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from core.store import file_problems
from core.store.backend import WorkStoppedError
from core.store.files import PRIVATE, UNFINISHED, make_private_folder, replacing, was_left_behind

ROOM_LEFT_BYTES: Final = 64 * 1024 * 1024
"""What a copy leaves free on the disk: entries come before sound."""

_NAMED: Final = re.compile(r" ([0-9a-f]{64})\.[A-Za-z0-9]{1,8}$")
_FINGERPRINT: Final = re.compile(r"[0-9a-f]{64}")
_STRANGE: Final = re.compile(r"[^\w .()-]+")
_LONGEST_NAME: Final = 60
_PIECE: Final = 1 << 20


@dataclass(frozen=True, slots=True)
class KeptSound:
    """One recording: its fingerprint, its file and its size in bytes."""

    sha256: str
    path: Path
    size: int


@dataclass(frozen=True, slots=True)
class SoundShelf:
    """A folder of recordings. It is made with the first one."""

    folder: Path

    def all(self) -> tuple[KeptSound, ...]:
        """Return the recordings, by name; none where the folder is not there."""
        found: list[KeptSound] = []
        with suppress(OSError):
            for path in sorted(self.folder.iterdir()):
                named = _NAMED.search(path.name)
                if named is not None and path.is_file() and not path.is_symlink():
                    found.append(KeptSound(named[1], path, path.stat().st_size))
        return tuple(found)

    def find(self, sha256: str) -> Path | None:
        """Return the file of a fingerprint, if it is kept."""
        return next((one.path for one in self.all() if one.sha256 == sha256), None)

    def keep(
        self, source: Path, sha256: str, name: str = "", go_on: Callable[[], bool] = lambda: True
    ) -> Path:
        """Keep a file under its fingerprint and its name; one that is kept stays.

        LibraryProblem, and nothing is kept, if the disk refuses, or if the file is not the one
        that was read: another has taken its name since. WorkStoppedError once ``go_on`` says no.
        """
        if not _FINGERPRINT.fullmatch(sha256):
            raise file_problems.sound_changed(source)
        there = self.find(sha256)
        if there is not None and _is_sound(there, sha256, go_on):
            return there
        name = name or source.name
        try:
            size = source.stat().st_size
            make_private_folder(self.folder)
            if shutil.disk_usage(self.folder).free < size + ROOM_LEFT_BYTES:
                raise file_problems.no_room_for_sound(self.folder, size)
        except OSError as error:
            raise file_problems.of_os_error(error, source) from error
        kept = self._packed(source, sha256, name, go_on) or self._copied(
            source, sha256, name, go_on
        )
        if there is not None and there != kept:
            with suppress(OSError):  # spoilt, and no longer found first
                there.unlink()
        return kept

    def _packed(
        self, source: Path, sha256: str, name: str, go_on: Callable[[], bool]
    ) -> Path | None:
        """Keep a file as FLAC; None where the very same file would not come out again."""
        from core.recordings import pack  # imported with the first sound that is kept

        target = self.folder / _name_of(f"{Path(name).stem}.flac", sha256)
        try:
            with replacing(target, PRIVATE) as temporary:
                packing = pack(source, temporary)
                while True:
                    try:
                        next(packing)
                    except StopIteration as end:
                        if not end.value or _fingerprint(_unpacked(temporary, go_on)) != sha256:
                            raise _NotTheSameError from None
                        break
                    _stop_unless(go_on)
        except _NotTheSameError:
            return None
        return target

    def _copied(self, source: Path, sha256: str, name: str, go_on: Callable[[], bool]) -> Path:
        target = self.folder / _name_of(name, sha256)
        with replacing(target, PRIVATE) as temporary:
            with temporary.open("wb") as stream:
                for piece in _pieces(source, go_on):
                    stream.write(piece)
            if not _is_sound(temporary, sha256, go_on):
                raise file_problems.sound_changed(source)
        return target

    def take_from(
        self,
        other: SoundShelf,
        wanted: Collection[str] | None = None,
        go_on: Callable[[], bool] = lambda: True,
    ) -> int:
        """Keep what another shelf has and this one lacks; return how many came.

        ``wanted`` are the fingerprints asked for; None for all.
        """
        kept = {one.sha256 for one in self.all()}
        came = 0
        for one in other.all():
            if one.sha256 in kept or (wanted is not None and one.sha256 not in wanted):
                continue
            self.keep(one.path, one.sha256, _said_of(one.path), go_on)
            came += 1
        return came

    def faults(self, go_on: Callable[[], bool] = lambda: True) -> tuple[Path, ...]:
        """Return the files that are no longer what their fingerprints say."""
        return tuple(one.path for one in self.all() if not _is_sound(one.path, one.sha256, go_on))

    def drop_all_but(self, wanted: Collection[str]) -> None:
        """Delete the recordings that are not wanted; LibraryProblem if the disk refuses."""
        for one in self.all():
            if one.sha256 not in wanted:
                try:
                    one.path.unlink(missing_ok=True)
                except OSError as error:
                    raise file_problems.of_os_error(error, one.path) from error

    def sweep_up(self) -> None:
        """Delete what copies that were cut short have left behind."""
        with suppress(OSError):
            for leftover in self.folder.glob(f".*{UNFINISHED}"):
                with suppress(OSError):  # another window may be quicker
                    if was_left_behind(leftover):
                        leftover.unlink()


def _name_of(name: str, sha256: str) -> str:
    """Return a name that any disk takes: what the file was called, and its fingerprint."""
    path = Path(name)
    stem = _STRANGE.sub("_", path.stem)[:_LONGEST_NAME].strip(" .") or "sound"
    ending = path.suffix if re.fullmatch(r"\.[A-Za-z0-9]{1,8}", path.suffix) else ".sound"
    return f"{stem} {sha256}{ending.lower()}"


def _said_of(path: Path) -> str:
    """Return what a kept file was called."""
    return f"{path.stem[:-65]}{path.suffix}"


class _NotTheSameError(Exception):
    """What comes out of a packed file is not what went in."""


def _is_sound(path: Path, sha256: str, go_on: Callable[[], bool]) -> bool:
    """Whether a file is the one of a fingerprint, or holds it packed."""
    try:
        return sha256 == _fingerprint(_pieces(path, go_on)) or sha256 == _fingerprint(
            _unpacked(path, go_on)
        )
    except OSError:
        return False


def _fingerprint(pieces: Iterator[bytes]) -> str:
    found = hashlib.sha256()
    for piece in pieces:
        found.update(piece)
    return found.hexdigest()


def _pieces(path: Path, go_on: Callable[[], bool]) -> Iterator[bytes]:
    with path.open("rb") as stream:
        while piece := stream.read(_PIECE):
            _stop_unless(go_on)
            yield piece


def _unpacked(path: Path, go_on: Callable[[], bool]) -> Iterator[bytes]:
    """Yield what was packed into a file, as far as there is any."""
    from core.recordings import NotPackedError, unpacked  # imported with the first sound

    with suppress(NotPackedError):
        for piece in unpacked(path):
            _stop_unless(go_on)
            yield piece


def _stop_unless(go_on: Callable[[], bool]) -> None:
    if not go_on():
        raise WorkStoppedError
