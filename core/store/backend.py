"""The interface of a storage engine, and of a library's address.

:class:`core.store.sqlite.file.SqliteFile` is the engine of library files. Another engine brings a
class with the methods of :class:`Backend` and a kind of :class:`LibraryAddress` that opens it. SQL,
placeholders and locks stay inside the engine. Tables and columns are those of
:mod:`core.store.sqlite.schema`. Every failure is raised as a
:class:`~core.store.problems.LibraryProblem` in the engine's own words.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, Protocol

from core.language import Message
from core.store.problems import LibraryProblem

RowValues = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Above:
    """A condition: the column's value is larger than this one."""

    value: str | int


Conditions = Mapping[str, str | int | Above | tuple[str | int, ...]]
"""Conditions on columns, all of which must hold: a value, one of several, or above a value."""


class WorkStoppedError(Exception):
    """Raised when a backup, export or import is cancelled."""


@dataclass(frozen=True, slots=True)
class Backup:
    """One backup: its file and the moment it was made (UTC)."""

    path: Path
    at: datetime
    sound_left: LibraryProblem | None = field(default=None, compare=False)
    """Why its recordings were not copied; None if they were, or were not wanted."""


@dataclass(frozen=True, slots=True)
class SoundsTold:
    """The number of recordings beside the library and in its backups, and their size in bytes."""

    beside: int
    beside_bytes: int
    in_backups: int
    in_backups_bytes: int


@dataclass(frozen=True, slots=True)
class BackupContents:
    """The number of records in a library or backup, and its size in bytes."""

    decks: int
    cartridges: int
    fittings: int
    entries: int
    size: int


@dataclass(slots=True)
class Salvage:
    """The readable rows of a damaged library by table, and the keys of the unreadable ones.

    ``repeated`` holds, by table, the columns of unreadable rows that the library repeats elsewhere.
    ``cut`` names the tables that may lack more rows than can be counted.
    """

    rows: dict[str, list[dict[str, Any]]] = field(default_factory=dict)
    missing: dict[str, list[RowValues]] = field(default_factory=dict)
    repeated: dict[str, list[dict[str, Any]]] = field(default_factory=dict)
    cut: set[str] = field(default_factory=set)
    contents: Callable[[Iterable[str]], Iterator[tuple[str, bytes, bytes]]] = field(
        default=lambda _hashes: iter(())
    )
    """Takes digests; yields digest, picture and thumbnail, one at a time, as far as readable.

    The yields stop at what can't be read.
    """


class Backups(Protocol):
    """Dated copies of a library as files. The library itself may be damaged or missing."""

    @property
    def folder(self) -> Path:
        """The folder for the next copy."""

    @property
    def elsewhere(self) -> Path | None:
        """The chosen backup folder, whether or not it is there now; None if none was chosen."""

    def put_in(self, folder: Path | None) -> None:
        """Make the next copies inside this folder, None for beside the library.

        Copies that exist stay where they are. Raises LibraryProblem if the folder is not writable.
        """

    @property
    def newest_kept(self) -> int:
        """How many of the newest are kept, in addition to the newest of every month."""

    @property
    def takes_sound(self) -> bool:
        """Whether backups include the recordings that are kept beside the library."""

    def take_sound(self, *, wanted: bool) -> None:
        """Include recordings in backups from the next one on, or stop including them."""

    def sounds(self) -> SoundsTold:
        """Return the number of recordings and the space they take."""

    def all(self) -> tuple[Backup, ...]:
        """Return the backups, newest first."""

    def warning(self) -> Message | None:
        """Return a warning about the backup folder, or None."""

    def is_due(self, now: datetime | None = None) -> bool:
        """Whether today (by ``now``) has no backup yet and there is something new to back up."""

    def make(
        self, now: datetime | None = None, *, go_on: Callable[[], bool] = lambda: True
    ) -> Backup:
        """Back up the library while it is in use; may run in a thread of its own.

        Calls ``go_on`` from time to time. Once it returns False, raises WorkStoppedError and leaves
        nothing behind.
        """

    def contents_of(self, backup: Path) -> BackupContents:
        """Return the contents of a backup; raises LibraryProblem if it can't be read."""

    def restore(self, backup: Path, *, wait_s: float = 5.0) -> Path | None:
        """Restore the library from a backup; return where the previous state was saved.

        Nobody else can write between saving and restoring.
        """

    def rework(self, backup: Path, work: Callable[[Any], bool]) -> None:
        """Change a backup, opened as a Backend; either the whole change is kept or none of it.

        ``work`` returns whether it changed anything. After a LibraryProblem the backup is
        unchanged.
        """

    def set_aside(self, now: datetime | None = None) -> Path:
        """Move an unusable library away without deleting anything; return its new place."""


