"""Jobs in a list; what they wait for follows from their days and their fittings.

The list holds no customer's name: anybody who looks at the screen sees numbers and decks only.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Any, Final

from core.records import JobState
from core.store.backend import Above, Backend, Conditions
from core.store.listing import Listing, distances, natural, plain, spaced
from core.store.rows import JobRow, moment, moment_or_none

_LISTED: Final = (
    *("id", "name", "owner_reference", "received", "promised", "handed_over"),
    *("archived", "at", "who", "archived_at"),
)
_STATES: Final = tuple(JobState)


class JobListing(Listing[JobRow]):
    """Jobs by promised day, those without one last.

    They can be sorted by ``number``, ``what``, ``step``, ``promised``, ``state``, ``received`` or
    ``handed_over``.
    """

    def __init__(self, rows: Sequence[JobRow]) -> None:
        self._rows = sorted(rows, key=_as_promised)
        self._folded = [
            plain("\n".join((row.number, row.brought, *row.decks, row.state.label, row.who)))
            for row in self._rows
        ]
        super().__init__(
            [row.id for row in self._rows], bytes([int(row.archived) for row in self._rows])
        )

    def row(self, place: int) -> JobRow:
        """Return the row at an index."""
        return self._rows[place]

    def keys(self, order: str) -> Sequence[Any]:
        """Return the sort key of each job."""
        if order == "archived_at":
            return [row.archived_at for row in self._rows]
        if order == "state":
            return [_STATES.index(row.state) for row in self._rows]
        texts = [str(getattr(row, order)) for row in self._rows]
        return [natural(text) if text else None for text in texts]

    def _holding(self, places: list[int], word: str) -> list[int]:
        rows, folded = self._rows, self._folded
        return [
            at
            for at in places
            if word in folded[at] or any(day.startswith(word) for day in _days(rows[at]))
        ]

    def _distances(self, places: list[int], words: list[str]) -> list[int]:
        return distances(words, [spaced(self._folded[at]) for at in places])


def _days(row: JobRow) -> tuple[str, ...]:
    return tuple(day for day in (row.promised, row.received, row.handed_over) if day)


def job_rows(
    backend: Backend,
    *,
    ids: tuple[str, ...] | None = None,
    handed_over: bool | None = None,
    archived: bool | None = False,
) -> tuple[JobRow, ...]:
    """Return jobs with what their fittings say, by promised day."""
    where: Conditions = {} if ids is None else {"id": ids}
    with backend.snapshot():
        found = [
            row
            for row in backend.select("jobs", _LISTED, where)
            if (handed_over is None or bool(row[5]) is handed_over)
            and (ids is not None or archived is None or bool(row[6]) is archived)
        ]
        about = _Fittings(backend, tuple(row[0] for row in found) if ids is not None else None)
        rows = [_row(row, about) for row in found]
    return tuple(sorted(rows, key=_as_promised))


def _row(row: tuple[Any, ...], about: _Fittings) -> JobRow:
    job_id, number, brought, received, promised, handed_over, archived, at, who, away = row
    done = [finished for _, finished, _, _ in about.of[job_id]]
    if handed_over:
        state = JobState.HANDED_OVER
    elif not done:
        state = JobState.RECEIVED
    else:
        state = JobState.READY if all(done) else JobState.IN_PROGRESS
    is_in_progress = not all(done)
    return JobRow(
        id=job_id,
        number=number,
        brought=brought,
        received=received,
        promised=promised,
        handed_over=handed_over,
        state=state,
        decks=about.decks(job_id),
        step=about.step(job_id) if is_in_progress else "",
        fittings=len(done),
        archived=bool(archived),
        at=moment(at),
        who=who,
        archived_at=moment_or_none(away),
    )


class _Fittings:
    """The unarchived fittings of jobs: deck, whether finished, last entry, step."""

    def __init__(self, backend: Backend, job_ids: tuple[str, ...] | None) -> None:
        self.of: defaultdict[str, list[tuple[str, bool, str, str]]] = defaultdict(list)
        where: Conditions = {"job_id": Above("") if job_ids is None else job_ids, "archived": 0}
        columns = ("job_id", "deck_id", "finished", "last_at", "reached")
        for job_id, deck_id, finished, last_at, reached in backend.select(
            "fittings", columns, where
        ):
            self.of[job_id].append((deck_id, bool(finished), last_at, reached))
        deck_ids = tuple({deck for rows in self.of.values() for deck, _, _, _ in rows})
        self._names: dict[str, str] = dict(
            backend.select("things", ("id", "name"), {"id": deck_ids})
        )

    def decks(self, job_id: str) -> tuple[str, ...]:
        return tuple(dict.fromkeys(self._names.get(deck, "") for deck, _, _, _ in self.of[job_id]))

    def step(self, job_id: str) -> str:
        """Return the step of the job's last fitting that is in progress."""
        return max((at, reached) for _, done, at, reached in self.of[job_id] if not done)[1]


def _as_promised(row: JobRow) -> tuple[bool, str, tuple[str | int, ...]]:
    return not row.promised, row.promised, natural(row.number)
