"""When the decks of a library were last finished, read in batches."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime
from typing import NamedTuple

from core.store.arm_names import in_use_in, named_in
from core.store.backend import Above, Backend
from core.store.rows import moment


class LastEntry(NamedTuple):
    """A deck with finished fittings, and the last entry in any of them.

    ``revision`` is the newest of the deck's record.
    """

    deck_id: str
    revision: int
    last_at: str


class Ended(NamedTuple):
    """When a deck was last checked, and on which arm if it has several."""

    at: datetime
    arm: str


class LastFinished:
    """Reads from a library when fittings were finished."""

    def __init__(self, backend: Backend) -> None:
        self._backend = backend

    def last_entries(self, after: str, most: int) -> tuple[list[LastEntry], str]:
        """Return the decks with a finished fitting among the next ``most`` in use, by id.

        ``after`` is the id of the deck to continue after, empty to begin. The second value is the
        last deck looked at, for the next call; empty at the end. Archived decks and fittings are
        left out.
        """
        decks = self._backend.select(
            "things",
            ("id", "revision"),
            {"id": Above(after), "sort": "deck", "archived": 0},
            order=("id",),
            limit=most,
        )
        last: dict[str, str] = {}
        ids = tuple(deck_id for deck_id, _ in decks)
        for deck_id, at in self._finished(("deck_id", "last_at"), ids):
            last[deck_id] = max(at, last.get(deck_id, ""))
        found = [
            LastEntry(deck_id, revision, last[deck_id])
            for deck_id, revision in decks
            if deck_id in last
        ]
        return found, ids[-1] if len(ids) == most else ""

    def ended(self, deck_ids: Sequence[str]) -> dict[str, Ended]:
        """Return when each deck's newest full check was finished.

        For a deck with several arms it is the arm in use whose check is oldest, of those checked at
        all. A fitting counts by its last Finished entry, even one that was withdrawn later. A short
        job is no check of the deck.
        """
        ends: dict[tuple[str, str], str] = {}
        with self._backend.snapshot():
            named = self._backend.select("things", ("id", "arms"), {"id": tuple(deck_ids)})
            arms: dict[str, str] = dict(named)
            columns = ("id", "deck_id", "arm_key", "checked_at")
            for fitting_id, deck_id, arm, at in self._finished(columns, tuple(deck_ids)):
                place = deck_id, arm if arms.get(deck_id) else ""
                ends[place] = max(at or self._end_of(fitting_id), ends.get(place, ""))
        found: dict[str, Ended] = {}
        for (deck_id, arm), at in ends.items():
            if not at:
                continue
            told = arms.get(deck_id, "")
            if told and arm not in in_use_in(told):
                continue
            one = Ended(moment(at), named_in(told).get(arm, ""))
            found[deck_id] = min(one, found.get(deck_id, one))
        return found

    def said_of_decks(self, deck_ids: Sequence[str], field: str) -> dict[str, object]:
        """Return one field of the newest deck records, for decks that fill it in."""
        found = self._backend.select(
            "thing_revisions", ("thing_id", "revision", "body"), {"thing_id": tuple(deck_ids)}
        )
        said: dict[str, object] = {}
        for deck_id, body in {deck_id: body for deck_id, _, body in sorted(found)}.items():
            record = json.loads(body)
            if isinstance(record, dict) and field in record:
                said[deck_id] = record[field]
        return said

    def _end_of(self, fitting_id: str) -> str:
        """Return when a fitting was finished that an earlier version kept; empty if unknown."""
        of_fitting = {"fitting_id": fitting_id, "kind": "finished"}
        last = self._backend.select("entries", ("at",), of_fitting, order=("-seq",), limit=1)
        return str(last[0][0]) if last else ""

    def _finished(self, columns: Sequence[str], deck_ids: tuple[str, ...]) -> list[tuple[str, ...]]:
        return self._backend.select(
            "fittings",
            columns,
            {"finished": 1, "is_check": 1, "archived": 0, "deck_id": deck_ids},
        )
