"""The SQLite engine: library files, statements, locks, copies and pragmas.

Together with :mod:`core.store.sqlite.errors` the only place that imports :mod:`sqlite3`.
"""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, nullcontext, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from core.language import Message
from core.store import file_problems
from core.store.backend import Above, Conditions, RowValues, WorkStoppedError
from core.store.files import PRIVATE, make_private, make_private_folder
from core.store.places import network_kind
from core.store.problems import LibraryProblem
from core.store.sqlite import lineage
from core.store.sqlite.errors import as_problems
from core.store.sqlite.outside import check_from_outside
from core.store.sqlite.schema import APPLICATION_ID, Schema

_CHECKED_WHOLE_BYTES: Final = 2_000_000
"""Files up to this size are read in full on opening, which takes a few milliseconds."""

NAMED: Final = "%Y-%m-%d %H-%M-%S"
"""The time format in the name of a backup."""

_PAGES_AT_ONCE: Final = 500
"""Pages of 4,096 bytes copied at a time: a few milliseconds on a slow disk."""

_LONGEST_LOG_PAGES: Final = 100
"""Pages of log after which it is checkpointed into the file: about a dozen entries."""

_ROWS_AT_ONCE: Final = 1000
"""Rows copied or read at a time; entries have some hundred bytes."""
_LARGE_ROWS: Final = {"picture_contents": 10}
"""Tables with larger rows, and how many of those are copied at a time."""

_STEPS_BETWEEN: Final = 20_000
"""Instructions of SQLite's virtual machine between two calls of ``go_on``."""

_SYNCED: Final = "PRAGMA synchronous"

_MOST_VALUES: Final = 500
"""Values in one IN list; older SQLite versions allow 999 in a statement."""


