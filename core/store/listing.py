"""Lists of thousands of rows, searched and sorted at every keystroke without a new query.

A listing is read once, in two plain queries, and holds no more than its rows need; the latest work
on decks is read only for the rows that are shown or asked for. A search returns indexes into the
list; a row object is made when it is shown.

Measured against SQLite's FTS5 with 20,000 fittings: FTS5's trigram index takes twice as long for a
keystroke, and needs extra code for sorting, for dates by this computer's clock and for keeping a
second copy up to date. FTS5's word index is faster, but finds only beginnings of words.

Unless a column is sorted by, the best matches stand first: a text equal to what was typed, then one
that holds it as a word, then one with a word that begins with it, then the others.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Container, Iterable, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta
from types import MappingProxyType
from typing import Any, Final, Generic, TypeVar

from core.language import day_of, months_after
from core.store.arm_names import named_in
from core.store.problems import LibraryProblem
from core.store.rows import FittingRow, RecordRow, moment, moment_or_none, stamp

R = TypeVar("R")

_DIGITS: Final = re.compile(r"(\d{1,300})")
_DATE: Final = re.compile(r"(\d{4})(?:-(\d{0,2})(?:-(\d{0,2}))?)?")
_DAYS_AGO: Final = {"today": 0, "yesterday": 1}
_LEAST_OF_A_STATE: Final = 4
"""This many letters of a state's word match it; fewer are more likely part of a name."""
_LEAST_OF_A_NUMBER: Final = 6
"""This many characters match a record's id in exports; fewer match too many."""
_IN_NUMBERS: Final = frozenset("0123456789abcdef")
_MEANS_A_NUMBER: Final = re.compile(
    r"(?<!\S)(?:[#\u2116]|n[or]\.|(?:n[or]|number)\s)\s*(?=\d)", re.IGNORECASE
)
"""Words that only announce a number; searches ignore them."""

_BEYOND: Final = 99
"""Sort key of fittings with all steps done: after the last step."""

_MOST_ARRANGED: Final = 1500
"""Above this many hits only those that hold whole words are put first.

Ranking all of them would take too long for a keystroke.
"""

_EXACT: Final = -8  # outweighs the sum over the single words
_WHOLE, _BEGINS, _INSIDE = range(3)
_APART: Final = str.maketrans(dict.fromkeys(".,;:()[]#/\"'\u2116\t", " "))
"""Characters that separate words. A hyphen does not: ``2025-02705`` is one word."""

_SOON: Final = timedelta(days=30)
_STATES: Final = {
    "due": ("due",),
    "mine": ("mine",),
    "kept": ("kept", "overruled"),
    "under way": ("in progress", "under way"),
}
"""Search filters other than text, and the words that select them."""

_NO_JOB: Final = ("", "")
RecordNames = tuple[str, str, str, int, str]
"""Columns of a deck or cartridge for a list of fittings.

Name, owner's reference, folded text, months between checks, and the names of its arms.
"""


