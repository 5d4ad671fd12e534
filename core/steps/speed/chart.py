"""The picture of speed: each reading's error in order, with what was trimmed between."""

from __future__ import annotations

from collections.abc import Sequence

from core.drawing.chart import Axis, Band, Item, MarkRole, Picture, Points, Rule, Tag, floats
from core.estimation import Estimate
from core.language import Message, Quantity, Turns, message
from core.records import Deck, SpeedTrim
from core.steps.shared import amount
from core.steps.speed.readings import FAST_OR_SLOW, Event, Taken, Trimmed, speed_name

STANDARD_PERCENT = (-1.0, 1.5)
"""Permitted speed of a turntable against nominal, DIN 45500 (second-hand)."""


def errors_picture(
    deck: Deck,
    events: Sequence[Event],
    standing: frozenset[int],
    predicted: Estimate | None,
) -> Picture:
    """Draw the error of each reading in order, the trim between them, and what comes next.

    ``standing`` are the places in ``events`` of the readings that stand now, ``predicted`` is the
    error foretold for the next reading, in percent.
    """
    tolerance = deck.tolerances.speed_percent
    items: list[Item] = [
        Band("y", *STANDARD_PERCENT, MarkRole.ALLOWED, message("speed.chart.standard")),
        Band("y", -tolerance, tolerance, MarkRole.GOOD, message("common.tolerance")),
        Rule("y", 0.0, MarkRole.TARGET, message("speed.chart.nominal")),
    ]
    place, values = 0, [-2.0 * tolerance, 2.0 * tolerance]
    trims: list[tuple[float, Message]] = []
    dots: dict[tuple[int, bool], list[tuple[float, float, float]]] = {}
    for index, event in enumerate(events):
        if isinstance(event, Taken):
            place += 1
            half = (event.error.widened(event.calibration)).half_width()
            dot = (float(place), event.error.value, half)
            dots.setdefault((event.speed, index in standing), []).append(dot)
            values.append(event.error.value)
        elif isinstance(event, Trimmed):
            trims.append((place + 0.5, _trim_words(deck, event)))
    for (speed, stands), group in sorted(dots.items()):
        x, y, half_heights = (floats(column) for column in zip(*group, strict=True))
        label = message(
            "speed.chart.readings",
            when="now" if stands else "before",
            speed=speed_name(deck.platter.speeds_rpm[speed]),
        )
        items.append(Points(x, y, MarkRole.NOW if stands else MarkRole.BEFORE, label, half_heights))
    if predicted is not None:
        half = min(predicted.half_width(), 10.0)
        values.append(predicted.value)
        items.append(
            Points(
                floats([place + 1]),
                floats([predicted.value]),
                MarkRole.PREDICTED,
                message("common.expected"),
                floats([half]),
            )
        )
    margin = 0.15 * (max(values) - min(values))
    y_axis = Axis(message("speed.chart.error"), "%", min(values) - margin, max(values) + margin)
    top = max(values) + 0.5 * margin
    # The last trim first: where there is room for some of the words only, it is the last that stay.
    items += [Tag(x, top, words, MarkRole.GUIDE) for x, words in reversed(trims)]
    last = place + (1 if predicted is not None else 0)
    return Picture(
        title=message("speed.chart.title"),
        summary=_summary(deck, events, len(standing)),
        x=Axis(message("speed.chart.reading"), "", 0.5, max(last, 3) + 0.5, whole=True),
        y=y_axis,
        items=tuple(items),
    )


def _trim_words(deck: Deck, event: Trimmed) -> Message:
    if event.amount is None:
        return message("speed.chart.trimmed")
    if deck.platter.trim is SpeedTrim.SCREW:
        way = "more" if event.amount > 0 else "less"
        return message("speed.chart.turned", way=way, turns=Turns(event.amount))
    way = "more" if event.amount > 0 else "less"
    return message("speed.chart.steps", way=way, steps=Quantity(abs(event.amount), "", 0))


def _summary(deck: Deck, events: Sequence[Event], standing: int) -> Message:
    tolerance = Quantity(deck.tolerances.speed_percent, "%")
    readings = [event for event in events if isinstance(event, Taken)]
    if not readings:
        return message("speed.chart.nothing_read", tolerance=tolerance)
    last = readings[-1]
    return message(
        "speed.chart.summary",
        standing=standing,
        count=len(readings),
        speed=speed_name(deck.platter.speeds_rpm[last.speed]),
        error=amount(last.error.value, "%", 2, FAST_OR_SLOW),
        tolerance=tolerance,
    )
