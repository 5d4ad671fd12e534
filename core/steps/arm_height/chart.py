"""The picture of arm height: the arm from the side, its pitch drawn larger than it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from core.drawing.chart import Axis, Curve, Item, MarkRole, Picture, Rule, Shape, Tag, floats
from core.language import Message, Quantity, message
from core.steps.shared import amount

_SCALES: Final = (1, 2, 3, 5, 10, 20, 50, 100)
_ROOM: Final = 0.22  # the drawn pitch takes up to this share of the arm's length
_TRAIL: Final = 4


@dataclass(frozen=True, slots=True)
class SideView:
    """The content of the picture: how far the rear is too high at the pivot, in mm.

    ``now_mm`` is None before any reading.
    """

    length_mm: float
    body_mm: float
    tolerance_mm: float
    now_mm: float | None
    then_mm: float | None
    before_mm: tuple[float, ...]
    pending: bool


def side_view(view: SideView) -> Picture:
    """Draw record, cartridge, tube now, tube parallel, and where the next move leads."""
    before = view.before_mm[-_TRAIL:]
    rises = [view.tolerance_mm, *before]
    rises += [rise for rise in (view.now_mm, view.then_mm) if rise is not None]
    largest = max(abs(rise) for rise in rises)
    tube = view.body_mm + 6.0
    scale = max(
        (s for s in _SCALES if s * largest <= _ROOM * view.length_mm and s * min(rises) >= -tube),
        default=1,
    )
    length, room = view.length_mm, max(scale * largest, 0.05 * view.length_mm)
    items: list[Item] = [
        Rule("y", 0.0, MarkRole.OUTLINE, message("arm_height.chart.record")),
        _wedge(view, tube, scale),
        Shape(
            floats([-9.0, 9.0, 9.0, 2.0, 0.0, -4.0, -9.0]),
            floats([tube, tube, 6.0, 5.0, 0.0, 5.0, 6.0]),
            MarkRole.OUTLINE,
            filled=True,
        ),
        Shape(
            floats([length - 7.0, length + 7.0, length + 7.0, length - 7.0]),
            floats([0.0, 0.0, tube - 2.0, tube - 2.0]),
            MarkRole.OUTLINE,
        ),
    ]
    earlier = message("common.earlier")
    items += [_tube(length, tube, scale * rise, MarkRole.BEFORE, earlier) for rise in before]
    items.append(_tube(length, tube, 0.0, MarkRole.TARGET, message("arm_height.chart.parallel")))
    summary = message("arm_height.chart.nothing_read")
    expected = message("common.expected")
    if view.now_mm is not None:
        role = MarkRole.PREDICTED if view.pending else MarkRole.NOW
        label = expected if view.pending else message("common.now")
        items.append(_tube(length, tube, scale * view.now_mm, role, label))
        side = "high" if view.now_mm >= 0 else "low"
        size = Quantity(abs(view.now_mm), "mm", 1)
        if view.pending:
            summary = message("arm_height.chart.expected", side=side, size=size)
        else:
            summary = message("arm_height.chart.now", side=side, size=size)
        above = tube + max(scale * view.now_mm, 0.0) + 0.05 * length
        items.append(
            Tag(length, above, message("arm_height.chart.tag", side=side, size=size), role)
        )
    if view.then_mm is not None:
        items.append(_tube(length, tube, scale * view.then_mm, MarkRole.PREDICTED, expected))
        ways = message("arm_height.off.rear_high"), message("arm_height.off.rear_low")
        then = amount(view.then_mm, "mm", 1, ways)
        summary = message("arm_height.chart.and_then", now=summary, then=then)
    low, high = tube - room - 12.0, tube + room + 0.12 * length
    return Picture(
        title=message("arm_height.chart.title"),
        summary=summary,
        x=Axis(message("arm_height.chart.along"), "mm", -0.12 * length, 1.12 * length, shown=False),
        y=Axis(message("arm_height.chart.height"), "mm", min(-8.0, low), high, shown=False),
        items=tuple(items),
        fixed_aspect=True,
        scale_note=message("arm_height.chart.scale", scale=scale),
    )


def _tube(
    length_mm: float, tube_mm: float, rise_mm: float, role: MarkRole, label: Message | None = None
) -> Curve:
    return Curve(floats([0.0, length_mm]), floats([tube_mm, tube_mm + rise_mm]), role, label)


def _wedge(view: SideView, tube_mm: float, scale: int) -> Shape:
    rise = scale * view.tolerance_mm
    return Shape(
        floats([0.0, view.length_mm, view.length_mm]),
        floats([tube_mm, tube_mm + rise, tube_mm - rise]),
        MarkRole.GOOD,
        message("arm_height.chart.tolerance"),
        filled=True,
    )