class Sounds(Protocol):
    """Recordings kept beside a library, each named by its SHA-256."""

    def keep(
        self, source: Path, sha256: str, name: str = "", go_on: Callable[[], bool] = lambda: True
    ) -> Path:
        """Keep a file under its fingerprint and name; raises LibraryProblem if that fails."""


class LibraryAddress(Protocol):
    """The address of a library; its text is shown to the person."""

    def resolved(self) -> LibraryAddress:
        """Return the absolute address; raises NOT_A_LIBRARY if it can't be a library's."""

    def open(self, *, read_only: bool, begin_anew: bool, wait_s: float) -> Backend:
        """Open the library there, or create it; see :meth:`core.store.library.Library.open`."""

    @property
    def backups(self) -> Backups | None:
        """Its backups as files; None for an engine that is backed up in another way."""

    @property
    def sounds(self) -> Sounds | None:
        """The recordings kept beside it; None for an engine without such a place."""

    @property
    def folder(self) -> Path:
        """The folder in which file dialogs open first."""

    def warning(self) -> Message | None:
        """Return a warning about this place, or None."""

    def is_at(self, path: Path) -> bool:
        """Whether the file at ``path`` is this same library."""

    def may_be_library(self, path: Path) -> bool:
        """Whether a file is this library or is named like one. The file is not opened."""

    def salvage(self, go_on: Callable[[], bool] = lambda: True) -> Salvage:
        """Return what is readable of a damaged library, without changing it.

        Raises LibraryProblem if nothing is readable; WorkStoppedError once ``go_on`` returns False.
        """

    def for_rehearsals(self) -> LibraryAddress:
        """Return the address of this library's rehearsals."""


class Backend(Protocol):
    """An open library in one engine. Belongs to one thread."""

    @property
    def read_only(self) -> bool:
        """Whether it was opened read-only: transactions then raise READ_ONLY."""

    def close(self) -> None:
        """Close it. Closing twice does nothing."""

    def select(
        self,
        table: str,
        columns: Sequence[str],
        where: Conditions | None = None,
        *,
        order: Sequence[str] = (),
        limit: int | None = None,
    ) -> list[RowValues]:
        """Return the rows that meet all conditions; ``-at`` in ``order`` sorts descending."""

    def select_in_parts(
        self, table: str, columns: Sequence[str], where: Conditions | None = None
    ) -> Iterator[list[RowValues]]:
        """Yield the rows that meet all conditions, some at a time, in no order.

        For tables of many rows of which little is kept: the others need no room at the same time.
        Nothing is written before all are read.
        """

    def insert(self, table: str, columns: Sequence[str], rows: Sequence[Sequence[Any]]) -> None:
        """Add rows, inside a transaction."""

    def update(self, table: str, values: Mapping[str, Any], where: Conditions) -> None:
        """Change the rows that meet all conditions, inside a transaction."""

    def delete(self, table: str, where: Conditions) -> None:
        """Remove the rows that meet all conditions, inside a transaction.

        Only drafts, forgotten customers and erased pictures are ever removed.
        """

    def transaction(self, *, hurried: bool = False) -> AbstractContextManager[None]:
        """Hold the write lock. On leaving, all changes are durable, or none was made.

        Joins an enclosing transaction. An engine with locks waits for other windows as long as
        :meth:`LibraryAddress.open` was told, then raises LOCKED. A ``hurried`` transaction doesn't
        wait; its changes may be lost in a power cut until an ordinary transaction has followed.
        """

    def snapshot(self) -> AbstractContextManager[None]:
        """Read the library as it is at one instant, whatever others write meanwhile."""

    def others_wrote(self) -> int | None:
        """Return a number that changes whenever others have written; None if that is unknown.

        Drafts of others need not change it. Raises VANISHED if the library is no longer where it
        was opened.
        """

    def settle(self, *, drafts: bool = True) -> bool:
        """Move confirmed changes to where a copy of the library includes them.

        Without ``drafts``, does nothing if drafts alone are new. Returns whether everything was
        moved; always True for an engine without such a step. Raises VANISHED if the library is no
        longer where it was opened.
        """

    @property
    def notice(self) -> Message | None:
        """What a person should know about how the library was opened, in sentences; or None."""

    def faults(self, go_on: Callable[[], bool] = lambda: True) -> list[str]:
        """Check everything and return the faults found; empty if there are none.

        Calls ``go_on`` from time to time; raises WorkStoppedError once it returns False.
        """

    def damaged(self) -> LibraryProblem:
        """Return the problem of a library in which faults were found."""

    def unreadable(self, what: Message) -> LibraryProblem:
        """Return the problem of a record that can't be read; ``what`` names it."""
