"""One quantity of a deck over time as a picture: each fitting a dot with its interval."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from typing import Final

from core.drawing.chart import (
    Axis,
    Band,
    Curve,
    Item,
    MarkRole,
    Picture,
    Points,
    Rule,
    Shape,
    Tag,
    floats,
)
from core.fitting import Figure
from core.history.timeline import Snapshot, Timeline, TrackedFigure
from core.language import (
    Message,
    Name,
    Quantity,
    Series,
    Value,
    date_ticks,
    message,
    position,
)
from core.steps.shared import directed
from core.workflow import figure_value, target_value

_LEAST_DAYS: Final = 4.0
_ROOM: Final = 0.08
_EDGE: Final = 0.04
"""Share of the axis at either end where the words of a tick have no room."""

_MOST_NAMES: Final = 6
_WANTED: Final = message("history.wanted_band")


def over_time(timeline: Timeline, key: str) -> Picture:
    """Draw a quantity over the days of a deck's fittings.

    Parameters
    ----------
    timeline
        The fittings.
    key
        Which quantity, by :attr:`core.history.timeline.TrackedFigure.key`.

    Returns
    -------
    Picture
        Along x days of the calendar, along y the quantity in its unit. What was wanted is a stripe
        that changes half-way between fittings; where another cartridge was begun with stands a
        line, and letters tell the cartridges apart.

    Raises
    ------
    KeyError
        If the timeline has no such quantity.
    """
    quantity = timeline.quantity(key)
    dots = [
        (stand, figure)
        for stand, figure in zip(timeline.stands, quantity.values, strict=True)
        if figure is not None
    ]
    x = _days(stand for stand, _ in dots)
    y = _values(quantity, [figure for _, figure in dots])
    return Picture(
        title=message("history.over_time", figure=quantity.label),
        summary=_summary(quantity, dots),
        x=x,
        y=y,
        items=(
            *_wanted(dots, x),
            *_cartridges(timeline, x, y),
            Curve(
                floats([position(stand.at) for stand, _ in dots]),
                floats([figure.value for _, figure in dots]),
                MarkRole.BEFORE,
            ),
            *_dots(dots),
        ),
        scale_note=_names(timeline),
    )


def in_short(quantity: TrackedFigure) -> tuple[Message, ...]:
    """Say whose it is, what a quantity was last, and what was wanted then, in short lines."""
    last = next((figure for figure in reversed(quantity.values) if figure is not None), None)
    if last is None:
        return ()
    said = message("history.last", last=figure_value(last))
    wanted = target_value(last)
    whose = () if quantity.group is None else (quantity.group,)
    if wanted is None:
        return (*whose, said)
    return (*whose, said, message("history.wanted_so", wanted=wanted))


def _days(stands: Iterable[Snapshot]) -> Axis:
    places = [position(stand.at) for stand in stands]
    low, high = min(places), max(places)
    more = max(_ROOM * (high - low), 0.5 * (_LEAST_DAYS - (high - low)), 0.5)
    low, high = low - more, high + more
    ticks = date_ticks(low, high)
    edge = _EDGE * (high - low)
    inside = tuple(tick for tick in ticks if low + edge <= tick[0] <= high - edge)
    told = tuple((at, _as_is(words)) for at, words in inside or ticks)
    return Axis(message("history.date"), "", low, high, ticks=told)


def _as_is(words: str) -> Message:
    """Return a date or a letter as a message, for a label of the chart."""
    return message("common.value", value=Name(words))


def _values(quantity: TrackedFigure, figures: list[Figure]) -> Axis:
    ends: list[float] = []
    for figure in figures:
        half = figure.half_width or 0.0
        ends += [figure.value - half, figure.value + half]
        if figure.target is not None:
            tolerance = figure.tolerance or 0.0
            ends += [figure.target - tolerance, figure.target + tolerance]
    low, high = min(ends), max(ends)
    more = max(0.12 * (high - low), 2.0 * 10.0**-quantity.decimals)
    return Axis(quantity.alone, quantity.unit, low - more, high + more)


def _wanted(dots: list[tuple[Snapshot, Figure]], x: Axis) -> Iterable[Item]:
    """Yield a stripe for each run of fittings with the same target."""
    runs = [
        (wanted, [position(stand.at) for stand, _ in run])
        for wanted, run in groupby(dots, key=lambda dot: (dot[1].target, dot[1].tolerance))
    ]
    for place, ((target, tolerance), days) in enumerate(runs):
        if target is None:
            continue
        start = x.low if place == 0 else 0.5 * (runs[place - 1][1][-1] + days[0])
        end = x.high if place == len(runs) - 1 else 0.5 * (days[-1] + runs[place + 1][1][0])
        if not tolerance:
            yield Curve(
                floats([start, end]),
                floats([target, target]),
                MarkRole.TARGET,
                message("history.wanted_line"),
            )
        elif len(runs) == 1:
            yield Band("y", target - tolerance, target + tolerance, MarkRole.GOOD, _WANTED)
        else:
            low, high = target - tolerance, target + tolerance
            corners = floats([start, end, end, start]), floats([low, low, high, high])
            yield Shape(*corners, MarkRole.GOOD, _WANTED, filled=True)


def _cartridges(timeline: Timeline, x: Axis, y: Axis) -> Iterable[Item]:
    """Yield a line where another cartridge was first used, with its letter beside it."""
    if len({stand.letter for stand in timeline.stands}) < 2:
        return
    top = y.high - 0.09 * (y.high - y.low)
    aside = 0.02 * (x.high - x.low)
    before = ""
    for stand in timeline.stands:
        if stand.letter == before:
            continue
        at = max(position(stand.past.fitting.started_at), x.low)
        if before and at <= x.high:
            yield Rule("x", at, MarkRole.GUIDE, message("history.another_cartridge"))
        if at <= x.high:
            yield Tag(at + aside, top, _as_is(stand.letter), MarkRole.GUIDE)
        before = stand.letter


def _dots(dots: list[tuple[Snapshot, Figure]]) -> Iterable[Item]:
    for finished, role, label in (
        (True, MarkRole.NOW, message("history.finished_with_error")),
        (False, MarkRole.PREDICTED, message("history.not_finished")),
    ):
        mine = [(stand, figure) for stand, figure in dots if stand.is_finished is finished]
        if not mine:
            continue
        halves = [figure.half_width or 0.0 for _, figure in mine]
        yield Points(
            floats([position(stand.at) for stand, _ in mine]),
            floats([figure.value for _, figure in mine]),
            role,
            label if any(halves) or not finished else message("history.finished"),
            floats(halves) if any(halves) else None,
        )


def _names(timeline: Timeline) -> Message | None:
    names = {stand.letter: stand.past.cartridge.name for stand in timeline.stands}
    if len(names) < 2:
        return None
    said = [
        message("history.letter", letter=Name(letter), name=Name(name))
        for letter, name in list(names.items())[:_MOST_NAMES]
    ]
    if len(names) > _MOST_NAMES:
        said.append(message("history.more_names", count=len(names) - _MOST_NAMES))
    return message("history.names", names=Series(tuple(said), ";"))


def _summary(quantity: TrackedFigure, dots: list[tuple[Snapshot, Figure]]) -> Message:
    (first, found), (last, left) = dots[0], dots[-1]
    if len(dots) == 1:
        return message(
            "history.one_reading",
            figure=quantity.alone,
            found=figure_value(found),
            first=Name(first.day.isoformat()),
        )
    values = [figure.value for _, figure in dots]
    return message(
        "history.readings",
        figure=quantity.alone,
        found=figure_value(found),
        first=Name(first.day.isoformat()),
        left=figure_value(left),
        last=Name(last.day.isoformat()),
        count=len(dots),
        low=_end(min(values), quantity, found),
        high=_end(max(values), quantity, found),
    )


def _end(value: float, quantity: TrackedFigure, like: Figure) -> Value:
    size = Quantity(abs(value) if like.ways else value, quantity.unit, quantity.decimals)
    return directed(size, value, like.ways, quantity.decimals)