class Listing(Generic[R]):
    """A list that can be searched and sorted; each index in it stands for a record.

    ``ids`` are the records in their default order, ``archived`` is 0 or 1 for each.
    """

    def __init__(self, ids: Sequence[str], archived: bytes) -> None:
        self.ids = ids
        self._archived = archived
        self._away = sum(archived)
        self._arranged: tuple[tuple[str, bool], list[int]] | None = None
        self._places: dict[str, int] | None = None
        # With archived rows and without: the hits after each word of the last search, so that one
        # more letter only searches the last word's hits.
        self._sifted: dict[bool, tuple[tuple[Any, ...], list[tuple[str, list[int]]]]] = {}
        self._me, self._today = "", date.min
        self.troubled: Callable[[LibraryProblem], None] | None = None
        """Called with problems met later on, whose data the list leaves out; None raises them."""

    def __len__(self) -> int:
        return len(self.ids)

    def archived_among(self, places: Iterable[int]) -> int:
        """Return how many of these rows are archived."""
        return sum(self._archived[place] for place in places)

    def count(self, *, archived: bool) -> int:
        """Return the number of rows, with or without archived ones."""
        return len(self.ids) - (0 if archived else self._away)

    def find(
        self,
        words: str = "",
        *,
        order: str = "",
        descending: bool = False,
        archived: bool = False,
        only: frozenset[str] = frozenset(),
        me: str = "",
    ) -> list[int]:
        """Return the indexes of the records that hold every word, in the requested order.

        Parameters
        ----------
        words
            Matched in names, owner's references, people and features, ignoring case; a date or its
            beginning (``2025-03``, by this computer's clock); ``in progress``, ``finished`` and
            ``archived`` of a fitting, ``archived`` of a deck or cartridge; the names of ``only``.
        order
            One of the listing's sort names; its default order if empty. Numbers in texts sort as
            numbers; empty values come last.
        descending
            From the last to the first.
        archived
            Whether archived records are included.
        only
            Restricts the result to records to which all of these apply: ``due`` (a check within 30
            days), ``mine``, ``under way``, ``kept`` (against the verdict).
        me
            The person whom ``mine`` means.

        Returns
        -------
        list of int
            Owned by the listing; read only.
        """
        asked = order, descending, only, me, date.today()  # noqa: DTZ011 - the wall's calendar
        if self._sifted.get(archived, (None,))[0] != asked:
            self._me, self._today = me, asked[-1]
            places = self._in_order(order, descending=descending)
            if not archived:
                away = self._archived
                places = [place for place in places if not away[place]]
            for one in only:
                applies = self._applies(one)
                places = [place for place in places if applies[place]]
            self._sifted[archived] = asked, [("", places)]
        sifted = self._sifted[archived][1]
        typed = looked_for(words)
        known = [word for word, _ in sifted[1:]]
        while known != typed[: len(known)]:
            known.pop()
        del sifted[len(known) + 1 :]
        for word in typed[len(known) :]:
            sifted.append((word, self._holding(sifted[-1][1], word)))
        found = sifted[-1][1]
        return self._nearest_first(found, typed) if typed and not order else found

    def _nearest_first(self, places: list[int], words: list[str]) -> list[int]:
        if len(places) > _MOST_ARRANGED:
            return self._whole_first(places, words)
        far = self._distances(places, words)
        if len(set(far)) < 2:
            return places
        return [places[at] for at in sorted(range(len(places)), key=far.__getitem__)]

    def _whole_first(self, places: list[int], words: list[str]) -> list[int]:
        """Put the hits that hold every word whole first; the rest stay in order."""
        found = places
        for word in words:
            found = self._with_whole(found, word)
        if not found or len(found) == len(places):
            return places
        first = set(found)
        return [*found, *(place for place in places if place not in first)]

    def row(self, place: int) -> R:
        """Return the row at an index."""
        raise NotImplementedError

    def rows(self, places: Sequence[int]) -> list[R]:
        """Return the rows at several indexes."""
        return [self.row(place) for place in places]

    def _tell(self, problem: LibraryProblem) -> None:
        if self.troubled is None:
            raise problem
        self.troubled(problem)

    def prepare(self, most: int) -> bool:  # noqa: ARG002 - those that know it ask
        """Read some of what a later search would ask for, of up to so many records.

        Returns whether all is read.
        """
        return True

    def place_of(self, record_id: str) -> int | None:
        """Return the index of a record, or None if it is not in the list."""
        if self._places is None:
            self._places = {one: place for place, one in enumerate(self.ids)}
        return self._places.get(record_id)

    def _in_order(self, order: str, *, descending: bool) -> list[int]:
        asked = order, descending
        if self._arranged is None or self._arranged[0] != asked:
            places = list(range(len(self.ids)))
            if order:
                places = _sorted(places, self.keys(order), descending=descending)
            self._arranged = asked, places
        return self._arranged[1]

    def keys(self, order: str) -> Sequence[Any]:
        """Return the sort key of each row, None where it is empty."""
        raise NotImplementedError

    def _holding(self, places: list[int], word: str) -> list[int]:
        raise NotImplementedError

    def _distances(self, places: list[int], words: list[str]) -> list[int]:
        """Return the match distance of each of these rows; the least is the best."""
        raise NotImplementedError

    def _with_whole(self, places: list[int], word: str) -> list[int]:  # noqa: ARG002 - as below
        """Return the rows of these that hold a word whole."""
        return []

    def _applies(self, what: str) -> Sequence[object]:  # noqa: ARG002 - those that know it ask
        """Return for every row whether this filter of ``find`` applies."""
        return bytes(len(self.ids))

    def _said_of(self, word: str) -> list[Sequence[object]]:
        """Return, for each filter that a word names, whether it applies to every row."""
        return [
            self._applies(what)
            for what, states in _STATES.items()
            if any(_stands_for(word, state) for state in states)
        ]

    def _numbered(self, places: list[int], word: str) -> set[int]:
        """Return the rows of records whose own number begins with a word."""
        if len(word) < _LEAST_OF_A_NUMBER or not set(word) <= _IN_NUMBERS:
            return set()
        ids = self.ids
        return {place for place in places if ids[place].startswith(word)}


