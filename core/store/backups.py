"""Dated backups beside the library, and the way back from one.

They lie in a folder ``backups`` next to the library, each a whole library file of its own named
after the library and the moment (UTC). Kept are the newest ten and the newest of every month. A
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

from core.store import problems
from core.store.files import UNFINISHED, replacing
from core.store.problems import LibraryProblem, ProblemKind
from core.store.schema import SCHEMA, Schema
from core.store.sqlite_file import SqliteFile, companion, open_file, version_of

FOLDER: Final = "backups"
NEWEST_KEPT: Final = 10
ROOM_LEFT_BYTES: Final = 64 * 1024 * 1024
"""What a backup leaves free on the disk: entries go before backups."""
_CLOCK_GIVES: Final = timedelta(days=1)
_LEFTOVER_S: Final = 24 * 3600.0
_NAMED: Final = "%Y-%m-%d %H-%M-%S"
_DATED: Final = re.compile(r" (\d{4}-\d\d-\d\d \d\d-\d\d-\d\d)(?: (\d+))?$")


@dataclass(frozen=True, slots=True)
class Backup:
    """One backup: its file and the moment it was made (UTC)."""

    path: Path
    at: datetime


@dataclass(frozen=True, slots=True)
class Holding:
    """What is in a library file: counts, and its size in bytes."""

    decks: int
    cartridges: int
    fittings: int
    entries: int
    size: int


def backups_of(path: Path) -> tuple[Backup, ...]:
    """Return the backups of the library at ``path``, newest first."""
    try:
        names = sorted((path.parent / FOLDER).iterdir())
    except OSError:
        return ()
    found = [backup for name in names if (backup := _as_backup(name, path)) is not None]
    return tuple(sorted(found, key=lambda backup: (backup.at, _number(backup.path)), reverse=True))


def _number(path: Path) -> int:
    """Return which of several of one second it is."""
    dated = _DATED.search(path.stem)
    return int(dated[2] or 1) if dated else 1


def _as_backup(candidate: Path, library: Path) -> Backup | None:
    dated = _DATED.search(candidate.stem)
    if (
        dated is None
        or candidate.suffix != library.suffix
        or candidate.stem[: dated.start()] != library.stem
    ):
        return None
    try:
        at = datetime.strptime(dated[1], _NAMED).replace(tzinfo=UTC)
    except ValueError:
        return None
    return Backup(candidate, at)


def is_due(path: Path, now: datetime | None = None) -> bool:
    """Whether today, by the clock of ``now``, has no backup yet and there is something new."""
    now = now or datetime.now().astimezone()
    # A clock that once stood wrong must not put an end to backups.
    newest = [one for one in backups_of(path) if one.at <= now.astimezone(UTC) + _CLOCK_GIVES]
    if not newest:
        return True
    is_of_today = newest[0].at.astimezone(now.tzinfo).date() >= now.date()
    return not is_of_today and _last_written(path) >= newest[0].at


def _last_written(path: Path) -> datetime:
    """Return when the library or its log was last written, as the disk says."""
    times = []
    for part in (path, companion(path)):
        with suppress(OSError):  # the log is there only while somebody writes
            times.append(part.stat().st_mtime)
    return datetime.fromtimestamp(max(times, default=0.0), UTC)


def holding_of(path: Path) -> Holding:
    """Return what is in a library or backup; LibraryProblem if it is none that can be read."""
    version = version_of(path)
    if version > SCHEMA.version:
        raise problems.newer(path, version, SCHEMA.version)
    file = open_file(path, Schema(version, ()), read_only=True)
    try:
        decks, cartridges, fittings, entries = (
            int(row[0]) if row else 0
            for row in (
                file.row("SELECT COUNT(*) FROM things WHERE sort = ?", ["deck"]),
                file.row("SELECT COUNT(*) FROM things WHERE sort = ?", ["cartridge"]),
                file.row("SELECT COUNT(*) FROM fittings"),
                file.row("SELECT COALESCE(SUM(entry_count), 0) FROM fittings"),
            )
        )
        return Holding(decks, cartridges, fittings, entries, size=path.stat().st_size)
    except OSError as error:
        raise problems.of_os_error(error, path) from error
    finally:
        file.close()


def make_backup(
    path: Path,
    now: datetime | None = None,
    schema: Schema = SCHEMA,
    *,
    go_on: Callable[[], bool] = lambda: True,
) -> Backup:
    """Back up the library at ``path`` while it may be in use; old backups are thinned out.

    Opens the file for itself, so it can run in a thread beside the window. ``go_on`` is asked now
    and then; once it says no, CopyStoppedError, and nothing stays behind.

    Raises
    ------
    LibraryProblem
        If the library can't be read or the disk has no room; nothing half made stays behind.
    """
    file = open_file(path, schema, read_only=True)
    try:
        return keep_copy(file, now, go_on=go_on)
    finally:
        file.close()


def keep_copy(
    file: SqliteFile,
    now: datetime | None = None,
    spare: Path | None = None,
    *,
    go_on: Callable[[], bool] = lambda: True,
) -> Backup:
    """Back up an open library, whatever its version; ``spare`` is not thinned out."""
    at = (now or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0)
    folder = file.path.parent / FOLDER
    target = _free_name(folder, f"{file.path.stem} {at.strftime(_NAMED)}", file.path.suffix)
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        raise problems.of_os_error(error, target) from error
    _check_room(file.path, folder)
    with replacing(target) as temporary:
        file.copy_to(temporary, go_on)
    thin_out(file.path, spare)
    return Backup(target, at)


def _check_room(path: Path, folder: Path) -> None:
    """Refuse a backup that would fill the disk: the next entry would find no room."""
    try:
        needed, free = path.stat().st_size, shutil.disk_usage(folder).free
    except OSError as error:
        raise problems.of_os_error(error, folder) from error
    if free < needed + min(needed, ROOM_LEFT_BYTES):
        raise problems.no_room_for_backup(folder, needed)


def _free_name(folder: Path, stem: str, suffix: str) -> Path:
    target, number = folder / f"{stem}{suffix}", 2
    while target.exists():
        target, number = folder / f"{stem} {number}{suffix}", number + 1
    return target


def thin_out(path: Path, spare: Path | None = None) -> None:
    """Delete backups that are neither among the newest ten nor the newest of their month.

    ``spare``, one that is in use, stays.
    """
    months: set[tuple[int, int]] = set()
    for place, backup in enumerate(backups_of(path)):
        month = (backup.at.year, backup.at.month)
        if place >= NEWEST_KEPT and month in months and backup.path != spare:
            try:
                backup.path.unlink()
            except OSError as error:
                raise problems.of_os_error(error, backup.path) from error
        months.add(month)
    _sweep_up(path)


def _sweep_up(path: Path) -> None:
    """Delete what backups that were cut short a day ago or more have left."""
    for leftover in (path.parent / FOLDER).glob(f".{escape(path.stem)} *{UNFINISHED}*"):
        with suppress(OSError):  # another window may be quicker
            if time.time() - leftover.stat().st_mtime > _LEFTOVER_S:
                leftover.unlink()


def restore(
    backup: Path, path: Path, *, wait_s: float = 5.0, schema: Schema = SCHEMA
) -> Path | None:
    """Put the library back as it was in a backup; what is there now is kept as well.

    A library that can still be opened is backed up first and then overwritten in one transaction,
    so other windows see one or the other. A damaged or foreign file is set aside whole. Older
    backups are brought up to date.

    Returns
    -------
    Path or None
        Where what was there before is now: a backup, or the folder a file that is no good was set
        aside in. None if nothing was there.

    Raises
    ------
    LibraryProblem
        If the backup is no sound library, or the disk or another window is in the way; the
        library is then as it was.
    """
    source = _sound(backup)
    kept: Path | None = None
    try:
        target, before = _still_usable(path, schema, wait_s, backup)
        if target is None:
            with replacing(path) as temporary:
                source.copy_to(temporary)
                aside = set_aside(path)
                kept = aside if aside.is_dir() else None
        else:
            kept = before
            try:
                target.overwrite_with(source, wait_s)
            finally:
                target.close()
    finally:
        source.close()
    open_file(path, schema, wait_s=wait_s).close()
    return kept


def _still_usable(
    path: Path, schema: Schema, wait_s: float, spare: Path
) -> tuple[SqliteFile | None, Path | None]:
    """Open and back up what is there; return it and its backup, or nothing if that can't be."""
    if not path.exists() or path.stat().st_size == 0:
        return None, None
    target: SqliteFile | None = None
    try:
        target = open_file(path, schema, wait_s=wait_s)
        before = keep_copy(target, spare=spare).path
    except LibraryProblem as problem:
        if target is not None:
            target.close()
        if problem.kind not in (ProblemKind.DAMAGED, ProblemKind.NOT_A_LIBRARY):
            raise
        return None, None
    return target, before


def _sound(backup: Path) -> SqliteFile:
    version = version_of(backup)
    file = open_file(backup, Schema(version, ()), read_only=True)
    if version > SCHEMA.version or file.faults():
        file.close()
        if version > SCHEMA.version:
            raise problems.newer(backup, version, SCHEMA.version)
        raise problems.damaged(backup)
    return file


def set_aside(path: Path, now: datetime | None = None) -> Path:
    """Move a file that is no good, with SQLite's companions, into a dated folder of its own.

    Returns the folder, inside ``backups``; without anything to move none is made. Nothing is
    deleted; ``path`` is free afterwards.
    """
    at = (now or datetime.now(UTC)).astimezone(UTC)
    folder = path.parent / FOLDER
    aside = _free_name(folder, f"set aside {at.strftime(_NAMED)}", "")
    parts = (path, companion(path), path.with_name(f"{path.name}-shm"))
    try:
        for part in parts:
            if part.exists():
                aside.mkdir(parents=True, exist_ok=True)
                part.rename(aside / part.name)
    except OSError as error:
        raise problems.of_os_error(error, path) from error
    return aside