class SqliteFile:
    """An open library file: the :class:`~core.store.backend.Backend` of SQLite.

    Every failure of the file is raised as a :class:`core.store.problems.LibraryProblem`.
    """

    def __init__(self, connection: sqlite3.Connection, path: Path, *, read_only: bool) -> None:
        self._connection = connection
        self.path = path
        self.read_only = read_only
        self.notice: Message | None = None
        self._identity = _identity(path)
        self._was_away = False
        self._known = ""
        self._is_closed = False
        self._has_changed = False
        self._only_drafts = 0
        self._seen_version, self._seen_written, self._others_wrote = 0, "", 0

    def close(self) -> None:
        """Close the file, leaving it complete without a log. Closing twice does nothing."""
        if not self._is_closed:
            with suppress(LibraryProblem):  # it was moved or is busy: its log stays beside it
                self.settle()
        self._is_closed = True
        with as_problems(self.path):
            self._connection.close()

    def settle(self, *, drafts: bool = True) -> bool:
        """Checkpoint the log into the file; return whether all of it was written.

        Without ``drafts``, a log that holds only drafts is left for later.
        """
        if self.read_only or self._is_busy():
            return False
        self._still_there()
        size = self._log_size()
        if size == 0 or (not drafts and size == self._only_drafts):
            return True
        ((waits_ms,),) = self.rows("PRAGMA busy_timeout")
        self.rows("PRAGMA busy_timeout=0")  # another connection is reading: try again later
        try:
            ((is_hindered, _, _),) = self.rows("PRAGMA wal_checkpoint(TRUNCATE)")
        finally:
            self.rows(f"PRAGMA busy_timeout={waits_ms}")
        return not is_hindered

    def _log_size(self) -> int:
        try:
            return companion(self.path).stat().st_size
        except OSError:
            return 0

    def rows(self, sql: str, values: Sequence[Any] = ()) -> list[RowValues]:
        """Return all rows of a query."""
        with as_problems(self.path):
            return self._connection.execute(sql, values).fetchall()

    def rows_until_damage(
        self, sql: str, values: Sequence[Any] = (), *, bytes_from: int | None = None
    ) -> tuple[list[RowValues], bool]:
        """Return the readable rows, in order, and whether those are all.

        A row with undecodable text is left out. Columns from ``bytes_from`` on stay bytes.
        """
        found: list[RowValues] = []
        self._connection.text_factory = bytes
        try:
            for row in self._connection.execute(sql, values):
                with suppress(UnicodeDecodeError):
                    texts = (
                        one.decode() if isinstance(one, bytes) else one for one in row[:bytes_from]
                    )
                    found.append((*texts, *(row[bytes_from:] if bytes_from else ())))
        except sqlite3.DatabaseError:
            return found, False
        finally:
            self._connection.text_factory = str
        return found, True

    def run(self, sql: str, values: Sequence[Any] = ()) -> None:
        """Run one statement; changes belong inside :meth:`transaction`."""
        self._has_changed = True
        with as_problems(self.path):
            self._connection.execute(sql, values)

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
        parts = list(_in_parts(where or {}))
        if len(parts) > 1 and (order or limit is not None):
            raise ValueError("rows found by many values come without order or limit")
        found: list[RowValues] = []
        with self.snapshot() if len(parts) > 1 else nullcontext():
            for part in parts:
                conditions, values = _conditions(part)
                sql = f"SELECT {', '.join(columns)} FROM {table}{conditions}"  # noqa: S608 - ours
                if order:
                    terms = (f"{one[1:]} DESC" if one[0] == "-" else one for one in order)
                    sql += f" ORDER BY {', '.join(terms)}"
                if limit is not None:
                    sql += " LIMIT ?"
                    values.append(limit)
                found += self.rows(sql, values)
        return found

    def select_in_parts(
        self, table: str, columns: Sequence[str], where: Conditions | None = None
    ) -> Iterator[list[RowValues]]:
        """Yield the rows that meet all conditions, some at a time, in no order."""
        for part in _in_parts(where or {}):
            conditions, values = _conditions(part)
            sql = f"SELECT {', '.join(columns)} FROM {table}{conditions}"  # noqa: S608 - ours
            with as_problems(self.path):
                cursor = self._connection.execute(sql, values)
                while found := cursor.fetchmany(_ROWS_AT_ONCE):
                    yield found

    def insert(self, table: str, columns: Sequence[str], rows: Sequence[Sequence[Any]]) -> None:
        """Add rows, inside a transaction."""
        self._has_changed = True
        marks = ", ".join("?" * len(columns))
        sql = f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})"  # noqa: S608 - ours
        with as_problems(self.path):
            self._connection.executemany(sql, rows)

    def update(self, table: str, values: Mapping[str, Any], where: Conditions) -> None:
        """Change the rows that meet all conditions, inside a transaction."""
        conditions, wanted = _conditions(where)
        new = ", ".join(f"{column} = ?" for column in values)
        self.run(f"UPDATE {table} SET {new}{conditions}", [*values.values(), *wanted])  # noqa: S608 - ours

    def delete(self, table: str, where: Conditions) -> None:
        """Remove the rows that meet all conditions, inside a transaction."""
        conditions, wanted = _conditions(where)
        self.run(f"DELETE FROM {table}{conditions}", wanted)  # noqa: S608 - ours

    @contextmanager
    def transaction(self, *, hurried: bool = False) -> Iterator[None]:
        """Hold the write lock. On leaving, all changes are on the disk, or none was made.

        Joins an enclosing transaction. A ``hurried`` transaction waits neither for other windows
        (raises LOCKED at once) nor for the disk: its changes outlive the program, but survive a
        power cut only once an ordinary transaction or :meth:`settle` has followed.
        """
        if self._is_busy():
            yield
        elif hurried:
            before = self._log_size()
            with self._without_waiting(), self._changing(drafts=True):
                yield
            known = before in (0, self._only_drafts)
            self._only_drafts = self._log_size() if known else -1
        else:
            with self._changing():
                yield
            if self._has_changed:
                self._only_drafts = -1

    @contextmanager
    def _without_waiting(self) -> Iterator[None]:
        ((waits_ms,),), ((synced,),) = self.rows("PRAGMA busy_timeout"), self.rows(_SYNCED)
        self.rows("PRAGMA busy_timeout=0")
        if self.rows("PRAGMA journal_mode") == [("wal",)]:
            self.run(f"{_SYNCED}=NORMAL")  # a failed rollback leaves the log sound
        try:
            yield
        finally:
            self.rows(f"PRAGMA busy_timeout={waits_ms}")
            self.run(f"{_SYNCED}={synced}")

    @contextmanager
    def _changing(self, *, drafts: bool = False) -> Iterator[None]:
        if self.read_only:
            raise file_problems.looking_only(self.path)
        self._still_there()
        with as_problems(self.path):
            self._connection.execute("BEGIN IMMEDIATE")
        try:
            before, self._has_changed = self._marks(), False
            self._note_written(before)
            yield
            now = self._mark(before, drafts=drafts) if self._has_changed else before
            with as_problems(self.path):
                self._connection.execute("COMMIT")
            self._known = now
            self._seen_written = lineage.written_in(now)
        except BaseException:
            if self._is_busy():
                with suppress(sqlite3.Error):
                    self._connection.execute("ROLLBACK")
            raise

    def _marks(self) -> str:
        """Return the file's state marks; empty if there are none."""
        if not self.rows("SELECT name FROM sqlite_master WHERE name = 'facts'"):
            return ""
        found = self.select("facts", ("content",), {"name": lineage.FACT})
        return str(found[0][0]) if found else ""

    def _note_written(self, marks: str) -> None:
        written = lineage.written_in(marks)
        if written != self._seen_written:
            self._seen_written = written
            self._others_wrote += 1

    def _mark(self, before: str, *, drafts: bool) -> str:
        """Write a new state mark with its predecessor; return what was written."""
        content = lineage.next_marks(before, drafts=drafts)
        if self._marks():
            self.update("facts", {"content": content}, {"name": lineage.FACT})
        else:
            self.insert("facts", ("name", "content"), [(lineage.FACT, content)])
        return content

    @contextmanager
    def snapshot(self) -> Iterator[None]:
        """Read the library as it is at one instant, whatever others write meanwhile."""
        if self._is_busy():
            yield
            return
        with as_problems(self.path):
            self._connection.execute("BEGIN")
        try:
            yield
        finally:
            with as_problems(self.path):
                self._connection.execute("COMMIT")

    def _is_busy(self) -> bool:
        return self._connection.in_transaction

    def _still_there(self) -> None:
        """Refuse to write to a file that was moved or replaced: nobody would find the entry.

        If it is back at its place, go on with it, unless another program wrote to it meanwhile.
        """
        if _identity(self.path) != self._identity:
            self._was_away = True
            raise file_problems.vanished(self.path)
        if self._was_away and not self._is_as_we_know_it():
            raise file_problems.vanished(self.path)
        self._was_away = False
        with suppress(LibraryProblem):  # the next read or write reports what is wrong
            self._known = self._marks()

    def _is_as_we_know_it(self) -> bool:
        """Whether the file that came back is in the state we last saw."""
        state = _state_without_log(self.path)
        frames = lineage.confirmed_frames(companion(self.path))
        in_log = lineage.belongs(frames, state) and lineage.belongs(frames, self._known)
        return state == self._known or bool(frames and in_log)

    def version(self) -> int:
        """Return the schema version of the file."""
        return self._number("PRAGMA user_version")

    def others_wrote(self) -> int:
        """Return a number that changes whenever another connection wrote more than drafts."""
        self._still_there()
        version = self._number("PRAGMA data_version")
        if version != self._seen_version:
            self._seen_version = version
            self._note_written(self._marks())
        return self._others_wrote

    def faults(self, go_on: Callable[[], bool] = lambda: True) -> list[str]:
        """Read the whole file and return the faults found; empty if there are none."""

        def stop() -> int:
            return 0 if go_on() else 1

        self._connection.set_progress_handler(stop, _STEPS_BETWEEN)
        try:
            found = [str(row[0]) for row in self.rows("PRAGMA integrity_check")]
            found = [] if found == ["ok"] else found
            return found + [
                f"a row of {row[0]} names a missing row of {row[2]}"
                for row in self.rows("PRAGMA foreign_key_check")
            ]
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode == sqlite3.SQLITE_INTERRUPT:
                raise WorkStoppedError from error
            raise
        finally:
            self._connection.set_progress_handler(None, 0)

    def damaged(self) -> LibraryProblem:
        """Return the problem of a library in which faults were found."""
        return file_problems.damaged(self.path, "pages")

    def unreadable(self, what: Message) -> LibraryProblem:
        """Return the problem of a record that can't be read."""
        return file_problems.unreadable(what)

    def copy_to(self, path: Path, go_on: Callable[[], bool] = lambda: True) -> None:
        """Copy the library, as it is at one instant, into a new file.

        Where the write-ahead log allows it, others go on reading and writing meanwhile. ``go_on``
        is called between portions; WorkStoppedError once it returns False.
        """

        def ask(_status: int, _remaining: int, _total: int) -> None:
            # In portions, or an entry saved meanwhile would wait for the whole copy.
            os.fsync(descriptor)
            if not go_on():
                raise WorkStoppedError

        with self._unless_others_must_wait(), as_problems(path):
            descriptor = os.open(path, os.O_RDWR | os.O_CREAT, PRIVATE)  # nobody else has it open
            target = sqlite3.connect(path, isolation_level=None)
            target.execute("PRAGMA synchronous=OFF")
            try:
                self._connection.backup(target, pages=_PAGES_AT_ONCE, progress=ask, sleep=0.01)
                target.execute("PRAGMA journal_mode=DELETE")  # one file, without companion files
            finally:
                target.close()
                os.close(descriptor)

    @contextmanager
    def _unless_others_must_wait(self) -> Iterator[None]:
        """Hold a snapshot while copying, so that no change restarts the copy.

        With a rollback journal that would keep others from writing: there the copy restarts.
        """
        if self.rows("PRAGMA journal_mode") != [("wal",)]:
            yield
            return
        with self.snapshot():
            self.version()  # a snapshot begins with the first read
            yield

    def overwrite_with(self, source: SqliteFile) -> None:
        """Replace this library's rows with another's, inside a transaction.

        Both must be of the same version.
        """
        self.run("PRAGMA defer_foreign_keys=ON")
        tables = [
            name
            for (name,) in source.rows("SELECT name FROM sqlite_master WHERE type = 'table'")
            if not name.startswith("sqlite_")
        ]
        for table in tables:
            self.run(f"DELETE FROM {table}")  # noqa: S608 - ours
        with as_problems(source.path), as_problems(self.path):
            for table in tables:
                rows = source._connection.execute(f"SELECT * FROM {table}")  # noqa: S608 - ours
                columns = [column for column, *_ in rows.description]
                while portion := rows.fetchmany(_LARGE_ROWS.get(table, _ROWS_AT_ONCE)):
                    self.insert(table, columns, portion)

    def _number(self, pragma: str) -> int:
        return int(self.rows(pragma)[0][0])


