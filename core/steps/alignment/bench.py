"""The head from above: landing, angles, and the direction to slide or turn.

The pivot is toward the back of the sheet, the spindle to its left, as seen from in front.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from core.drawing import parts
from core.drawing.drawing import Drawing
from core.drawing.marks import XY, Mark
from core.drawing.roles import Ink, MarkRole
from core.fitting import Control, MovePart
from core.language import Quantity, message
from core.steps.shared.bench_views import BenchScene, DeckFromAbove, clipped, drawn, number

_TALL: Final = 74.0
_TIMES: Final = 3.0
"""Magnification of landing and angle in the drawing."""
_NARROW: Final = 3.5
"""Size of the longest words where three views share the sheet: they keep off their neighbours."""
_MOST_MM: Final = 13.0
_MOST_DEG: Final = 20.0
"""Largest drawn turn: beyond it the head over the outer grid would leave the sheet."""


def _awaits_direction(values: Mapping[str, Any], field: str) -> bool:
    """Whether an amount is typed of which nobody knows yet which way it lies: no place is drawn."""
    return field in values and values[field] is None


def _which_way(scene: BenchScene, x: float, y: float) -> Mark:
    return scene.words(x, y, message("bench.which_way"), size=3.9, bold=True)


def _head(middle: XY, clockwise_deg: float, size: float = 1.0) -> list[Mark]:
    """Draw the head from above, its front toward the person, turned about the stylus."""
    x, y = middle

    def shape(*points: XY) -> list[XY]:
        return parts.turned_by(
            [(x + size * u, y + size * v) for u, v in points], middle, clockwise_deg
        )

    items: list[Mark] = [
        parts.edged(shape((-9.0, -4.0), (9.0, -4.0), (8.0, 24.0), (-8.0, 24.0)), Ink.BODY),
    ]
    for u in (-5.5, 5.5):
        items.append(
            parts.edged(
                shape((u - 1.4, 6.0), (u + 1.4, 6.0), (u + 1.4, 18.0), (u - 1.4, 18.0)), Ink.GLASS
            )
        )
        items.append(
            parts.edged(
                shape((u - 1.4, 10.5), (u + 1.4, 10.5), (u + 1.4, 13.5), (u - 1.4, 13.5)),
                MarkRole.OUTLINE,
            )
        )
    items.append(
        parts.line(*shape((0.0, -4.0), (0.0, 24.0)), colour=MarkRole.NOW, width=0.7, name="head@")
    )
    return items


def _landing(scene: BenchScene, x: float, values: Mapping[str, Any]) -> list[Mark]:
    """Draw the mark and the landing of the stylus; beyond it is toward the person.

    The mark is as far beyond the spindle as the arm is to reach over it; that of an arm that does
    not reach it is short of the spindle.
    """
    y = 34.0
    spindle_y = 59.0 if scene.wanted.get("wanted_overhang", 1.0) >= 0.0 else 15.0
    beyond = clipped(_TIMES * number(values, "landing_mm"), _MOST_MM)
    items: list[Mark] = [
        parts.line((x, 12.0), (x, 62.0), colour=Ink.FAINT),
        parts.line((x - 9.0, y), (x + 9.0, y), colour=Ink.MARK, width=0.8),
    ]
    awaits = _awaits_direction(values, "landing_mm")
    if not awaits:
        items += [*_head((x, y - beyond), 0.0, 0.8), parts.disc((x, y - beyond), 1.5, MarkRole.NOW)]
    items += [
        parts.disc((x, spindle_y), 1.3, Ink.WORD),
        scene.place(x + 2.6, spindle_y - 1.3, "spindle", align="left", size=3.6),
        scene.place(x, 66.0, "to_pivot"),
    ]
    if awaits:
        items.append(_which_way(scene, x, 9.0))
    value = values.get("landing_mm")
    if isinstance(value, int | float):
        side = "on" if not value else "beyond" if value > 0.0 else "short"
        said = message("bench.landed", side=side, amount=Quantity(abs(float(value)), "mm", 1))
        items.append(scene.words(x, 9.0, said, size=3.9, bold=True))
    return items


def _grid(
    scene: BenchScene, x: float, which: str, values: Mapping[str, Any], *, along: float = 4.2
) -> list[Mark]:
    """Draw the head over a grid; turned out, away from the spindle, its front goes right.

    ``along`` is the size of the words for a head that stands along the lines.
    """
    out = number(values, f"{which}_deg")
    items: list[Mark] = [
        parts.line(
            (x + k * 4.0, 18.0), (x + k * 4.0, 60.0), colour=Ink.MARK if k == 0 else Ink.FAINT
        )
        for k in range(-3, 4)
    ]
    awaits = _awaits_direction(values, f"{which}_deg")
    if not awaits:
        items += _head((x, 28.0), -clipped(_TIMES * out, _MOST_DEG))
    null_mm = scene.wanted.get(f"wanted_null_{which}")
    items.append(scene.place(x, 66.0 if null_mm is None else 69.0, f"{which}_grid"))
    if null_mm is not None:
        said = message("bench.null_at", radius=Quantity(null_mm, "mm", 1))
        items.append(scene.words(x, 63.8, said, size=3.6))
    if awaits:
        items.append(_which_way(scene, x, 10.0))
    value = values.get(f"{which}_deg")
    if isinstance(value, int | float):
        side = "along" if not value else "out" if value > 0.0 else "in"
        said = message("bench.stands", side=side, amount=Quantity(abs(float(value)), "°", 1))
        items.append(scene.words(x, 10.0, said, size=4.2 if value else along, bold=True))
    return items


def draw_reading(scene: BenchScene, way: str, values: Mapping[str, Any]) -> Drawing:
    """Draw what is read: the landing, both grids, the pivot's distance, or the path."""
    if way == "pivot distance":
        view = DeckFromAbove.of(scene)
        items = view.marks()
        ends = view.at(*view.spindle), view.at(*view.pivot)
        items += [parts.line(*ends, colour=MarkRole.NOW, width=1.0), *parts.dimension(*ends)]
        items += [parts.disc(end, 1.6, MarkRole.NOW) for end in ends]
        items += scene.tag(ends[1][0] - 14.0, ends[1][1], message("bench.place", what="pivot"))
        items += scene.tag(ends[0][0], ends[0][1] - 6.0, message("bench.place", what="spindle"))
        return drawn(items, view.tall)
    if way == "path":
        items = [parts.line((14.0, 36.0), (92.0, 36.0), colour=Ink.MARK, width=0.7)]
        items.append(parts.disc((8.0, 36.0), 2.0, Ink.WORD))
        for x, field, what in (
            (34.0, "inner_landing_mm", "innermost"),
            (78.0, "outer_landing_mm", "outermost"),
        ):
            if _awaits_direction(values, field):
                items += [_which_way(scene, x, 24.0), scene.place(x, 10.0, what)]
                continue
            ahead = clipped(_TIMES * number(values, field), _MOST_MM)
            items += [
                *_head((x, 36.0 - ahead), 0.0, 0.7),
                parts.disc((x, 36.0 - ahead), 1.5, MarkRole.NOW),
                scene.place(x, 10.0, what),
            ]
        items.append(scene.place(4.0, 44.0, "spindle", align="left"))
        return drawn(items, _TALL)
    items = []
    if way == "landing":
        items += _landing(scene, 50.0, values)
    elif way == "angles":
        items += [*_grid(scene, 26.0, "inner", values), *_grid(scene, 74.0, "outer", values)]
    else:
        items += _landing(scene, 19.0, values)
        for x, which in ((53.0, "inner"), (84.0, "outer")):
            items += _grid(scene, x, which, values, along=_NARROW)
    if way != "landing":  # over a grid the head is square to the radius
        left = 2.0 if way == "angles" else 40.0
        items.append(scene.place(left, 2.8, "spindle_this_side", align="left", size=3.6))
    return drawn(items, _TALL)


