"""Check a library file without opening it."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Final

from core.store import file_problems
from core.store.problems import LibraryProblem

_MAGIC: Final = b"SQLite format 3\x00"
_SMALLEST_BYTES: Final = 512
"""The smallest page of a database (SQLite file format 1.3)."""


def check_from_outside(path: Path, *, read_only: bool) -> None:
    """Check the file by its folder entry, before SQLite opens it.

    It is not opened here: closing it would release every lock this process holds on it (POSIX
    advisory locks work so), and another program that closes the library would then delete a log
    that is still in use.
    """
    if path.is_dir():
        raise file_problems.no_library(path, "folder")
    try:
        size = path.stat().st_size
    except FileNotFoundError:
        if read_only:
            raise file_problems.vanished(path) from None
        return
    except OSError as error:
        raise file_problems.of_os_error(error, path) from error
    if size == 0 and not read_only:
        return
    if size < _SMALLEST_BYTES:  # SQLite would take it for an empty database and write to it
        raise _problem_of_stump(path)
    if not os.access(path, os.R_OK):
        raise file_problems.unread(path)
    if not read_only and not (os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)):
        raise file_problems.read_only(path)


def _problem_of_stump(path: Path) -> LibraryProblem:
    """Return the problem of a file too small for a library."""
    try:
        begins_well = path.read_bytes().startswith(_MAGIC)
    except OSError as error:
        return file_problems.of_os_error(error, path)
    if begins_well:
        return file_problems.damaged(path, "end")
    return file_problems.no_database(path)
