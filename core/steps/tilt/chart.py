"""The pictures of the tilt step: the cartridge from the front, and leaks against setting."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from core.drawing.chart import (
    Arrow,
    Axis,
    Band,
    Curve,
    Floats,
    Item,
    MarkRole,
    Picture,
    Points,
    Rule,
    Shape,
    Tag,
    floats,
)
from core.language import Interval, Message, Quantity, message
from core.physics.crosstalk import CrosstalkFit, LeakReading

_UNDERSIDE_MM = 4.0
_MOST_DRAWN_DEG = 14.0


@dataclass(frozen=True, slots=True)
class FrontView:
    """The cartridge from the front: tilts in degrees, left side high is plus."""

    width_mm: float
    height_mm: float
    tolerance_deg: float
    now_deg: float | None = None
    half_width_deg: float = 0.0
    before_deg: tuple[float, ...] = ()
    predicted_deg: float | None = None


@dataclass(frozen=True, slots=True)
class LeakView:
    """Leaks against setting; ``now_deg`` is where the head stands."""

    readings: tuple[LeakReading, ...]
    half_height_db: float
    now_deg: float
    fit: CrosstalkFit | None = None
    predicted_deg: float | None = None


def draw_front(view: FrontView) -> Picture:
    """Draw the body over the record line, its lean exaggerated by a whole factor."""
    angles = [*view.before_deg, view.now_deg or 0.0, view.predicted_deg or 0.0]
    angles.append(view.tolerance_deg)
    times = _exaggeration(max(abs(angle) for angle in angles))
    half = 0.5 * view.width_mm
    top = max(view.height_mm, _UNDERSIDE_MM + 4.0)
    edge = 1.7 * half + 2.0
    items: list[Item] = [
        Curve(
            floats([-edge, edge]),
            floats([0.0, 0.0]),
            MarkRole.OUTLINE,
            message("tilt.chart.record"),
        ),
        Curve(floats([0.0, 0.0]), floats([0.0, 1.2 * top]), MarkRole.GUIDE),
    ]
    items += [_lean_line(sign * view.tolerance_deg * times, 1.2 * top) for sign in (-1.0, 1.0)]
    before = message("common.earlier")
    items += [_body(angle * times, half, top, MarkRole.BEFORE, before) for angle in view.before_deg]
    if view.predicted_deg is not None:
        label = message("common.expected")
        items.append(_body(view.predicted_deg * times, half, top, MarkRole.PREDICTED, label))
    if view.now_deg is None:
        items.append(_body(0.0, half, top, MarkRole.TARGET, message("tilt.chart.upright")))
    else:
        drawn = view.now_deg * times
        items.append(_body(drawn, half, top, MarkRole.NOW, message("common.now")))
        tip_x, tip_y = _turned(0.0, 1.15 * top, drawn)
        items.append(Arrow(0.0, 0.0, tip_x, tip_y, MarkRole.NOW))
    items += [
        Tag(-1.3 * half, 1.25 * top, message("tilt.chart.left"), MarkRole.OUTLINE),
        Tag(1.3 * half, 1.25 * top, message("tilt.chart.right"), MarkRole.OUTLINE),
    ]
    return Picture(
        title=message("tilt.chart.title"),
        summary=_front_summary(view),
        x=Axis(message("tilt.chart.to_the_right"), "mm", -edge, edge, shown=False),
        y=Axis(message("tilt.chart.above_the_record"), "mm", -0.15 * top, 1.4 * top, shown=False),
        items=tuple(items),
        fixed_aspect=True,
        scale_note=None if times == 1 else message("tilt.chart.exaggerated", times=times),
    )


def draw_leaks(view: LeakView) -> Picture:
    """Draw both leaks with their curves, the best setting and its interval."""
    settings = floats([reading.setting_deg for reading in view.readings])
    left = floats([reading.left_in_right_db for reading in view.readings])
    right = floats([reading.right_in_left_db for reading in view.readings])
    bars = np.full(settings.shape, view.half_height_db)
    ends = [*settings.tolist(), view.now_deg]
    if view.predicted_deg is not None:
        ends.append(view.predicted_deg)
    low, high = min(ends) - 1.0, max(ends) + 1.0
    bottom = float(min(left.min(), right.min(), -30.0)) - 6.0
    top = float(max(left.max(), right.max(), -20.0)) + 4.0
    items: list[Item] = []
    if view.fit is not None:
        items += _best(view.fit, low, high)
        grid = np.linspace(low, high, 161)
        for channel, role, label in (
            (view.fit.left_in_right, MarkRole.LEFT, message("tilt.leaks.left_in_right_fitted")),
            (view.fit.right_in_left, MarkRole.RIGHT, message("tilt.leaks.right_in_left_fitted")),
        ):
            items.append(Curve(grid, np.clip(channel.leak_db(grid), bottom, top), role, label))
    items += [
        Points(settings, left, MarkRole.LEFT, message("tilt.figure.left_in_right"), bars),
        Points(settings, right, MarkRole.RIGHT, message("tilt.figure.right_in_left"), bars),
        Rule("x", view.now_deg, MarkRole.NOW, message("tilt.leaks.head_stands")),
    ]
    if view.predicted_deg is not None:
        label = message("tilt.leaks.try_next")
        items.append(Rule("x", view.predicted_deg, MarkRole.PREDICTED, label))
    return Picture(
        title=message("tilt.leaks.title"),
        summary=_leak_summary(view),
        x=Axis(message("tilt.leaks.setting"), "°", low, high),
        y=Axis(message("tilt.leaks.leak"), "dB", bottom, top),
        items=tuple(items),
    )


def _exaggeration(largest_deg: float) -> int:
    for times in (10, 5, 2):
        if largest_deg * times <= _MOST_DRAWN_DEG:
            return times
    return 1


def _turned(x: float, y: float, tilt_deg: float) -> tuple[float, float]:
    """Turn a point about the stylus tip; plus raises the left side."""
    angle = math.radians(tilt_deg)
    cos, sin = math.cos(angle), math.sin(angle)
    return x * cos + y * sin, -x * sin + y * cos


def _body(tilt_deg: float, half: float, top: float, role: MarkRole, label: Message | None) -> Shape:
    corners = [
        (0.0, 0.0),
        (0.6, _UNDERSIDE_MM),
        (half, _UNDERSIDE_MM),
        (half, top),
        (-half, top),
        (-half, _UNDERSIDE_MM),
        (-0.6, _UNDERSIDE_MM),
        (0.0, 0.0),
    ]
    turned: list[tuple[float, float]] = [_turned(x, y, tilt_deg) for x, y in corners]
    xs: Floats = floats([x for x, _ in turned])
    ys: Floats = floats([y for _, y in turned])
    return Shape(xs, ys, role, label)


def _lean_line(tilt_deg: float, length: float) -> Curve:
    x, y = _turned(0.0, length, tilt_deg)
    label = message("common.tolerance") if tilt_deg > 0 else None
    return Curve(floats([0.0, x]), floats([0.0, y]), MarkRole.GOOD, label)


def _best(fit: CrosstalkFit, low: float, high: float) -> list[Item]:
    start, end = fit.best_deg.interval()
    items: list[Item] = []
    if start < high and end > low:
        label = message("tilt.leaks.best_within")
        items.append(Band("x", max(start, low), min(end, high), MarkRole.GOOD, label))
    if low <= fit.best_deg.value <= high:
        label = message("tilt.figure.best_setting")
        items.append(Rule("x", fit.best_deg.value, MarkRole.TARGET, label))
    return items


def _front_summary(view: FrontView) -> Message:
    limit = Quantity(view.tolerance_deg, "°", 1)
    if view.now_deg is None:
        return message("tilt.chart.summary.nothing", tolerance=limit)
    side = "left" if view.now_deg > 0 else "right"
    lean = Interval(abs(view.now_deg), view.half_width_deg, "°", 1)
    return message("tilt.chart.summary.lean", side=side, tilt=lean, tolerance=limit)


def _leak_summary(view: LeakView) -> Message:
    last = view.readings[-1]
    read = message(
        "tilt.leaks.read",
        count=len(view.readings),
        left=Quantity(last.left_in_right_db, "dB", 1),
        right=Quantity(last.right_in_left_db, "dB", 1),
    )
    if view.fit is None:
        return read
    best = view.fit.best_deg
    value = Interval(best.value, best.half_width(), "°", 1)
    return message("tilt.leaks.with_best", read=read, best=value)
