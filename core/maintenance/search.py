"""Which decks of a library are due for their check or for service, found in small portions.

No step of any fitting is worked out for it: it is the end of each deck's last finished fitting and
the months its record says, and its service record. Stylus hours and speed are said in a deck's own
history.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from typing import Final, NamedTuple

from core.language import Message, Name, Sentences, day_of, message, months_after
from core.maintenance.service_due import Done
from core.records import Deck, ServicePart
from core.store import LastEntry, Library
from core.store.service import ServiceLine

_PORTION: Final = 25
"""Decks whose records are read in one go: a few milliseconds, so that nobody's typing waits."""

_LISTED: Final = 100
"""Decks checked for changes in one go; takes as long."""

_FIELD: Final = "check_months"


class Over(NamedTuple):
    """One thing that is due on a deck: since when, when it was last done, and what it is.

    ``done`` is an entry of the service record and ``rate`` the hours the deck is played a week;
    without an entry it is the check, ``months`` after a fitting. ``says`` is the same where the
    same sentence says why.
    """

    on: date
    last: date
    says: tuple[object, ...]
    months: int = 0
    done: Done | None = None
    rate: float | None = None
    arm: str = ""

    @property
    def why(self) -> Message:
        """What is due, in a short sentence."""
        if self.done is not None:
            return self.done.why(self.rate)
        months = message("maintenance.months", count=self.months)
        if self.arm:
            return message("maintenance.arm_over", arm=Name(self.arm), months=months)
        return message("maintenance.check_over", months=months)


@dataclass(frozen=True, slots=True)
class DueDeck:
    """A deck on which something is due.

    ``last`` is the day what is due longest was last done, ``on`` since when it is due; ``over`` is
    all that is due.
    """

    deck_id: str
    last: date
    on: date
    over: tuple[Over, ...]

    @property
    def why(self) -> Message:
        """What is due, all of it, in short sentences."""
        return message("maintenance.sentences", all=Sentences(tuple(one.why for one in self.over)))


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
        self._known: dict[str, tuple[LastEntry, date, int | None, str]] = {}
        self._service = _ServiceSearch(library)

    @property
    def is_done(self) -> bool:
        """Whether nothing is left to look at."""
        return self._after is None and not self._waiting and self._service.is_done

    def begin(self) -> None:
        """Start again from the first deck."""
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
                self._known[entry.deck_id] = entry, day_of(end.at), count, end.arm

    def due(self, today: date) -> tuple[DueDeck, ...]:
        """Return the decks found due so far, the one due longest first."""
        found: dict[str, list[Over]] = defaultdict(list)
        for deck_id, (_, finished, months, arm) in self._known.items():
            if months is not None:
                on = months_after(finished, months)
                if on <= today:
                    found[deck_id].append(Over(on, finished, (months, arm), months, arm=arm))
        for deck_id, one in self._service.found:
            if one.on <= today:
                found[deck_id].append(one)
        decks = []
        for deck_id, over in found.items():
            over.sort(key=lambda one: (one.on, one.last))
            decks.append(DueDeck(deck_id, over[0].last, over[0].on, tuple(over)))
        return tuple(sorted(decks, key=lambda one: (one.on, one.deck_id)))


class _ServiceSearch:
    """Reads the service records of a library in portions, without the bodies of their entries."""

    def __init__(self, library: Library) -> None:
        self._library = library
        self._after: str | None = None
        # By deck, the entry that counts for each part, with the moment it was entered.
        self._latest: dict[str, dict[object, tuple[date, str, Done]]] = {}
        self._waiting: list[str] = []
        self._gathered: list[tuple[str, Over]] = []
        self.found: list[tuple[str, Over]] = []
        """Each deck with what falls due on it some day."""

    @property
    def is_done(self) -> bool:
        return self._after is None and not self._waiting

    def begin(self) -> None:
        self._after, self._latest, self._waiting, self._gathered = "", {}, [], []

    def go_on(self) -> None:
        if self._after is not None:
            self._list_portion(self._after)
        elif self._waiting:
            self._date_portion()
        if self.is_done:
            self.found = self._gathered

    def _list_portion(self, after: str) -> None:
        now, last = self._library.service.lines(after, _LISTED)
        for line in now:
            done = _done(line)
            if done is not None:
                of_deck = self._latest.setdefault(line.deck_id, {})
                known = of_deck.get(done.about)
                if known is None or (done.day, line.at) >= known[:2]:
                    of_deck[done.about] = done.day, line.at, done
        self._after = last or None
        if self._after is None:
            self._waiting = list(self._latest)

    def _date_portion(self) -> None:
        portion, self._waiting = self._waiting[:_PORTION], self._waiting[_PORTION:]
        in_use = self._library.service.decks_in_use(portion)
        entries = [
            (deck_id, done)
            for deck_id in portion
            if deck_id in in_use
            for _, _, done in self._latest[deck_id].values()
        ]
        played = {deck_id for deck_id, done in entries if done.hours is not None}
        rates = self._library.last_finished.said_of_decks(tuple(played), "hours_a_week")
        for deck_id, done in entries:
            said = rates.get(deck_id)
            rate = float(said) if isinstance(said, int | float) else None
            on = done.due_on(rate)
            if on is not None:
                self._gathered.append(
                    (
                        deck_id,
                        Over(on, done.day, (done.about, *done.term(rate)), done=done, rate=rate),
                    )
                )


def _done(line: ServiceLine) -> Done | None:
    """Return what was done; None if the entry does not count or holds impossible values."""
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
