"""Records with revisions: every revision is kept; lists read few columns."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import UTC, datetime
from typing import Final, Generic, TypeVar

from pydantic import ValidationError

from core.fitting import new_id
from core.language import Name, message
from core.records import FrozenModel
from core.store import archiving, problems
from core.store.backend import Backend, Conditions, RowValues
from core.store.listing import RecordListing
from core.store.rows import (
    REVISION_TABLES,
    TABLES,
    RecordRow,
    Stored,
    folded,
    moment,
    moment_or_none,
    stamp,
    text_of,
)

T = TypeVar("T", bound=FrozenModel)

_LISTED: Final = (
    *("id", "revision", "name", "owner_reference", "feature", "archived", "at", "who"),
    "archived_at",
)


class RevisionStore(Generic[T]):
    """All records of one sort in a library.

    ``sort`` is the value of that column: deck, cartridge, job, customer or service; ``model`` is
    the class of a body. ``light`` returns name, owner's reference and feature of a record as
    stored, ``feature_label`` turns a stored feature into words; ``more`` returns further list
    columns of this sort.
    """

    def __init__(
        self,
        backend: Backend,
        sort: str,
        model: type[T],
        light: Callable[[T], tuple[str, str, str]],
        feature_label: Callable[[str], str] = str,
        more: Callable[[T], Mapping[str, str | int]] = lambda _record: {},
    ) -> None:
        self._backend = backend
        self.sort = sort
        self._heads_in, self._revisions_in = TABLES[sort], REVISION_TABLES[sort]
        self.model = model
        self._light = light
        self.feature_label = feature_label
        self._more = more

    def rows(self, *, archived: bool | None = None) -> tuple[RecordRow, ...]:
        """Return all by name; ``archived`` filters if it is not None."""
        where: dict[str, str | int] = {"sort": self.sort}
        if archived is not None:
            where["archived"] = int(archived)
        order = ("name", "owner_reference", "id")
        found = self._backend.select(self._heads_in, _LISTED, where, order=order)
        return tuple(self._row(row) for row in found)

    def rows_of(self, ids: Sequence[str]) -> tuple[RecordRow, ...]:
        """Return the rows of these records, in this order, without missing ones."""
        where: Conditions = {"sort": self.sort, "id": tuple(ids)}
        found = {row[0]: row for row in self._backend.select(self._heads_in, _LISTED, where)}
        return tuple(self._row(found[one]) for one in ids if one in found)

    def _row(self, row: RowValues) -> RecordRow:
        record_id, revision, name, owner, feature, archived, at, who, archived_at = row
        return RecordRow(
            id=record_id,
            revision=revision,
            name=name,
            owner_reference=owner,
            feature=self.feature_label(feature),
            archived=bool(archived),
            at=moment(at),
            who=who,
            archived_at=moment_or_none(archived_at),
        )

    def listing(self) -> RecordListing:
        """Return all, as a list to search and sort."""
        return RecordListing(self.listed(), self.feature_label)

    def listed(self, *more: str) -> list[RowValues]:
        """Return the list columns of all records, followed by the columns of ``more``."""
        columns = (*_LISTED, "folded", *more)
        return self._backend.select(self._heads_in, columns, {"sort": self.sort})

    def has(self, record_id: str) -> bool:
        """Whether the record exists."""
        return bool(self._heads(record_id))

    def newest(self, record_id: str) -> int | None:
        """Return the number of a record's newest revision, or None for an unknown record."""
        heads = self._heads(record_id)
        return int(heads[0][0]) if heads else None

    def get(self, record_id: str, revision: int | None = None) -> Stored[T]:
        """Return a record, by default its newest revision; raises NO_SUCH_RECORD for none."""
        with self._backend.snapshot():
            heads = self._heads(record_id)
            found = [
                stored
                for newest, archived in heads
                for stored in self._revisions(
                    record_id, archived, {"revision": newest if revision is None else revision}
                )
            ]
        if not found:
            raise problems.no_such(self.sort, record_id)
        return found[0]

    def history(self, record_id: str) -> tuple[Stored[T], ...]:
        """Return every revision of a record, oldest first; empty for an unknown record."""
        with self._backend.snapshot():
            return tuple(
                stored
                for _, archived in self._heads(record_id)
                for stored in self._revisions(record_id, archived, {})
            )

    def keep(
        self,
        record: T,
        record_id: str | None,
        *,
        who: str,
        at: datetime | None = None,
        based_on: int | None = None,
    ) -> Stored[T]:
        """Keep a new record, or a new revision of one; unchanged content makes no revision."""
        with self._backend.transaction():
            if record_id is None:
                return self.add(new_id(), record, who=who, at=at)
            now = self.get(record_id)
            if now.thing == record:
                return now
            if based_on is not None and based_on != now.revision:
                raise problems.changed_elsewhere(self.sort, self._light(now.thing)[0])
            return self.add(record_id, record, who=who, at=at)

    def add(self, record_id: str, record: T, *, who: str, at: datetime | None = None) -> Stored[T]:
        """Add a record as the next revision of its id, which may be new."""
        at = at or datetime.now(UTC)
        body = text_of(record)
        with self._backend.transaction():
            found = self._backend.select(
                self._heads_in, ("revision", "archived", "sort"), {"id": record_id}
            )
            for _, _, sort in found:
                if sort != self.sort:
                    raise problems.unsuitable(
                        message("storage.number_taken", sort=sort, number=Name(repr(record_id)))
                    )
            revision = int(found[0][0]) + 1 if found else 1
            stored = Stored(record_id, revision, at, who, bool(found and found[0][1]), record)
            light = self._light_columns(stored)
            if found:
                self._backend.update(self._heads_in, light, {"id": record_id})
            else:
                values = {"id": record_id, "sort": self.sort, **light}
                self._backend.insert(self._heads_in, tuple(values), [tuple(values.values())])
            self._backend.insert(
                self._revisions_in,
                ("thing_id", "revision", "at", "who", "body"),
                [(record_id, revision, stamp(at), who, body)],
            )
        return stored

    def archive(self, ids: Iterable[str], *, archived: bool) -> None:
        """Archive or restore records; nothing is deleted."""
        archiving.archive(self._backend, self.sort, ids, archived=archived)

    def _light_columns(self, stored: Stored[T]) -> dict[str, str | int]:
        name, owner, feature = self._light(stored.thing)
        return {
            "revision": stored.revision,
            "at": stamp(stored.at),
            "who": stored.who,
            "name": name,
            "owner_reference": owner,
            "feature": feature,
            "folded": folded(name, owner),
            **self._more(stored.thing),
        }

    def _heads(self, record_id: str) -> list[RowValues]:
        """Return newest revision and archived flag; empty for an unknown record."""
        where: Conditions = {"id": record_id, "sort": self.sort}
        return self._backend.select(self._heads_in, ("revision", "archived"), where)

    def _revisions(self, record_id: str, archived: int, where: Conditions) -> Iterable[Stored[T]]:
        found = self._backend.select(
            self._revisions_in,
            ("revision", "at", "who", "body"),
            {"thing_id": record_id, **where},
            order=("revision",),
        )
        for revision, at, who, body in found:
            record = self._read(body, record_id, revision)
            yield Stored(record_id, revision, moment(at), who, bool(archived), record)

    def _read(self, body: str, record_id: str, revision: int) -> T:
        try:
            return self.model.model_validate_json(body)
        except ValidationError as error:
            what = message(
                "storage.unreadable_revision",
                sort=self.sort,
                revision=revision,
                number=Name(record_id),
            )
            raise self._backend.unreadable(what) from error
