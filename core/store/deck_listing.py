"""Decks in a list, each with what was done on it last."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from typing import Any, Final, NamedTuple

from core.store.listing import RecordListing, check_due, is_soon, plain, ranks, step_number, verdict
from core.store.rows import DeckWork, RecordRow


class Worked(NamedTuple):
    """What a deck's row needs of a fitting; the names are those of its columns."""

    deck_id: str
    last_at: str
    cartridge_id: str
    who: str
    finished: int
    reached: str
    kept: int
    left_found: int
    checked_at: str


_NOTHING: Final = Worked("", "", "", "", 1, "?", 0, 0, "")


class DeckListing(RecordListing):
    """Decks by name, sorted further by ``cartridge_name``, ``due``, ``reached`` or ``verdict``.

    Made of rows as for its base with the months between checks at their end, of all fittings that
    were not put away, and of the names of cartridges by id.
    """

    def __init__(
        self,
        rows: list[tuple[Any, ...]],
        feature_label: Callable[[str], str],
        fittings: Iterable[tuple[Any, ...]],
        cartridges: Mapping[str, str],
    ) -> None:
        super().__init__(rows, feature_label)
        self._cartridges = cartridges
        last: dict[str, tuple[Any, ...]] = {}
        ends: dict[str, str] = {}
        under_way = set()
        for fitting in fittings:  # plain tuples: there are many
            deck_id, at, *_, checked_at = fitting
            if deck_id not in last or at > last[deck_id][1]:
                last[deck_id] = fitting
            if checked_at > ends.get(deck_id, ""):
                ends[deck_id] = checked_at
            if not fitting[4]:
                under_way.add(deck_id)
        self._last = [Worked(*last[one]) if one in last else _NOTHING for one in self.ids]
        self._ended = [ends.get(one, "") for one in self.ids]
        self._is_open = [one in under_way for one in self.ids]
        self._due: list[date | None] | None = None

    def row(self, place: int) -> RecordRow:
        """Return the row of a place."""
        row, last, months = super().row(place), self._last[place], self._rows[place][10]
        if last is _NOTHING:
            return row
        return row._replace(
            work=DeckWork(
                cartridge_name=self._cartridges[last.cartridge_id],
                who=last.who,
                finished=bool(last.finished),
                reached=last.reached,
                kept=last.kept,
                left_found=last.left_found,
                due=check_due(self._ended[place], months),
                months=months,
            )
        )

    @property
    def due(self) -> list[date | None]:
        """The day of the next check for every place."""
        if self._due is None:
            self._due = [
                check_due(ended, row[10])
                for ended, row in zip(self._ended, self._rows, strict=True)
            ]
        return self._due

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
        """Return for every deck what it is sorted by."""
        if order == "due":
            return self.due
        if order == "reached":
            return [None if one.finished else step_number(one.reached) for one in self._last]
        if order == "verdict":
            return [verdict(one.reached, one.kept, one.left_found) for one in self._last]
        if order == "cartridge_name":
            return ranks([self._cartridges.get(one.cartridge_id, "") for one in self._last])
        return super().keys(order)