class FittingListing(Listing[FittingRow]):
    """Fittings, newest entry first.

    They can be sorted by ``deck_name``, ``owner_reference``, ``cartridge_name``, ``started_at``,
    ``last_at``, ``who``, ``entry_count``, ``archived_at``, ``reached``, ``verdict``, ``due``,
    ``job`` or ``promised``.

    The ``columns`` are id, deck's id, cartridge's id, start, last entry, finished, archived, entry
    count, who, when it was archived, job, arm, and the status columns. ``records`` are all decks
    and cartridges that they name, by id; ``jobs`` the number and the promised day of jobs.
    """

    def __init__(
        self,
        columns: Sequence[Sequence[Any]],
        records: dict[str, RecordNames],
        jobs: Mapping[str, tuple[str, str]] = MappingProxyType({}),
    ) -> None:
        newest_first = sorted(range(len(columns[4])), key=columns[4].__getitem__, reverse=True)
        columns = [list(map(column.__getitem__, newest_first)) for column in columns]
        ids, decks, cartridges, started, last, finished, archived, counts, who, away = columns[:10]
        job, self._arm_key, *how = columns[10:]
        super().__init__(ids, bytes(archived))
        numbers = {record_id: number for number, record_id in enumerate(records)}
        people = {one: number for number, one in enumerate(dict.fromkeys(who))}
        self._record_ids, self._records = tuple(records), tuple(records.values())
        self._folded: list[str] | None = None
        self._spaced: list[str] = []
        self._people = tuple(people)
        # Lists, not arrays: they share the numbers in the dictionary, no new ones are made.
        self._deck = [numbers[one] for one in decks]
        self._cartridge = [numbers[one] for one in cartridges]
        self._started, self._last, self._away_at, self._job = started, last, away, job
        self._finished, self._entry_count = bytes(finished), counts
        self._who = [people[one] for one in who]
        self._reached, self._kept, self._left, ended, self._is_check = how
        # Of most they are the same moment, of which one text is enough.
        self._ended = [at if at == end else end for at, end in zip(last, ended, strict=True)]
        self._promises = [jobs.get(one, _NO_JOB) for one in job]
        self._job_numbers = {one: jobs[one][0].casefold() for one in {*job} & jobs.keys()}
        arms = {number: named_in(one[4]) for number, one in enumerate(self._records) if one[4]}
        self._arm_names = {
            place: arms[deck].get(self._arm_key[place], "")
            for place, deck in enumerate(self._deck if arms else ())
            if deck in arms
        }
        """Only for fittings of decks with several arms."""
        self._due: list[date | None] | None = None
        self._dates: dict[int | tuple[int, str], int] | None = None
        pairs = zip(self._finished, self._archived, strict=True)
        self._state = bytes([done + 2 * away for done, away in pairs])

    def row(self, place: int) -> FittingRow:
        """Return the row at an index."""
        deck, cartridge = self._deck[place], self._cartridge[place]
        return FittingRow(
            id=self.ids[place],
            deck_id=self._record_ids[deck],
            deck_name=self._records[deck][0],
            owner_reference=self._records[deck][1],
            cartridge_id=self._record_ids[cartridge],
            cartridge_name=self._records[cartridge][0],
            started_at=moment(self._started[place]),
            last_at=moment(self._last[place]),
            finished=bool(self._finished[place]),
            archived=bool(self._archived[place]),
            entry_count=self._entry_count[place],
            who=self._people[self._who[place]],
            archived_at=moment_or_none(self._away_at[place]),
            job_id=self._job[place],
            reached=self._reached[place],
            kept=self._kept[place],
            left_found=self._left[place],
            due=self._due_at(place),
            deck_months=max(0, self._records[deck][3]),
            job_number=self._promises[place][0],
            promised=self._promises[place][1],
            arm_key=self._arm_key[place],
            arm_name=self._arm_names.get(place, ""),
            is_check=bool(self._is_check[place]),
        )

    @property
    def _dating(self) -> dict[int | tuple[int, str], int]:
        """The index of the fitting that dates a check, by deck and arm: the one finished last.

        Archived fittings do not count.
        """
        if self._dates is None:
            ended, away, arms = self._ended, self._archived, self._arm_key
            self._dates = {}
            for place, deck in enumerate(self._deck):
                if ended[place] and not away[place]:
                    one = (deck, arms[place]) if arms[place] else deck
                    known = self._dates.get(one)
                    if known is None or ended[place] > ended[known]:
                        self._dates[one] = place
        return self._dates

    def _due_at(self, place: int) -> date | None:
        deck = self._deck[place]
        arm = self._arm_key[place]
        if self._dating.get((deck, arm) if arm else deck) != place:
            return None
        return check_due(self._ended[place], self._records[deck][3])

    @property
    def due(self) -> list[date | None]:
        """The day of the next check for each row; None where another fitting dates it."""
        if self._due is None:
            self._due = [None] * len(self.ids)
            for place in self._dating.values():
                self._due[place] = self._due_at(place)
        return self._due

    def _applies(self, what: str) -> Sequence[object]:
        if what == "due":
            return [is_soon(on, self._today) for on in self.due]
        if what == "mine":
            mine = [plain(one) == plain(self._me) for one in self._people]
            return [mine[one] for one in self._who]
        if what == "under way":
            return [not done for done in self._finished]
        return self._kept

    def keys(self, order: str) -> Sequence[Any]:
        """Return the sort key of each fitting."""
        if order == "due":
            return self.due
        if order == "reached":
            return [step_number(one) for one in self._reached]
        if order == "verdict":
            standing = zip(self._reached, self._kept, self._left, strict=True)
            return [verdict(*one) for one in standing]
        if order == "who":
            by_person = ranks(self._people)
            return [by_person[one] for one in self._who]
        if order in ("deck_name", "owner_reference", "cartridge_name"):
            wanted = int(order == "owner_reference")
            by_name = ranks([names[:2][wanted] for names in self._records])
            column = self._cartridge if order == "cartridge_name" else self._deck
            return [by_name[number] for number in column]
        return {
            "job": [number or None for number, _day in self._promises],
            "promised": [day or None for _number, day in self._promises],
            "started_at": self._started,
            "last_at": self._last,
            "entry_count": self._entry_count,
            "archived_at": [at or None for at in self._away_at] if order == "archived_at" else (),
        }[order]

    def _holding(self, places: list[int], word: str) -> list[int]:
        if self._folded is None:
            self._folded = [_composed(names[2]) for names in self._records]
        named = [word in one for one in self._folded]
        person = [word in plain(one) for one in self._people]
        under_way, done, away = (
            any(_stands_for(word, state) for state in states)
            for states in (("in progress", "under way"), ("finished",), ("archived",))
        )
        is_so = (under_way, done, under_way or away, done or away)
        deck, cartridge, who, state = self._deck, self._cartridge, self._who, self._state
        numbered = self._numbered(places, word)
        for applies in self._said_of(word):
            numbered |= {i for i in places if applies[i]}
        of_jobs = {one for one, number in self._job_numbers.items() if word in number}
        if of_jobs and any(letter.isdigit() for letter in word):
            numbered |= {i for i in places if self._job[i] in of_jobs}
        if self._arm_names:
            on = self._arm_names
            numbered |= {i for i in places if i in on and word in plain(on[i])}
        span = date_span(word)
        if span is None and not (numbered or any(is_so)):  # most words
            return [i for i in places if named[deck[i]] or named[cartridge[i]] or person[who[i]]]
        if span is None:
            return [
                i
                for i in places
                if named[deck[i]]
                or named[cartridge[i]]
                or person[who[i]]
                or is_so[state[i]]
                or i in numbered
            ]
        (since, until), started, last, put_away = span, self._started, self._last, self._away_at
        return [
            i
            for i in places
            if named[deck[i]]
            or named[cartridge[i]]
            or person[who[i]]
            or since <= started[i] < until
            or since <= last[i] < until
            or since <= put_away[i] < until
            or i in numbered
        ]

    def prepare(self, most: int) -> bool:
        """Make up to so many texts more ready to be ranked; return whether all are."""
        begin = len(self._spaced)
        self._spaced += [
            spaced(_composed(names[2])) for names in self._records[begin : begin + most]
        ]
        return len(self._spaced) == len(self._records)

    def _texts(self) -> list[str]:
        self.prepare(len(self._records))
        return self._spaced

    def _with_whole(self, places: list[int], word: str) -> list[int]:
        wanted = f" {_bare(word)} "
        named = [wanted in text for text in self._texts()]
        person = [wanted in spaced(plain(one)) for one in self._people]
        deck, cartridge, who = self._deck, self._cartridge, self._who
        return [i for i in places if named[deck[i]] or named[cartridge[i]] or person[who[i]]]

    def _distances(self, places: list[int], words: list[str]) -> list[int]:
        texts, deck, cartridge, who = self._texts(), self._deck, self._cartridge, self._who
        spoken_of = {number for i in places for number in (deck[i], cartridge[i])}
        people = [spaced(plain(one)) for one in self._people]
        far = [0] * len(places)
        for judge, wanted in _judges(words):
            of_record = {number: judge(wanted, texts[number]) for number in spoken_of}
            of_person = [judge(wanted, text) for text in people]
            far = [
                so_far + min(of_record[deck[i]], of_record[cartridge[i]], of_person[who[i]])
                for so_far, i in zip(far, places, strict=True)
            ]
        return far


