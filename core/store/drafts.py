"""What is typed into the forms of a fitting, or of a record, and not saved yet.

A draft is no entry: it is in no log, no document and no count, and nobody takes it for a reading.
It belongs to the window it was typed in. What another window typed into the same form stands beside
it, and neither replaces the other.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final

from core.language import message
from core.store.backend import Backend, Where
from core.store.problems import unsuitable
from core.store.rows import moment, stamp

_LONGEST: Final = 100_000
"""Characters of a draft; a form full of notes has a tenth of that."""
_COLUMNS: Final = ("step", "form", "window_id", "at", "who", "body")


@dataclass(frozen=True, slots=True)
class Draft:
    """What stands in one form.

    ``form`` is a way of reading of the step, or the name of a form for moves; of a record's form
    ``step`` is the sort of the record, and ``owner_id`` empty where the record is new. ``content``
    is what stands in its fields, as the form hands it out; nobody else reads it.
    """

    owner_id: str
    step: str
    form: str
    window: str
    at: datetime
    who: str
    content: Mapping[str, Any]


class Drafts:
    """All drafts of a library's fittings, or those of its records."""

    def __init__(self, backend: Backend, table: str = "drafts", owner: str = "fitting_id") -> None:
        self._backend, self._table, self._owner = backend, table, owner

    @classmethod
    def of_records(cls, backend: Backend) -> Drafts:
        """Return those of the forms of decks, cartridges, headshells, jobs and services."""
        return cls(backend, "form_drafts", "record_id")

    def of(self, owner_id: str, step: str) -> tuple[Draft, ...]:
        """Return what is typed and not saved in the forms of a step, the oldest first.

        What can't be read as a draft is left out: it must not keep a fitting from being opened.
        """
        where: Where = {self._owner: owner_id, "step": step}
        found = self._backend.select(self._table, _COLUMNS, where, order=("at", "window_id"))
        return tuple(
            Draft(owner_id, of, form, window, at, who, content)
            for of, form, window, stamped, who, body in found
            if (content := _content(body)) is not None and (at := _moment(stamped)) is not None
        )

    def keep(self, draft: Draft) -> None:
        """Keep a draft in place of what the same window typed into the same form before.

        Quick: it waits neither for other windows (LOCKED) nor for the disk. It outlives the program
        at once, and a power cut once an entry or a settling of the library has followed.
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
        """Make a draft this window's; None if it is no longer there or somebody was quicker."""
        claimed = replace(draft, window=window)
        with self._backend.transaction(hurried=True):
            if not self._has(draft) or self._has(claimed):
                return None
            self._backend.update(self._table, {"window_id": window}, self._key(draft))
        return claimed

    def drop(self, owner_id: str, step: str, form: str, window: str) -> None:
        """Remove what a window typed into a form; without any this does nothing.

        Inside another transaction it joins that one: a reading is saved and its draft is gone, or
        neither.
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
