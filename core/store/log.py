"""Fittings and their entries: an append-only log, durable when the call returns."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from datetime import UTC, datetime
from functools import cache, partial
from typing import Final

from pydantic import TypeAdapter, ValidationError

from core.fitting import Body, Entry, Fitting, ThingsRevised
from core.language import Name, message
from core.store import problems
from core.store.arm_names import named_in
from core.store.backend import Backend, Conditions, RowValues
from core.store.fitting_status import DECIDES, TRIES, Try, fitting_status_of
from core.store.listing import FittingListing, RecordNames, columns_of
from core.store.problems import LibraryProblem
from core.store.rows import UNKNOWN_REACHED, FittingRow, moment, moment_or_none, stamp, text_of

_ENTRY: Final = ("id", "at", "who", "body")
_LISTED: Final = (
    *("id", "deck_id", "cartridge_id", "started_at", "last_at"),
    *("finished", "archived", "entry_count", "who", "archived_at", "job_id", "arm_key"),
)
_STANDING: Final = ("reached", "kept", "left_found", "checked_at", "is_check")
_UNLIKE: Final = {
    (*_LISTED, *_STANDING).index(one) for one in ("id", "started_at", "last_at", "checked_at")
}
_AT_ONCE: Final = 200
"""Number of fittings whose entries are read in one query."""
_MANY: Final = 1000
"""From this many fittings on, reading all decks and cartridges is faster than reading theirs."""


class FittingLog:
    """All fittings of a library."""

    def __init__(self, backend: Backend) -> None:
        self._backend = backend

    def rows(
        self,
        *,
        deck_id: str | None = None,
        cartridge_id: str | None = None,
        job_id: str | None = None,
        headshell_id: str | None = None,
        arm_key: str | None = None,
        finished: bool | None = None,
        archived: bool | None = None,
        limit: int | None = None,
    ) -> tuple[FittingRow, ...]:
        """Return the fittings that meet every condition, newest entry first."""
        asked = {"deck_id": deck_id, "cartridge_id": cartridge_id, "job_id": job_id}
        asked |= {"headshell_id": headshell_id, "arm_key": arm_key}
        flags = {"finished": finished, "archived": archived}
        where: dict[str, str | int] = {name: one for name, one in asked.items() if one is not None}
        where |= {name: int(one) for name, one in flags.items() if one is not None}
        with self._backend.snapshot():
            found = self._backend.select(
                "fittings", _LISTED, where, order=("-last_at", "id"), limit=limit
            )
            names = self._names_in(found)
        return tuple(_fitting_row(row, names) for row in found)

    def rows_of(self, fitting_ids: Sequence[str]) -> tuple[FittingRow, ...]:
        """Return the rows of these fittings, in this order, without missing ones."""
        with self._backend.snapshot():
            found = self._backend.select("fittings", _LISTED, {"id": tuple(fitting_ids)})
            names = self._names_in(found)
        by_id = {row[0]: row for row in found}
        return tuple(_fitting_row(by_id[one], names) for one in fitting_ids if one in by_id)

    def listing(self, *, finished: bool | None = None) -> FittingListing:
        """Return all fittings, or only those finished or not, as a list to search and sort."""
        where = {} if finished is None else {"finished": int(finished)}
        with self._backend.snapshot():
            parts = self._backend.select_in_parts("fittings", (*_LISTED, *_STANDING), where)
            columns = columns_of(parts, len(_LISTED) + len(_STANDING), unlike=_UNLIKE)
            names = self._names_of(*columns[1:3])
            # Mostly none: an owner at home has no jobs.
            jobs = self._backend.select("jobs", ("id", "name", "promised"))
        promises = {job: (number, promised) for job, number, promised in jobs}
        return FittingListing(columns, names, promises)

    def _names_in(self, rows: list[RowValues]) -> dict[str, RecordNames]:
        """Return what rows of fittings need of their decks and cartridges."""
        return self._names_of([row[1] for row in rows], [row[2] for row in rows])

    def _names_of(self, decks: Sequence[str], cartridges: Sequence[str]) -> dict[str, RecordNames]:
        """Return what lists need of the deck and the cartridge of each fitting.

        Much faster than a join in a large library, whose records exceed SQLite's cache.
        """
        found = self._backend.select(
            "things",
            ("id", "name", "owner_reference", "folded", "check_months", "arms"),
            {"id": tuple({*decks, *cartridges})} if len(decks) < _MANY else {},
        )
        return {row[0]: row[1:] for row in found}

    def has(self, fitting_id: str) -> bool:
        """Whether the fitting exists."""
        return bool(self._backend.select("fittings", ("id",), {"id": fitting_id}))

    def get(self, fitting_id: str) -> Fitting:
        """Return a fitting with its whole log; raises NO_SUCH_RECORD if there is none."""
        entries = self._backend.select(
            "entries", _ENTRY, {"fitting_id": fitting_id}, order=("seq",)
        )
        return self._head(fitting_id).model_copy(
            update={"entries": tuple(self._entry(row) for row in entries)}
        )

    def add(self, fitting: Fitting, *, archived: bool = False) -> None:
        """Keep a new fitting with its entries."""
        started = stamp(fitting.started_at)
        values = {
            "id": fitting.id,
            "deck_id": fitting.deck_id,
            "deck_revision": fitting.deck_revision,
            "cartridge_id": fitting.cartridge_id,
            "cartridge_revision": fitting.cartridge_revision,
            "started_at": started,
            "who": fitting.who,
            "archived": int(archived),
            "archived_at": stamp(datetime.now(UTC)) if archived else "",
            "last_at": started,
        }
        with self._backend.transaction():
            self._backend.insert("fittings", tuple(values), [tuple(values.values())])
            if fitting.entries:
                self.extend(fitting.id, fitting.entries)
            else:
                self._sum_up(fitting.id)

    def append(self, fitting_id: str, entry: Entry) -> Entry:
        """Keep one entry at the end of a fitting's log; it is on the disk on return.

        Appending the same entry again changes nothing, so a save that seemed to fail can be
        repeated. Raises LibraryProblem: NO_SUCH_RECORD for an unknown fitting; UNSUITABLE for an
        entry that can't be stored or whose id is taken; and the problems of the engine and its
        locks.
        """
        body = text_of(entry.body)
        with self._backend.transaction():
            if not self.has(fitting_id):
                raise problems.no_such("fitting", fitting_id)
            if isinstance(entry.body, ThingsRevised):
                self._check_revisions(fitting_id, entry.body)
            for *stored, owner in self._backend.select(
                "entries", (*_ENTRY, "fitting_id"), {"id": entry.id}
            ):
                if owner != fitting_id or stored[3] != body:
                    raise problems.unsuitable(
                        message("storage.entry_number_taken", number=Name(repr(entry.id)))
                    )
                return self._entry(tuple(stored))
            self._insert(fitting_id, [(entry, body)])
        return entry.model_copy(update={"body": _bodies().validate_json(body)})

    def extend(self, fitting_id: str, entries: Sequence[Entry]) -> None:
        """Keep several new entries, all or none."""
        with self._backend.transaction():
            self._insert(fitting_id, [(entry, text_of(entry.body)) for entry in entries])

    def records_in_use(self) -> frozenset[str]:
        """Return the ids of all records that unarchived fittings name."""
        columns = ("deck_id", "cartridge_id", "job_id", "headshell_id")
        found = self._backend.select("fittings", columns, {"archived": 0})
        return frozenset(record_id for row in found for record_id in row)

    def arms_in_use(self, deck_id: str) -> frozenset[str]:
        """Return the keys of a deck's arms that its fittings name, archived fittings included."""
        return frozenset(
            key for (key,) in self._backend.select("fittings", ("arm_key",), {"deck_id": deck_id})
        )

    def headshells_of(self, fitting_ids: Sequence[str]) -> tuple[str, ...]:
        """Return the ids of the headshells of these fittings, each once."""
        where: Conditions = {"id": tuple(fitting_ids)}
        found = self._backend.select("fittings", ("headshell_id",), where)
        return tuple(dict.fromkeys(shell for (shell,) in found if shell))

    def is_archived(self, fitting_id: str) -> bool:
        """Whether a fitting is archived."""
        return self._backend.select("fittings", ("archived",), {"id": fitting_id}) == [(1,)]

    def has_entries_of_others(self, fitting_id: str, entry_ids: Sequence[str]) -> bool:
        """Whether one of the ids belongs to an entry of another fitting."""
        found = self._backend.select("entries", ("fitting_id",), {"id": tuple(entry_ids)})
        return any(owner != fitting_id for (owner,) in found)

    def _insert(self, fitting_id: str, entries: Sequence[tuple[Entry, str]]) -> None:
        start = self._last(fitting_id)[0] + 1
        self._backend.insert(
            "entries",
            ("id", "fitting_id", "seq", "at", "who", "kind", "step", "body"),
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
        count, last_at = start + len(entries) - 1, stamp(entries[-1][0].at)
        before, kept = self._backend.select("fittings", ("last_at", "kept"), {"id": fitting_id})[0]
        self._backend.update(
            "fittings",
            {
                # A clock that was set back must not make it older.
                "last_at": max(last_at, before) if start > 1 else last_at,
                "entry_count": count,
            },
            {"id": fitting_id},
        )
        kinds = {entry.body.kind for entry, _ in entries}
        if kinds & {*DECIDES} or start == 1 or (kept and kinds & {*TRIES}):
            self._sum_up(fitting_id)

    def sum_up_unknown(self) -> None:
        """Compute the list status of fittings kept by versions that did not store it."""
        unknown = self._backend.select("fittings", ("id",), {"reached": UNKNOWN_REACHED})
        ids = [fitting_id for (fitting_id,) in unknown]
        for start in range(0, len(ids), _AT_ONCE):
            part = tuple(ids[start : start + _AT_ONCE])
            # An unreadable entry is reported where it is needed, not where lists are made.
            with suppress(LibraryProblem), self._backend.transaction():
                self._sum_up(*part)

    def _last(self, fitting_id: str) -> tuple[int, str]:
        """Return sequence number and time of the last entry; 0 and empty if there is none."""
        found = self._backend.select(
            "entries", ("seq", "at"), {"fitting_id": fitting_id}, order=("-seq",), limit=1
        )
        return (found[0][0], found[0][1]) if found else (0, "")

    def _sum_up(self, *fitting_ids: str) -> None:
        """Store the list status of fittings, computed from their logs."""
        deciding: dict[str, list[tuple[int, Entry]]] = {one: [] for one in fitting_ids}
        where: Conditions = {"fitting_id": fitting_ids, "kind": DECIDES}
        for *stored, fitting_id, seq in self._backend.select(
            "entries", (*_ENTRY, "fitting_id", "seq"), where, order=("seq",)
        ):
            deciding[fitting_id].append((seq, self._entry(tuple(stored))))
        for fitting_id in fitting_ids:
            standing = fitting_status_of(
                self._head(fitting_id), deciding[fitting_id], partial(self._tries, fitting_id)
            )
            values = {
                name: int(value) if isinstance(value, bool) else value
                for name, value in standing._asdict().items()
            }
            self._backend.update("fittings", values, {"id": fitting_id})

    def _tries(self, fitting_id: str) -> list[Try]:
        where: Conditions = {"fitting_id": fitting_id, "kind": TRIES}
        return [Try(*row) for row in self._backend.select("entries", Try._fields, where)]

    def _head(self, fitting_id: str) -> Fitting:
        columns = (
            *("id", "deck_id", "deck_revision", "cartridge_id", "cartridge_revision"),
            *("started_at", "who"),
        )
        for row in self._backend.select("fittings", columns, {"id": fitting_id}):
            said = dict(zip(columns, row, strict=True))
            return Fitting(**said | {"started_at": moment(said["started_at"])})
        raise problems.no_such("fitting", fitting_id)

    def _check_revisions(self, fitting_id: str, body: ThingsRevised) -> None:
        head = self._head(fitting_id)
        newest: dict[str, int] = dict(
            self._backend.select(
                "things", ("id", "revision"), {"id": (head.deck_id, head.cartridge_id)}
            )
        )
        if (
            body.deck_revision > newest[head.deck_id]
            or body.cartridge_revision > newest[head.cartridge_id]
        ):
            raise problems.unsuitable(message("storage.unknown_revision"))

    def _entry(self, row: RowValues) -> Entry:
        entry_id, at, who, body = row
        try:
            return Entry(id=entry_id, at=moment(at), who=who, body=_bodies().validate_json(body))
        except ValidationError as error:
            raise self._backend.unreadable(
                message("storage.unreadable.entry", number=Name(entry_id))
            ) from error


def _fitting_row(row: RowValues, names: dict[str, RecordNames]) -> FittingRow:
    fitting_id, deck_id, cartridge_id, started, last, *more = row
    finished, archived, count, who, away, job, arm = more
    deck_name, owner_reference, *_, arms = names[deck_id]
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
        archived_at=moment_or_none(away),
        job_id=job,
        arm_key=arm,
        arm_name=named_in(arms).get(arm, ""),
    )


@cache
def _bodies() -> TypeAdapter[Body]:
    """Return the validator of entry bodies; built late, as the models are."""
    return TypeAdapter(Body)
