"""Decks in a list, each with its latest work."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from typing import Any, Final, NamedTuple

from core.store.arm_names import in_use_in, named_in
from core.store.backend import Above, Conditions
from core.store.listing import RecordListing, check_due, is_soon, plain, ranks, step_number, verdict
from core.store.problems import LibraryProblem
from core.store.rows import ArmWork, DeckWork, RecordRow


class Worked(NamedTuple):
    """The columns of a fitting that a deck's row needs."""

    deck_id: str
    last_at: str
    cartridge_id: str
    who: str
    finished: int
    reached: str
    kept: int
    left_found: int
    is_check: int
    checked_at: str
    arm_key: str


_NOTHING: Final = Worked("", "", "", "", 1, "?", 0, 0, 1, "", "")

_AT_ONCE: Final = 200
"""Decks of which it is read together what is due: their records need room at the same time."""


class DeckListing(RecordListing):
    """Decks by name; can also be sorted by ``cartridge_name``, ``due``, ``reached`` or ``verdict``.

    The rows are those of the base class, followed by the months between checks and the names of the
    deck's arms. For a deck with several arms the row shows what is on each, and the check that is
    due first. Archived arms are never due.

    Fittings are read only for the rows that are on screen. They are read for all decks only when a
    search or a sort needs them: a shop has far more fittings than a screen shows. ``fittings``
    returns these columns of the unarchived fittings that meet these conditions, ``names`` the names
    of these cartridges by id, ``services`` the days on which these decks' first service falls due,
    ``jobs`` the number of every job by id.
    """

    def __init__(
        self,
        rows: list[tuple[Any, ...]],
        feature_label: Callable[[str], str],
        fittings: Callable[[Sequence[str], Conditions], Iterable[tuple[Any, ...]]],
        names: Callable[[Sequence[str]], Mapping[str, str]],
        services: Callable[[Sequence[str]], Mapping[str, date]],
        jobs: Callable[[], Mapping[str, str]],
    ) -> None:
        super().__init__(rows, feature_label)
        self._arms = {row[0]: named_in(row[11]) for row in rows if row[11]}
        self._in_use = {row[0]: in_use_in(row[11]) for row in rows if row[11]}
        for place, row in enumerate(rows) if self._arms else ():
            if row[11]:
                self._folded[place] += plain("\n" + "\n".join(self._arms[row[0]].values()))
        self.ask(fittings, names, services, jobs)
        self._numbers: list[str] | None = None
        self._known_last: list[Worked] | None = None
        self._known_open: list[bool] | None = None
        self._due: list[date | None] = []
        """Of the first decks; of all once it is asked for."""
        self._service_due: dict[str, date | None] = {}
        """Of the same decks, what is due of service alone."""
        self._ahead: list[tuple[Worked, bool]] = []
        self._same: dict[Any, Any] = {}

    def ask(
        self,
        fittings: Callable[[Sequence[str], Conditions], Iterable[tuple[Any, ...]]],
        names: Callable[[Sequence[str]], Mapping[str, str]],
        services: Callable[[Sequence[str]], Mapping[str, date]],
        jobs: Callable[[], Mapping[str, str]],
    ) -> None:
        """Use these callbacks from now on: the library that read the list may have been closed."""
        self._fittings, self._names, self._services = fittings, names, services
        self._jobs = jobs

    def row(self, place: int) -> RecordRow:
        """Return the row at an index."""
        return self.rows([place])[0]

    def rows(self, places: Sequence[int]) -> list[RecordRow]:
        """Return the rows at several indexes, with one query."""
        ids = [self.ids[place] for place in places]
        found, services = self._read_all(
            Worked._fields,
            {"deck_id": tuple(ids)},
            [one for one in ids if one not in self._service_due],
        )
        last, ends = _newest(found), self._ends_of((*one[0:1], *one[-2:]) for one in found)
        on_arms = self._on_arms(found)
        names = self._names_of([*last.values(), *on_arms.values()])
        rows = [self._row(place, last, ends, names, on_arms) for place in places]
        return [
            row._replace(service_due=services.get(row.id) or self._service_due.get(row.id))
            for row in rows
        ]

    def _on_arms(self, fittings: Iterable[tuple[Any, ...]]) -> dict[tuple[str, str], Worked]:
        """Return the last fitting by deck and arm, for decks with several arms."""
        by_arm: dict[tuple[str, str], Worked] = {}
        for one in fittings if self._arms else ():
            if one[0] in self._arms:
                worked = Worked(*one)
                known = by_arm.get((worked.deck_id, worked.arm_key))
                if known is None or worked.last_at > known.last_at:
                    by_arm[worked.deck_id, worked.arm_key] = worked
        return by_arm

    def _ends_of(self, ends: Iterable[tuple[Any, ...]]) -> dict[str, str]:
        """Return the latest time for each deck, from pairs of deck and time, or by arm.

        For a deck with several checked arms it is the earliest of their latest times.
        """
        if not self._arms:  # of most libraries
            return _latest(ends)
        by_arm: dict[tuple[str, str], str] = {}
        for deck_id, at, arm in ends:
            one = deck_id, arm if deck_id in self._arms else ""
            if at > by_arm.get(one, ""):
                by_arm[one] = at
        found: dict[str, str] = {}
        for (deck_id, arm), at in by_arm.items():
            if deck_id not in self._arms:
                found[deck_id] = at
            elif arm in self._in_use[deck_id]:
                found[deck_id] = min(at, found.get(deck_id, at))
        return found

    def _row(
        self,
        place: int,
        last: Mapping[str, Worked],
        ends: Mapping[str, str],
        names: Mapping[str, str],
        on_arms: Mapping[tuple[str, str], Worked],
    ) -> RecordRow:
        row, months = super().row(place), self._rows[place][10]
        if row.id not in last:
            return row
        newest = last[row.id]
        return row._replace(
            work=DeckWork(
                cartridge_name=names.get(newest.cartridge_id, ""),
                who=newest.who,
                finished=bool(newest.finished),
                reached=newest.reached,
                kept=newest.kept,
                left_found=newest.left_found,
                due=check_due(ends.get(row.id, ""), months),
                months=months,
                is_check=bool(newest.is_check),
                arms=tuple(
                    ArmWork(name, names.get(on_arms[row.id, arm].cartridge_id, ""))
                    for arm, name in self._arms.get(row.id, {}).items()
                    if (row.id, arm) in on_arms
                ),
            )
        )

    def _read(self, columns: Sequence[str], where: Conditions) -> list[tuple[Any, ...]]:
        try:
            return list(self._fittings(columns, where))
        except LibraryProblem as problem:
            self._tell(problem)
            return []

    def _read_all(
        self, columns: Sequence[str], where: Conditions, deck_ids: Sequence[str]
    ) -> tuple[list[tuple[Any, ...]], Mapping[str, date]]:
        """Return fittings and the days of services; a problem of both is reported once."""
        found: list[tuple[Any, ...]] = []
        try:
            found = list(self._fittings(columns, where))
            return found, self._services(deck_ids) if deck_ids else {}
        except LibraryProblem as problem:
            self._tell(problem)
            return found, {}

    def _names_of(self, worked: Iterable[Worked]) -> Mapping[str, str]:
        ids = {one.cartridge_id for one in worked} - {""}
        try:
            return self._names(tuple(ids)) if ids else {}
        except LibraryProblem as problem:
            self._tell(problem)
            return {}

    @property
    def _last(self) -> list[Worked]:
        """What was done last on every deck."""
        if self._known_last is None:
            try:
                last = _newest(self._fittings(Worked._fields, {}))
            except LibraryProblem as problem:
                self._tell(problem)
                last = {}
            self._known_last = [last.get(one, _NOTHING) for one in self.ids]
        return self._known_last

    @property
    def _is_open(self) -> list[bool]:
        """Whether each deck has a fitting in progress."""
        if self._known_open is None:
            under_way = {deck_id for (deck_id,) in self._read(("deck_id",), {"finished": 0})}
            self._known_open = [one in under_way for one in self.ids]
        return self._known_open

    @property
    def due(self) -> list[date | None]:
        """The day of the next check or service of each deck, whichever is due first."""
        while not self._read_ahead(_AT_ONCE):
            pass
        return self._due

    def prepare(self, most: int) -> bool:
        """Read what filters ask for of so many decks more; return whether it is known of all."""
        are_ready = super().prepare(most)
        return self._read_ahead(most) and are_ready

    def _read_ahead(self, most: int) -> bool:
        if len(self._due) == len(self._rows):
            return True
        rows = self._rows[len(self._due) : len(self._due) + most]
        ids = tuple(row[0] for row in rows)
        try:
            found = list(self._fittings(Worked._fields, {"deck_id": ids}))
            services = self._services(ids)
        except LibraryProblem as problem:
            self._due += [None] * (len(self._rows) - len(self._due))  # it is told once
            self._tell(problem)
            return True
        last, ends = _newest(found, self._same), self._ends_of((one[0], *one[-2:]) for one in found)
        under_way = {one[0] for one in found if not one[4]}
        self._due += [
            first_of(check_due(ends.get(row[0], ""), row[10]), services.get(row[0])) for row in rows
        ]
        self._service_due.update((row[0], services.get(row[0])) for row in rows)
        self._ahead += [(last.get(one, _NOTHING), one in under_way) for one in ids]
        if len(self._due) < len(self._rows):
            return False
        self._known_last = [worked for worked, _ in self._ahead]
        self._known_open = [is_open for _, is_open in self._ahead]
        self._ahead, self._same = [], {}
        return True

    def _holding(self, places: list[int], word: str) -> list[int]:
        found = super()._holding(places, word)
        if not any(letter.isdigit() for letter in word):
            return found
        numbers, known = self._job_numbers, set(found)
        of_jobs = {i for i in places if word in numbers[i]} - known
        return [i for i in places if i in known or i in of_jobs] if of_jobs else found

    @property
    def _job_numbers(self) -> list[str]:
        """The numbers of the jobs of each deck, one a line."""
        if self._numbers is None:
            of_decks: dict[str, set[str]] = {}
            try:
                jobs = self._jobs()
                for deck_id, job_id in (
                    self._fittings(("deck_id", "job_id"), {"job_id": Above("")}) if jobs else ()
                ):
                    of_decks.setdefault(deck_id, set()).add(plain(jobs.get(job_id, "")))
            except LibraryProblem as problem:
                self._tell(problem)
            self._numbers = ["\n".join(sorted(of_decks.get(one, ()))) for one in self.ids]
        return self._numbers

    def _applies(self, what: str) -> Sequence[object]:
        if what == "under way":
            return self._is_open
        if what == "due":
            return [is_soon(on, self._today) for on in self.due]
        if what == "kept":
            return [one.kept for one in self._last]
        mine = plain(self._me)
        return [
            plain(row[7] if last is _NOTHING else last.who) == mine
            for row, last in zip(self._rows, self._last, strict=True)
        ]

    def keys(self, order: str) -> Sequence[Any]:
        """Return the sort key of each deck."""
        if order == "due":
            return self.due
        if order == "reached":
            return [None if one.finished else step_number(one.reached) for one in self._last]
        if order == "verdict":
            return [verdict(one.reached, one.kept, one.left_found) for one in self._last]
        if order == "cartridge_name":
            names = self._names_of(self._last)
            return ranks([names.get(one.cartridge_id, "") for one in self._last])
        return super().keys(order)


def first_of(*days: date | None) -> date | None:
    """Return the earliest of some days; None if there is none."""
    return min((day for day in days if day is not None), default=None)


def _newest(
    fittings: Iterable[tuple[Any, ...]], same: dict[Any, Any] | None = None
) -> dict[str, Worked]:
    """Return the last fitting of each deck, with all its columns.

    Equal values are one object, that in ``same`` if there is one: there are many fittings, few
    people and steps.
    """
    known = {} if same is None else same
    last: dict[str, tuple[Any, ...]] = {}
    for fitting in fittings:  # plain tuples: there are many
        deck_id = fitting[0]
        if deck_id not in last or fitting[1] > last[deck_id][1]:
            last[deck_id] = fitting
    return {
        deck_id: Worked(*(known.setdefault(one, one) for one in fitting))
        for deck_id, fitting in last.items()
    }


def _latest(ends: Iterable[tuple[Any, ...]]) -> dict[str, str]:
    """Return the latest time for each deck, from tuples of deck, time and arm."""
    found: dict[str, str] = {}
    for deck_id, at, _arm in ends:
        if at > found.get(deck_id, ""):
            found[deck_id] = at
    return found
