"""A storage engine in plain Python, without SQL, to show what the store asks of an engine.

A library lives as long as its address. Its state is one mapping of tables that is replaced whole
when a transaction ends, so a snapshot is a reference to it. Backups as files it has none.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

from core.language import Message
from core.store.backend import Above, Conditions, RowValues
from core.store.problems import LibraryProblem, ProblemKind, unsuitable

Record = dict[str, Any]
Tables = dict[str, tuple[Record, ...]]

DEFAULTS: Final[dict[str, Record]] = {
    "facts": {},
    "things": {"archived": 0, "archived_at": "", "arms": "", "check_months": -1},
    "thing_revisions": {},
    "fittings": {
        "archived": 0,
        "archived_at": "",
        "entry_count": 0,
        "finished": 0,
        "job_id": "",
        "headshell_id": "",
        "arm_key": "",
        "is_check": 1,
        "reached": "?",
        "kept": 0,
        "left_found": 0,
        "checked_at": "",
    },
    "entries": {},
    "drafts": {},
    "form_drafts": {},
    "jobs": {"archived": 0, "archived_at": ""},
    "job_revisions": {},
    "customers": {"archived": 0, "archived_at": ""},
    "customer_revisions": {},
    "headshells": {"archived": 0, "archived_at": ""},
    "headshell_revisions": {},
    "test_records": {"archived": 0, "archived_at": ""},
    "test_record_revisions": {},
    "services": {"archived": 0, "archived_at": ""},
    "service_revisions": {},
    "pictures": {"archived": 0, "archived_at": ""},
    "picture_revisions": {},
    "picture_contents": {},
}
UNIQUE: Final = {
    "facts": (("name",),),
    "things": (("id",),),
    "thing_revisions": (("thing_id", "revision"),),
    "fittings": (("id",),),
    "entries": (("id",), ("fitting_id", "seq")),
    "drafts": (("fitting_id", "step", "form", "window_id"),),
    "form_drafts": (("record_id", "step", "form", "window_id"),),
    "jobs": (("id",),),
    "job_revisions": (("thing_id", "revision"),),
    "customers": (("id",),),
    "customer_revisions": (("thing_id", "revision"),),
    "headshells": (("id",),),
    "headshell_revisions": (("thing_id", "revision"),),
    "test_records": (("id",),),
    "test_record_revisions": (("thing_id", "revision"),),
    "services": (("id",),),
    "service_revisions": (("thing_id", "revision"),),
    "pictures": (("id",),),
    "picture_revisions": (("thing_id", "revision"),),
    "picture_contents": (("hash",),),
}
REFERENCES: Final = {
    "thing_revisions": ((("thing_id",), "things", ("id",)),),
    "fittings": (
        (("deck_id", "deck_revision"), "thing_revisions", ("thing_id", "revision")),
        (("cartridge_id", "cartridge_revision"), "thing_revisions", ("thing_id", "revision")),
    ),
    "entries": ((("fitting_id",), "fittings", ("id",)),),
    "drafts": ((("fitting_id",), "fittings", ("id",)),),
}


class MemoryAddress:
    """The address of a library in this process's memory."""

    backups = None
    sounds = None

    def __init__(self, name: str, folder: Path) -> None:
        self._name = name
        self.folder = folder
        self.tables: Tables = dict.fromkeys(DEFAULTS, ())
        self.writes = 0
        self.writing = threading.Lock()

    def __str__(self) -> str:
        return f"memory {self._name}"

    def resolved(self) -> MemoryAddress:
        return self

    def open(self, *, read_only: bool, wait_s: float, **_begun: bool) -> MemoryBackend:
        return MemoryBackend(self, read_only=read_only, wait_s=wait_s)

    def warning(self) -> str | None:
        return None

    def is_at(self, _path: Path) -> bool:
        return False

    def may_be_library(self, _path: Path) -> bool:
        return False

    def for_rehearsals(self) -> MemoryAddress:
        return MemoryAddress(f"{self._name} rehearsals", self.folder)


