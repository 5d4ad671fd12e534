"""Dated backups beside a library file, and the way back from one.

They lie in a folder ``backups`` next to the library, each a whole library file of its own named
after the library and the moment (UTC). Stored are the newest ten and the newest of every month. A
library to which nothing was written since the newest backup needs none.
"""

from __future__ import annotations

import re
import shutil
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from glob import escape
from pathlib import Path
from typing import Final

from core.store import file_problems
from core.store.backend import Backup, BackupContents
from core.store.files import UNFINISHED, replacing
from core.store.problems import LibraryProblem, ProblemKind
from core.store.sqlite.file import SqliteFile, companion, open_file, version_of
from core.store.sqlite.schema import SCHEMA, Schema

NEWEST_KEPT: Final = 10
ROOM_LEFT_BYTES: Final = 64 * 1024 * 1024
"""What a backup leaves free on the disk: entries come before backups."""
_CLOCK_GIVES: Final = timedelta(days=1)
_LEFTOVER_S: Final = 24 * 3600.0
_NAMED: Final = "%Y-%m-%d %H-%M-%S"
_DATED: Final = re.compile(r" (\d{4}-\d\d-\d\d \d\d-\d\d-\d\d)(?: (\d+))?$")


def _always() -> bool:
    return True


@dataclass(frozen=True, slots=True)
class FileBackups:
    """The backups of the library at ``path``: :class:`~core.store.backend.Backups` of files."""

    path: Path
    schema: Schema = SCHEMA

    @property
    def folder(self) -> Path:
        """Where the backups lie."""
        return self.path.parent / "backups"

    @property
    def newest_kept(self) -> int:
        """How many of the newest are kept, beside the newest of every month."""
        return NEWEST_KEPT

    def all(self) -> tuple[Backup, ...]:
        """Return the backups, newest first."""
        try:
            names = sorted(self.folder.iterdir())
        except OSError:
            return ()
        found = [backup for name in names if (backup := self._as_backup(name)) is not None]
        newest_first = sorted(found, key=lambda one: (one.at, _number(one.path)), reverse=True)
        return tuple(newest_first)

    def _as_backup(self, candidate: Path) -> Backup | None:
        dated = _DATED.search(candidate.stem)
        if (
            dated is None
            or candidate.suffix != self.path.suffix
            or candidate.stem[: dated.start()] != self.path.stem
        ):
            return None
        try:
            at = datetime.strptime(dated[1], _NAMED).replace(tzinfo=UTC)
        except ValueError:
            return None
        return Backup(candidate, at)

    def is_due(self, now: datetime | None = None) -> bool:
        """Whether today, by the clock of ``now``, has no backup yet and there is something new."""
        now = now or datetime.now().astimezone()
        # A clock that once stood wrong must not put an end to backups.
        newest = [one for one in self.all() if one.at <= now.astimezone(UTC) + _CLOCK_GIVES]
        if not newest:
            return True
        is_of_today = newest[0].at.astimezone(now.tzinfo).date() >= now.date()
        return not is_of_today and self._last_written() >= newest[0].at

    def _last_written(self) -> datetime:
        """Return when the library or its log was last written, as the disk says."""
        times = []
        for part in (self.path, companion(self.path)):
            with suppress(OSError):  # the log is there only while somebody writes
                times.append(part.stat().st_mtime)
        return datetime.fromtimestamp(max(times, default=0.0), UTC)

    def contents_of(self, backup: Path) -> BackupContents:
        """Return what is in a library file; LibraryProblem if it is none that can be read."""
        version = version_of(backup)
        if version > SCHEMA.version:
            raise file_problems.newer(backup, version, SCHEMA.version)
        file = open_file(backup, Schema(version, ()), read_only=True)
        try:
            ((decks, cartridges, fittings, entries),) = file.rows(
                "SELECT (SELECT COUNT(*) FROM things WHERE sort = 'deck'),"
                " (SELECT COUNT(*) FROM things WHERE sort = 'cartridge'),"
                " COUNT(*), COALESCE(SUM(entry_count), 0) FROM fittings"
            )
            return BackupContents(decks, cartridges, fittings, entries, size=backup.stat().st_size)
        except OSError as error:
            raise file_problems.of_os_error(error, backup) from error
        finally:
            file.close()

    def make(self, now: datetime | None = None, *, go_on: Callable[[], bool] = _always) -> Backup:
        """Back up the library while it may be in use; old backups are thinned out.

        Opens the file for itself, so it can run in a thread beside the window. ``go_on`` is asked
        now and then; once it says no, WorkStoppedError, and nothing half made stays behind, nor
        after the LibraryProblem of a library that can't be read or a disk without room.
        """
        file = open_file(self.path, self.schema, read_only=True)
        try:
            return self.keep_copy(file, now, go_on=go_on)
        finally:
            file.close()

    def keep_copy(
        self,
        file: SqliteFile,
        now: datetime | None = None,
        spare: Path | None = None,
        *,
        go_on: Callable[[], bool] = _always,
    ) -> Backup:
        """Back up this library, open and of any version; ``spare`` is not thinned out."""
        at = (now or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0)
        name = f"{self.path.stem} {at.strftime(_NAMED)}"
        target = _free_name(self.folder, name, self.path.suffix)
        try:
            self.folder.mkdir(exist_ok=True)
        except OSError as error:
            raise file_problems.of_os_error(error, target) from error
        self._check_room()
        with replacing(target) as temporary:
            file.copy_to(temporary, go_on)
        self.thin_out(spare)
        return Backup(target, at)

    def _check_room(self) -> None:
        """Refuse a backup that would fill the disk: the next entry would find no room."""
        try:
            needed, free = self.path.stat().st_size, shutil.disk_usage(self.folder).free
        except OSError as error:
            raise file_problems.of_os_error(error, self.folder) from error
        if free < needed + min(needed, ROOM_LEFT_BYTES):
            raise file_problems.no_room_for_backup(self.folder, needed)

    def thin_out(self, spare: Path | None = None) -> None:
        """Delete backups that are neither among the newest ten nor the newest of their month.

        ``spare``, one that is in use, stays.
        """
        months: set[tuple[int, int]] = set()
        for place, backup in enumerate(self.all()):
            month = (backup.at.year, backup.at.month)
            if place >= NEWEST_KEPT and month in months and backup.path != spare:
                try:
                    backup.path.unlink()
                except OSError as error:
                    raise file_problems.of_os_error(error, backup.path) from error
            months.add(month)
        self._sweep_up()

    def _sweep_up(self) -> None:
        """Delete what backups that were cut short a day ago or more have left."""
        for leftover in self.folder.glob(f".{escape(self.path.stem)} *{UNFINISHED}*"):
            with suppress(OSError):  # another window may be quicker
                if time.time() - leftover.stat().st_mtime > _LEFTOVER_S:
                    leftover.unlink()

    def restore(self, backup: Path, *, wait_s: float = 5.0) -> Path | None:
        """Put the library back as it was in a backup; what is there now is kept as well.

        A library that can still be opened is backed up first and then overwritten in one
        transaction, so other windows see one or the other. A damaged or foreign file is set aside
        whole. Older backups are brought up to date. After a LibraryProblem the library is as it
        was.

        Returns
        -------
        Path or None
            Where the earlier state is now: a backup, or the folder an unusable file was set aside
            in. None if nothing was there.
        """
        source = _sound(backup)
        kept: Path | None = None
        try:
            target, before = self._still_usable(wait_s, backup)
            if target is None:
                with replacing(self.path) as temporary:
                    source.copy_to(temporary)
                    aside = self.set_aside()
                    kept = aside if aside.is_dir() else None
            else:
                kept = before
                try:
                    target.overwrite_with(source, wait_s)
                finally:
                    target.close()
        finally:
            source.close()
        open_file(self.path, self.schema, wait_s=wait_s).close()
        return kept

    def _still_usable(self, wait_s: float, spare: Path) -> tuple[SqliteFile | None, Path | None]:
        """Open and back up what is there; return both, or nothing if that can't be."""
        if not self.path.exists() or self.path.stat().st_size == 0:
            return None, None
        target: SqliteFile | None = None
        try:
            target = open_file(self.path, self.schema, wait_s=wait_s)
            before = self.keep_copy(target, spare=spare).path
        except LibraryProblem as problem:
            if target is not None:
                target.close()
            if problem.kind not in (ProblemKind.DAMAGED, ProblemKind.NOT_A_LIBRARY):
                raise
            return None, None
        return target, before

    def set_aside(self, now: datetime | None = None) -> Path:
        """Move an unusable file, with SQLite's companions, into a dated folder of its own.

        Returns the folder, inside ``backups``; without anything to move none is made. Nothing is
        deleted; ``path`` is free afterwards.
        """
        at = (now or datetime.now(UTC)).astimezone(UTC)
        aside = _free_name(self.folder, f"set aside {at.strftime(_NAMED)}", "")
        shared_memory = self.path.with_name(f"{self.path.name}-shm")
        try:
            for part in (self.path, companion(self.path), shared_memory):
                if part.exists():
                    aside.mkdir(parents=True, exist_ok=True)
                    part.rename(aside / part.name)
        except OSError as error:
            raise file_problems.of_os_error(error, self.path) from error
        return aside


def _number(path: Path) -> int:
    """Return which of several of one second it is."""
    dated = _DATED.search(path.stem)
    return int(dated[2] or 1) if dated else 1


def _free_name(folder: Path, stem: str, suffix: str) -> Path:
    target, number = folder / f"{stem}{suffix}", 2
    while target.exists():
        target, number = folder / f"{stem} {number}{suffix}", number + 1
    return target


def _sound(backup: Path) -> SqliteFile:
    version = version_of(backup)
    file = open_file(backup, Schema(version, ()), read_only=True)
    if version > SCHEMA.version or file.faults():
        file.close()
        if version > SCHEMA.version:
            raise file_problems.newer(backup, version, SCHEMA.version)
        raise file_problems.damaged(backup)
    return file
