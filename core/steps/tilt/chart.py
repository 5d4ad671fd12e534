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
    Picture,
    Points,
    Role,
    Rule,
    Shape,
    Tag,
    floats,
)
from core.language import EXPECTED, Numbers
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


def draw_front(view: FrontView, numbers: Numbers) -> Picture:
    """Draw the body over the record line, its lean exaggerated by a whole factor."""
    angles = [*view.before_deg, view.now_deg or 0.0, view.predicted_deg or 0.0]
    angles.append(view.tolerance_deg)
    times = _exaggeration(max(abs(angle) for angle in angles))
    half = 0.5 * view.width_mm
    top = max(view.height_mm, _UNDERSIDE_MM + 4.0)
    edge = 1.7 * half + 2.0
    items: list[Item] = [
        Curve(floats([-edge, edge]), floats([0.0, 0.0]), Role.OUTLINE, "Record"),
        Curve(floats([0.0, 0.0]), floats([0.0, 1.2 * top]), Role.GUIDE),
    ]
    items += [_lean_line(sign * view.tolerance_deg * times, 1.2 * top) for sign in (-1.0, 1.0)]
    items += [_body(angle * times, half, top, Role.BEFORE, "") for angle in view.before_deg]
    if view.predicted_deg is not None:
        items.append(_body(view.predicted_deg * times, half, top, Role.PREDICTED, EXPECTED))
    if view.now_deg is None:
        items.append(_body(0.0, half, top, Role.TARGET, "Upright"))
    else:
        drawn = view.now_deg * times
        items.append(_body(drawn, half, top, Role.NOW, "Now"))
        tip_x, tip_y = _turned(0.0, 1.15 * top, drawn)
        items.append(Arrow(0.0, 0.0, tip_x, tip_y, Role.NOW))
    items += [
        Tag(-1.3 * half, 1.25 * top, "left", Role.OUTLINE),
        Tag(1.3 * half, 1.25 * top, "right", Role.OUTLINE),
    ]
    return Picture(
        title="The cartridge from the front",
        summary=_front_summary(view, numbers),
        x=Axis("To the right", "mm", -edge, edge, shown=False),
        y=Axis("Above the record", "mm", -0.15 * top, 1.4 * top, shown=False),
        items=tuple(items),
        fixed_aspect=True,
        scale_note="" if times == 1 else f"Tilt drawn {times} times as large.",
    )


def draw_leaks(view: LeakView, numbers: Numbers) -> Picture:
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
            (view.fit.left_in_right, Role.LEFT, "Left into right, fitted"),
            (view.fit.right_in_left, Role.RIGHT, "Right into left, fitted"),
        ):
            items.append(Curve(grid, np.clip(channel.leak_db(grid), bottom, top), role, label))
    items += [
        Points(settings, left, Role.LEFT, "Left into right", bars),
        Points(settings, right, Role.RIGHT, "Right into left", bars),
        Rule("x", view.now_deg, Role.NOW, "The head stands here"),
    ]
    if view.predicted_deg is not None:
        items.append(Rule("x", view.predicted_deg, Role.PREDICTED, "Try this next"))
    return Picture(
        title="Leak into the silent channel against tilt setting",
        summary=_leak_summary(view, numbers),
        x=Axis("Setting, left side up", "°", low, high),
        y=Axis("Leak", "dB", bottom, top),
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


def _body(tilt_deg: float, half: float, top: float, role: Role, label: str) -> Shape:
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
    label = "Tolerance" if tilt_deg > 0 else ""
    return Curve(floats([0.0, x]), floats([0.0, y]), Role.GOOD, label)


def _best(fit: CrosstalkFit, low: float, high: float) -> list[Item]:
    start, end = fit.best_deg.interval()
    items: list[Item] = []
    if start < high and end > low:
        items.append(Band("x", max(start, low), min(end, high), Role.GOOD, "Best lies here (95 %)"))
    if low <= fit.best_deg.value <= high:
        items.append(Rule("x", fit.best_deg.value, Role.TARGET, "Best setting"))
    return items


def _front_summary(view: FrontView, numbers: Numbers) -> str:
    limit = numbers.unit(view.tolerance_deg, "°", 1)
    if view.now_deg is None:
        return f"A cartridge standing upright over the record line; the tolerance is {limit}."
    side = "left" if view.now_deg > 0 else "right"
    lean = numbers.within(abs(view.now_deg), view.half_width_deg, "°", 1)
    return f"The cartridge's {side} side is high by {lean}; the tolerance is {limit}."


def _leak_summary(view: LeakView, numbers: Numbers) -> str:
    count = len(view.readings)
    last = view.readings[-1]
    words = (
        f"{count} setting{'s' if count > 1 else ''} read; leaks now "
        f"{numbers.unit(last.left_in_right_db, 'dB', 1)} and "
        f"{numbers.unit(last.right_in_left_db, 'dB', 1)}."
    )
    if view.fit is not None:
        best = view.fit.best_deg
        words += f" Best at {numbers.within(best.value, best.half_width(), '°', 1)}."
    return words
