"""Days and dates: the day of an entry, months on the calendar, dates along an axis."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from typing import Final

_DAY_STEPS: Final = (1, 2, 7, 14)
_MONTH_STEPS: Final = (1, 2, 3, 6)
_YEAR_STEPS: Final = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000)
_DAYS_A_MONTH: Final = 30.4
_DAYS_A_YEAR: Final = 365.2


def day_of(at: datetime) -> date:
    """Return the day of a moment as the calendar on this bench's wall has it."""
    try:
        return at.astimezone().date()
    except (OverflowError, OSError, ValueError):  # at either end of all years
        return at.date()


def clock_of(at: datetime) -> str:
    """Return the time of day of a moment as the clock on this bench has it: ``14:05``."""
    try:
        return at.astimezone().strftime("%H:%M")
    except (OverflowError, OSError, ValueError):
        return at.strftime("%H:%M")


def months_after(day: date, months: int) -> date:
    """Return the same day of the month so many months (0 or more) later.

    The last day of the month where that month has no such day (31 January and one month is 28 or 29
    February); the last day of all where the years end. W3C XML Schema Part 2, appendix E, adds
    months by the same rule (memory).
    """
    count = day.year * 12 + day.month - 1 + months
    year, month = divmod(count, 12)
    if year > date.max.year:
        return date.max
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def days_after(day: date, days: float) -> date | None:
    """Return the day so many days later, fractions cut off; None where the years end."""
    try:
        return day + timedelta(days=int(days + 1e-6))
    except (OverflowError, ValueError):
        return None


def position(at: datetime) -> float:
    """Return where a moment stands on an axis of days: :meth:`date.toordinal`, and the time."""
    try:
        local = at.astimezone()
    except (OverflowError, OSError, ValueError):
        local = at
    return local.toordinal() + (local.hour * 60 + local.minute) / 1440.0


def date_ticks(low: float, high: float, at_most: int = 5) -> tuple[tuple[float, str], ...]:
    """Return at most so many dates along an axis of days, as (:func:`position`, label).

    Round dates: years ``2025``, months ``2025-03`` or, one fewer, days ``2025-03-09``. Empty where
    the range holds none.
    """
    for step in _DAY_STEPS:
        if (high - low) / step <= at_most - 1:
            return tuple(_days(low, high, step))
    for step in _MONTH_STEPS:
        if (high - low) / (step * _DAYS_A_MONTH) <= at_most:
            return tuple(_months(low, high, step))
    for step in _YEAR_STEPS:
        if (high - low) / (step * _DAYS_A_YEAR) <= at_most:
            return tuple((at, label[:4]) for at, label in _months(low, high, 12 * step))
    return ()


def _days(low: float, high: float, step: int) -> Iterator[tuple[float, str]]:
    at = int(low)
    at += -at % step + 1  # weeks begin on Mondays: ordinal 1 is one
    if at - step >= low:
        at -= step
    while at <= high:
        if low <= at and 1 <= at <= date.max.toordinal():
            yield float(at), date.fromordinal(at).isoformat()
        at += step


def _months(low: float, high: float, step: int) -> Iterator[tuple[float, str]]:
    first = date.fromordinal(min(max(1, int(low)), date.max.toordinal()))
    count = first.year * 12 + first.month - 1
    count += -count % step
    while True:
        year, month = divmod(count, 12)
        if year > date.max.year:
            return
        if year >= 1:
            at = float(date(year, month + 1, 1).toordinal())
            if at > high:
                return
            if at >= low:
                yield at, f"{year:04}-{month + 1:02}"
        count += step
