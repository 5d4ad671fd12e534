"""The picture of both downforce steps: weighings in order against what is wanted and allowed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from core.drawing.chart import Axis, Band, Curve, Item, MarkRole, Picture, Points, Rule, floats
from core.estimation import Estimate
from core.language import Interval, Message, Quantity, Value, message
from core.steps.downforce.weighings import DownforceState, ScaleWorth


@dataclass(frozen=True, slots=True)
class DownforceBand:
    """The limits of a downforce, all in gf; the rough step has no tolerance."""

    target_gf: float
    low_gf: float
    high_gf: float
    stop_gf: float
    tolerance_gf: float | None = None


def weighings_picture(
    title: Message,
    status: DownforceState,
    worth: ScaleWorth,
    wanted: DownforceBand,
    now: Estimate | None,
    predicted: Estimate | None,
) -> Picture:
    """Draw weighings in order, the allowed range, the target, the mean and what comes next.

    The weighings are shown corrected by the check weight; ``now`` is the mean of the valid ones,
    ``predicted`` the predicted next weighing.
    """
    before = [worth.true_of(w.shown_gf) for w in status.before]
    current = [worth.true_of(w.shown_gf) for w in status.now]
    if status.floated is not None and now is not None:
        current = [now.value]
    count = len(before) + len(current)
    last = count + (1 if predicted is not None else 0)
    items: list[Item] = [
        Band(
            "y", wanted.low_gf, wanted.high_gf, MarkRole.ALLOWED, message("downforce.chart.range")
        ),
    ]
    if wanted.tolerance_gf is not None:
        low, high = wanted.target_gf - wanted.tolerance_gf, wanted.target_gf + wanted.tolerance_gf
        items.append(Band("y", low, high, MarkRole.GOOD, message("common.tolerance")))
    items.append(Rule("y", wanted.target_gf, MarkRole.TARGET, message("downforce.chart.target")))
    values = [*before, *current, wanted.low_gf, wanted.high_gf]
    if max(values) > 0.8 * wanted.stop_gf:
        items.append(Rule("y", wanted.stop_gf, MarkRole.DANGER, message("downforce.chart.stop")))
        values.append(wanted.stop_gf)
    if before:
        items.append(_dots(1, before, MarkRole.BEFORE, message("downforce.chart.before")))
    if current:
        items.append(_dots(len(before) + 1, current, MarkRole.NOW, message("common.now")))
    if now is not None and (len(current) > 1 or status.floated is not None):
        half = now.half_width()
        span = floats([len(before) + 0.7, count + 0.3])
        level = floats([now.value, now.value])
        items.append(Curve(span, level, MarkRole.NOW, message("downforce.chart.mean")))
        items += [Curve(span, level + side * half, MarkRole.NOW) for side in (-1.0, 1.0)]
    if predicted is not None:
        half = min(predicted.half_width(), wanted.stop_gf)
        values += [predicted.value - half, predicted.value + half]
        items.append(
            Points(
                floats([count + 1]),
                floats([predicted.value]),
                MarkRole.PREDICTED,
                message("common.expected"),
                floats([half]),
            )
        )
    return Picture(
        title=title,
        summary=_summary(before, current, wanted, now),
        x=Axis(message("downforce.chart.weighing"), "", 0.5, max(last, 3) + 0.5, whole=True),
        y=_axis(values, floats_up=any(weighed < 0.0 for weighed in (*before, *current))),
        items=tuple(items),
    )


def _dots(first: int, values: Sequence[float], role: MarkRole, label: Message) -> Points:
    places = [float(first + i) for i in range(len(values))]
    return Points(floats(places), floats(values), role, label)


def _axis(values: Sequence[float], *, floats_up: bool) -> Axis:
    """Return the axis for these values; it goes below 0 only if a weighing did."""
    low, high = min(values), max(values)
    margin = max(0.12 * (high - low), 0.05)
    floor = low - margin
    return Axis(
        message("downforce.chart.downforce"),
        "gf",
        floor if floats_up else max(floor, 0.0),
        high + margin,
    )


def _summary(
    before: Sequence[float],
    current: Sequence[float],
    wanted: DownforceBand,
    now: Estimate | None,
) -> Message:
    allowed: dict[str, Value] = {
        "low": Quantity(wanted.low_gf, "", 2),
        "high": Quantity(wanted.high_gf, "gf"),
        "target": Quantity(wanted.target_gf, "gf"),
    }
    if not before and not current:
        return message("downforce.chart.nothing_weighed", **allowed)
    if current and (now is None or math.isnan(now.value)):
        return message("downforce.chart.disagree", standing=len(current), **allowed)
    if now is None or math.isnan(now.value):
        return message("downforce.chart.none_since", before=len(before), **allowed)
    value = Interval(now.value, now.half_width(), "gf")
    if not before:
        return message("downforce.chart.weighed", standing=len(current), value=value, **allowed)
    return message(
        "downforce.chart.weighed_again",
        standing=len(current),
        value=value,
        before=len(before),
        **allowed,
    )