def open_file(
    path: Path,
    schema: Schema,
    *,
    read_only: bool = False,
    wait_s: float = 5.0,
    before_migration: Callable[[SqliteFile], object] | None = None,
) -> SqliteFile:
    """Open a library file; create its tables if it is empty, migrate it if it is older.

    Its folder must exist. With ``read_only`` nothing is created, changed or migrated; otherwise
    ``before_migration`` is called before an older file is changed. Raises LibraryProblem:
    NOT_A_LIBRARY, DAMAGED, NEWER, READ_ONLY, LOCKED, FULL, VANISHED or DISK_FAULT.
    """
    check_from_outside(path, read_only=read_only)
    aside = None if read_only else _set_foreign_log_aside(path)
    connection = _look_only(path) if read_only else _connect(path, wait_s)
    file = SqliteFile(connection, path, read_only=read_only)
    try:
        file.notice = None if aside is None else file_problems.foreign_log(path, aside)
        _bring_up_to_date(file, schema, before_migration)
        if not read_only:
            _make_durable(connection, path)
            _check_small_one_whole(file)
            file.others_wrote()  # remember its state, in case it is moved and comes back
    except BaseException:
        file.close()
        raise
    return file


def version_of(path: Path) -> int:
    """Return the version of a library, which may be one this program can't work with."""
    check_from_outside(path, read_only=True)
    file = SqliteFile(_look_only(path), path, read_only=True)
    try:
        return file.version()
    finally:
        file.close()


