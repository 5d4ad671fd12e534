"""Write files atomically: temporary file, fsync, rename."""

from __future__ import annotations

import os
import stat
import sys
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from uuid import uuid4

from core.store.file_problems import not_written

UNFINISHED = ".unfinished"
"""Suffix of unfinished files, which are safe to delete."""
LEFT_BEHIND_S = 3600.0
"""Seconds without a write after which an unfinished file is given up."""
_NOTE = ".setdown-{}.note"
PRIVATE = 0o600
"""File mode of private files: read and written by their owner only."""
_PRIVATE_FOLDER = 0o700


def make_private(path: Path) -> None:
    """Create an empty file that only its owner can read; leave an existing one as it is."""
    with suppress(OSError):  # whoever opens it next says what is wrong
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, PRIVATE))


def make_private_folder(folder: Path) -> None:
    """Create a folder and its parents, for their owner only; leave existing ones as they are."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    folder.mkdir(mode=_PRIVATE_FOLDER, exist_ok=True)


def mode_of(path: Path) -> int | None:
    """Return the permission bits of a file, as for chmod; None if it does not exist."""
    try:
        return stat.S_IMODE(path.stat().st_mode)
    except OSError:
        return None


@contextmanager
def replacing(path: Path, mode: int | None = None, notes: Path | None = None) -> Iterator[Path]:
    """Yield a temporary path beside ``path``; on leaving, it replaces ``path``.

    The file gets this mode, else that of the file it replaces. After an exception ``path`` is
    unchanged. The temporary path is noted in the folder ``notes`` meanwhile, so that
    :func:`sweep_up` finds it if the program is killed. Raises LibraryProblem for errors of the
    disk.
    """
    key = uuid4().hex
    temporary = path.with_name(f".{path.name}.{key}{UNFINISHED}")
    mode = mode_of(path) if mode is None else mode
    note = None if notes is None else notes / _NOTE.format(key)
    try:
        if note is not None:
            with suppress(OSError):  # a folder without write permission has nothing to sweep
                note.write_text(str(temporary.absolute()), encoding="utf-8")
        if mode is not None:
            make_private(temporary)
        yield temporary
        if mode is not None:
            temporary.chmod(mode)
        sync_file(temporary)
        temporary.replace(path)
        sync_folder(path.parent)
    except OSError as error:
        raise not_written(error, path) from error
    finally:
        with suppress(OSError):  # the disk may be gone; raise the first error
            temporary.unlink(missing_ok=True)
            if note is not None:
                note.unlink(missing_ok=True)


def sweep_up(notes: Path) -> None:
    """Delete abandoned unfinished files that are noted in a folder, with their notes.

    A file on a disk that is not there now keeps its note.
    """
    with suppress(OSError):
        for note in notes.glob(_NOTE.format("*")):
            with suppress(OSError, ValueError):
                left = Path(note.read_text(encoding="utf-8"))
                is_ours = left.name.startswith(".") and left.suffix == UNFINISHED
                if is_ours and left.parent.is_dir() and was_left_behind(note):
                    if left.exists() and not was_left_behind(left):
                        continue  # a long export still in progress
                    left.unlink(missing_ok=True)
                    note.unlink()


def was_left_behind(path: Path) -> bool:
    """Whether an unfinished file was abandoned, by the time of its last write."""
    return time.time() - path.stat().st_mtime > LEFT_BEHIND_S


def write_whole(
    path: Path, pieces: Iterable[str], mode: int | None = None, notes: Path | None = None
) -> None:
    """Write text as UTF-8 atomically: ``path`` holds all of it or what it held before.

    Mode and notes as in :func:`replacing`.
    """
    with (
        replacing(path, mode, notes) as temporary,
        temporary.open("w", encoding="utf-8", newline="\n") as stream,
    ):
        stream.writelines(pieces)


def sync_file(path: Path) -> None:
    """Flush a file's contents to the disk."""
    with path.open("rb+") as stream:
        os.fsync(stream.fileno())


def sync_folder(folder: Path) -> None:
    """Flush a rename in this folder to the disk; does nothing on Windows."""
    if sys.platform == "win32":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