class RecordListing(Listing[RecordRow]):
    """Decks or cartridges, by name.

    They can be sorted by ``name``, ``owner_reference``, ``feature``, ``at``, ``revision``, ``who``
    or ``archived_at``. Each of ``rows`` holds id, revision, name, owner's reference, feature,
    archived, at, who, when it was archived and the text to search in; ``feature_label`` turns a
    stored feature into words.
    """

    def __init__(self, rows: list[tuple[Any, ...]], feature_label: Callable[[str], str]) -> None:
        rows.sort(key=lambda row: (natural(row[2]), row[3], row[0]))
        self._rows = rows
        self._labels = {row[4]: feature_label(row[4]) for row in rows}
        self._folded = [_composed(row[9]) for row in rows]
        self._spaced: list[str] = []
        super().__init__([row[0] for row in rows], bytes([row[5] for row in rows]))

    def row(self, place: int) -> RecordRow:
        """Return the row at an index."""
        record_id, revision, name, owner, feature, away, at, who, since, *_ = self._rows[place]
        return RecordRow(
            id=record_id,
            revision=revision,
            name=name,
            owner_reference=owner,
            feature=self._labels[feature],
            archived=bool(away),
            at=moment(at),
            who=who,
            archived_at=moment_or_none(since),
        )

    def _applies(self, what: str) -> Sequence[object]:
        if what == "mine":
            return [plain(row[7]) == plain(self._me) for row in self._rows]
        return super()._applies(what)

    def keys(self, order: str) -> Sequence[Any]:
        """Return the sort key of each record."""
        at = {"revision": 1, "name": 2, "owner_reference": 3, "feature": 4, "at": 6, "who": 7}
        if order == "archived_at":
            return [row[8] or None for row in self._rows]
        column = [row[at[order]] for row in self._rows]
        if order == "feature":
            column = [self._labels[one] for one in column]
        return column if order in ("revision", "at") else ranks(column)

    def _holding(self, places: list[int], word: str) -> list[int]:
        features = {one for one, label in self._labels.items() if word in plain(label)}
        away = _stands_for(word, "archived")
        since, until = date_span(word) or ("", "")
        rows, folded, numbered = self._rows, self._folded, self._numbered(places, word)
        for applies in self._said_of(word):
            numbered |= {i for i in places if applies[i]}
        if not (features or until or away or numbered):  # most words
            return [i for i in places if word in folded[i]]
        return [
            i
            for i in places
            if word in folded[i]
            or (features and rows[i][4] in features)
            or (until and (since <= rows[i][6] < until or since <= rows[i][8] < until))
            or (away and rows[i][5])
            or i in numbered
        ]

    def prepare(self, most: int) -> bool:
        """Make up to so many texts more ready to be ranked; return whether all are."""
        begin = len(self._spaced)
        self._spaced += [spaced(text) for text in self._folded[begin : begin + most]]
        return len(self._spaced) == len(self._folded)

    def _texts(self) -> list[str]:
        RecordListing.prepare(self, len(self._folded))
        return self._spaced

    def _with_whole(self, places: list[int], word: str) -> list[int]:
        wanted, texts = f" {_bare(word)} ", self._texts()
        return [i for i in places if wanted in texts[i]]

    def _distances(self, places: list[int], words: list[str]) -> list[int]:
        texts = self._texts()
        return distances(words, [texts[i] for i in places])


