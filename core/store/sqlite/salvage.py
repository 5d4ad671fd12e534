"""Read what is still readable of a damaged library.

A table and its index lie on pages of their own. The table is read from both ends as far as
possible; further rows named by the index are fetched one by one. A row that only the index names is
lost, except for the columns that other indexes repeat.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from itertools import pairwise
from typing import Final

from core.store.backend import RowValues, Salvage, WorkStoppedError
from core.store.sqlite.file import SqliteFile

_TABLES: Final = {
    "things": (("id",), ("sort", "archived")),
    "thing_revisions": (("thing_id", "revision"), ("at", "who", "body")),
    "fittings": (
        ("id",),
        (
            *("deck_id", "deck_revision", "cartridge_id", "cartridge_revision"),
            *("started_at", "who", "archived"),
        ),
    ),
    "entries": (("id",), ("fitting_id", "seq", "at", "who", "body")),
    "jobs": (("id",), ("sort", "archived")),
    "job_revisions": (("thing_id", "revision"), ("at", "who", "body")),
    "customers": (("id",), ("sort", "archived")),
    "customer_revisions": (("thing_id", "revision"), ("at", "who", "body")),
    "headshells": (("id",), ("sort", "archived")),
    "headshell_revisions": (("thing_id", "revision"), ("at", "who", "body")),
    "services": (("id",), ("sort", "archived")),
    "service_revisions": (("thing_id", "revision"), ("at", "who", "body")),
    "pictures": (("id",), ("sort", "archived")),
    "picture_revisions": (("thing_id", "revision"), ("at", "who", "body")),
    "picture_contents": (("hash",), ()),
    "test_records": (("id",), ("sort", "archived")),
    "test_record_revisions": (("thing_id", "revision"), ("at", "who", "body")),
}
"""The key columns of each table, and the other columns to read; as migrations left them."""
_REPEATED: Final = {
    "fittings": {
        "fittings_by_deck": ("deck_id", "started_at"),
        "fittings_by_cartridge": ("cartridge_id", "started_at"),
    },
}
"""Indexes that repeat columns of a table, on pages of their own."""
_SINCE: Final = {
    **dict.fromkeys(("jobs", "job_revisions", "customers", "customer_revisions"), 5),
    **dict.fromkeys(("headshells", "headshell_revisions", "services", "service_revisions"), 5),
    **dict.fromkeys(("test_records", "test_record_revisions"), 6),
    **dict.fromkeys(("pictures", "picture_revisions", "picture_contents"), 6),
}
"""Tables that older versions lack, and the first version with them."""
_ASKED_EVERY: Final = 200


def salvage(file: SqliteFile, go_on: Callable[[], bool]) -> Salvage:
    """Return every readable row, and the keys of unreadable ones.

    Raises WorkStoppedError once ``go_on`` returns False.
    """
    found = Salvage()
    for table, (key, others) in _TABLES.items():
        if file.version() < _SINCE.get(table, 1):
            found.rows[table], found.missing[table] = [], []
            continue
        rows = _TableRows(file, table, key, others, go_on)
        found.rows[table] = rows.found()
        found.missing[table] = rows.missing
        found.repeated[table] = rows.repeated()
        if rows.is_cut:
            found.cut.add(table)
    return found


def contents(file: SqliteFile, hashes: Iterable[str]) -> Iterator[tuple[str, bytes, bytes]]:
    """Yield digest, picture and thumbnail of picture contents, as far as readable."""
    for wanted in hashes:
        rows, _ = file.rows_until_damage(
            "SELECT hash, image, small FROM picture_contents WHERE hash = ?",
            (wanted,),
            bytes_from=1,
        )
        for found, image, small in rows:
            if isinstance(image, bytes) and isinstance(small, bytes):
                yield str(found), image, small


class _TableRows:
    """The rows of one table."""

    def __init__(
        self,
        file: SqliteFile,
        table: str,
        key: tuple[str, ...],
        others: tuple[str, ...],
        go_on: Callable[[], bool],
    ) -> None:
        self._file = file
        self._table = table
        self._key = key
        self._columns = (*key, *others)
        self._go_on = go_on
        self.missing: list[RowValues] = []
        self.is_cut = False
        self._places: dict[int, RowValues] = {}

    def found(self) -> list[dict[str, object]]:
        """Return the rows, each once, and note what is missing."""
        listed = ", ".join(self._columns)
        read, is_whole = self._from_both_ends(
            f"SELECT rowid, {listed} FROM main.{self._table} NOT INDEXED ORDER BY rowid",  # noqa: S608 - ours
            places=1,
        )
        size = len(self._key)
        by_key = {row[1 : size + 1]: row[1:] for row in read if None not in row[1 : size + 1]}
        names = ", ".join(self._key)
        index = f"sqlite_autoindex_{self._table}_1"
        named, is_named_whole = self._from_both_ends(
            f"SELECT {names}, rowid FROM main.{self._table} INDEXED BY {index} ORDER BY {names}",  # noqa: S608 - ours
            places=size,
        )
        self.is_cut = not (is_whole or is_named_whole)
        if is_whole and not is_named_whole:
            named = []  # the index may be the damaged part: it may name rows that never existed
        for count, (*key, rowid) in enumerate(dict.fromkeys(named)):
            if count % _ASKED_EVERY == 0 and not self._go_on():
                raise WorkStoppedError
            if tuple(key) in by_key:
                continue
            rows, _ = self._file.rows_until_damage(
                f"SELECT {listed} FROM main.{self._table} NOT INDEXED WHERE rowid = ?",  # noqa: S608 - ours
                (rowid,),
            )
            if rows and rows[0][:size] == tuple(key):
                by_key[tuple(key)] = rows[0]
            else:
                self.missing.append(tuple(key))
                self._places[rowid] = tuple(key)
        return [dict(zip(self._columns, row, strict=True)) for row in by_key.values()]

    def repeated(self) -> list[dict[str, object]]:
        """Return columns of missing rows from indexes, where all indexes with a column agree."""
        found: dict[int, dict[str, object]] = {}
        disputed = set()
        indexes = _REPEATED.get(self._table, {}) if self._places else {}
        for index, columns in indexes.items():
            names = ", ".join(columns)
            read, _ = self._from_both_ends(
                f"SELECT {names}, rowid "  # noqa: S608 - ours
                f"FROM main.{self._table} INDEXED BY {index} ORDER BY {names}",
                places=len(columns),
            )
            for *values, rowid in read:
                if rowid in self._places:
                    said = dict(zip(columns, values, strict=True))
                    known = found.setdefault(
                        rowid, dict(zip(self._key, self._places[rowid], strict=True))
                    )
                    if any(known.get(name, value) != value for name, value in said.items()):
                        disputed.add(rowid)
                    known.update(said)
        return [known for rowid, known in found.items() if rowid not in disputed]

    def _from_both_ends(self, sql: str, places: int) -> tuple[list[RowValues], bool]:
        """Return rows, and whether those are all: read to the end and in strict order.

        A page that holds the rows of another page is read without an error, but out of order.
        """
        if not self._go_on():
            raise WorkStoppedError
        read, is_whole = self._file.rows_until_damage(sql)
        if is_whole:
            return read, _is_ascending([row[:places] for row in read])
        backwards = ", ".join(f"{one} DESC" for one in _ordered_by(sql))
        head = sql.rpartition(" ORDER BY ")[0]
        return read + self._file.rows_until_damage(f"{head} ORDER BY {backwards}")[0], False


def _is_ascending(keys: list[RowValues]) -> bool:
    try:
        return all(one < other for one, other in pairwise(keys))
    except TypeError:  # text where a number belongs
        return False


def _ordered_by(sql: str) -> Iterator[str]:
    yield from sql.rpartition(" ORDER BY ")[2].split(", ")
