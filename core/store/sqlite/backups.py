"""Dated backups of a library file, and restoring one.

They lie in a folder ``backups`` next to the library, or in a chosen folder on another disk; while
that is missing, they go next to the library again. Each is a complete library file named after the
library and the time (UTC). A copy counts only after an integrity check. A library without changes
since the newest backup needs none.

Kept are the newest ten, the newest of each of the last ten days that have one, and the newest of
every month. Of the others only those are deleted whose every entry and revision is in a newer,
sound backup.
"""

from __future__ import annotations

import hashlib
import re
import shutil
from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from glob import escape
from pathlib import Path
from typing import Final
from uuid import uuid4

from core.language import Message, message
from core.store import file_problems
from core.store.backend import Backup, BackupContents, SoundsTold
from core.store.files import (
    PRIVATE,
    UNFINISHED,
    make_private_folder,
    mode_of,
    replacing,
    sweep_up,
    was_left_behind,
    write_whole,
)
from core.store.kept_sound import SoundShelf
from core.store.problems import LibraryProblem, ProblemKind
from core.store.sqlite.file import (
    NAMED,
    SqliteFile,
    companion,
    free_name,
    open_file,
    set_aside,
    version_of,
)
from core.store.sqlite.schema import SCHEMA, Schema

NEWEST_KEPT: Final = 10
ROOM_LEFT_BYTES: Final = 64 * 1024 * 1024
"""Bytes that a backup leaves free on the disk: entries come before backups."""
LARGEST_SHARE: Final = 0.1
"""If ten backups would take more than this share of the disk, a warning is shown."""
_CLOCK_GIVES: Final = timedelta(days=1)
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
        """The folder for the next backup."""
        asked_for = self.elsewhere
        return asked_for if asked_for is not None and _is_there(asked_for) else self._beside

    @property
    def _beside(self) -> Path:
        return self.path.parent / "backups"

    @property
    def _pointer(self) -> Path:
        return self.path.with_name(f"{self.path.name}.backups.txt")

    @property
    def elsewhere(self) -> Path | None:
        """The chosen backup folder, whether or not it is there now; None if none was chosen."""
        try:
            written = self._pointer.read_text("utf-8").strip()
        except (OSError, ValueError):
            return None
        folder = Path(written)
        return folder if written and "\0" not in written and folder.is_absolute() else None

    def put_in(self, folder: Path | None) -> None:
        """Make the next backups in a folder of this library's own inside this one.

        None makes them next to the library again. Backups that exist stay where they are. Raises
        LibraryProblem if the folder is not writable.
        """
        place = self.path
        try:
            if folder is None:
                self._pointer.unlink(missing_ok=True)
                return
            own = hashlib.sha256(str(self.path).encode()).hexdigest()[:6]
            place = folder.absolute() / f"{self.path.stem} backups {own}"
            make_private_folder(place)
            probe = place / f".{uuid4().hex}{UNFINISHED}"
            probe.touch()
            probe.unlink()
        except OSError as error:
            raise file_problems.of_os_error(
                error, self.path if folder is None else place
            ) from error
        write_whole(self._pointer, [f"{place}\n"], PRIVATE)

    @property
    def shelf(self) -> SoundShelf:
        """The recordings that are kept beside the library."""
        return SoundShelf(self.path.parent / f"{self.path.stem} recordings")

    def _shelf_in(self, folder: Path) -> SoundShelf:
        return SoundShelf(folder / f"{self.path.stem} recordings")

    @property
    def _asked_for_sound(self) -> Path:
        return self.path.with_name(f"{self.path.name}.recordings.txt")

    @property
    def takes_sound(self) -> bool:
        """Whether backups include the recordings; off by default."""
        try:
            return self._asked_for_sound.is_file()
        except OSError:
            return False

    def take_sound(self, *, wanted: bool) -> None:
        """Include recordings in backups from the next one on, or stop including them.

        Recordings in existing backups stay as long as these do. Raises LibraryProblem if the disk
        fails.
        """
        if wanted:
            write_whole(self._asked_for_sound, ["Backups take recordings along.\n"], PRIVATE)
            return
        try:
            self._asked_for_sound.unlink(missing_ok=True)
        except OSError as error:
            raise file_problems.of_os_error(error, self._asked_for_sound) from error

    def sounds(self) -> SoundsTold:
        """Return the number of recordings and the space they take."""
        beside = self.shelf.all()
        copied = [one for folder in self._folders() for one in self._shelf_in(folder).all()]
        return SoundsTold(
            len(beside),
            sum(one.size for one in beside),
            len({one.sha256 for one in copied}),
            sum(one.size for one in copied),
        )

    def _folders(self) -> list[Path]:
        """Return every folder that may hold backups."""
        return list(dict.fromkeys([self._beside, *([self.elsewhere] if self.elsewhere else [])]))

    @property
    def newest_kept(self) -> int:
        """How many of the newest are kept, in addition to the newest of every month."""
        return NEWEST_KEPT

    def all(self) -> tuple[Backup, ...]:
        """Return the backups, newest first."""
        names: list[Path] = []
        for folder in self._folders():
            with suppress(OSError):  # missing, or missing now
                names += sorted(folder.iterdir())
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
            at = datetime.strptime(dated[1], NAMED).replace(tzinfo=UTC)
        except ValueError:
            return None
        return Backup(candidate, at)

    def warning(self) -> Message | None:
        """Return a warning if backups will take a large share of their disk, else None."""
        asked_for = self.elsewhere
        if asked_for is not None and not _is_there(asked_for):
            return file_problems.backups_elsewhere(asked_for, self._beside)
        try:
            size = self.path.stat().st_size
            disk = shutil.disk_usage(self.path.parent if asked_for is None else asked_for).total
        except OSError:
            return None
        if NEWEST_KEPT * size <= LARGEST_SHARE * disk:
            return None
        return file_problems.large_backups(self.folder, NEWEST_KEPT, NEWEST_KEPT * size, disk)

    def is_due(self, now: datetime | None = None) -> bool:
        """Whether today (by ``now``) has no backup yet and there is something new to back up."""
        now = now or datetime.now().astimezone()
        # A clock that was once wrong must not stop backups for good.
        newest = [one for one in self.all() if one.at <= now.astimezone(UTC) + _CLOCK_GIVES]
        if not newest:
            return True
        is_of_today = newest[0].at.astimezone(now.tzinfo).date() >= now.date()
        return not is_of_today and self._last_written() >= newest[0].at

    def _last_written(self) -> datetime:
        """Return when the library or its log was last written, by the file system."""
        times = []
        for part in (self.path, companion(self.path)):
            with suppress(OSError):  # the log exists only while somebody writes
                times.append(part.stat().st_mtime)
        return datetime.fromtimestamp(max(times, default=0.0), UTC)

    def contents_of(self, backup: Path) -> BackupContents:
        """Return the contents of a library file; raises LibraryProblem if it can't be read."""
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
        """Back up the library while it is in use; thin out old backups.

        Opens the file itself, so it can run in a thread beside the window. ``go_on`` is called from
        time to time; once it returns False, raises WorkStoppedError. Nothing half made stays
        behind, then or after a LibraryProblem for an unreadable library or a full disk.
        """
        file = open_file(self.path, self.schema, read_only=True)
        try:
            made = self.keep_copy(file, now, go_on=go_on)
        finally:
            file.close()
        if not self.takes_sound:
            return made
        try:
            copies = self._shelf_in(made.path.parent)
            copies.take_from(self.shelf, _sounds_in(self.path), go_on)
        except LibraryProblem as problem:  # the library itself is safe, which counts most
            return replace(made, sound_left=problem)
        return made

    def keep_copy(
        self,
        file: SqliteFile,
        now: datetime | None = None,
        spare: Path | None = None,
        *,
        go_on: Callable[[], bool] = _always,
    ) -> Backup:
        """Back up this library, open and of any version; ``spare`` is not thinned out.

        Raises DAMAGED if the library is not sound: then no copy is kept, and none is deleted.
        """
        at = (now or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0)
        name = f"{self.path.stem} {at.strftime(NAMED)}"
        target = free_name(self.folder, name, self.path.suffix)
        try:
            make_private_folder(self.folder)
        except OSError as error:
            raise file_problems.of_os_error(error, target) from error
        self._check_room()
        with replacing(target, mode_of(self.path) or PRIVATE) as temporary:
            file.copy_to(temporary, go_on)
            if not _is_sound(temporary, go_on):
                if file.faults(go_on):
                    raise file.damaged()
                raise file_problems.disk_fault(target, message("storage.disk_fault.copy"))
        self.thin_out(spared=(target, spare), sound=(target,))
        return Backup(target, at)

    def _check_room(self) -> None:
        """Refuse a backup that would fill the disk: the next entry would find no room."""
        try:
            needed, free = self.path.stat().st_size, shutil.disk_usage(self.folder).free
        except OSError as error:
            raise file_problems.of_os_error(error, self.folder) from error
        if free < needed + min(needed, ROOM_LEFT_BYTES):
            raise file_problems.no_room_for_backup(self.folder, needed)

    def thin_out(self, spared: Collection[Path | None] = (), sound: Collection[Path] = ()) -> None:
        """Delete backups that need not be kept and hold nothing that newer ones lack.

        ``spared`` stay: in use or just made. ``sound`` were checked a moment ago.
        """
        there = self.all()
        kept = [*self._to_keep(there), *(one for one in there if one.path in spared)]
        contents = _Contents(sound)
        for backup in there:
            if backup in kept:
                continue
            others = [one.path for one in kept if one.at >= backup.at or one.path in sound]
            if not contents.are_in_one_of(backup.path, others):
                continue
            try:
                backup.path.unlink()
            except OSError as error:
                raise file_problems.of_os_error(error, backup.path) from error
        self._thin_sound()
        self.sweep_up()

    def _thin_sound(self) -> None:
        """Delete copies of recordings that neither the library nor a backup refers to.

        If one of them can't be read, all recordings stay.
        """
        folders = [one for one in self._folders() if self._shelf_in(one).all()]
        if not folders:
            return
        wanted: set[str] = set()
        for path in (self.path, *(one.path for one in self.all())):
            spoken_of = _sounds_in(path)
            if spoken_of is None:
                return
            wanted |= spoken_of
        for folder in folders:
            self._shelf_in(folder).drop_all_but(wanted)

    def _to_keep(self, newest_first: tuple[Backup, ...]) -> list[Backup]:
        days: dict[date, Backup] = {}
        months: dict[tuple[int, int], Backup] = {}
        for backup in newest_first:
            days.setdefault(backup.at.date(), backup)
            months.setdefault((backup.at.year, backup.at.month), backup)
        of_days = list(days.values())[:NEWEST_KEPT]
        return [*newest_first[:NEWEST_KEPT], *of_days, *months.values()]

    def sweep_up(self) -> None:
        """Delete the remains of interrupted backups, restorations and exports."""
        of_backups = [(folder, f"{self.path.stem} ") for folder in self._folders()]
        for folder, name in (*of_backups, (self.path.parent, self.path.name)):
            for leftover in folder.glob(f".{escape(name)}*{UNFINISHED}*"):
                with suppress(OSError):  # another window may be faster
                    if was_left_behind(leftover):
                        leftover.unlink()
        for folder in self._folders():
            self._shelf_in(folder).sweep_up()
        self.shelf.sweep_up()
        sweep_up(self.path.parent)

    def restore(self, backup: Path, *, wait_s: float = 5.0) -> Path | None:
        """Restore the library from a backup; the current state is kept as well.

        A library that can still be opened is backed up and overwritten under one write lock: an
        entry of another window is either in that backup, or written after it. A damaged or foreign
        file is set aside as a whole. Older backups are migrated. After a LibraryProblem the library
        is unchanged.

        Returns
        -------
        Path or None
            Where the previous state is: a backup, or the folder of an unusable file. None if there
            was nothing.
        """
        source = _sound(backup)
        try:
            kept = None
            if self.path.exists() and self.path.stat().st_size > 0:
                kept = self._overwrite(source, wait_s, backup)
            if kept is None:
                mode = mode_of(self.path) or mode_of(backup)
                with replacing(self.path, mode) as temporary:
                    source.copy_to(temporary)
                    aside = self.set_aside()
                    kept = aside if aside.is_dir() else None
        finally:
            source.close()
        self._bring_sound_back()
        # Closed last by a connection that may write, so that no empty log stays beside the file.
        open_file(self.path, self.schema, wait_s=wait_s).close()
        return kept

    def _bring_sound_back(self) -> None:
        """Restore missing recordings that the library refers to, as far as there is room.

        The library itself is restored in any case.
        """
        wanted = _sounds_in(self.path) or frozenset()
        for folder in self._folders():
            with suppress(LibraryProblem):
                self.shelf.take_from(self._shelf_in(folder), wanted)

    def _overwrite(self, source: SqliteFile, wait_s: float, spare: Path) -> Path | None:
        """Back up and overwrite the library; None, without changes, if it is unusable."""
        try:
            target = open_file(self.path, self.schema, wait_s=wait_s)
        except LibraryProblem as problem:
            if _is_usable(problem):
                raise
            return None
        try:
            with self._up_to_date(source) as current, target.transaction():
                before = open_file(self.path, self.schema, read_only=True)
                try:
                    kept = self.keep_copy(before, spare=spare).path
                except LibraryProblem as problem:
                    if _is_usable(problem):
                        raise
                    return None
                finally:
                    before.close()
                target.overwrite_with(current)
        finally:
            target.close()
        return kept

    def rework(self, backup: Path, work: Callable[[SqliteFile], bool]) -> None:
        """Change a backup; either the whole change is kept or none of it.

        ``work`` returns whether it changed anything; only then is the backup replaced, and is then
        of the current version. Raises LibraryProblem, with the backup unchanged, if it can't be
        read or written.
        """
        source = _sound(backup)
        scratch = backup.with_name(f".{backup.name}.{uuid4().hex}{UNFINISHED}")
        try:
            source.copy_to(scratch)
            file = open_file(scratch, self.schema)
            try:
                if work(file):
                    file.settle()
                    with replacing(backup, mode_of(backup)) as temporary:
                        file.copy_to(temporary)
            finally:
                file.close()
        finally:
            source.close()
            with suppress(OSError):
                scratch.unlink(missing_ok=True)

    @contextmanager
    def _up_to_date(self, source: SqliteFile) -> Iterator[SqliteFile]:
        """Yield a backup in the current version: itself, or a migrated temporary copy."""
        if source.version() == self.schema.version:
            yield source
            return
        scratch = self.path.with_name(f".{self.path.name}.{uuid4().hex}{UNFINISHED}")
        try:
            source.copy_to(scratch)
            current = open_file(scratch, self.schema)
            try:
                yield current
            finally:
                current.close()
        finally:
            with suppress(OSError):
                scratch.unlink(missing_ok=True)

    def set_aside(self, now: datetime | None = None) -> Path:
        """Move an unusable file, with SQLite's companion files, into a dated folder of its own.

        Returns the folder, inside ``backups``; if there is nothing to move, none is made. Nothing
        is deleted; ``path`` is free afterwards.
        """
        shared_memory = self.path.with_name(f"{self.path.name}-shm")
        try:
            return set_aside([self.path, companion(self.path), shared_memory], self.path, now)
        except OSError as error:
            raise file_problems.of_os_error(error, self.path) from error


