"""Fittings and their entries: an append-only log, durable when a call returns."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from pydantic import TypeAdapter, ValidationError

from core.fitting import Body, Entry, Fitting, ThingsRevised
from core.store import problems
from core.store.listing import FittingListing, NamedThing
from core.store.revisions import unreadable
from core.store.rows import (
    FittingRow,
    in_parts,
    marks,
    moment,
    stamp,
    text_of,
    word_patterns,
)
from core.store.sqlite_file import Row, SqliteFile

_BODY: Final[TypeAdapter[Body]] = TypeAdapter(Body)
_DECIDES_FINISHED: Final = ("finished", "reopened", "withdrawn")
_ENTRY: Final = "SELECT id, at, who, body FROM entries"
_ROW: Final = (
    "SELECT id, deck_id, cartridge_id, started_at, last_at, finished, archived, entry_count, who"
    " FROM fittings"
)
_LISTED: Final = (
    "SELECT id, deck_id, cartridge_id, started_at, last_at, finished, archived, entry_count, who"
    " FROM fittings"
)
_IN_NAMES: Final = (
    # With || '' no index is taken here: the newest 200 of many are found by walking back in time.
    r"(deck_id || '' IN (SELECT id FROM things WHERE sort = 'deck' AND folded LIKE ? ESCAPE '\')"
    r" OR cartridge_id || '' IN"
    r" (SELECT id FROM things WHERE sort = 'cartridge' AND folded LIKE ? ESCAPE '\'))"
)
_IN_DATES: Final = r"(started_at LIKE ? ESCAPE '\' OR last_at LIKE ? ESCAPE '\')"
_FEW: Final = 200


class FittingLog:
    """All fittings of a library."""

    def __init__(self, file: SqliteFile) -> None:
        self._file = file

    def rows(
        self,
        words: str = "",
        *,
        deck_id: str | None = None,
        cartridge_id: str | None = None,
        finished: bool | None = None,
        archived: bool | None = None,
        limit: int | None = None,
    ) -> tuple[FittingRow, ...]:
        """Return the fittings that meet every condition, the one last worked on first.

        Every word must be found in deck, owner's reference, cartridge or a date (2025-03).
        """
        conditions: list[str] = []
        values: list[object] = []
        for column, wanted in (
            ("deck_id = ?", deck_id),
            ("cartridge_id = ?", cartridge_id),
            ("finished = ?", finished),
            ("archived = ?", archived),
        ):
            if wanted is not None:
                conditions.append(column)
                values.append(int(wanted) if isinstance(wanted, bool) else wanted)
        for pattern in word_patterns(words):
            may_be_date = not pattern.strip("%0123456789-")
            conditions.append(f"({_IN_NAMES} OR {_IN_DATES})" if may_be_date else _IN_NAMES)
            values += [pattern] * (4 if may_be_date else 2)
        sql = _ROW + (f" WHERE {' AND '.join(conditions)}" if conditions else "")
        sql += " ORDER BY last_at DESC, id"
        if limit is not None:
            sql += " LIMIT ?"
            values.append(limit)
        with self._file.snapshot():
            found = self._file.rows(sql, values)
            names = self._names(found)
        return tuple(_fitting_row(row, names) for row in found)

    def rows_of(self, fitting_ids: Sequence[str]) -> tuple[FittingRow, ...]:
        """Return the rows of these fittings, in this order; those not on file are left out."""
        found: list[Row] = []
        with self._file.snapshot():
            for some in in_parts(fitting_ids):
                found += self._file.rows(f"{_ROW} WHERE id IN ({marks(some)})", some)
            names = self._names(found)
        by_id = {row[0]: row for row in found}
        return tuple(_fitting_row(by_id[one], names) for one in fitting_ids if one in by_id)

    def listing(self, *, finished: bool | None = None) -> FittingListing:
        """Return all fittings, or only those that are finished or not, to search and to sort."""
        sql, values = _LISTED, []
        if finished is not None:
            sql += " WHERE finished = ?"
            values.append(int(finished))
        with self._file.snapshot():
            found = self._file.rows(sql, values)
            things = self._things_of(found)
        return FittingListing(found, things)

    def _things_of(self, rows: list[Row]) -> dict[str, NamedThing]:
        """Return what the rows speak of; for many rows everything, which is quicker then."""
        sql = "SELECT id, name, owner_reference, folded FROM things"
        if len(rows) > 5 * _FEW:
            found = self._file.rows(sql)
        else:
            ids = list({thing_id for row in rows for thing_id in (row[1], row[2])})
            found = []
            for some in in_parts(ids):
                found += self._file.rows(f"{sql} WHERE id IN ({marks(some)})", some)
        return {row[0]: row[1:] for row in found}

    def _names(self, rows: list[Row]) -> dict[str, tuple[str, str]]:
        """Return name and owner's reference of what the rows speak of, for many rows of all.

        Far quicker than a join over a large library, whose things don't fit SQLite's cache.
        """
        sql, ids = "SELECT id, name, owner_reference FROM things", []
        if len(rows) <= _FEW:
            ids = list({thing_id for row in rows for thing_id in (row[1], row[2])})
            sql += f" WHERE id IN ({', '.join('?' * len(ids))})"
        return {thing_id: (name, owner) for thing_id, name, owner in self._file.rows(sql, ids)}

    def has(self, fitting_id: str) -> bool:
        """Whether there is such a fitting."""
        return self._file.row("SELECT 1 FROM fittings WHERE id = ?", [fitting_id]) is not None

    def get(self, fitting_id: str) -> Fitting:
        """Return a fitting with its whole log; NO_SUCH_RECORD if there is none."""
        entries = self._file.rows(f"{_ENTRY} WHERE fitting_id = ? ORDER BY seq", [fitting_id])
        return self._head(fitting_id).model_copy(
            update={"entries": tuple(_entry(row) for row in entries)}
        )

    def add(self, fitting: Fitting, *, archived: bool = False) -> None:
        """Keep a new fitting with the entries it has."""
        with self._file.transaction():
            self._file.run(
                "INSERT INTO fittings (id, deck_id, deck_revision, cartridge_id,"
                " cartridge_revision, started_at, who, archived, last_at)"
                " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                [
                    fitting.id,
                    fitting.deck_id,
                    fitting.deck_revision,
                    fitting.cartridge_id,
                    fitting.cartridge_revision,
                    stamp(fitting.started_at),
                    fitting.who,
                    int(archived),
                    stamp(fitting.started_at),
                ],
            )
            if fitting.entries:
                self.extend(fitting.id, fitting.entries)

    def append(self, fitting_id: str, entry: Entry) -> Entry:
        """Keep one entry at the end of a fitting's log; it is on the disk on return.

        Appending the same entry again changes nothing, so a save that seemed to fail can be
        repeated.

        Raises
        ------
        LibraryProblem
            NO_SUCH_RECORD without such a fitting; UNSUITABLE for an entry no file can hold or a
            number that another entry has; what the disk or another window causes.
        """
        body = text_of(entry.body)
        with self._file.transaction():
            if not self.has(fitting_id):
                raise problems.no_such("fitting", fitting_id)
            if isinstance(entry.body, ThingsRevised):
                self._check_revisions(fitting_id, entry.body)
            before = self._file.row(
                "SELECT id, at, who, body, fitting_id FROM entries WHERE id = ?", [entry.id]
            )
            if before is not None:
                if before[4] != fitting_id or before[3] != body:
                    raise problems.unsuitable(f"Another entry has the number {entry.id!r}.")
                return _entry(before[:4])
            self._insert(fitting_id, [(entry, body)])
        return entry.model_copy(update={"body": _BODY.validate_json(body)})

    def extend(self, fitting_id: str, entries: Sequence[Entry]) -> None:
        """Keep several new entries, all or none."""
        with self._file.transaction():
            self._insert(fitting_id, [(entry, text_of(entry.body)) for entry in entries])

    def archive(self, fitting_ids: Iterable[str], *, archived: bool) -> None:
        """Put fittings away, or bring them back; nothing is deleted."""
        with self._file.transaction():
            for fitting_id in fitting_ids:
                if not self.has(fitting_id):
                    raise problems.no_such("fitting", fitting_id)
                self._file.run(
                    "UPDATE fittings SET archived = ? WHERE id = ?", [int(archived), fitting_id]
                )

    def is_archived(self, fitting_id: str) -> bool:
        """Whether a fitting was put away."""
        found = self._file.row("SELECT archived FROM fittings WHERE id = ?", [fitting_id])
        return bool(found and found[0])

    def foreign_entries(self, fitting_id: str, entry_ids: Sequence[str]) -> list[str]:
        """Return those of the numbers that entries of other fittings have."""
        found: list[str] = []
        for start in range(0, len(entry_ids), 500):
            chunk = entry_ids[start : start + 500]
            marks = ", ".join("?" * len(chunk))
            found += [
                row[0]
                for row in self._file.rows(
                    f"SELECT id FROM entries WHERE id IN ({marks})"  # noqa: S608 - question marks
                    " AND fitting_id <> ?",
                    [*chunk, fitting_id],
                )
            ]
        return found

    def rebuild_lists(self) -> None:
        """Work the light columns out again from the entries."""
        with self._file.transaction():
            for (fitting_id,) in self._file.rows("SELECT id FROM fittings"):
                self._sum_up(fitting_id)

    def _insert(self, fitting_id: str, entries: Sequence[tuple[Entry, str]]) -> None:
        last = self._file.row(
            "SELECT COALESCE(MAX(seq), 0) FROM entries WHERE fitting_id = ?", [fitting_id]
        )
        start = int(last[0]) + 1 if last else 1
        self._file.run_many(
            "INSERT INTO entries (id, fitting_id, seq, at, who, kind, step, body)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            [
                (
                    entry.id,
                    fitting_id,
                    start + i,
                    stamp(entry.at),
                    entry.who,
                    entry.body.kind,
                    getattr(entry.body, "step", ""),
                    body,
                )
                for i, (entry, body) in enumerate(entries)
            ],
        )
        count = start + len(entries) - 1
        last_at = stamp(entries[-1][0].at)
        self._file.run(
            "UPDATE fittings SET last_at = ?, entry_count = ? WHERE id = ?",
            [last_at, count, fitting_id],
        )
        if any(entry.body.kind in _DECIDES_FINISHED for entry, _ in entries):
            self._sum_up(fitting_id)

    def _sum_up(self, fitting_id: str) -> None:
        deciding = self._file.rows(
            f"{_ENTRY} WHERE fitting_id = ? AND kind IN (?, ?, ?) ORDER BY seq",
            [fitting_id, *_DECIDES_FINISHED],
        )
        newest = self._file.row(
            "SELECT seq, at FROM entries WHERE fitting_id = ? ORDER BY seq DESC LIMIT 1",
            [fitting_id],
        )
        head = self._head(fitting_id)
        count, last_at = newest or (0, stamp(head.started_at))
        shortened = head.model_copy(update={"entries": tuple(_entry(row) for row in deciding)})
        self._file.run(
            "UPDATE fittings SET last_at = ?, entry_count = ?, finished = ? WHERE id = ?",
            [last_at, count, int(shortened.is_finished), fitting_id],
        )

    def _head(self, fitting_id: str) -> Fitting:
        found = self._file.row(
            "SELECT id, deck_id, deck_revision, cartridge_id, cartridge_revision, started_at, who"
            " FROM fittings WHERE id = ?",
            [fitting_id],
        )
        if found is None:
            raise problems.no_such("fitting", fitting_id)
        return Fitting(
            id=found[0],
            deck_id=found[1],
            deck_revision=found[2],
            cartridge_id=found[3],
            cartridge_revision=found[4],
            started_at=moment(found[5]),
            who=found[6],
        )

    def _check_revisions(self, fitting_id: str, body: ThingsRevised) -> None:
        found = self._file.row(
            "SELECT d.revision, c.revision FROM fittings f"
            " JOIN things d ON d.id = f.deck_id JOIN things c ON c.id = f.cartridge_id"
            " WHERE f.id = ?",
            [fitting_id],
        )
        if found and (body.deck_revision > found[0] or body.cartridge_revision > found[1]):
            raise problems.unsuitable(
                "The entry names a revision of deck or cartridge that is not in this library."
            )


def _entry(row: Row) -> Entry:
    entry_id, at, who, body = row
    try:
        return Entry(id=entry_id, at=moment(at), who=who, body=_BODY.validate_json(body))
    except ValidationError as error:
        raise unreadable(f"the entry {entry_id}") from error


def _fitting_row(row: Row, names: dict[str, tuple[str, str]]) -> FittingRow:
    fitting_id, deck_id, cartridge_id, started, last, finished, archived, count, who = row
    deck_name, owner_reference = names[deck_id]
    return FittingRow(
        id=fitting_id,
        deck_id=deck_id,
        deck_name=deck_name,
        owner_reference=owner_reference,
        cartridge_id=cartridge_id,
        cartridge_name=names[cartridge_id][0],
        started_at=moment(started),
        last_at=moment(last),
        finished=bool(finished),
        archived=bool(archived),
        entry_count=count,
        who=who,
    )