def companion(path: Path) -> Path:
    """Return the path of a library file's write-ahead log."""
    return path.with_name(f"{path.name}-wal")


def _connect(path: Path, wait_s: float) -> sqlite3.Connection:
    with as_problems(path):
        make_private(path)
        connection = sqlite3.connect(path, timeout=wait_s, isolation_level=None)
        connection.execute("PRAGMA trusted_schema=OFF")
        connection.execute("PRAGMA foreign_keys=ON")
        connection.execute("PRAGMA secure_delete=ON")  # deleted content is overwritten
        return connection


def _look_only(path: Path) -> sqlite3.Connection:
    """Open read-only, even where SQLite's companion files can't be created."""
    place = _uri(path)
    log = companion(path)
    ways = ["mode=ro", "mode=ro&immutable=1"]
    if log.exists() and log.stat().st_size > 0:
        ways = ways[:1] if _is_own_log(path) else ways[1:]
    for way in ways:
        connection = sqlite3.connect(f"{place}?{way}", uri=True, isolation_level=None)
        try:
            connection.execute("PRAGMA trusted_schema=OFF")
            connection.execute("PRAGMA user_version").fetchone()
        except sqlite3.Error as error:
            connection.close()
            last = error
        else:
            return connection
    with as_problems(path):
        raise last


