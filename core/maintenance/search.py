"""Which decks of a library are due for their check or for service, found in small portions.

No step of any fitting is worked out for it: it is the end of each deck's last finished fitting and
the months its record says, and its service record. Stylus hours and speed are said in a deck's own
history.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final

from core.language import Message, Sentences, day_of, message, months_after
from core.maintenance.service_due import Done, latest_of
from core.records import Deck, ServicePart
from core.store import Library
from core.store.last_finished import LastEntry
from core.store.service import ServiceLine

_PORTION: Final = 25
"""Decks whose records are read in one go: a few milliseconds, so that nobody's typing waits."""

_LISTED: Final = 100
"""Decks asked in one go whether anything changed: as long."""

_FIELD: Final = "check_months"


@dataclass(frozen=True, slots=True)
class DueDeck:
    """A deck on which something is due.

    ``last`` is the day what is due longest was last done, ``on`` since when it is due, ``why`` what
    is due, all of it, in short sentences.
    """

    deck_id: str
    last: date
    on: date
    why: Message


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
        self._service = _ServiceSearch(library)

    @property
    def is_done(self) -> bool:
        """Whether nothing is left to look at."""
        return self._after is None and not self._waiting and self._service.is_done

    def begin(self) -> None:
        """Look anew, from the first deck on."""
        self._listed, self._after, self._waiting = set(), "", []
        self._service.begin()

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
        else:
            self._service.go_on()

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
        found: dict[str, list[tuple[date, date, Message]]] = defaultdict(list)
        for deck_id, (_, finished, months) in self._known.items():
            if months is not None:
                count = message("maintenance.months", count=months)
                why = message("maintenance.check_over", months=count)
                found[deck_id].append((months_after(finished, months), finished, why))
        for deck_id, rate, done in self._service.found:
            on = done.due_on(rate)
            if on is not None:
                found[deck_id].append((on, done.day, done.why(rate)))
        decks = []
        for deck_id, reasons in found.items():
            over = sorted((one for one in reasons if one[0] <= today), key=lambda one: one[:2])
            if over:
                all_of_it = Sentences(tuple(why for _, _, why in over))
                said = message("maintenance.sentences", all=all_of_it)
                decks.append(DueDeck(deck_id, over[0][1], over[0][0], said))
        return tuple(sorted(decks, key=lambda one: (one.on, one.deck_id)))


class _ServiceSearch:
    """Reads the service records of a library in portions, without their words."""

    def __init__(self, library: Library) -> None:
        self._library = library
        self._after: str | None = None
        self._lines: list[ServiceLine] = []
        self.found: tuple[tuple[str, float | None, Done], ...] = ()
        """Deck, hours it is played a week, and what was done last, for every part of each deck."""

    @property
    def is_done(self) -> bool:
        return self._after is None

    def begin(self) -> None:
        self._after, self._lines = "", []

    def go_on(self) -> None:
        if self._after is None:
            return
        now, last = self._library.service.lines(self._after, _LISTED)
        self._lines += now
        self._after = last or None
        if self._after is None:
            self.found = tuple(self._latest())

    def _latest(self) -> Iterator[tuple[str, float | None, Done]]:
        of_decks: dict[str, list[Done]] = defaultdict(list)
        for line in sorted(self._lines, key=lambda one: one.at):
            done = _done(line)
            if done is not None:
                of_decks[line.deck_id].append(done)
        asked = {
            deck_id: [one for one in latest_of(entries) if one.months or one.hours]
            for deck_id, entries in of_decks.items()
        }
        ids = [deck_id for deck_id, entries in asked.items() if entries]
        in_use = self._library.service.decks_in_use(ids)
        played = [one for one in ids if any(done.hours for done in asked[one])]
        rates = self._library.last_finished.said_of_decks(played, "hours_a_week")
        for deck_id in ids:
            rate = rates.get(deck_id)
            for done in asked[deck_id] if deck_id in in_use else ():
                yield deck_id, float(rate) if isinstance(rate, int | float) else None, done


def _done(line: ServiceLine) -> Done | None:
    """Return what was done; None if it counts for nothing, or the file says what can't be."""
    if line.withdrawn or line.archived:
        return None
    try:
        return Done(
            ServicePart(line.part),
            date.fromisoformat(line.day),
            line.done,
            int(line.months) if line.months else None,
            float(line.hours) if line.hours else None,
        )
    except ValueError:
        return None
