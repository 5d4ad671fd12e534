"""The picture of speed: each reading's error in order, with what was trimmed between."""

from __future__ import annotations

from collections.abc import Sequence

from core.drawing.chart import (
    Axis,
    Band,
    Item,
    Picture,
    Points,
    Role,
    Rule,
    Tag,
    floats,
)
from core.estimation import Estimate
from core.language import EXPECTED, Numbers
from core.records import Deck
from core.steps.speed.readings import (
    Event,
    Taken,
    Trimmed,
    speed_words,
)

STANDARD_PERCENT = (-1.0, 1.5)
"""Permitted speed of a turntable against nominal, DIN 45500 (second-hand)."""


def errors_picture(
    deck: Deck,
    events: Sequence[Event],
    status: frozenset[int],
    predicted: Estimate | None,
    numbers: Numbers,
) -> Picture:
    """Draw the error of each reading in order, the trim between them, and what comes next.

    Parameters
    ----------
    deck
        Its speeds and tolerance.
    events
        Readings and trims in order.
    standing
        Places in ``events`` of the readings that stand now.
    predicted
        Error the next reading is foretold to show, in percent.
    numbers
        How numbers are written.
    """
    tolerance = deck.tolerances.speed_percent
    items: list[Item] = [
        Band("y", *STANDARD_PERCENT, Role.ALLOWED, "DIN 45500"),
        Band("y", -tolerance, tolerance, Role.GOOD, "Tolerance"),
        Rule("y", 0.0, Role.TARGET, "Nominal"),
    ]
    place, values = 0, [-2.0 * tolerance, 2.0 * tolerance]
    trims: list[tuple[float, str]] = []
    dots: dict[tuple[int, bool], list[tuple[float, float, float]]] = {}
    for index, event in enumerate(events):
        if isinstance(event, Taken):
            place += 1
            half = (event.error.widened(event.calibration)).half_width()
            dot = (float(place), event.error.value, half)
            dots.setdefault((event.speed, index in status), []).append(dot)
            values.append(event.error.value)
        elif isinstance(event, Trimmed):
            trims.append((place + 0.5, _trim_words(deck, event, numbers)))
    for (speed, stands), group in sorted(dots.items()):
        x, y, half_heights = (floats(column) for column in zip(*group, strict=True))
        label = f"{speed_words(deck.platter.speeds_rpm[speed], numbers)} rpm"
        role = Role.NOW if stands else Role.BEFORE
        items.append(Points(x, y, role, label if stands else f"{label} before", half_heights))
    if predicted is not None:
        half = min(predicted.half_width(), 10.0)
        values.append(predicted.value)
        items.append(
            Points(
                floats([place + 1]),
                floats([predicted.value]),
                Role.PREDICTED,
                EXPECTED,
                floats([half]),
            )
        )
    margin = 0.15 * (max(values) - min(values))
    y_axis = Axis("Speed error", "%", min(values) - margin, max(values) + margin)
    top = max(values) + 0.5 * margin
    items += [Tag(x, top, words, Role.GUIDE) for x, words in trims]
    last = place + (1 if predicted is not None else 0)
    return Picture(
        title="Speed error in order of reading",
        summary=_summary(deck, events, status, numbers),
        x=Axis("Reading", "", 0.5, max(last, 3) + 0.5, whole=True),
        y=y_axis,
        items=tuple(items),
    )


def _trim_words(deck: Deck, event: Trimmed, numbers: Numbers) -> str:
    if event.amount is None:
        return "trimmed"
    if deck.platter.trim == "screw":
        sign = "+" if event.amount > 0 else "\u2212"
        return f"{sign}{numbers.turn_amount(event.amount)}"
    return f"{numbers.signed(event.amount, 0)} steps"


def _summary(deck: Deck, events: Sequence[Event], status: frozenset[int], numbers: Numbers) -> str:
    tolerance = numbers.unit(deck.tolerances.speed_percent, "%")
    readings = [event for event in events if isinstance(event, Taken)]
    if not readings:
        return f"No reading yet; tolerance ±{tolerance}."
    last = readings[-1]
    label = speed_words(deck.platter.speeds_rpm[last.speed], numbers)
    error = numbers.signed_unit(last.error.value, "%")
    return (
        f"{len(status)} of {len(readings)} standing; the last reading at {label} rpm: {error}; "
        f"tolerance ±{tolerance}."
    )
