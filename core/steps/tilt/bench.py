"""The head from the front: where gaps and image are looked at, and which side rises."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from core.drawing import parts
from core.drawing.drawing import Drawing
from core.drawing.marks import Mark
from core.drawing.roles import MarkRole
from core.fitting import Control, MovePart
from core.language import Quantity, message
from core.physics.tilt import gap_tilt_deg
from core.steps.shared.bench_views import (
    RESTS_MM,
    BenchScene,
    HeadFromFront,
    clipped,
    drawn,
    number,
)
from core.steps.tilt.readings import Lean

_TIMES: Final = 3.0
_MOST_DEG: Final = 14.0
_ARC_DEG: Final = 56.0
"""The angle of an arrow, which shows the direction, not the amount."""
_WORD_MM: Final = 10.0


def _lean_deg(scene: BenchScene, way: str, values: Mapping[str, Any]) -> float:
    """Return the drawn lean of the head, clockwise seen from the front: left side high is plus."""
    if way == "mirror":
        side = {Lean.LEFT_HIGH: 1.0, Lean.RIGHT_HIGH: -1.0}.get(
            values.get("lean") or Lean.UPRIGHT, 0.0
        )
        return clipped(side * _TIMES * number(values, "angle_deg", 1.0), _MOST_DEG)
    left, right = values.get("left_mm"), values.get("right_mm")
    if isinstance(left, int | float) and isinstance(right, int | float):
        wide = number(values, "width_mm", scene.cartridge.body_width_mm)
        tilt = gap_tilt_deg(
            float(left), float(right), max(wide, 1.0), gap_standard_uncertainty_mm=0.0
        )
        return clipped(_TIMES * tilt.value, _MOST_DEG)
    return 0.0


def draw_reading(scene: BenchScene, way: str, values: Mapping[str, Any]) -> Drawing:
    """Draw the head from the front as it leans, with its gaps or its image in a mirror."""
    view = HeadFromFront(scene, record=34.0 if way == "mirror" else 18.0)
    items = view.marks(_lean_deg(scene, way, values), image=way == "mirror")
    if way == "gaps":
        for side, field in ((-1.0, "left_mm"), (1.0, "right_mm")):
            x = 50.0 + side * (view.half + 2.0)
            items += parts.dimension((x, view.record), (x, view.record + 6.0))
            value = values.get(field)
            if isinstance(value, int | float):
                said = message("bench.figure", value=Quantity(float(value), "mm", 1))
                items.append(scene.words(x + 12.0 * side, view.record + 10.0, said, bold=True))
    elif way == "mirror":
        items.append(scene.place(80.0, view.record - 4.0, "mirror"))
    else:
        items.append(scene.place(50.0, view.record - 5.0, "test_record"))
    items += view.named()
    return drawn(items, max(view.tall, view.top + 8.0))


def draw_move(scene: BenchScene, moved: Sequence[MovePart]) -> Drawing:
    """Draw the head from the front: arrows around it go the way it turns.

    Clockwise, as one looks, is the left side rising, which is plus.
    """
    part = moved[0]
    view = HeadFromFront(scene, record=14.0)
    items: list[Mark] = view.resting()
    top = view.top + RESTS_MM
    left_up = part.amount >= 0.0
    middle, reach = (50.0, 0.5 * (view.record + RESTS_MM + top)), view.half + 11.0
    span = _ARC_DEG if left_up else -_ARC_DEG
    for side, up in ((-1.0, left_up), (1.0, not left_up)):
        beside = 90.0 * side
        items += parts.turn(middle, reach, beside - 0.5 * span, span)
        x = 50.0 + side * (reach + _WORD_MM)
        items.append(scene.place(x, middle[1], "rises" if up else "falls"))
    if part.control is Control.TILT_SHIM:
        x0 = 50.0 - view.half
        items.append(parts.box(x0, top - 0.8, x0 + 0.5 * view.half, top + 0.8, MarkRole.PREDICTED))
    items += scene.amount(50.0, top + 14.0, part)
    items.append(scene.place(50.0, top + 21.0, "lifted_and_guard"))
    items += view.named()
    return drawn(items, top + 25.0)
