"""The picture of the level step: a target, the tilt and its trail, the feet around it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from core.drawing.chart import (
    Arrow,
    Axis,
    Curve,
    Floats,
    Item,
    MarkRole,
    Picture,
    Points,
    Shape,
    Tag,
    floats,
)
from core.language import Message, Quantity, message

_FEET_AT = 0.8
"""Distance of the outermost foot from the centre, as a share of half the picture's width."""


@dataclass(frozen=True, slots=True)
class FootMark:
    """A foot in the picture: its place in mm and its label."""

    x_mm: float
    y_mm: float
    words: Message


@dataclass(frozen=True, slots=True)
class LevelView:
    """The content of the picture. Slopes are (right, back) in mm/m."""

    feet: tuple[FootMark, ...]
    tolerance: float
    now: tuple[float, float] | None = None
    half_width: float = 0.0
    before: tuple[tuple[float, float], ...] = ()
    predicted: tuple[float, float] | None = None
    line: tuple[float, float] | None = None
    """Unit vector of the only direction read so far, with ``along`` the slope along it."""
    along: float = 0.0


def draw_level(view: LevelView) -> Picture:
    """Draw the target; its arrow points to the high side, if the tilt tells of one."""
    reach = _reach(view)
    items: list[Item] = [
        Shape(
            *_circle(0.0, 0.0, view.tolerance),
            MarkRole.GOOD,
            message("common.tolerance"),
            filled=True,
        ),
        *_cross(reach),
        *_feet(view, reach),
    ]
    if view.before:
        trail = [*view.before, *([view.now] if view.now else [])]
        xs, ys = floats([g[0] for g in trail]), floats([g[1] for g in trail])
        items.append(Curve(xs, ys, MarkRole.BEFORE))
        count = len(view.before)
        label = message("level.chart.before")
        items.append(Points(xs[:count], ys[:count], MarkRole.BEFORE, label))
    if view.line is not None:
        x, y = view.line[0] * view.along, view.line[1] * view.along
        across = floats([-reach, reach])
        xs, ys = x - view.line[1] * across, y + view.line[0] * across
        items.append(Curve(xs, ys, MarkRole.NOW, message("level.chart.one_direction")))
    if view.now is not None:
        if view.half_width > 0:
            spread = min(view.half_width, 2 * reach)
            label = message("level.chart.uncertainty")
            items.append(Shape(*_circle(*view.now, spread), MarkRole.NOW, label))
        if _has_high_side(view):
            items.append(Arrow(0.0, 0.0, *view.now, MarkRole.NOW, message("level.chart.high_side")))
        right, back = (floats([slope]) for slope in view.now)
        items.append(Points(right, back, MarkRole.NOW, message("common.now")))
    if view.predicted is not None:
        items.append(
            Points(
                floats([view.predicted[0]]),
                floats([view.predicted[1]]),
                MarkRole.PREDICTED,
                message("common.expected"),
            )
        )
    return Picture(
        title=message("level.chart.title"),
        summary=_summary(view),
        x=Axis(message("level.figure.right_high"), "mm/m", -reach, reach),
        y=Axis(message("level.figure.back_high"), "mm/m", -reach, reach),
        items=tuple(items),
        fixed_aspect=True,
        scale_note=message("level.chart.scale_note"),
    )


def high_side(gx: float, gy: float) -> Message:
    """Name the side of the deck a slope rises to, in eight steps: ``back right``."""
    names = ("back", "back right", "right", "front right", "front", "front left", "left")
    sector = round(math.degrees(math.atan2(gx, gy)) / 45.0) % 8
    return message("level.side", side=(*names, "back left")[sector])


def _reach(view: LevelView) -> float:
    shown = [view.tolerance]
    slopes = (*view.before, view.now, view.predicted)
    shown += [math.hypot(*slope) for slope in slopes if slope is not None]
    if view.line is not None:
        shown.append(abs(view.along))
    return 1.7 * max(shown)


def _has_high_side(view: LevelView) -> bool:
    """Whether the tilt is larger than its uncertainty."""
    return view.now is not None and math.hypot(*view.now) > max(view.half_width, 0.05)


def _circle(x: float, y: float, radius: float) -> tuple[Floats, Floats]:
    angle = np.linspace(0.0, 2 * math.pi, 73)
    return x + radius * np.cos(angle), y + radius * np.sin(angle)


def _cross(reach: float) -> tuple[Curve, Curve]:
    ends, zero = floats([-reach, reach]), floats([0.0, 0.0])
    return Curve(ends, zero, MarkRole.GUIDE), Curve(zero, ends, MarkRole.GUIDE)


def _feet(view: LevelView, reach: float) -> list[Item]:
    middle_x = (min(f.x_mm for f in view.feet) + max(f.x_mm for f in view.feet)) / 2
    middle_y = (min(f.y_mm for f in view.feet) + max(f.y_mm for f in view.feet)) / 2
    farthest = max(max(abs(f.x_mm - middle_x), abs(f.y_mm - middle_y)) for f in view.feet)
    scale = _FEET_AT * reach / farthest
    xs = floats([(f.x_mm - middle_x) * scale for f in view.feet])
    ys = floats([(f.y_mm - middle_y) * scale for f in view.feet])
    # Words are placed toward the centre line so that they are not cut off at the edge.
    return [
        Points(xs, ys, MarkRole.OUTLINE, message("level.chart.feet")),
        *(
            Tag(0.75 * float(x), float(y) + 0.09 * reach, foot.words, MarkRole.OUTLINE)
            for x, y, foot in zip(xs, ys, view.feet, strict=True)
        ),
    ]


def _summary(view: LevelView) -> Message:
    limit = Quantity(view.tolerance, "mm/m", 1)
    if view.line is not None:
        slope = Quantity(abs(view.along), "mm/m", 1)
        return message("level.chart.summary.one_direction", slope=slope, tolerance=limit)
    if view.now is None and view.before:
        return message("level.chart.summary.before", tolerance=limit)
    if view.now is None:
        return message("level.chart.summary.nothing", tolerance=limit)
    size = math.hypot(*view.now)
    ring = "inside" if size <= view.tolerance else "outside"
    now = message(
        "level.chart.summary.now",
        ring=ring if _has_high_side(view) else f"{ring}, no side",
        side=high_side(*view.now),
        size=Quantity(size, "mm/m", 1),
        tolerance=limit,
    )
    if view.predicted is None:
        return now
    rest = Quantity(math.hypot(*view.predicted), "mm/m", 1)
    return message("level.chart.summary.after_move", now=now, rest=rest)