def columns_of(
    parts: Iterable[Sequence[tuple[Any, ...]]], count: int, *, unlike: Container[int]
) -> list[list[Any]]:
    """Return rows as so many columns, with one object for values that are equal.

    Rows that are read together would each have their own; in a column that is ``unlike``, hardly
    any are equal.
    """
    columns: list[list[Any]] = [[] for _ in range(count)]
    known: dict[Any, Any] = {}
    for part in parts:
        for index, values in enumerate(zip(*part, strict=True)):
            same = values if index in unlike else map(known.setdefault, values, values)
            columns[index].extend(same)
    return columns


def step_number(reached: str) -> int | None:
    """Return the number of the step that a fitting has reached; None if unknown."""
    number = reached.partition(" ")[0]
    return int(number) if number.isdecimal() else None if reached else _BEYOND


def verdict(reached: str, kept: int, left_found: int) -> int | None:
    """Return a fitting's sort key for its verdict: those kept against a verdict come last."""
    if step_number(reached) in (None, 1) and not (kept or left_found):
        return None
    return 100 * kept + left_found


def check_due(checked_at: str, months: int) -> date | None:
    """Return the day of the next check after so many months; None if checks are never due."""
    if not checked_at or months <= 0:
        return None
    return months_after(day_of(moment(checked_at)), months)


