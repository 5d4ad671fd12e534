"""The picture of both downforce steps: weighings in order against what is wanted and allowed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from core.drawing.chart import (
    Axis,
    Band,
    Curve,
    Item,
    Picture,
    Points,
    Role,
    Rule,
    floats,
)
from core.estimation import Estimate
from core.language import EXPECTED, Numbers
from core.steps.downforce.weighings import DownforceState, ScaleWorth


@dataclass(frozen=True, slots=True)
class DownforceBand:
    """What downforce is compared to, all in gf; no tolerance in the rough step."""

    target_gf: float
    low_gf: float
    high_gf: float
    stop_gf: float
    tolerance_gf: float | None = None


def weighings_picture(
    title: str,
    status: DownforceState,
    worth: ScaleWorth,
    wanted: DownforceBand,
    now: Estimate | None,
    predicted: Estimate | None,
    numbers: Numbers,
) -> Picture:
    """Draw weighings in order, the allowed range, the target, the mean and what comes next.

    Parameters
    ----------
    title
        What is shown.
    standing, worth
        The weighings, shown as corrected by the check weight.
    wanted
        Target, range and limit.
    now
        Mean of the weighings that stand, with its uncertainty.
    predicted
        The next weighing as foretold, if it can be.
    numbers
        How numbers are written.
    """
    before = [worth.true_of(w.shown_gf) for w in status.before]
    current = [worth.true_of(w.shown_gf) for w in status.now]
    count = len(before) + len(current)
    last = count + (1 if predicted is not None else 0)
    items: list[Item] = [
        Band("y", wanted.low_gf, wanted.high_gf, Role.ALLOWED, "Maker's range"),
    ]
    if wanted.tolerance_gf is not None:
        low, high = wanted.target_gf - wanted.tolerance_gf, wanted.target_gf + wanted.tolerance_gf
        items.append(Band("y", low, high, Role.GOOD, "Tolerance"))
    items.append(Rule("y", wanted.target_gf, Role.TARGET, "Target"))
    values = [*before, *current, wanted.low_gf, wanted.high_gf]
    if max(values) > 0.8 * wanted.stop_gf:
        items.append(Rule("y", wanted.stop_gf, Role.DANGER, "Stop: 1½ times the maximum"))
        values.append(wanted.stop_gf)
    if before:
        items.append(_dots(1, before, Role.BEFORE, "Before the last move"))
    if current:
        items.append(_dots(len(before) + 1, current, Role.NOW, "Now"))
    if now is not None and len(current) > 1:
        half = now.half_width()
        span = floats([len(before) + 0.7, count + 0.3])
        level = floats([now.value, now.value])
        items.append(Curve(span, level, Role.NOW, "Mean"))
        items += [Curve(span, level + side * half, Role.NOW) for side in (-1.0, 1.0)]
    if predicted is not None:
        half = min(predicted.half_width(), wanted.stop_gf)
        values += [predicted.value - half, predicted.value + half]
        items.append(
            Points(
                floats([count + 1]),
                floats([predicted.value]),
                Role.PREDICTED,
                EXPECTED,
                floats([half]),
            )
        )
    return Picture(
        title=title,
        summary=_summary(before, current, wanted, now, numbers),
        x=Axis("Weighing", "", 0.5, max(last, 3) + 0.5, whole=True),
        y=_axis(values, floats_up=any(weighed < 0.0 for weighed in (*before, *current))),
        items=tuple(items),
    )


def _dots(first: int, values: Sequence[float], role: Role, label: str) -> Points:
    places = [float(first + i) for i in range(len(values))]
    return Points(floats(places), floats(values), role, label)


def _axis(values: Sequence[float], *, floats_up: bool) -> Axis:
    """Return the axis for these values; below 0 only if a weighing was."""
    low, high = min(values), max(values)
    margin = max(0.12 * (high - low), 0.05)
    floor = low - margin
    return Axis("Downforce", "gf", floor if floats_up else max(floor, 0.0), high + margin)


def _summary(
    before: Sequence[float],
    current: Sequence[float],
    wanted: DownforceBand,
    now: Estimate | None,
    numbers: Numbers,
) -> str:
    allowed = (
        f"allowed {numbers.plain(wanted.low_gf)} to {numbers.unit(wanted.high_gf, 'gf')}, "
        f"target {numbers.unit(wanted.target_gf, 'gf')}"
    )
    if not before and not current:
        return f"No weighing yet; {allowed}."
    if now is None or math.isnan(now.value):
        return f"None weighed since the last move, {len(before)} before; {allowed}."
    earlier = f", after {len(before)} before the last move" if before else ""
    value = numbers.within(now.value, now.half_width(), "gf")
    return f"{len(current)} standing, {value}{earlier}; {allowed}."
