"""How far a stylus is worn: hours entered, and hours estimated from how much its decks are played.

The hours follow the cartridge from deck to deck. It counts as played on a deck from the day a
fitting of it there was finished until another cartridge's fitting on that deck, or its own on
another deck, was begun.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from core.fitting import Figure
from core.language import Message, Name, Quantity, Sentences, days_after, message
from core.maintenance.model import SOON, Due, DueKind, HoursAt, Visit, in_order
from core.records import Cartridge

AHEAD: Final = message("maintenance.ahead")

_TELLING_DAYS: Final = 14
"""Hours entered so many days apart or more say how much is played a week. Our choice."""

_LOOK: Final = message("maintenance.look_at_tip")
_TELL: Final = message("maintenance.enter_hours")


@dataclass(frozen=True, slots=True)
class Wear:
    """How many hours a stylus has played.

    Parameters
    ----------
    hours
        By today; None if nothing is known.
    entered
        The last hours entered, None if none were.
    since
        The day from which hours are estimated; None without a rate.
    rate
        Hours a week where it plays now; None if unknown or if it plays nowhere.
    rate_is_learned
        Whether the rate comes from hours entered, not from the deck's record.
    reached
        The day the life was reached, if it was.
    plays
        Whether it is on a deck now.
    at_least
        Whether it also played on a deck whose hours a week are not known.
    went_down_from
        The hours entered before the last ones, where those were more.
    is_ahead
        Whether something is dated after today.
    """

    hours: float | None
    entered: HoursAt | None
    since: date | None
    rate: float | None
    rate_is_learned: bool
    reached: date | None
    plays: bool
    at_least: bool
    went_down_from: float | None
    is_ahead: bool


def stylus_due(
    cartridge: Cartridge, cartridge_id: str, visits: Sequence[Visit], today: date
) -> Due:
    """Return when the stylus reaches its rated life.

    Parameters
    ----------
    cartridge
        As it is known now.
    cartridge_id
        Its id in the library.
    visits
        All fittings of it on any deck, and those of other cartridges on the same decks.
    today
        The day to say it for.
    """
    life = cartridge.stylus_life_h
    wear = wear_of(cartridge_id, visits, today, life)
    notes = _notes(wear)
    if wear.hours is None:
        rated = message("maintenance.hours_unknown", life=_whole_hours(life))
        return Due(
            DueKind.STYLUS,
            None,
            is_due=False,
            sentence=_joined(rated, *notes),
            figures=(Figure("stylus_life", message("maintenance.stylus_life"), life, "h", 0),),
            to_do=_TELL,
        )
    share = wear.hours / life
    is_due, is_soon = share >= 1.0, 1.0 - SOON <= share < 1.0
    on = wear.reached
    if not is_due and wear.rate is not None:
        on = days_after(today, (life - wear.hours) / wear.rate * 7.0)
    played, when = _played(wear, life), _when(wear, on, is_due=is_due)
    return Due(
        DueKind.STYLUS,
        on,
        is_due=is_due,
        is_soon=is_soon,
        sentence=_joined(played, when, *notes),
        figures=(
            Figure("stylus_hours", message("maintenance.stylus_hours"), wear.hours, "h", 0),
            Figure("stylus_life", message("maintenance.stylus_life"), life, "h", 0),
            Figure("stylus_share", message("maintenance.share_used"), 100.0 * share, "%", 0),
        ),
        to_do=_LOOK if is_due or is_soon else _TELL if wear.plays and wear.rate is None else None,
    )


def wear_of(cartridge_id: str, visits: Sequence[Visit], today: date, life_h: float) -> Wear:
    """Return how long a stylus has played by today; parameters as for :func:`stylus_due`."""
    walk = _Walk(cartridge_id, today, life_h, _learned(cartridge_id, visits, today))
    for day, _, visit, what in _events(cartridge_id, visits, today):
        walk.go_to(day)
        if isinstance(what, HoursAt):
            walk.read(what)
        elif what == "begun":
            walk.begin(visit)
        else:
            walk.play_on(visit)
    walk.go_to(today)
    return Wear(
        hours=walk.hours,
        entered=walk.entered,
        since=walk.since,
        rate=walk.rate_now,
        rate_is_learned=walk.rate_now is not None and not walk.stated,
        reached=walk.reached,
        plays=bool(walk.deck),
        at_least=walk.at_least,
        went_down_from=walk.went_down_from,
        is_ahead=any(
            v.started > today or any(read.day > today for read in v.hours) for v in visits
        ),
    )


def _events(
    cartridge_id: str, visits: Sequence[Visit], today: date
) -> list[tuple[date, int, Visit, HoursAt | str]]:
    """Return what happened in order; nothing happened later than today."""
    found: list[tuple[date, int, Visit, HoursAt | str]] = []
    for number, visit in enumerate(in_order(visits)):
        found.append((min(visit.started, today), number, visit, "begun"))
        if visit.cartridge_id != cartridge_id:
            continue
        if visit.finished is not None:
            found.append((min(visit.finished, today), number, visit, "finished"))
        found += [(min(read.day, today), number, visit, read) for read in visit.hours]
    return sorted(found, key=lambda event: event[:2])


def _learned(cartridge_id: str, visits: Sequence[Visit], today: date) -> float | None:
    """Return hours a week from the last two entered far enough apart on one stylus."""
    read = [
        (day, what.hours)
        for day, _, _, what in _events(cartridge_id, visits, today)
        if isinstance(what, HoursAt)
    ]
    if not read:
        return None
    last_day, last_hours = read[-1]
    above = last_hours
    for day, hours in reversed(read[:-1]):
        if hours > above:
            return None  # another stylus before that
        above = hours
        if (last_day - day).days >= _TELLING_DAYS and last_hours > hours:
            return (last_hours - hours) / (last_day - day).days * 7.0
    return None


class _Walk:
    """The hours counted on from day to day."""

    def __init__(
        self, cartridge_id: str, today: date, life_h: float, learned: float | None
    ) -> None:
        self._id, self._today, self._life, self._learned = cartridge_id, today, life_h, learned
        self._day: date | None = None
        self.deck = ""
        self._week: float | None = None
        self.hours: float | None = None
        self.entered: HoursAt | None = None
        self.since: date | None = None
        self.stated = False
        self.reached: date | None = None
        self.at_least = False
        self.went_down_from: float | None = None

    @property
    def rate_now(self) -> float | None:
        """Hours a week where it plays now."""
        return self._week if self.deck else None

    def go_to(self, day: date) -> None:
        days = (day - self._day).days if self._day is not None else 0
        start, self._day = self._day, day
        if days <= 0 or not self.deck or start is None:
            return
        if self._week is None:
            self.at_least = self.at_least or self.hours is not None
            return
        before = self.hours or 0.0
        self.hours = before + self._week * days / 7.0
        if self.reached is None and before < self._life <= self.hours:
            self.reached = days_after(start, (self._life - before) / self._week * 7.0)

    def read(self, what: HoursAt) -> None:
        before = self.entered
        is_less = before is not None and what.hours < before.hours
        self.went_down_from = before.hours if before is not None and is_less else None
        self.entered, self.hours, self.since = what, what.hours, self._day
        self.at_least = False
        if what.hours < self._life:
            self.reached = None
        elif self.reached is None:
            self.reached = self._day

    def begin(self, visit: Visit) -> None:
        mine = visit.cartridge_id == self._id
        if mine != (visit.deck_id == self.deck):  # elsewhere, or another one in its place
            self.deck, self._week = "", None

    def play_on(self, visit: Visit) -> None:
        if self.deck == visit.deck_id:
            return
        self.deck = visit.deck_id
        self._week = visit.hours_a_week or self._learned
        self.stated = visit.hours_a_week is not None
        if self._week is not None and self.hours is None:
            self.hours, self.since = 0.0, self._day


def entered_hours(hours: float) -> Quantity:
    """Return hours that a person entered, to be written: ``640 h``, ``12.5 h``."""
    return Quantity(hours, "h", 1, "short")


def _whole_hours(hours: float) -> Quantity:
    return Quantity(hours, "h", 0)


def _joined(*sentences: Message) -> Message:
    return message("maintenance.sentences", all=Sentences(sentences))


def _played(wear: Wear, life_h: float) -> Message:
    hours = wear.hours or 0.0
    share, life = Quantity(100.0 * hours / life_h, "", 0), _whole_hours(life_h)
    entered = wear.entered
    if entered is not None and hours == entered.hours:  # nothing was estimated on top
        return message(
            "maintenance.played_as_entered",
            day=Name(entered.day.isoformat()),
            hours=entered_hours(hours),
            life=life,
            share=share,
        )
    least = "yes" if wear.at_least else "no"
    if entered is not None:
        return message(
            "maintenance.played_since_entry",
            least=least,
            hours=_whole_hours(hours),
            life=life,
            share=share,
            entered=entered_hours(entered.hours),
            day=Name(entered.day.isoformat()),
        )
    return message(
        "maintenance.played_since_fitted",
        least=least,
        hours=_whole_hours(hours),
        life=life,
        share=share,
        since=Name(wear.since.isoformat() if wear.since else ""),
    )


def _notes(wear: Wear) -> tuple[Message, ...]:
    found: list[Message] = []
    if wear.went_down_from is not None and wear.entered is not None:
        found.append(
            message(
                "maintenance.went_down",
                before=entered_hours(wear.went_down_from),
                hours=entered_hours(wear.entered.hours),
            )
        )
    if wear.is_ahead:
        found.append(AHEAD)
    return tuple(found)


def _when(wear: Wear, on: date | None, *, is_due: bool) -> Message:
    if is_due:
        reckoned = wear.entered is None or wear.hours != wear.entered.hours
        if on is None or not reckoned:
            return message("maintenance.used_up")
        return message("maintenance.used_up_on", day=Name(on.isoformat()))
    if not wear.plays:
        return message("maintenance.on_no_deck")
    if wear.rate is None:
        return message("maintenance.no_rate")
    rate, source = entered_hours(wear.rate), "learned" if wear.rate_is_learned else "stated"
    if on is None:
        return message("maintenance.never_reached", rate=rate, source=source)
    return message("maintenance.reached", rate=rate, source=source, day=Name(on.isoformat()))