def is_soon(on: date | None, today: date) -> bool:
    """Whether a day has passed or lies within the next 30 days."""
    return on is not None and on <= today + _SOON


def looked_for(text: str) -> list[str]:
    """Return the words of a search without those that only announce a number (``no. 2705``)."""
    return [plain(word) for word in _MEANS_A_NUMBER.sub("", text).split()]


def spaced(text: str) -> str:
    """Return a folded text with spaces around every word and line breaks kept."""
    lines = (" ".join(line.translate(_APART).split()) for line in text.split("\n"))
    return "".join(("\n", *(f" {line} \n" for line in lines)))


def distances(words: list[str], texts: Iterable[str]) -> list[int]:
    """Return the match distance of each ``spaced`` text from these words; the least is the best."""
    judges = _judges(words)
    return [sum(judge(wanted, text) for judge, wanted in judges) for text in texts]


def _judges(words: list[str]) -> list[tuple[Callable[[str, str], int], str]]:
    """Return functions that score a ``spaced`` text: by all words together, and by each word."""
    bare = [_bare(word) for word in words]
    return [(_of_line, " ".join(bare)), *((_of_word, word) for word in bare)]


def _bare(word: str) -> str:
    return " ".join(word.translate(_APART).split())


def _of_line(wanted: str, text: str) -> int:
    return _EXACT if f"\n {wanted} \n" in text else 0