class _Contents:
    """The contents of backups, each read once while backups are thinned out."""

    def __init__(self, sound: Collection[Path]) -> None:
        self._sound = dict.fromkeys(sound, True)
        self._held: dict[Path, frozenset[str] | None] = {}

    def are_in_one_of(self, backup: Path, others: Collection[Path]) -> bool:
        """Whether one sound backup of the others holds everything in this backup."""
        held = self._held_by(backup)
        if held is None:
            return False
        return any(
            held <= (self._held_by(one) or frozenset()) and self._is_sound(one) for one in others
        )

    def _is_sound(self, backup: Path) -> bool:
        if backup not in self._sound:
            self._sound[backup] = _is_sound(backup)
        return self._sound[backup]

    def _held_by(self, backup: Path) -> frozenset[str] | None:
        if backup not in self._held:
            self._held[backup] = _ids_in(backup)
        return self._held[backup]


_KNOWS_JOBS: Final = 5
"""The first file version with jobs, customers and headshells."""
_KNOWS_TEST_RECORDS: Final = 6
_IDS: Final = (
    "SELECT id FROM entries UNION ALL SELECT id FROM fittings UNION ALL"
    " SELECT thing_id || ' ' || revision || ' ' || at FROM thing_revisions"
)
_IDS_OF_JOBS: Final = (
    "SELECT thing_id || ' ' || revision || ' ' || at FROM job_revisions UNION ALL"
    " SELECT thing_id || ' ' || revision || ' ' || at FROM customer_revisions UNION ALL"
    " SELECT thing_id || ' ' || revision || ' ' || at FROM headshell_revisions UNION ALL"
    " SELECT thing_id || ' ' || revision || ' ' || at FROM service_revisions"
)
_KNOWS_PICTURES: Final = 6
"""The first file version with pictures."""
_IDS_OF_PICTURES: Final = (
    "SELECT thing_id || ' ' || revision || ' ' || at FROM picture_revisions UNION ALL"
    " SELECT hash FROM picture_contents UNION ALL"
    " SELECT json_extract(body, '$.content') FROM picture_revisions"
    " WHERE json_extract(body, '$.erased') <> ''"
)
"""Erased content counts as held, so that no older backup is kept for it."""


