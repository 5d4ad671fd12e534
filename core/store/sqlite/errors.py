"""SQLite's errors as problems for a person."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from core.language import message
from core.store import file_problems
from core.store.problems import LibraryProblem, unsuitable


@contextmanager
def as_problems(path: Path) -> Iterator[None]:
    """Raise SQLite's errors about the file at ``path`` as LibraryProblem."""
    try:
        yield
    except sqlite3.Error as error:
        problem = _problem_of(error, path)
        if problem is None:
            raise
        raise problem from error
    except OverflowError as error:
        raise unsuitable(message("storage.number_too_large")) from error
    except UnicodeEncodeError as error:
        raise unsuitable(message("storage.half_a_character")) from error


_PLAIN: Final[dict[int, Callable[[Path], LibraryProblem]]] = {
    sqlite3.SQLITE_BUSY: file_problems.locked,
    sqlite3.SQLITE_LOCKED: file_problems.locked,
    sqlite3.SQLITE_PROTOCOL: file_problems.locked,
    sqlite3.SQLITE_READONLY: file_problems.read_only,
    sqlite3.SQLITE_PERM: file_problems.read_only,
    sqlite3.SQLITE_AUTH: file_problems.read_only,
    sqlite3.SQLITE_FULL: file_problems.full,
    sqlite3.SQLITE_CORRUPT: file_problems.damaged,
    sqlite3.SQLITE_NOTADB: file_problems.no_database,
    sqlite3.SQLITE_CONSTRAINT: file_problems.contradiction,
    sqlite3.SQLITE_MISMATCH: file_problems.contradiction,
    sqlite3.SQLITE_TOOBIG: file_problems.contradiction,
}


def _problem_of(error: sqlite3.Error, path: Path) -> LibraryProblem | None:
    """Return the problem for an error; None for a mistake in the program."""
    code = getattr(error, "sqlite_errorcode", None)
    if code is None:
        return None
    if code == sqlite3.SQLITE_READONLY_DBMOVED:
        return file_problems.vanished(path)
    primary = code & 0xFF  # the higher bits say where in SQLite it happened
    if primary in (sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN):
        return _problem_of_disk(error, path)
    make = _PLAIN.get(primary)
    return None if make is None else make(path)


def _problem_of_disk(error: sqlite3.Error, path: Path) -> LibraryProblem:
    if not path.parent.is_dir():
        return file_problems.missing_folder(path)
    if not path.exists() and os.access(path.parent, os.W_OK):
        return file_problems.vanished(path)
    if file_problems.has_no_room(path):
        return file_problems.full(path)
    if not os.access(path.parent, os.W_OK):
        return file_problems.read_only(path)
    return file_problems.disk_fault(path, getattr(error, "sqlite_errorname", "") or str(error))