def _of_word(wanted: str, text: str) -> int:
    if f" {wanted} " in text:
        return _WHOLE
    return _BEGINS if f" {wanted}" in text else _INSIDE


def plain(text: str) -> str:
    """Return a text normalised for searches: no capitals, one Unicode form of accents."""
    return text if text.isascii() and text.islower() else _composed(text.casefold())


def natural(text: str) -> tuple[str | int, ...]:
    """Return a natural sort key: numbers as numbers, the rest without capitals."""
    parts: list[str | int] = list(_DIGITS.split(plain(text)))  # text and digits alternate
    parts[1::2] = map(int, parts[1::2])
    return tuple(parts)


def date_span(word: str) -> tuple[str, str] | None:
    """Return the time stamps that bound a date or its beginning, as typed; None if it is no date.

    ``2025``, ``2025-1`` (October on), ``2025-03`` and ``2025-03-0`` are dates by this computer's
    clock, as lists show them, and so are ``today`` and ``yesterday``; stamps are in UTC.
    """
    if word in _DAYS_AGO:
        word = (datetime.now().astimezone() - timedelta(days=_DAYS_AGO[word])).date().isoformat()
    found = _DATE.fullmatch(word)
    if found is None or not 1 <= int(found[1]) <= 9998:
        return None
    year = int(found[1])
    months = [month for month in range(1, 13) if f"{month:02}".startswith(found[2] or "")]
    if not months:
        return None
    first, last = (year, months[0], 1), _month_after(year, months[-1])
    if found[3]:
        days = [day for day in range(1, 32) if f"{day:02}".startswith(found[3])]
        length = (datetime(*last) - datetime(*first)).days  # noqa: DTZ001 - days of a month only
        days = [day for day in days if day <= length]
        if len(months) > 1 or not days:
            return None
        last = (year, months[0], days[-1] + 1) if days[-1] < length else last
        first = (year, months[0], days[0])
    try:
        since, until = (datetime(*day).astimezone(UTC) for day in (first, last))
    except (OverflowError, OSError, ValueError):  # out of range of this system's clock
        return None
    return stamp(since), stamp(until)


def _month_after(year: int, month: int) -> tuple[int, int, int]:
    return (year + 1, 1, 1) if month == 12 else (year, month + 1, 1)


def _stands_for(word: str, state: str) -> bool:
    return word in state.split() or (
        len(word) >= _LEAST_OF_A_STATE and any(one.startswith(word) for one in state.split())
    )


def ranks(texts: Iterable[str]) -> list[int | None]:
    """Return the rank of every text among all, equal texts alike; None for none."""
    texts = list(texts)
    keys = {text: natural(text) for text in set(texts) if text.strip()}
    places = {key: place for place, key in enumerate(sorted(set(keys.values())))}
    return [places[keys[text]] if text in keys else None for text in texts]


def _sorted(places: list[int], keys: Sequence[Any], *, descending: bool) -> list[int]:
    filled = [place for place in places if keys[place] is not None]
    empty = [place for place in places if keys[place] is None]
    return sorted(filled, key=keys.__getitem__, reverse=descending) + empty


def _composed(text: str) -> str:
    return text if text.isascii() else unicodedata.normalize("NFC", text)