def _is_own_log(path: Path) -> bool:
    """Whether the log beside a library is its own; checked twice, as somebody may be writing."""
    for wait_s in (0.0, 0.01, 0.02, 0.05, 0.1, 0.2):
        time.sleep(wait_s)
        before = _state_without_log(path)
        log = lineage.confirmed_frames(companion(path))
        if lineage.belongs(log, before) or lineage.belongs(log, _state_without_log(path)):
            return True
    return False


def _state_without_log(path: Path) -> str | None:
    """Return the marks in the file itself, ignoring its log; empty if it has none.

    None if that can't be read: a checkpoint was interrupted by a power cut or a full disk.
    """
    connection = sqlite3.connect(f"{_uri(path)}?mode=ro&immutable=1", uri=True)
    try:
        found = connection.execute("SELECT content FROM facts WHERE name = ?", [lineage.FACT])
        return str((found.fetchone() or ("",))[0])
    except sqlite3.Error:
        return None
    finally:
        connection.close()


def _set_foreign_log_aside(path: Path) -> Path | None:
    """Move another library's log out of the way; return its new place."""
    log = companion(path)
    try:
        if not (path.exists() and log.exists() and log.stat().st_size > 0) or _is_own_log(path):
            return None
        return set_aside([log, log.with_name(f"{path.name}-shm")], path)
    except OSError as error:
        raise file_problems.of_os_error(error, path) from error


def set_aside(parts: Sequence[Path], path: Path, now: datetime | None = None) -> Path:
    """Move files of the library at ``path`` into a dated folder among its backups.

    If there is nothing to move, no folder is made. Raises OSError if that fails.
    """
    at = (now or datetime.now(UTC)).astimezone(UTC)
    aside = free_name(path.parent / "backups", f"set aside {at.strftime(NAMED)}", "")
    for part in parts:
        if part.exists():
            make_private_folder(aside)
            part.rename(aside / part.name)
    return aside


def free_name(folder: Path, stem: str, suffix: str) -> Path:
    """Return a path that does not exist yet, with a number added to the name if needed."""
    target, number = folder / f"{stem}{suffix}", 2
    while target.exists():
        target, number = folder / f"{stem} {number}{suffix}", number + 1
    return target


def _uri(path: Path) -> str:
    place = path.absolute().as_uri()
    if not place.startswith("file:///"):  # a network share: SQLite's URI needs four slashes
        place = place.replace("file://", "file:////", 1)
    return place


