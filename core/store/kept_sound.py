"""Recordings kept beside a library, and copied into its backups on request.

Each is a file that a reading was taken from, named by its original name and its SHA-256: the
fingerprint that the reading keeps. So no other index is needed, the same sound is kept once, and
every copy is verified by reading it back. Where FLAC reproduces the file exactly it is packed as
FLAC; the fingerprint is that of the unpacked file. Otherwise it is kept as it is.
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
from core.store.problems import LibraryProblem

ROOM_LEFT_BYTES: Final = 64 * 1024 * 1024
"""Bytes that a copy leaves free on the disk: entries come before sound."""

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
    """A folder of recordings. It is created with the first one."""

    folder: Path

    def all(self) -> tuple[KeptSound, ...]:
        """Return the recordings, by name; empty if there is no folder, or it can't be read."""
        try:
            return self._listed()
        except LibraryProblem:
            return ()

    def _listed(self) -> tuple[KeptSound, ...]:
        """Return the recordings, by name; LibraryProblem if the folder can't be read."""
        try:
            paths = sorted(self.folder.iterdir())
        except FileNotFoundError:
            return ()
        except PermissionError as error:
            raise file_problems.sound_unread(self.folder) from error
        except OSError as error:
            raise file_problems.of_os_error(error, self.folder) from error
        found: list[KeptSound] = []
        for path in paths:
            named = _NAMED.search(path.name)
            with suppress(OSError):  # another window may have dropped it meanwhile
                if named is not None and path.is_file() and not path.is_symlink():
                    found.append(KeptSound(named[1], path, path.stat().st_size))
        return tuple(found)

    def find(self, sha256: str) -> Path | None:
        """Return the file with this fingerprint, or None."""
        return next((one.path for one in self.all() if one.sha256 == sha256), None)

    def keep(
        self, source: Path, sha256: str, name: str = "", go_on: Callable[[], bool] = lambda: True
    ) -> Path:
        """Keep a file under its fingerprint and name; a recording that is there stays.

        Raises LibraryProblem, keeping nothing, if the disk fails or the file is no longer the one
        that was read; WorkStoppedError once ``go_on`` returns False.
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
            with suppress(OSError):  # damaged: it must not be found first again
                there.unlink()
        return kept

    def _packed(
        self, source: Path, sha256: str, name: str, go_on: Callable[[], bool]
    ) -> Path | None:
        """Keep a file as FLAC; return None if unpacking would not give the same bytes."""
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
        """Copy from another shelf what this one lacks; return how many were copied.

        ``wanted`` are the fingerprints to copy; None for all. Raises LibraryProblem if a folder
        can't be read: a copy without its recordings must not pass for a whole one.
        """
        kept = {one.sha256 for one in self._listed()}
        came = 0
        for one in other._listed():
            if one.sha256 in kept or (wanted is not None and one.sha256 not in wanted):
                continue
            self.keep(one.path, one.sha256, _said_of(one.path), go_on)
            came += 1
        return came

    def faults(self, go_on: Callable[[], bool] = lambda: True) -> tuple[Path, ...]:
        """Return the files whose content does not match their fingerprint."""
        return tuple(one.path for one in self.all() if not _is_sound(one.path, one.sha256, go_on))

    def drop_all_but(self, wanted: Collection[str]) -> None:
        """Delete the recordings that are not wanted; raises LibraryProblem if the disk fails."""
        for one in self.all():
            if one.sha256 not in wanted:
                try:
                    one.path.unlink(missing_ok=True)
                except OSError as error:
                    raise file_problems.of_os_error(error, one.path) from error

    def sweep_up(self) -> None:
        """Delete the remains of interrupted copies."""
        with suppress(OSError):
            for leftover in self.folder.glob(f".*{UNFINISHED}"):
                with suppress(OSError):  # another window may be quicker
                    if was_left_behind(leftover):
                        leftover.unlink()


def _name_of(name: str, sha256: str) -> str:
    """Return a file name valid on any disk: original name and fingerprint."""
    path = Path(name)
    stem = _STRANGE.sub("_", path.stem)[:_LONGEST_NAME].strip(" .") or "sound"
    ending = path.suffix if re.fullmatch(r"\.[A-Za-z0-9]{1,8}", path.suffix) else ".sound"
    return f"{stem} {sha256}{ending.lower()}"


def _said_of(path: Path) -> str:
    """Return the original name of a kept file."""
    return f"{path.stem[:-65]}{path.suffix}"


class _NotTheSameError(Exception):
    """Unpacking gave other bytes than were packed."""


def _is_sound(path: Path, sha256: str, go_on: Callable[[], bool]) -> bool:
    """Whether a file, packed or not, matches a fingerprint."""
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
    """Yield the unpacked bytes of a file, as far as it is readable."""
    from core.recordings import NotPackedError, unpacked  # imported with the first sound

    with suppress(NotPackedError):
        for piece in unpacked(path):
            _stop_unless(go_on)
            yield piece


def _stop_unless(go_on: Callable[[], bool]) -> None:
    if not go_on():
        raise WorkStoppedError