_IDS_OF_TEST_RECORDS: Final = (
    "SELECT thing_id || ' ' || revision || ' ' || at FROM test_record_revisions"
)


def _ids_in(backup: Path) -> frozenset[str] | None:
    """Return the ids of every entry, fitting and revision in a backup; None if unreadable."""
    try:
        file = open_file(backup, Schema(version_of(backup), ()), read_only=True)
    except LibraryProblem:
        return None
    try:
        later = (
            (_KNOWS_JOBS, _IDS_OF_JOBS),
            (_KNOWS_TEST_RECORDS, _IDS_OF_TEST_RECORDS),
            (_KNOWS_PICTURES, _IDS_OF_PICTURES),
        )
        asked = (_IDS, *(sql for since, sql in later if file.version() >= since))
        return frozenset(said for sql in asked for (said,) in file.rows(sql))
    except LibraryProblem:
        return None
    finally:
        file.close()


_SOUNDS: Final = (
    "SELECT DISTINCT json_extract(body, '$.reading.recorded.sha256') FROM entries"
    " WHERE kind = 'reading' AND body LIKE '%\"sha256\"%'"
)


def _sounds_in(library: Path) -> frozenset[str] | None:
    """Return the fingerprints of all recordings that a library refers to; None if unreadable."""
    try:
        file = open_file(library, Schema(version_of(library), ()), read_only=True)
    except LibraryProblem:
        return None
    try:
        return frozenset(said for (said,) in file.rows(_SOUNDS) if isinstance(said, str))
    except LibraryProblem:
        return None
    finally:
        file.close()


def _is_sound(backup: Path, go_on: Callable[[], bool] = _always) -> bool:
    """Whether an integrity check of a library file finds no fault."""
    try:
        file = open_file(backup, Schema(version_of(backup), ()), read_only=True)
    except LibraryProblem:
        return False
    try:
        return not file.faults(go_on)
    except LibraryProblem:
        return False
    finally:
        file.close()


def _is_there(folder: Path) -> bool:
    try:
        return folder.is_dir()
    except OSError:
        return False


def _number(path: Path) -> int:
    """Return the number of a backup among several of the same second."""
    dated = _DATED.search(path.stem)
    return int(dated[2] or 1) if dated else 1


def _is_usable(problem: LibraryProblem) -> bool:
    """Whether a library with this problem is still a library, and must not be set aside."""
    return problem.kind not in (ProblemKind.DAMAGED, ProblemKind.NOT_A_LIBRARY)


def _sound(backup: Path) -> SqliteFile:
    version = version_of(backup)
    file = open_file(backup, Schema(version, ()), read_only=True)
    if version > SCHEMA.version or file.faults():
        file.close()
        if version > SCHEMA.version:
            raise file_problems.newer(backup, version, SCHEMA.version)
        raise file_problems.damaged(backup)
    return file
