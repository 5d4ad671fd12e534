"""Unsaved input in the forms of a fitting or of a record.

A draft is no entry: it is in no log, document or count, and is never taken for a reading. It
belongs to the window it was typed in. Drafts of other windows in the same form are kept beside it;
none replaces another.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final

from core.language import message
from core.store.backend import Backend, Conditions
from core.store.problems import unsuitable
from core.store.rows import moment, stamp

_LONGEST: Final = 100_000
"""Characters of a draft; a form full of notes has a tenth of that."""
_COLUMNS: Final = ("step", "form", "window_id", "at", "who", "body")


@dataclass(frozen=True, slots=True)
class Draft:
    """The unsaved content of one form.

    ``form`` is a way of reading of the step, or the name of a form for moves. For a record's form,
    ``step`` is the sort of the record, and ``owner_id`` is empty for a new record. ``content``
    holds the fields as the form returns them; only the form reads it.
    """

    owner_id: str
    step: str
    form: str
    window: str
    at: datetime
    who: str
    content: Mapping[str, Any]


class Drafts:
    """All drafts of a library's fittings, or of its records."""

    def __init__(self, backend: Backend, table: str = "drafts", owner: str = "fitting_id") -> None:
        self._backend, self._table, self._owner = backend, table, owner

    @classmethod
    def of_records(cls, backend: Backend) -> Drafts:
        """Return the drafts of forms of decks, cartridges, headshells, jobs and services."""
        return cls(backend, "form_drafts", "record_id")

    def of(self, owner_id: str, step: str) -> tuple[Draft, ...]:
        """Return the drafts in the forms of a step, oldest first.

        Unreadable drafts are left out: they must not keep a fitting from being opened.
        """
        where: Conditions = {self._owner: owner_id, "step": step}
        found = self._backend.select(self._table, _COLUMNS, where, order=("at", "window_id"))
        return tuple(
            Draft(owner_id, of, form, window, at, who, content)
            for of, form, window, stamped, who, body in found
            if (content := _content(body)) is not None and (at := _moment(stamped)) is not None
        )

    def keep(self, draft: Draft) -> None:
        """Keep a draft in place of the same window's earlier draft of the same form.

        Fast: waits neither for other windows (raises LOCKED) nor for the disk. The draft survives
        the end of the program at once, and a power cut once an entry is saved or the library is
        settled.
        """
        body = json.dumps(dict(draft.content), separators=(",", ":"))
        if len(body) > _LONGEST:
            raise unsuitable(message("storage.cant_be_written"))
        with self._backend.transaction(hurried=True):
            key = self._key(draft)
            values = {"at": stamp(draft.at), "who": draft.who, "body": body}
            if self._has(draft):
                self._backend.update(self._table, values, key)
            else:
                row = key | values
                self._backend.insert(self._table, tuple(row), [tuple(row.values())])

    def claim(self, draft: Draft, window: str) -> Draft | None:
        """Take over a draft for this window; None if it is gone or another window was quicker."""
        claimed = replace(draft, window=window)
        with self._backend.transaction(hurried=True):
            if not self._has(draft) or self._has(claimed):
                return None
            self._backend.update(self._table, {"window_id": window}, self._key(draft))
        return claimed

    def drop(self, owner_id: str, step: str, form: str, window: str) -> None:
        """Delete a window's draft of a form; does nothing if there is none.

        Joins an enclosing transaction, so that saving a reading and dropping its draft is one act.
        """
        where = {self._owner: owner_id, "step": step, "form": form, "window_id": window}
        if not self._backend.select(self._table, ("at",), where):
            return
        with self._backend.transaction(hurried=True):
            self._backend.delete(self._table, where)

    def _has(self, draft: Draft) -> bool:
        return bool(self._backend.select(self._table, ("at",), self._key(draft)))

    def _key(self, draft: Draft) -> dict[str, str]:
        return {
            self._owner: draft.owner_id,
            "step": draft.step,
            "form": draft.form,
            "window_id": draft.window,
        }


def _content(body: str) -> dict[str, Any] | None:
    if len(body) > _LONGEST:
        return None
    try:
        found = json.loads(body)
    except (ValueError, RecursionError):
        return None
    return found if isinstance(found, dict) else None


def _moment(stamped: str) -> datetime | None:
    try:
        at = moment(stamped)
    except ValueError:
        return None
    return at if at.tzinfo is not None and 1970 < at.year < 9999 else None
