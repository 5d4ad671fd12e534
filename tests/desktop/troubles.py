"""What can happen to a disk while somebody types: the library is in trouble, then it is not."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Final

import pytest

from core.store import Library, LibraryProblem
from core.store.file_problems import disk_fault, full, locked
from core.store.sqlite.file import SqliteFile

Trouble = Callable[[Library], AbstractContextManager[None]]


def _refusing(problem: Callable[[Path], LibraryProblem]) -> Trouble:
    @contextmanager
    def trouble(library: Library) -> Iterator[None]:
        def refuse(file: SqliteFile, *_given: object) -> None:
            raise problem(file.path)

        with pytest.MonkeyPatch.context() as patch:
            for write in ("insert", "update"):
                patch.setattr(SqliteFile, write, refuse)
            yield

    return trouble


@contextmanager
def _taken_out(library: Library) -> Iterator[None]:
    """Take the file away, as a disk that is pulled out does, and bring it back."""
    away = library.address.path.with_name("elsewhere")
    library.address.path.rename(away)
    yield
    away.rename(library.address.path)


TROUBLES: Final[dict[str, tuple[Trouble, str]]] = {
    "full": (_refusing(full), "is full"),
    "taken out": (_taken_out, "no longer where it was"),
    "faulty": (_refusing(lambda path: disk_fault(path, "I/O error")), "can't be read or written"),
    "locked": (_refusing(locked), "has not finished"),
}
"""By name: how to bring it about, and what the person must be told."""
