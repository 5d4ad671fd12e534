"""Decks and cartridges: every revision is kept, lists read light columns only."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import UTC, datetime
from typing import Generic, TypeVar

from pydantic import ValidationError

from core.fitting import new_id
from core.records import FrozenModel
from core.store import problems
from core.store.listing import ThingListing
from core.store.problems import LibraryProblem
from core.store.rows import (
    Kept,
    ThingRow,
    folded,
    in_parts,
    marks,
    moment,
    stamp,
    text_of,
    word_patterns,
)
from core.store.sqlite_file import SqliteFile

T = TypeVar("T", bound=FrozenModel)


class RevisionStore(Generic[T]):
    """All things of one sort in a library.

    Parameters
    ----------
    file
        The open library file.
    sort
        What stands in the column of that name: ``deck`` or ``cartridge``.
    model
        What a body is read as.
    light
        Returns name, owner's reference and feature of a thing, as stored.
    feature_label
        Turns a stored feature into words.
    """

    def __init__(
        self,
        file: SqliteFile,
        sort: str,
        model: type[T],
        light: Callable[[T], tuple[str, str, str]],
        feature_label: Callable[[str], str],
    ) -> None:
        self._file = file
        self.sort = sort
        self.model = model
        self._light = light
        self._feature_label = feature_label

    def rows(self, words: str = "", *, archived: bool | None = None) -> tuple[ThingRow, ...]:
        """Return the things whose name or owner's reference holds all the words, by name.

        ``archived`` True or False takes only those, None takes all.
        """
        sql = (
            "SELECT id, revision, name, owner_reference, feature, archived, at, who"
            " FROM things WHERE sort = ?"
        )
        values: list[object] = [self.sort]
        if archived is not None:
            sql += " AND archived = ?"
            values.append(int(archived))
        for pattern in word_patterns(words):
            sql += r" AND folded LIKE ? ESCAPE '\'"
            values.append(pattern)
        found = self._file.rows(f"{sql} ORDER BY name, owner_reference, id", values)
        return tuple(
            ThingRow(
                id=thing_id,
                revision=revision,
                name=name,
                owner_reference=owner,
                feature=self._feature_label(feature),
                archived=bool(away),
                at=moment(at),
                who=who,
            )
            for thing_id, revision, name, owner, feature, away, at, who in found
        )

    def rows_of(self, thing_ids: Sequence[str]) -> tuple[ThingRow, ...]:
        """Return the rows of these things, in this order; those not on file are left out."""
        listing = self._listing(thing_ids)
        places = (listing.place_of(one) for one in thing_ids)
        return tuple(listing.row(place) for place in places if place is not None)

    def listing(self) -> ThingListing:
        """Return all things of this sort, to search and to sort."""
        return self._listing(None)

    def _listing(self, thing_ids: Sequence[str] | None) -> ThingListing:
        sql = (
            "SELECT id, revision, name, owner_reference, feature, archived, at, who, folded"
            " FROM things WHERE sort = ?"
        )
        if thing_ids is None:
            found = self._file.rows(sql, [self.sort])
        else:
            found = []
            with self._file.snapshot():
                for some in in_parts(thing_ids):
                    found += self._file.rows(f"{sql} AND id IN ({marks(some)})", [self.sort, *some])
        return ThingListing(found, self._feature_label)

    def has(self, thing_id: str, revision: int | None = None) -> bool:
        """Whether there is such a thing, or such a revision of it."""
        sql = "SELECT 1 FROM things t WHERE t.id = ? AND t.sort = ?"
        values: list[object] = [thing_id, self.sort]
        if revision is not None:
            sql += (
                " AND EXISTS (SELECT 1 FROM thing_revisions r"
                " WHERE r.thing_id = t.id AND r.revision = ?)"
            )
            values.append(revision)
        return self._file.row(sql, values) is not None

    def get(self, thing_id: str, revision: int | None = None) -> Kept[T]:
        """Return a thing, the newest revision unless told; NO_SUCH_RECORD if there is none."""
        found = self._revisions(
            "r.revision = t.revision" if revision is None else "r.revision = ?",
            [thing_id] if revision is None else [thing_id, revision],
        )
        if not found:
            raise problems.no_such(self.sort, thing_id)
        return found[0]

    def history(self, thing_id: str) -> tuple[Kept[T], ...]:
        """Return every revision of a thing, first to newest; empty if there is no such thing."""
        return self._revisions("1 = 1", [thing_id])

    def keep(
        self,
        thing: T,
        thing_id: str | None,
        *,
        who: str,
        at: datetime | None = None,
        based_on: int | None = None,
    ) -> Kept[T]:
        """Keep a new thing, or a new revision of one; the same content makes no revision."""
        with self._file.transaction():
            if thing_id is None:
                return self.add(new_id(), thing, who=who, at=at)
            now = self.get(thing_id)
            if now.thing == thing:
                return now
            if based_on is not None and based_on != now.revision:
                raise problems.changed_elsewhere(f"The {self.sort} {self._light(now.thing)[0]!r}")
            return self.add(thing_id, thing, who=who, at=at)

    def add(self, thing_id: str, thing: T, *, who: str, at: datetime | None = None) -> Kept[T]:
        """Keep a thing as the next revision of its number, which may be new."""
        at = at or datetime.now(UTC)
        body = text_of(thing)
        name, owner, feature = self._light(thing)
        light = (stamp(at), who, name, owner, feature, folded(name, owner))
        with self._file.transaction():
            before = self._file.row(
                "SELECT revision, archived, sort FROM things WHERE id = ?", [thing_id]
            )
            if before is not None and before[2] != self.sort:
                raise problems.unsuitable(f"The number {thing_id!r} belongs to a {before[2]}.")
            revision = int(before[0]) + 1 if before else 1
            if before is None:
                self._file.run(
                    "INSERT INTO things"
                    " (at, who, name, owner_reference, feature, folded, revision, id, sort)"
                    " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                    [*light, revision, thing_id, self.sort],
                )
            else:
                self._file.run(
                    "UPDATE things SET at = ?, who = ?, name = ?, owner_reference = ?,"
                    " feature = ?, folded = ?, revision = ? WHERE id = ?",
                    [*light, revision, thing_id],
                )
            self._file.run(
                "INSERT INTO thing_revisions (thing_id, revision, at, who, body)"
                " VALUES (?, ?, ?, ?, ?)",
                [thing_id, revision, stamp(at), who, body],
            )
        return Kept(thing_id, revision, at, who, bool(before and before[1]), thing)

    def archive(self, thing_ids: Iterable[str], *, archived: bool) -> None:
        """Put things away, or bring them back; nothing is deleted."""
        with self._file.transaction():
            for thing_id in thing_ids:
                if not self.has(thing_id):
                    raise problems.no_such(self.sort, thing_id)
                self._file.run(
                    "UPDATE things SET archived = ? WHERE id = ?", [int(archived), thing_id]
                )

    def rebuild_lists(self) -> None:
        """Work the light columns out again from the newest revisions."""
        with self._file.transaction():
            for (thing_id,) in self._file.rows("SELECT id FROM things WHERE sort = ?", [self.sort]):
                newest = self.history(thing_id)[-1]
                name, owner, feature = self._light(newest.thing)
                self._file.run(
                    "UPDATE things SET revision = ?, at = ?, who = ?, name = ?,"
                    " owner_reference = ?, feature = ?, folded = ? WHERE id = ?",
                    [
                        newest.revision,
                        stamp(newest.at),
                        newest.who,
                        name,
                        owner,
                        feature,
                        folded(name, owner),
                        thing_id,
                    ],
                )

    def _revisions(self, which: str, values: list[object]) -> tuple[Kept[T], ...]:
        found = self._file.rows(
            "SELECT t.id, r.revision, r.at, r.who, t.archived, r.body"  # noqa: S608 - own words
            " FROM things t JOIN thing_revisions r ON r.thing_id = t.id"
            f" WHERE t.sort = ? AND t.id = ? AND {which} ORDER BY r.revision",
            [self.sort, *values],
        )
        return tuple(
            Kept(
                thing_id,
                revision,
                moment(at),
                who,
                bool(archived),
                self._read(body, thing_id, revision),
            )
            for thing_id, revision, at, who, archived, body in found
        )

    def _read(self, body: str, thing_id: str, revision: int) -> T:
        try:
            return self.model.model_validate_json(body)
        except ValidationError as error:
            raise unreadable(f"revision {revision} of the {self.sort} {thing_id}") from error


def unreadable(what: str) -> LibraryProblem:
    """Return the problem of a record whose body this program can't read."""
    return LibraryProblem(
        problems.ProblemKind.DAMAGED,
        f"In this library, {what} can't be read.",
        "Everything else can still be used; restore a backup to get this record back.",
    )
