"""Where the tube's heights are read, and what raises or lowers the rear."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from core.drawing import parts
from core.drawing.drawing import Drawing
from core.drawing.roles import Ink, MarkRole
from core.fitting import Control, MovePart
from core.language import Quantity, message
from core.steps.shared.bench_views import (
    RESTS_MM,
    ArmFromSide,
    BenchScene,
    clipped,
    drawn,
    number,
)

_FRONT_X = 32.0
_REAR_X = 62.0
_SHOWN_MM = 6.0
_USUAL_MM = (5.0, 60.0)
"""The heights that an arm tube usually has; the forms question any other."""


def _rise_of(way: str, values: Mapping[str, Any]) -> float:
    """Return how high the rear is drawn, exaggerated but within the sheet."""
    if way == "tube angle":
        return clipped(2.5 * number(values, "pitch_deg"), _SHOWN_MM)
    front, rear = values.get("front_mm"), values.get("rear_mm")
    if isinstance(front, int | float) and isinstance(rear, int | float):
        return clipped(float(rear) - float(front), _SHOWN_MM)
    return 0.0


def _off_tube(value: object, tube_mm: float) -> float:
    """Return how far from the tube a height is drawn that no tube has, up to the ruler's ends."""
    if not isinstance(value, int | float):
        return 0.0
    low, high = _USUAL_MM
    if value < low:
        return -tube_mm * min(1.0, (low - float(value)) / low)
    return 6.0 if value > high else 0.0


def draw_reading(scene: BenchScene, way: str, values: Mapping[str, Any]) -> Drawing:
    """Draw the arm from the side with the two rulers, or the inclinometer on its tube."""
    view = ArmFromSide(scene)
    rise = _rise_of(way, values)
    items = view.marks(rise=rise)
    if way == "tube angle":
        items += [
            parts.rounded(36.0, view.tube + 2.0, 58.0, view.tube + 9.0, 1.5, Ink.BODY),
            parts.rounded(40.0, view.tube + 3.5, 54.0, view.tube + 7.5, 1.0, Ink.GLASS),
        ]
        items += view.named(weight=False, low=True)
        return drawn(items, view.tall)
    for x, field, what in ((_FRONT_X, "front_mm", "in_front"), (_REAR_X, "rear_mm", "at_the_rear")):
        share = (x - view.head_x) / (view.pivot_x - view.head_x)
        top = view.tube + rise * share
        value = values.get(field)
        read_at = top + _off_tube(value, top - view.record)
        items += [
            parts.box(x - 2.4, view.record, x + 2.4, top + 8.0, Ink.GLASS),
            parts.line((x - 4.0, read_at), (x + 4.0, read_at), colour=MarkRole.NOW, width=0.9),
            scene.place(x, top + 16.0, what),
        ]
        if isinstance(value, int | float):
            said = message("bench.figure", value=Quantity(float(value), "mm", 1))
            items.append(scene.words(x, top + 11.0, said, bold=True))
    items += parts.dimension((_FRONT_X, view.record + 4.0), (_REAR_X, view.record + 4.0))
    items.append(scene.place(0.5 * (_FRONT_X + _REAR_X), view.record + 7.5, "places_apart"))
    items += view.named(weight=False, low=True)
    return drawn(items, view.tall)


def draw_move(scene: BenchScene, moved: Sequence[MovePart]) -> Drawing:
    """Draw the arm from the side with its arrow at the pillar, or the shim in place."""
    part = moved[0]
    view = ArmFromSide(scene)
    items = view.resting()
    up = part.amount >= 0.0
    if part.control is Control.HEAD_SHIM:
        y = view.tube + RESTS_MM - 1.5
        items += [
            parts.box(view.head_x - 8.0, y - 1.4, view.head_x + 8.0, y + 0.4, MarkRole.PREDICTED),
            *parts.upright(view.head_x, view.tube + RESTS_MM + 7.0, up=up),
            *scene.amount(50.0, view.tube + 15.0, part),
        ]
    elif part.control is Control.RECORD:
        items += parts.upright(44.0, view.record + 8.0, up=up)
        items += scene.amount(50.0, view.tube + 15.0, part)
    else:
        x = view.pivot_x + 10.0
        items += parts.upright(x, 16.0, up=up, tall=14.0)
        if part.control is Control.BASE_SHIM:
            items.append(
                parts.box(view.pivot_x - 8.0, 4.8, view.pivot_x + 8.0, 6.4, MarkRole.PREDICTED)
            )
        items += scene.amount(50.0, view.tube + 15.0, part)
    items.append(scene.place(50.0, view.tall - 3.0, "rest_and_guard"))
    items += view.named(weight=False, low=True)
    return drawn(items, view.tall)
