"""What a storage engine offers to the library, and where a library is.

:class:`core.store.sqlite.file.SqliteFile` is the engine of library files. Another engine brings a
class with the methods of :class:`Backend` and a kind of :class:`LibraryAddress` that opens it; no
SQL, placeholder or lock is known outside an engine. Tables and columns are those of
:mod:`core.store.sqlite.schema`. Every failure comes out as a
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

Row = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Above:
    """A condition: the column's value is larger than this one."""

    value: str | int


Where = Mapping[str, str | int | Above | tuple[str | int, ...]]
"""Conditions on columns, all of which must hold: a value, one of several, or above a value."""


class WorkStoppedError(Exception):
    """A backup, export or import was stopped because it is no longer wanted."""


@dataclass(frozen=True, slots=True)
class Backup:
    """One backup: its file and the moment it was made (UTC)."""

    path: Path
    at: datetime
    sound_left: LibraryProblem | None = field(default=None, compare=False)
    """Why recordings were not copied with it, where they should have been."""


@dataclass(frozen=True, slots=True)
class SoundsTold:
    """How many recordings are kept beside the library and in its backups, and their bytes."""

    beside: int
    beside_bytes: int
    in_backups: int
    in_backups_bytes: int


@dataclass(frozen=True, slots=True)
class BackupContents:
    """How many records a library or backup holds, and its size in bytes."""

    decks: int
    cartridges: int
    fittings: int
    entries: int
    size: int


@dataclass(slots=True)
class Salvage:
    """What can be read of a damaged library: rows by table, and the keys of those that can't.

    ``repeated`` holds, by table, the columns of such rows that the library repeats elsewhere.
    ``cut`` names the tables of which more may be missing than anybody can tell.
    """

    rows: dict[str, list[dict[str, Any]]] = field(default_factory=dict)
    missing: dict[str, list[Row]] = field(default_factory=dict)
    repeated: dict[str, list[dict[str, Any]]] = field(default_factory=dict)
    cut: set[str] = field(default_factory=set)
    contents: Callable[[Iterable[str]], Iterator[tuple[str, bytes, bytes]]] = field(
        default=lambda _hashes: iter(())
    )
    """Yields what pictures show, one after the other, as far as it can be read.

    It is asked with digests, and yields the digest, the picture and the small one.
    """


class Backups(Protocol):
    """Dated copies of a library as files; the library need not be sound, nor be there."""

    @property
    def folder(self) -> Path:
        """Where the next copy is made."""

    @property
    def elsewhere(self) -> Path | None:
        """The folder that was asked for, whether it is there now or not; None if none was."""

    def put_in(self, folder: Path | None) -> None:
        """Make the next copies inside this folder, None for beside the library; the others stay.

        LibraryProblem if nothing can be written there.
        """

    @property
    def newest_kept(self) -> int:
        """How many of the newest are kept, beside the newest of every month."""

    @property
    def takes_sound(self) -> bool:
        """Whether backups take the recordings along that are kept beside the library."""

    def take_sound(self, *, wanted: bool) -> None:
        """Let backups take recordings along from the next one on, or no more."""

    def sounds(self) -> SoundsTold:
        """Return how many recordings there are, and how much room they take."""

    def all(self) -> tuple[Backup, ...]:
        """Return the backups, newest first."""

    def warning(self) -> Message | None:
        """Return what a person should know about their place, or None."""

    def is_due(self, now: datetime | None = None) -> bool:
        """Whether today, by the clock of ``now``, has no backup yet and there is something new."""

    def make(
        self, now: datetime | None = None, *, go_on: Callable[[], bool] = lambda: True
    ) -> Backup:
        """Back the library up while it may be in use; can run in a thread of its own.

        ``go_on`` is asked now and then; once it says no, WorkStoppedError, and nothing stays.
        """

    def contents_of(self, backup: Path) -> BackupContents:
        """Return what is in a backup; LibraryProblem if it can't be read."""

    def restore(self, backup: Path, *, wait_s: float = 5.0) -> Path | None:
        """Put the library back as it was in a backup; return where the earlier state is kept.

        Nobody else can write between the keeping and the putting back.
        """

    def rework(self, backup: Path, work: Callable[[Any], bool]) -> None:
        """Do something to a backup, opened as a Backend; it stays whole whatever happens.

        ``work`` says whether it changed anything. LibraryProblem, and all is as it was.
        """

    def set_aside(self, now: datetime | None = None) -> Path:
        """Move an unusable library away without deleting anything; return where it is now."""


