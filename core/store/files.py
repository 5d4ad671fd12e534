"""Files that appear whole or not at all: temporary file, fsync, rename."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from uuid import uuid4

from core.store.file_problems import of_os_error

UNFINISHED = ".unfinished"
"""Ending of files that were not finished: safe to delete."""


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """Yield a temporary path beside ``path``; on leaving, what was written there takes its place.

    After an exception ``path`` is as it was. LibraryProblem for whatever the disk refuses.
    """
    temporary = path.with_name(f".{path.name}.{uuid4().hex}{UNFINISHED}")
    try:
        yield temporary
        sync_file(temporary)
        temporary.replace(path)
        sync_folder(path.parent)
    except OSError as error:
        raise of_os_error(error, path) from error
    finally:
        with suppress(
            OSError
        ):  # the disk may be gone altogether; the first error is the one to tell
            temporary.unlink(missing_ok=True)


def write_whole(path: Path, pieces: Iterable[str]) -> None:
    """Write text as UTF-8 so that ``path`` holds all of it or what it held before."""
    with (
        replacing(path) as temporary,
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