def draw_move(scene: BenchScene, moved: Sequence[MovePart]) -> Drawing:
    """Draw the head from above with its arrows: slide along the slots, turn about the stylus."""
    if any(part.control is Control.ARM_BASE for part in moved):
        return _base(scene, moved)
    middle = (50.0, 28.0)
    items: list[Mark] = [
        parts.line((50.0, 12.0), (50.0, 68.0), colour=Ink.FAINT),
        *_head(middle, 0.0, 1.3),
        scene.place(50.0, 71.0, "to_pivot"),
        scene.place(3.0, 38.0, "to_spindle", align="left"),
        scene.place(97.0, 71.0, "seen_from_above", align="right", size=3.6),
    ]
    for part in moved:
        positive = part.amount >= 0.0
        if part.control is Control.SLIDE:
            ends = (70.0, 56.0), (70.0, 34.0)
            items += parts.push(*(ends if positive else ends[::-1]))
            items += scene.amount(86.0, 45.0, part)
        elif part.control is Control.TWIST:
            # Its front, toward the person, turns to the spindle on the left: clockwise from above.
            start, span = (145.0, 70.0) if positive else (215.0, -70.0)
            items += parts.turn(middle, 17.0, start, span)
            items += scene.amount(50.0, 4.0, part)
    return drawn(items, _TALL)


def _base(scene: BenchScene, moved: Sequence[MovePart]) -> Drawing:
    view = DeckFromAbove.of(scene)
    items = view.marks()
    spindle, pivot = view.at(*view.spindle), view.at(*view.pivot)
    dx, dy = pivot[0] - spindle[0], pivot[1] - spindle[1]
    long = max((dx * dx + dy * dy) ** 0.5, 1.0)
    ux, uy = dx / long, dy / long
    part = moved[0]
    near = (pivot[0] - 9.0 * ux, pivot[1] - 9.0 * uy)
    far = (pivot[0] + 7.0 * ux, pivot[1] + 7.0 * uy)
    items += parts.push(*((near, far) if part.amount >= 0.0 else (far, near)))
    items += scene.amount(50.0, 12.0, part)
    items.append(scene.place(spindle[0], spindle[1] - 5.0, "spindle"))
    return drawn(items, view.tall)
