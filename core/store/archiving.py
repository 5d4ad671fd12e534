"""Archiving and restoring any number of records at once, with undo.

Nothing is deleted. Undo reverses only what the act changed. A record that somebody archived or
restored since stays as it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

from core.store import problems
from core.store.backend import Backend, Conditions, WorkStoppedError
from core.store.rows import TABLES, stamp

_AT_ONCE: Final = 500
"""Records changed by one statement."""

GoOn = Callable[[], bool]
Told = Callable[[int], None]


def _always() -> bool:
    return True


def _nobody(_count: int) -> None:
    """Ignore progress reports."""


@dataclass(frozen=True, slots=True)
class Archiving:
    """One act: which records were archived or restored, and when.

    ``sort`` is deck, cartridge, fitting, job, customer or service. ``before`` holds, for every
    record that was changed, when it was last archived before; empty if it never was or if that is
    not known.
    """

    sort: str
    archived: bool
    at: str
    before: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Undone:
    """How many records were changed back; which were left because somebody changed them since."""

    count: int
    left: tuple[str, ...] = ()


def archive(
    backend: Backend,
    sort: str,
    ids: Iterable[str],
    *,
    archived: bool,
    at: datetime | None = None,
    go_on: GoOn = _always,
    told: Told = _nobody,
) -> Archiving:
    """Archive or restore records, all or none; records already in that state are left alone.

    Raises NO_SUCH_RECORD if a record does not exist; WorkStoppedError once ``go_on`` returns False.
    ``told`` is called with the number of records processed.
    """
    table, now = TABLES[sort], stamp(at or datetime.now(UTC))
    of_sort: Conditions = {} if sort == "fitting" else {"sort": sort}
    ids = list(dict.fromkeys(ids))
    before: dict[str, str] = {}
    with backend.transaction():
        for start, part in _parts(ids, go_on):
            found = {
                row[0]: row[1:]
                for row in backend.select(
                    table, ("id", "archived", "archived_at"), {"id": part, **of_sort}
                )
            }
            for record_id in part:
                if record_id not in found:
                    raise problems.no_such(sort, record_id)
            changed = tuple(one for one in part if bool(found[one][0]) is not archived)
            before |= {one: str(found[one][1]) for one in changed}
            if changed:
                values = {"archived": int(archived), "archived_at": now if archived else ""}
                backend.update(table, values, {"id": changed})
            told(start + len(part))
    return Archiving(sort, archived, now if archived else "", before)


def undo(
    backend: Backend, act: Archiving, *, go_on: GoOn = _always, told: Told = _nobody
) -> Undone:
    """Change back everything that an act changed, except what was changed since.

    All or nothing. Raises WorkStoppedError once ``go_on`` returns False.
    """
    table, ids = TABLES[act.sort], list(act.before)
    left: list[str] = []
    with backend.transaction():
        for start, part in _parts(ids, go_on):
            as_left: Conditions = {"id": part, "archived": int(act.archived), "archived_at": act.at}
            still = {row[0] for row in backend.select(table, ("id",), as_left)}
            left += [one for one in part if one not in still]
            groups: dict[str, list[str]] = {}
            for one in part:
                if one in still:
                    groups.setdefault(act.before[one], []).append(one)
            for earlier, those in groups.items():
                values = {"archived": int(not act.archived), "archived_at": earlier}
                backend.update(table, values, {"id": tuple(those)})
            told(start + len(part))
    return Undone(len(ids) - len(left), tuple(left))


def _parts(ids: Sequence[str], go_on: GoOn) -> Iterable[tuple[int, tuple[str, ...]]]:
    for start in range(0, len(ids), _AT_ONCE):
        if not go_on():
            raise WorkStoppedError
        yield start, tuple(ids[start : start + _AT_ONCE])
