"""When the decks of a library were last finished with: read in portions, nothing else with it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import NamedTuple

from core.store.rows import moment
from core.store.sqlite_file import SqliteFile


class LastEntry(NamedTuple):
    """A deck with finished fittings, and the last entry in any of them.

    ``revision`` is the newest of the deck's record.
    """

    deck_id: str
    revision: int
    last_at: str


class LastFinished:
    """Asks a library file for the ends of fittings."""

    def __init__(self, file: SqliteFile) -> None:
        self._file = file

    def last_entries(self, after: str, most: int) -> tuple[list[LastEntry], str]:
        """Return the decks in use that have a finished fitting, among the next by id.

        Decks and fittings that were put away are left out.

        Parameters
        ----------
        after
            The id of the deck to begin behind; empty for the first.
        most
            How many decks to look at.

        Returns
        -------
        list of LastEntry
            Those of them that have a finished fitting.
        str
            The last deck looked at, to begin behind the next time; empty if there are no more.
        """
        decks = self._file.rows(
            "SELECT id, revision FROM things"
            " WHERE id > ? AND sort = 'deck' AND archived = 0 ORDER BY id LIMIT ?",
            [after, most],
        )
        ids = [deck_id for deck_id, _ in decks]
        last: dict[str, str] = dict(
            self._file.rows(
                "SELECT deck_id, MAX(last_at) FROM fittings"  # noqa: S608 - question marks
                " WHERE finished = 1 AND archived = 0"
                f" AND deck_id IN ({_marks(ids)}) GROUP BY deck_id",
                ids,
            )
        )
        found = [
            LastEntry(deck_id, revision, last[deck_id])
            for deck_id, revision in decks
            if deck_id in last
        ]
        return found, ids[-1] if len(ids) == most else ""

    def ended(self, deck_ids: Sequence[str]) -> dict[str, datetime]:
        """Return when the newest finished fitting of each deck was finished.

        Fittings come with their last end; one that was finished twice and had the second end
        withdrawn counts by the second.
        """
        found = self._file.rows(
            "SELECT f.deck_id, (SELECT e.at FROM entries e"  # noqa: S608 - question marks
            " WHERE e.fitting_id = f.id AND e.kind = 'finished' ORDER BY e.seq DESC LIMIT 1)"
            " FROM fittings f WHERE f.finished = 1 AND f.archived = 0"
            f" AND f.deck_id IN ({_marks(deck_ids)})",
            list(deck_ids),
        )
        ends: dict[str, str] = {}
        for deck_id, at in found:
            if at is not None and ends.get(deck_id, "") < at:
                ends[deck_id] = at
        return {deck_id: moment(at) for deck_id, at in ends.items()}

    def said_of_decks(self, deck_ids: Sequence[str], field: str) -> dict[str, object]:
        """Return what the newest records of decks say in one field, where they say anything."""
        found = self._file.rows(
            "SELECT t.id, r.body FROM things t JOIN thing_revisions r"  # noqa: S608 - as above
            " ON r.thing_id = t.id AND r.revision = t.revision"
            f" WHERE t.id IN ({_marks(deck_ids)})",
            list(deck_ids),
        )
        said: dict[str, object] = {}
        for deck_id, body in found:
            record = json.loads(body)
            if isinstance(record, dict) and field in record:
                said[deck_id] = record[field]
        return said


def _marks(values: Iterable[str]) -> str:
    return ", ".join("?" for _ in values)
