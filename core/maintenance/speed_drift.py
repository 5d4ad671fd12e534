"""Drift of a deck's speed between visits: as it was left, against as it was found the next time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from core.fitting import Figure, Finished, Journey
from core.language import (
    Interval,
    Message,
    Name,
    Numbers,
    Quantity,
    Sentences,
    Series,
    day_of,
    days_after,
    message,
)
from core.maintenance.model import Due, DueKind
from core.steps.speed import NAME as SPEED
from core.steps.speed import speed_name
from core.workflow import as_found

FEWEST_TO_FORETELL: Final = 3
"""Visits it takes to foretell a date; with fewer, chance looks like drift."""

_KEY: Final = "speed_error_"
_FARTHEST_DAYS: Final = 36525.0
_DAYS_A_YEAR: Final = 365.25
_AS_TOLD: Final = Numbers()
_ANY: Final = speed_name(1.0)
"""Speeds whose figures are equal to the last digit shown are told once."""


@dataclass(frozen=True, slots=True)
class SpeedDrift:
    """Change of one speed between two visits without an adjustment: later less earlier.

    ``half_width`` is half of the 95 % interval that the readings of both visits leave open; both
    in percent.
    """

    start: date
    end: date
    percent: float
    half_width: float

    @property
    def is_told(self) -> bool:
        """Whether it is more than the readings leave open."""
        return abs(self.percent) > self.half_width


@dataclass(frozen=True, slots=True)
class _Visited:
    day: date
    found: dict[str, Figure]
    left: dict[str, Figure]


def speed_drifts(journeys: Sequence[Journey]) -> dict[str, tuple[SpeedDrift, ...]]:
    """Return for each speed (``33.3333``) the drift between each two visits that follow.

    Parameters
    ----------
    journeys
        Finished fittings of one deck, in order of time. Those in which the speed was not read, or
        was moved before it was read, tell nothing and are passed over. Between visits of one day
        no time went by, so what they differ by is no drift.
    """
    drifts: dict[str, list[SpeedDrift]] = {}
    last: dict[str, tuple[date, Figure]] = {}
    for visited in filter(None, map(_visited, journeys)):
        for key, figure in visited.found.items():
            before = last.get(key)
            if before is not None and visited.day > before[0]:
                drifts.setdefault(figure.subject, []).append(_drift(before, visited.day, figure))
        last.update({key: (visited.day, figure) for key, figure in visited.left.items()})
    return {speed: tuple(found) for speed, found in drifts.items()}


def speed_due(
    journeys: Sequence[Journey], tolerance_percent: float, today: date
) -> tuple[Due, ...]:
    """Return what the drift of the speeds comes to; nothing with fewer than two visits.

    Speeds of which the same would be told share one answer, whose figure is that of the first.

    Parameters
    ----------
    journeys
        As for :func:`speed_drifts`.
    tolerance_percent
        How far off is near enough on this deck.
    today
        The day to say it for.
    """
    left: dict[str, tuple[date, Figure]] = {}
    for visited in filter(None, map(_visited, journeys)):
        left.update({figure.subject: (visited.day, figure) for figure in visited.left.values()})
    drifted = {speed: ds for speed, ds in speed_drifts(journeys).items() if speed in left}
    alike: dict[str, list[str]] = {}
    for speed, drifts in drifted.items():
        told = _due(_ANY, drifts, left[speed], tolerance_percent, today).sentence
        alike.setdefault(_AS_TOLD.text(told), []).append(speed)
    return tuple(
        _due(_named(speeds), drifted[speeds[0]], left[speeds[0]], tolerance_percent, today)
        for speeds in alike.values()
    )


def _named(speeds: Sequence[str]) -> Message:
    """Name the speeds that share one sentence."""
    names = tuple(speed_name(float(speed)) for speed in speeds)
    return names[0] if len(names) == 1 else message("maintenance.speeds", speeds=Series(names))


def _visited(journey: Journey) -> _Visited | None:
    days = [day_of(e.at) for e in journey.fitting.counting() if isinstance(e.body, Finished)]
    first = as_found(journey, SPEED)
    now = journey.status(SPEED).assessment
    if not days:
        return None
    return _Visited(
        days[-1],
        {f.key: f for f in (first.figures if first else ()) if f.key.startswith(_KEY)},
        {f.key: f for f in now.figures if f.key.startswith(_KEY)},
    )


def _drift(before: tuple[date, Figure], day: date, found: Figure) -> SpeedDrift:
    then, left = before
    return SpeedDrift(
        start=then,
        end=day,
        percent=found.value - left.value,
        half_width=math.hypot(found.half_width or 0.0, left.half_width or 0.0),
    )


def _due(
    label: Message,
    drifts: tuple[SpeedDrift, ...],
    left: tuple[date, Figure],
    tolerance_percent: float,
    today: date,
) -> Due:
    last = drifts[-1]
    is_wide = last.is_told and abs(last.percent) > tolerance_percent
    on, foretold = _foretold(drifts, left, tolerance_percent)
    figure = Figure(
        "drift",
        message("maintenance.drift", speed=label),
        last.percent,
        "%",
        2,
        last.half_width,
        0.0,
        tolerance_percent,
    )
    is_due = on is not None and on <= today
    return Due(
        DueKind.DRIFT,
        on,
        is_due=is_due,
        sentence=message(
            "maintenance.sentences",
            all=Sentences((_said(label, last, tolerance_percent), *foretold)),
        ),
        figures=(figure,),
        to_do=(
            message("maintenance.read_speed")
            if is_due
            else message("maintenance.read_speed_sooner")
            if is_wide
            else None
        ),
    )


def _said(speed: Message, drift: SpeedDrift, tolerance_percent: float) -> Message:
    start, end = Name(drift.start.isoformat()), Name(drift.end.isoformat())
    if not drift.is_told:
        change = Interval(drift.percent, drift.half_width, "%")
        return message("maintenance.speed_held", speed=speed, start=start, end=end, change=change)
    return message(
        "maintenance.speed_changed",
        speed=speed,
        way=message("maintenance.faster") if drift.percent > 0 else message("maintenance.slower"),
        change=Interval(abs(drift.percent), drift.half_width, "%"),
        start=start,
        end=end,
        than="more" if abs(drift.percent) > tolerance_percent else "less",
        tolerance=Quantity(tolerance_percent, "%"),
    )


def _foretold(
    drifts: tuple[SpeedDrift, ...], left: tuple[date, Figure], tolerance_percent: float
) -> tuple[date | None, tuple[Message, ...]]:
    """Return when the speed leaves its tolerance if it goes on so, and a sentence on it."""
    visits = len(drifts) + 1
    if visits < FEWEST_TO_FORETELL:
        return None, ()
    days = sum((drift.end - drift.start).days for drift in drifts)
    total = sum(drift.percent for drift in drifts)
    half = math.sqrt(sum(drift.half_width**2 for drift in drifts))
    ways = {drift.percent > 0 for drift in drifts if drift.is_told}
    if days <= 0 or abs(total) <= half or len(ways) > 1:
        return None, ()
    a_day = total / days
    since, speed = left
    room = math.copysign(tolerance_percent, a_day) - speed.value
    lasts = max(0.0, room / a_day)
    a_year = Quantity(abs(a_day) * _DAYS_A_YEAR, "%")
    way = message("maintenance.faster") if a_day > 0 else message("maintenance.slower")
    on = days_after(since, lasts) if lasts < _FARTHEST_DAYS else None
    if on is None:
        return None, (message("maintenance.drifts", count=visits, a_year=a_year, way=way),)
    day = Name(on.isoformat())
    said = message("maintenance.drifts_until", count=visits, a_year=a_year, way=way, day=day)
    return on, (said,)
