"""Files that appear whole or not at all: temporary file, fsync, rename."""

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
"""Ending of files that were not finished: safe to delete."""
LEFT_BEHIND_S = 3600.0
"""A file that is not finished and was not written to for so long will never be."""
_NOTE = ".setdown-{}.note"
PRIVATE = 0o600
"""What is for nobody else: read and written by its owner."""
_PRIVATE_FOLDER = 0o700


def make_private(path: Path) -> None:
    """Make an empty file that is its owner's alone; one that is there stays as it is."""
    with suppress(OSError):  # whoever opens it next says what is wrong
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, PRIVATE))


def make_private_folder(folder: Path) -> None:
    """Make a folder that is its owner's alone, and those above it; one that is there stays."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    folder.mkdir(mode=_PRIVATE_FOLDER, exist_ok=True)


def mode_of(path: Path) -> int | None:
    """Return who may do what with a file, as for chmod; None if it is not there."""
    try:
        return stat.S_IMODE(path.stat().st_mode)
    except OSError:
        return None


@contextmanager
def replacing(path: Path, mode: int | None = None, notes: Path | None = None) -> Iterator[Path]:
    """Yield a temporary path beside ``path``; on leaving, what was written there takes its place.

    It gets this mode, else that of the file it replaces. After an exception ``path`` is as it was.
    In the folder ``notes`` it is noted meanwhile where it lies: a program that is killed leaves it
    behind, and :func:`sweep_up` finds it. LibraryProblem for whatever the disk refuses.
    """
    key = uuid4().hex
    temporary = path.with_name(f".{path.name}.{key}{UNFINISHED}")
    mode = mode_of(path) if mode is None else mode
    note = None if notes is None else notes / _NOTE.format(key)
    try:
        if note is not None:
            with suppress(OSError):  # a folder that can't be written has nothing to be swept
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
        with suppress(
            OSError
        ):  # the disk may be gone altogether; the first error is the one to tell
            temporary.unlink(missing_ok=True)
            if note is not None:
                note.unlink(missing_ok=True)


def sweep_up(notes: Path) -> None:
    """Delete the unfinished files that are noted in a folder and were left behind, with the notes.

    Wherever they lie: one on a disk that is not there now keeps its note.
    """
    with suppress(OSError):
        for note in notes.glob(_NOTE.format("*")):
            with suppress(OSError, ValueError):
                left = Path(note.read_text(encoding="utf-8"))
                is_ours = left.name.startswith(".") and left.suffix == UNFINISHED
                if is_ours and left.parent.is_dir() and was_left_behind(note):
                    if left.exists() and not was_left_behind(left):
                        continue  # a long export that is still being written
                    left.unlink(missing_ok=True)
                    note.unlink()


def was_left_behind(path: Path) -> bool:
    """Whether nobody wrote to a file for so long that nobody will."""
    return time.time() - path.stat().st_mtime > LEFT_BEHIND_S


def write_whole(
    path: Path, pieces: Iterable[str], mode: int | None = None, notes: Path | None = None
) -> None:
    """Write text as UTF-8 so that ``path`` holds all of it or what it held before.

    Mode and notes are those of :func:`replacing`.
    """
    with (
        replacing(path, mode, notes) as temporary,
        temporary.open("w", encoding="utf-8", newline="\n") as stream,
    ):
        stream.writelines(pieces)


def sync_file(path: Path) -> None:
    """Return once the file's contents are on the disk."""
    with path.open("rb+") as stream:
        os.fsync(stream.fileno())


def sync_folder(folder: Path) -> None:
    """Return once a rename in this folder is on the disk; Windows has no such call."""
    if sys.platform == "win32":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