class Sounds(Protocol):
    """Recordings kept beside a library, each under its SHA-256."""

    def find(self, sha256: str) -> Path | None:
        """Return the file of a fingerprint, if it is kept."""

    def keep(
        self, source: Path, sha256: str, name: str = "", go_on: Callable[[], bool] = lambda: True
    ) -> Path:
        """Keep a file under its fingerprint and its name; LibraryProblem if that fails."""


class LibraryAddress(Protocol):
    """Where a library is; its text is what a person is shown."""

    def resolved(self) -> LibraryAddress:
        """Return the same place written in full; NOT_A_LIBRARY if it can't be one."""

    def open(self, *, read_only: bool, begin_anew: bool, wait_s: float) -> Backend:
        """Open the library there, or begin one; see :meth:`core.store.library.Library.open`."""

    @property
    def backups(self) -> Backups | None:
        """Its backups as files; None where the engine is backed up in another way."""

    @property
    def sounds(self) -> Sounds | None:
        """Where recordings are kept beside it; None where the engine has no such place."""

    @property
    def folder(self) -> Path:
        """The folder in which a person is asked for documents and other libraries first."""

    def warning(self) -> Message | None:
        """Return what a person should know about this place, or None."""

    def is_at(self, path: Path) -> bool:
        """Whether the file at ``path`` is this very library."""

    def may_be_library(self, path: Path) -> bool:
        """Whether a file is this library or has the name of one; it is not opened for that."""

    def salvage(self, go_on: Callable[[], bool] = lambda: True) -> Salvage:
        """Return what can be read of a damaged library, which stays as it is.

        LibraryProblem if nothing of it can be; WorkStoppedError once ``go_on`` says no.
        """

    def for_rehearsals(self) -> LibraryAddress:
        """Return where rehearsals of this library's users are kept."""


class Backend(Protocol):
    """An open library as one engine holds it. It belongs to one thread."""

    @property
    def read_only(self) -> bool:
        """Whether it was opened to look only: a transaction is then refused as READ_ONLY."""

    def close(self) -> None:
        """Close it; closing twice does nothing."""

    def select(
        self,
        table: str,
        columns: Sequence[str],
        where: Where | None = None,
        *,
        order: Sequence[str] = (),
        limit: int | None = None,
    ) -> list[Row]:
        """Return rows that meet all conditions; ``-at`` in ``order`` sorts from last to first."""

    def insert(self, table: str, columns: Sequence[str], rows: Sequence[Sequence[Any]]) -> None:
        """Add rows, inside a transaction."""

    def update(self, table: str, values: Mapping[str, Any], where: Where) -> None:
        """Change the rows that meet all conditions, inside a transaction."""

    def delete(self, table: str, where: Where) -> None:
        """Remove the rows that meet all conditions, inside a transaction.

        Only drafts are ever removed, and who is forgotten: what else was confirmed stays.
        """

    def transaction(self, *, hurried: bool = False) -> AbstractContextManager[None]:
        """Hold the right to write; on leaving, everything is durable, or nothing was changed.

        Inside another transaction it joins that one. An engine with locks waits for other windows
        as long as :meth:`LibraryAddress.open` was told, then raises LOCKED. ``hurried`` doesn't
        wait, and need not outlive a power cut before something ordinary has followed.
        """

    def snapshot(self) -> AbstractContextManager[None]:
        """See the library as it stands at one instant, whatever others write meanwhile."""

    def others_wrote(self) -> int | None:
        """Return a number that changes whenever others have written; None if it can't be told.

        What others type and don't save need not change it.

        VANISHED if the library is no longer where it was opened.
        """

    def settle(self, *, drafts: bool = True) -> bool:
        """Bring what was confirmed to where a copy of the library takes it along.

        Without ``drafts`` those alone are no reason for it. Returns whether all of it is there; for
        an engine without such a place it always is.
        VANISHED if the library is no longer where it was opened.
        """

    @property
    def notice(self) -> Message | None:
        """What was found on opening and a person should know, in sentences; or None."""

    def faults(self, go_on: Callable[[], bool] = lambda: True) -> list[str]:
        """Check everything and return what is wrong with it; empty if it is sound.

        ``go_on`` is asked now and then; WorkStoppedError once it says no.
        """

    def damaged(self) -> LibraryProblem:
        """Return the problem of a library in which faults were found."""

    def unreadable(self, what: Message) -> LibraryProblem:
        """Return the problem of a record this program can't read; ``what`` says which."""