def _bring_up_to_date(
    file: SqliteFile,
    schema: Schema,
    before_migration: Callable[[SqliteFile], object] | None,
) -> None:
    version = _version_of_ours(file)
    if version > schema.version:
        raise file_problems.newer(file.path, version, schema.version)
    if version == schema.version:
        return
    if file.read_only:
        _read_as_newer(file, version, schema)
        return
    if version > 0 and before_migration is not None:
        before_migration(file)
    if version > 0:
        file.run("PRAGMA foreign_keys=OFF")  # tables are rebuilt; checked before the commit instead
    with file.transaction():
        version = _version_of_ours(file)  # another window may have migrated it meanwhile
        if version == 0:
            _run_all(file, schema.statements)
            file.run(f"PRAGMA application_id={APPLICATION_ID}")
        else:
            for older in range(version, schema.version):
                _run_all(file, schema.migrations[older])
        file.run(f"PRAGMA user_version={schema.version}")
        if file.rows("PRAGMA foreign_key_check"):
            raise file_problems.damaged(file.path, "rows")
    file.run("PRAGMA foreign_keys=ON")


def _read_as_newer(file: SqliteFile, version: int, schema: Schema) -> None:
    """Read an older file through views, as if of this version, without changing it."""
    if version in schema.views:
        _run_all(file, schema.views[version])
    elif any(schema.migrations[older] for older in range(version, schema.version)):
        raise file_problems.outdated(file.path)


def _run_all(file: SqliteFile, statements: tuple[str, ...]) -> None:
    for statement in statements:
        file.run(statement)


def _version_of_ours(file: SqliteFile) -> int:
    """Return the file's version, 0 if it is empty; raises if it is not a library."""
    ((mark,),) = file.rows("PRAGMA application_id")
    version = file.version()
    if mark == APPLICATION_ID and version > 0:
        return version
    if mark != 0 or version != 0 or file.rows("SELECT name FROM sqlite_master LIMIT 1"):
        raise file_problems.no_library(file.path, "other")
    if file.read_only:
        raise file_problems.no_library(file.path, "empty")
    return 0


def _make_durable(connection: sqlite3.Connection, path: Path) -> None:
    """Make every commit durable before it returns.

    With a write-ahead log where SQLite allows one. It can't work over a network; there a rollback
    journal is used, with the folder synced as well (EXTRA).
    """
    over_network = network_kind(path) is not None
    with as_problems(path):
        with suppress(sqlite3.OperationalError):  # another window holds it; the journal mode stays
            connection.execute(f"PRAGMA journal_mode={'DELETE' if over_network else 'WAL'}")
        connection.execute(f"PRAGMA synchronous={'EXTRA' if over_network else 'FULL'}")
        connection.execute(f"PRAGMA wal_autocheckpoint={_LONGEST_LOG_PAGES}")
        connection.execute("PRAGMA fullfsync=ON")  # macOS only; no effect elsewhere
        connection.execute("PRAGMA checkpoint_fullfsync=ON")


def _check_small_one_whole(file: SqliteFile) -> None:
    is_small = file.path.stat().st_size <= _CHECKED_WHOLE_BYTES
    if is_small and file.rows("PRAGMA integrity_check(1)") != [("ok",)]:
        raise file_problems.damaged(file.path, "pages")


def _identity(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def _in_parts(where: Conditions) -> Iterator[Conditions]:
    """Yield the conditions, split into several if a list exceeds the values of one statement."""
    for column, wanted in where.items():
        if isinstance(wanted, tuple) and len(wanted) > _MOST_VALUES:
            for start in range(0, len(wanted), _MOST_VALUES):
                yield {**where, column: wanted[start : start + _MOST_VALUES]}
            return
    yield where


def _conditions(where: Conditions) -> tuple[str, list[Any]]:
    """Return the WHERE clause and its values."""
    terms: list[str] = []
    values: list[Any] = []
    for column, wanted in where.items():
        if isinstance(wanted, tuple):
            terms.append(f"{column} IN ({', '.join('?' * len(wanted))})")
            values += wanted
        elif isinstance(wanted, Above):
            terms.append(f"{column} > ?")
            values.append(wanted.value)
        else:
            terms.append(f"{column} = ?")
            values.append(wanted)
    return (f" WHERE {' AND '.join(terms)}" if terms else ""), values
