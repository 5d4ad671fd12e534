"""Putting records away and bringing them back, any number at once, so that it can be undone.

Nothing is deleted. What one act has changed is what its undoing changes back, and nothing else:
what somebody has brought back or put away since stays as it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

from core.store import problems
from core.store.backend import Backend, Where, WorkStoppedError
from core.store.rows import TABLES, stamp

_AT_ONCE: Final = 500
"""Records changed by one statement."""

GoOn = Callable[[], bool]
Told = Callable[[int], None]


def _always() -> bool:
    return True


def _nobody(_count: int) -> None:
    """Tell nobody how far it is."""


@dataclass(frozen=True, slots=True)
class Archiving:
    """One act: which records were put away or brought back, and when.

    ``sort`` is deck, cartridge, fitting, job, customer or service; ``before`` holds for every
    record that was changed when it had been put away before, empty if that is not known or it
    never was.
    """

    sort: str
    archived: bool
    at: str
    before: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Undone:
    """How many records are again as they were, and which were left: somebody changed them since."""

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
    """Put records away or bring them back, all or none; those that are so already stay as they are.

    NO_SUCH_RECORD if there is one that is not on file; WorkStoppedError once ``go_on`` says no.
    ``told`` is told how many are through.
    """
    table, now = TABLES[sort], stamp(at or datetime.now(UTC))
    of_sort: Where = {} if sort == "fitting" else {"sort": sort}
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
    """Put everything that an act changed back as it was, except what was changed since.

    All or nothing; WorkStoppedError once ``go_on`` says no.
    """
    table, ids = TABLES[act.sort], list(act.before)
    left: list[str] = []
    with backend.transaction():
        for start, part in _parts(ids, go_on):
            as_left: Where = {"id": part, "archived": int(act.archived), "archived_at": act.at}
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
