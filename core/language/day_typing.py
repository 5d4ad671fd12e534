"""Read a day as people type it: ISO 8601 always, other ways where only one day can be meant."""

from __future__ import annotations

import re
from datetime import date
from typing import Final

from core.language.messages import Message, Name, message

_PARTED: Final = re.compile(r"(\d{1,2})\s*([./-])\s*(\d{1,2})\s*\2\s*(\d{4}|\d{2})")


def read_day(typed: str, *, decimal: str) -> tuple[str, Message | None]:
    """Return a day as ISO 8601 writes it, and a problem where it is not sure which day is meant.

    Where the decimal comma is used, points stand between day, month and year in that order.
    Anywhere else 4.12.2026 and 4/12/2026 may be either of two days, so that nothing is guessed;
    25/12/2026 is one day only. What is no such day is returned as typed.
    """
    found = _PARTED.fullmatch(typed.strip())
    if found is None:
        return typed.strip(), None
    first, sign, second, year = found.groups()
    if len(year) < len("2026"):
        return typed.strip(), message("typing.day.short_year", typed=Name(typed.strip()))
    days = [_iso(year, second, first)]  # day, month
    if not (sign == "." and decimal == ","):
        days.append(_iso(year, first, second))
    possible = list(dict.fromkeys(day for day in days if day))
    if len(possible) > 1:
        one, other = map(Name, possible)
        told = message("typing.day.either", typed=Name(typed.strip()), one=one, other=other)
        return typed.strip(), told
    return (possible[0] if possible else typed.strip()), None


def _iso(year: str, month: str, day: str) -> str:
    try:
        return date(int(year), int(month), int(day)).isoformat()
    except ValueError:
        return ""
