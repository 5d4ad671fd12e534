"""Dated backups beside the library, and the way back from one.

They lie in a folder ``backups`` next to the library, each a whole library file of its own named
after the library and the moment (UTC). Kept are the newest ten and the newest of every month.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from core.store import problems
from core.store.files import replacing
from core.store.problems import LibraryProblem, ProblemKind
from core.store.schema import SCHEMA, Schema
from core.store.sqlite_file import SqliteFile, companion, open_file

FOLDER: Final = "backups"
NEWEST_KEPT: Final = 10
_NAMED: Final = "%Y-%m-%d %H-%M-%S"
_DATED: Final = re.compile(r" (\d{4}-\d\d-\d\d \d\d-\d\d-\d\d)(?: \d+)?$")


@dataclass(frozen=True, slots=True)
class Backup:
    """One backup: its file and the moment it was made (UTC)."""

    path: Path
    at: datetime


def backups_of(path: Path) -> tuple[Backup, ...]:
    """Return the backups of the library at ``path``, newest first."""
    try:
        names = sorted((path.parent / FOLDER).iterdir())
    except OSError:
        return ()
    found = [backup for name in names if (backup := _as_backup(name, path)) is not None]
    return tuple(sorted(found, key=lambda backup: (backup.at, backup.path.name), reverse=True))


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
    """Whether today has no backup yet."""
    newest = backups_of(path)
    today = (now or datetime.now(UTC)).date()
    return not newest or newest[0].at.date() < today


def make_backup(path: Path, now: datetime | None = None, schema: Schema = SCHEMA) -> Backup:
    """Back up the library at ``path`` while it may be in use; old backups are thinned out.

    Opens the file for itself, so it can run beside the window.

    Raises
    ------
    LibraryProblem
        If the library can't be read or the disk has no room; nothing half made stays behind.
    """
    file = open_file(path, schema, read_only=True)
    try:
        return keep_copy(file, now)
    finally:
        file.close()


def keep_copy(file: SqliteFile, now: datetime | None = None, spare: Path | None = None) -> Backup:
    """Back up an open library, whatever its version; ``spare`` is not thinned out."""
    at = (now or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0)
    folder = file.path.parent / FOLDER
    target = _free_name(folder, f"{file.path.stem} {at.strftime(_NAMED)}", file.path.suffix)
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        raise problems.of_os_error(error, target) from error
    with replacing(target) as temporary:
        file.copy_to(temporary)
    thin_out(file.path, spare)
    return Backup(target, at)


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


def restore(backup: Path, path: Path, *, wait_s: float = 5.0, schema: Schema = SCHEMA) -> None:
    """Put the library back as it was in a backup; what is there now is kept as well.

    A library that can still be opened is backed up first and then overwritten in one transaction,
    so other windows see one or the other. A damaged or foreign file is set aside whole. Older
    backups are brought up to date.

    Raises
    ------
    LibraryProblem
        If the backup is no sound library, or the disk or another window is in the way; the
        library is then as it was.
    """
    source = _sound(backup)
    try:
        target = _still_usable(path, schema, wait_s, backup)
        if target is None:
            with replacing(path) as temporary:
                source.copy_to(temporary)
                set_aside(path)
        else:
            try:
                target.overwrite_with(source, wait_s)
            finally:
                target.close()
    finally:
        source.close()
    open_file(path, schema, wait_s=wait_s).close()


def _still_usable(path: Path, schema: Schema, wait_s: float, spare: Path) -> SqliteFile | None:
    """Open and back up what is there, or return None if that can't be done any more."""
    if not path.exists() or path.stat().st_size == 0:
        return None
    target: SqliteFile | None = None
    try:
        target = open_file(path, schema, wait_s=wait_s)
        keep_copy(target, spare=spare)
    except LibraryProblem as problem:
        if target is not None:
            target.close()
        if problem.kind not in (ProblemKind.DAMAGED, ProblemKind.NOT_A_LIBRARY):
            raise
        return None
    return target


def _sound(backup: Path) -> SqliteFile:
    version = _version_of(backup)
    file = open_file(backup, Schema(version, ()), read_only=True)
    if version > SCHEMA.version or file.faults():
        file.close()
        if version > SCHEMA.version:
            raise problems.newer(backup, version, SCHEMA.version)
        raise problems.damaged(backup)
    return file


def _version_of(backup: Path) -> int:
    """Return the version in a file's header (SQLite file format 1.3: user version at 60)."""
    try:
        with backup.open("rb") as stream:
            return int.from_bytes(stream.read(64)[60:64], "big")
    except OSError as error:
        raise problems.of_os_error(error, backup) from error


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
