"""Which decks of a library are due for their check, found in small portions.

No step of any fitting is worked out for it: it is the end of each deck's last finished fitting and
the months its record says. Stylus hours and speed are said in a deck's own history.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from core.language import day_of, months_after
from core.records import Deck
from core.store import Library
from core.store.last_finished import LastEntry

_PORTION: Final = 25
"""Decks whose records are read in one go: a few milliseconds, so that nobody's typing waits."""

_LISTED: Final = 100
"""Decks asked in one go whether anything changed: as long."""

_FIELD: Final = "check_months"


@dataclass(frozen=True, slots=True)
class DueDeck:
    """A deck whose check is due: the day its last fitting was finished, and since when it is."""

    deck_id: str
    finished: date
    on: date


class DueSearch:
    """Looks through a library; what has not changed since the last time is not looked at again.

    Parameters
    ----------
    library
        Where to look.
    """

    def __init__(self, library: Library) -> None:
        self._library = library
        self._listed: set[str] = set()
        self._after: str | None = None  # the last deck listed; none while nothing is to be
        self._waiting: list[LastEntry] = []
        self._known: dict[str, tuple[LastEntry, date, int | None]] = {}

    @property
    def is_done(self) -> bool:
        """Whether nothing is left to look at."""
        return self._after is None and not self._waiting

    def begin(self) -> None:
        """Look anew, from the first deck on."""
        self._listed, self._after, self._waiting = set(), "", []

    def go_on(self) -> None:
        """Look at one portion more.

        Raises
        ------
        LibraryProblem
            If the library can't be read.
        """
        if self._waiting:
            self._read_portion()
        elif self._after is not None:
            self._list_portion(self._after)

    def _list_portion(self, after: str) -> None:
        now, last = self._library.last_finished.last_entries(after, _LISTED)
        self._listed.update(entry.deck_id for entry in now)
        for entry in now:
            known = self._known.get(entry.deck_id)
            if known is None or known[0] != entry:
                self._waiting.append(entry)
        self._after = last or None
        if self._after is None:
            gone = self._known.keys() - self._listed
            for deck_id in gone:
                del self._known[deck_id]

    def _read_portion(self) -> None:
        portion, self._waiting = self._waiting[:_PORTION], self._waiting[_PORTION:]
        ids = [entry.deck_id for entry in portion]
        months = self._library.last_finished.said_of_decks(ids, _FIELD)
        ends = self._library.last_finished.ended(ids)
        usual = Deck.model_fields[_FIELD].default
        for entry in portion:
            end = ends.get(entry.deck_id)
            wanted = months.get(entry.deck_id, usual)
            if end is not None:
                count = wanted if isinstance(wanted, int) else None
                self._known[entry.deck_id] = entry, day_of(end), count

    def due(self, today: date) -> tuple[DueDeck, ...]:
        """Return the decks found due so far, the one due longest first."""
        found = [
            DueDeck(deck_id, finished, months_after(finished, months))
            for deck_id, (_, finished, months) in self._known.items()
            if months is not None
        ]
        return tuple(
            sorted((one for one in found if one.on <= today), key=lambda one: (one.on, one.deck_id))
        )