class MemoryBackend:
    """An open library in memory."""

    notice = None

    def __init__(self, address: MemoryAddress, *, read_only: bool, wait_s: float) -> None:
        self._address = address
        self.read_only = read_only
        self._wait_s = wait_s
        self._held: Tables | None = None
        self._own_writes = 0

    def close(self) -> None:
        self._held = None

    def select(
        self,
        table: str,
        columns: Sequence[str],
        where: Conditions | None = None,
        *,
        order: Sequence[str] = (),
        limit: int | None = None,
    ) -> list[RowValues]:
        tables = self._address.tables if self._held is None else self._held
        found = [row for row in tables[table] if _meets(row, where or {})]
        for term in reversed(order):
            found.sort(key=lambda row: row[term.removeprefix("-")], reverse=term[0] == "-")
        return [tuple(row[column] for column in columns) for row in found[:limit]]

    def select_in_parts(
        self, table: str, columns: Sequence[str], where: Conditions | None = None
    ) -> Iterator[list[RowValues]]:
        for row in MemoryBackend.select(self, table, columns, where):
            yield [row]

    def insert(self, table: str, columns: Sequence[str], rows: Sequence[Sequence[Any]]) -> None:
        new = [dict(zip(columns, _storable(row), strict=True)) for row in rows]
        self._write(table, [*self._tables()[table], *(DEFAULTS[table] | row for row in new)])

    def update(self, table: str, values: Mapping[str, Any], where: Conditions) -> None:
        _storable(tuple(values.values()))
        changed = [row | values if _meets(row, where) else row for row in self._tables()[table]]
        self._write(table, changed)

    def delete(self, table: str, where: Conditions) -> None:
        self._write(table, [row for row in self._tables()[table] if not _meets(row, where)])

    @contextmanager
    def transaction(self, *, hurried: bool = False) -> Iterator[None]:
        if self._held is not None:
            yield
            return
        if self.read_only:
            raise LibraryProblem(
                ProblemKind.READ_ONLY,
                f"The library {self._address} was opened to look only.",
                "Open it for writing.",
            )
        if not self._address.writing.acquire(timeout=0 if hurried else self._wait_s):
            raise LibraryProblem(
                ProblemKind.LOCKED, f"Somebody else is writing to {self._address}.", "Try again."
            )
        before = self._address.tables
        self._held = dict(before)
        try:
            yield
            if self._held != before:
                self._address.tables = self._held
                self._address.writes += 1
                self._own_writes += 1
        finally:
            self._held = None
            self._address.writing.release()

    @contextmanager
    def snapshot(self) -> Iterator[None]:
        if self._held is not None:
            yield
            return
        self._held = self._address.tables
        try:
            yield
        finally:
            self._held = None

    def others_wrote(self) -> int:
        return self._address.writes - self._own_writes

    def settle(self, *, drafts: bool = True) -> bool:  # noqa: ARG002 - nothing is elsewhere
        return True

    def faults(self, _go_on: Callable[[], bool] = lambda: True) -> list[str]:
        tables = self._address.tables if self._held is None else self._held
        return [
            f"a row of {table} names a missing row of {other}"
            for table, references in REFERENCES.items()
            for columns, other, names in references
            for wanted in {tuple(row[one] for one in columns) for row in tables[table]}
            - {tuple(row[one] for one in names) for row in tables[other]}
            if wanted
        ]

    def damaged(self) -> LibraryProblem:
        return LibraryProblem(
            ProblemKind.DAMAGED, f"The library {self._address} is damaged.", "Ask who keeps it."
        )

    def unreadable(self, what: Message) -> LibraryProblem:
        return LibraryProblem(ProblemKind.DAMAGED, what, "Ask who keeps it.")

    def _tables(self) -> Tables:
        if self._held is None or self._held is self._address.tables:
            raise RuntimeError("a change outside a transaction")
        return self._held

    def _write(self, table: str, rows: Sequence[Record]) -> None:
        for columns in UNIQUE[table]:
            if len({tuple(row[one] for one in columns) for row in rows}) < len(rows):
                raise unsuitable("What was to be kept contradicts what is already here.")
        self._tables()[table] = tuple(rows)


def _meets(row: Record, where: Conditions) -> bool:
    for column, wanted in where.items():
        if isinstance(wanted, tuple):
            if row[column] not in wanted:
                return False
        elif isinstance(wanted, Above):
            if row[column] <= wanted.value:
                return False
        elif row[column] != wanted:
            return False
    return True


def _storable(values: Sequence[Any]) -> Sequence[Any]:
    """Refuse what no file could hold either."""
    for value in values:
        if isinstance(value, str) and not value.isascii():
            try:
                value.encode()
            except UnicodeEncodeError as error:
                raise unsuitable("A text holds a broken character that can't be kept.") from error
    return values
