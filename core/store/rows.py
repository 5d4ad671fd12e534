"""What the library returns: stored revisions and rows for lists; and how both are written."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Final, Generic, NamedTuple, TypeVar

from pydantic import BaseModel

from core.language import Message, message
from core.records import JobState
from core.store.problems import unsuitable

T_co = TypeVar("T_co", covariant=True)

UNKNOWN_REACHED: Final = "?"
"""The value of ``reached`` for a fitting kept by a version that did not compute it."""

TABLES: Final = {
    "deck": "things",
    "cartridge": "things",
    "job": "jobs",
    "customer": "customers",
    "headshell": "headshells",
    "service": "services",
    "picture": "pictures",
    "test record": "test_records",
    "fitting": "fittings",
}
"""The table that lists the records of each sort."""
REVISION_TABLES: Final = {
    "deck": "thing_revisions",
    "cartridge": "thing_revisions",
    "job": "job_revisions",
    "customer": "customer_revisions",
    "headshell": "headshell_revisions",
    "service": "service_revisions",
    "picture": "picture_revisions",
    "test record": "test_record_revisions",
}
"""The table that keeps the revisions of each sort."""


@dataclass(frozen=True, slots=True)
class Stored(Generic[T_co]):
    """One revision of a deck or cartridge as the library holds it.

    ``at`` and ``who`` say when and by whom this revision was made; ``archived`` belongs to the
    record, not to the revision.
    """

    id: str
    revision: int
    at: datetime
    who: str
    archived: bool
    thing: T_co


class ArmWork(NamedTuple):
    """What is on one of several arms of a deck, by its last fitting."""

    arm_name: str
    cartridge_name: str


class DeckWork(NamedTuple):
    """The last work on a deck, for a list of decks.

    ``cartridge_name`` and ``who`` are those of the last fitting; ``reached``, ``kept`` and
    ``left_found`` are its status, as in a FittingRow. ``due`` is the day of the next check,
    ``months`` after the last fitting was finished, or None.
    """

    cartridge_name: str
    who: str
    finished: bool
    reached: str
    kept: int
    left_found: int
    due: date | None
    months: int
    arms: tuple[ArmWork, ...] = ()
    """One for each arm that was worked on, in the deck's order; empty for a deck with one arm."""
    is_check: bool = True
    """Whether the last work asked for every step."""


class RecordRow(NamedTuple):
    """A deck or cartridge in a list.

    ``feature`` is the property shown beside the name, in words: a deck's kind of arm, a
    cartridge's stylus. Cartridges have no owner's reference.
    """

    id: str
    revision: int
    name: str
    owner_reference: str
    feature: str
    archived: bool
    at: datetime
    who: str
    archived_at: datetime | None = None
    """When it was archived; None if it is not, or if that is not known."""
    work: DeckWork | None = None
    """The last work on it; None for a cartridge, and for a deck without any."""
    service_due: date | None = None
    """The day on which the first service of a deck falls due; None if none does."""


class FittingRow(NamedTuple):
    """A fitting in a list; the names are those of the newest revisions."""

    id: str
    deck_id: str
    deck_name: str
    owner_reference: str
    cartridge_id: str
    cartridge_name: str
    started_at: datetime
    last_at: datetime
    finished: bool
    archived: bool
    entry_count: int
    who: str
    archived_at: datetime | None = None
    """When it was archived; None if it is not, or if that is not known."""
    job_id: str = ""
    """The job it belongs to; empty for none."""
    reached: str = ""
    """Number and name of the first unconfirmed step; ``?`` if that is not known."""
    kept: int = 0
    """How many steps were kept against their verdict."""
    left_found: int = 0
    """How many steps were left as found."""
    due: date | None = None
    """The day of its deck's next check; None except for the deck's last finished fitting."""
    deck_months: int = 0
    """Months from the deck's last fitting to its next check; 0 for never."""
    job_number: str = ""
    """The number of its job; empty for none, or if it was not asked for."""
    promised: str = ""
    """The day its job is promised for, ISO 8601; empty if there is none."""
    arm_key: str = ""
    """The key of the arm; empty for the deck's first."""
    arm_name: str = ""
    """The name of that arm; empty for a deck with one arm, or if the arm is gone."""
    is_check: bool = True
    """Whether every step was asked for; False for a short job."""

    @property
    def deck_and_arm(self) -> str:
        """The deck's name, with the arm's if it has several."""
        return f"{self.deck_name} · {self.arm_name}" if self.arm_name else self.deck_name


class JobRow(NamedTuple):
    """A job in a list. Days are ISO 8601 and empty where there is none.

    ``decks`` are the names of the decks of its fittings, each once; ``step`` is the ``reached`` of
    its last fitting in progress; empty if there is none.
    """

    id: str
    number: str
    brought: str
    received: str
    promised: str
    handed_over: str
    state: JobState
    decks: tuple[str, ...]
    step: str
    fittings: int
    archived: bool
    at: datetime
    who: str
    archived_at: datetime | None = None
    """When it was archived; None if it is not, or if that is not known."""

    @property
    def what(self) -> str:
        """What the job is about: its decks; before any fitting, the things that were brought."""
        return ", ".join(self.decks) or self.brought

    def told_of_promise(self, today: date) -> Message | None:
        """Return in words when it is promised for; None without such a day or once handed over."""
        if not self.promised or self.handed_over:
            return None
        days = (date.fromisoformat(self.promised) - today).days
        if days < 0:
            return message("jobs.overdue", days=-days)
        if days == 0:
            return message("jobs.today")
        return message("jobs.in_days", days=days)


def stamp(moment: datetime) -> str:
    """Format a time as the library stores it: UTC, microseconds, sortable as text."""
    try:
        return moment.astimezone(UTC).isoformat(timespec="microseconds")
    except OverflowError as error:
        raise unsuitable(message("storage.date_out_of_range")) from error


def text_of(model: BaseModel) -> str:
    """Return a model as JSON that reads back the same; raises UNSUITABLE if that is impossible."""
    try:
        # Pydantic's own JSON would silently write NaN as null.
        text = json.dumps(
            model.model_dump(),
            ensure_ascii=False,
            allow_nan=False,
            separators=(",", ":"),
            default=stamp,
        )
        text.encode()
    except ValueError as error:  # not a finite number, or a lone surrogate
        raise unsuitable(message("storage.cant_be_written")) from error
    return text


def moment(stamped: str) -> datetime:
    """Parse a time as the library stores it."""
    return datetime.fromisoformat(stamped)


def moment_or_none(stamped: str) -> datetime | None:
    """Parse a time that may be unknown."""
    return moment(stamped) if stamped else None


def folded(*texts: str) -> str:
    """Return the text that searches look in: one string, without capitals."""
    return "\n".join(texts).casefold()
