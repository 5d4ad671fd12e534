"""Times and days in this computer's time zone."""

from __future__ import annotations

import time
from datetime import UTC, date, datetime

from core.language import day_of


def moment(at: datetime) -> str:
    """Format a time as ``2025-03-09 14:05``, the same in every locale.

    Uses ``time.localtime``, which is ten times as fast as ``astimezone``: a long list has
    thousands.
    """
    local = time.localtime(at.timestamp())
    return (
        f"{local.tm_year:04}-{local.tm_mon:02}-{local.tm_mday:02} "
        f"{local.tm_hour:02}:{local.tm_min:02}"
    )


def day(at: datetime) -> str:
    """Format the day alone."""
    return moment(at)[:10]


def today() -> date:
    """Return today's date in this computer's time zone."""
    return day_of(datetime.now(UTC))
