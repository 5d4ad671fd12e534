"""What is due on a deck, and the little that must be known of a fitting to say so."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from core.fitting import Figure, Finished, Fitting, HoursRead
from core.language import Message, Name, Value, day_of, message
from core.records import Choice

SOON: Final = 0.1
"""Share of the life, or of the time between checks, that is left when something is due soon."""


class DueKind(Choice):
    """What can fall due."""

    STYLUS = "stylus hours", "Stylus"
    CHECK = "check again", "Check of the deck"
    DRIFT = "speed drift", "Speed between visits"
    BELT = "belt", "Belt"
    BEARING = "bearing", "Bearing oil"
    MOTOR = "motor", "Motor"
    MAT = "mat", "Mat"
    CLAMP = "clamp", "Clamp or weight"
    OTHER = "other", "Other service"


class Urgency(Choice):
    """How urgent something is."""

    DUE = "due", "due"
    SOON = "soon", "due soon"
    WATCH = "watch", "to be watched"
    LATER = "later", "not due"
    STEADY = "steady", "nothing to do"
    UNDATED = "undated", "no date"


@dataclass(frozen=True, slots=True)
class Due:
    """One thing that falls due, or can't be dated yet.

    Parameters
    ----------
    kind
        Which.
    on
        The day it falls due; None if that is not known.
    is_due, is_soon
        Whether it is due now; whether less than a tenth of the time or the life is left.
    sentence
        How it stands.
    to_do
        What to do about it; empty if nothing is to be done.
    figures
        The numbers behind it.
    """

    kind: DueKind
    on: date | None
    is_due: bool
    sentence: Message
    figures: tuple[Figure, ...] = ()
    is_soon: bool = False
    to_do: Message | None = None
    arm: str = ""
    """The arm it is about, where the deck has several; empty for what is the deck's."""

    @property
    def status(self) -> Urgency:
        """How urgent it is."""
        if self.is_due:
            return Urgency.DUE
        if self.is_soon:
            return Urgency.SOON
        if self.kind is DueKind.DRIFT:
            return Urgency.WATCH if self.to_do else Urgency.STEADY
        return Urgency.LATER if self.on is not None else Urgency.UNDATED

    @property
    def title(self) -> Message:
        """What it is, how it stands and when, in a few words."""
        if self.on is None:
            title = message("maintenance.title", kind=self.kind, urgency=self.status)
        else:
            day = Name(self.on.isoformat())
            title = message("maintenance.dated_title", kind=self.kind, urgency=self.status, day=day)
        return message("maintenance.on_arm", arm=Name(self.arm), title=title) if self.arm else title


@dataclass(frozen=True, slots=True)
class HoursAt:
    """Stylus hours as entered, and the day they were entered for."""

    day: date
    hours: float


@dataclass(frozen=True, slots=True)
class Visit:
    """A fitting, as far as due dates need it: no step is worked out for it.

    Parameters
    ----------
    fitting_id, deck_id, cartridge_id
        Which, of what. The arm of a deck that has several is a place of its own: its key is part of
        ``deck_id``.
    started
        The day it was begun.
    finished
        The day it was last finished; None if it never was.
    is_finished
        Whether it is finished now: it may have been opened again.
    hours
        Stylus hours entered in it, in the order of the log.
    hours_a_week
        How much its deck is played; None if unknown.
    is_check
        Whether all steps were asked for; a short job is no check of the deck.
    began
        The moment it was begun, to tell fittings of one day apart.
    """

    fitting_id: str
    deck_id: str
    cartridge_id: str
    started: date
    finished: date | None
    is_finished: bool
    hours: tuple[HoursAt, ...]
    hours_a_week: float | None
    began: datetime
    is_check: bool = True


def visit_of(fitting: Fitting, hours_a_week: float | None = None) -> Visit:
    """Return what due dates need of a fitting.

    A clock that was set back can't put an entry before the one it follows: no day is earlier than
    that of the entry before.
    """
    started = latest = day_of(fitting.started_at)
    finished: date | None = None
    hours: list[HoursAt] = []
    for entry in fitting.counting():
        latest = max(latest, day_of(entry.at))
        if isinstance(entry.body, Finished):
            finished = latest
        elif isinstance(entry.body, HoursRead):
            hours.append(HoursAt(latest, entry.body.hours))
    return Visit(
        fitting_id=fitting.id,
        deck_id=place_of(fitting.deck_id, fitting.arm_key),
        cartridge_id=fitting.cartridge_id,
        started=started,
        finished=finished,
        is_finished=fitting.is_finished,
        hours=tuple(hours),
        hours_a_week=hours_a_week,
        began=fitting.started_at,
        is_check=fitting.is_check,
    )


def place_of(deck_id: str, arm_key: str) -> str:
    """Return what tells the places apart that a cartridge can be fitted to: arms of decks."""
    return f"{deck_id}/{arm_key}" if arm_key else deck_id


def in_order(visits: Sequence[Visit]) -> list[Visit]:
    """Return visits in the order they were begun, each once."""
    return sorted({v.fitting_id: v for v in visits}.values(), key=lambda v: (v.began, v.fitting_id))


def told_away(months: int, last: date, today: date, on: date) -> dict[str, Value]:
    """Return how a sentence tells what is due so many months after a day: its variant and place.

    How far away it lies is not told where it is the time just named: nothing of it has gone by,
    or too little to count.
    """
    told = away((on - today).days)
    size = message("maintenance.months", count=months)
    if last == today or told == message("maintenance.away", count=size, side="ahead"):
        return {"told": "date"}
    return {"told": "away", "away": told}


def away(days: int) -> Message:
    """Return in words how many days from today something lies; below zero it has passed."""
    if days == 0:
        return message("maintenance.today")
    size, side = abs(days), "ahead" if days > 0 else "past"
    if size < 60:
        return message("maintenance.away", count=message("maintenance.days", count=size), side=side)
    if size < 730:
        count = message("maintenance.months", count=round(size / 30.44))
    else:
        count = message("maintenance.years", count=round(size / 365.25))
    return message("maintenance.away", count=count, side=side)
