"""The picture of skating: side force over the record, and the compensation."""

from __future__ import annotations

import numpy as np

from core.drawing.chart import (
    Axis,
    Curve,
    Floats,
    Item,
    MarkRole,
    Picture,
    Rule,
    Shape,
    Tag,
    floats,
)
from core.language import Message, Quantity, message
from core.physics.friction import MU_PRACTICE, MU_PUBLISHED, MU_USUAL
from core.steps.shared import sentences
from core.steps.skating.force import Settings, SideForce, friction_range


def force_picture(
    force: SideForce | None,
    settings: Settings | None,
    places: tuple[int, ...],
) -> Picture:
    """Draw the side force with its band of friction, and compensation as set.

    ``force`` is None for a parallel-tracking arm, which has none; ``places`` are those set so
    far, the last one now.
    """
    title = message("skating.chart.title")
    x = Axis(message("skating.chart.radius"), "mm", 55.0, 150.0)
    if force is None:
        y = Axis(message("skating.chart.force"), "gf", -0.1, 0.4)
        return Picture(
            title=title,
            summary=message("skating.chart.no_force_anywhere"),
            x=x,
            y=y,
            items=(Rule("y", 0.0, MarkRole.NOW, message("skating.chart.no_force")),),
        )
    radii = force.radii_mm()
    items: list[Item] = [Rule("y", 0.0, MarkRole.GUIDE)]
    heights = [0.0]
    if radii.size:
        items += _bands(force, radii)
        for friction in MU_PRACTICE:
            curve = force.over(radii, friction)
            heights += [float(curve.min()), float(curve.max())]
        sign_change = force.sign_change_mm
        if sign_change is not None and x.low < sign_change < x.high:
            items.append(
                Rule("x", sign_change, MarkRole.GUIDE, message("skating.chart.sign_change"))
            )
    if settings is not None:
        levels = [settings.force_gf[place] for place in places]
        for level in dict.fromkeys(levels[:-1]):
            items.append(_level(level, MarkRole.BEFORE, message("skating.chart.set_earlier")))
        if levels:
            items.append(_level(levels[-1], MarkRole.NOW, message("skating.chart.as_set")))
        heights += levels
    margin = max(0.1 * (max(heights) - min(heights)), 0.02)
    y = Axis(message("skating.chart.force"), "gf", min(heights) - margin, max(heights) + margin)
    if not radii.size:
        items.append(Tag(102.5, 0.0, message("skating.chart.out_of_reach"), MarkRole.GUIDE))
    return Picture(
        title=title,
        summary=_summary(force, settings, places),
        x=x,
        y=y,
        items=tuple(items),
    )


def _bands(force: SideForce, radii: Floats) -> list[Item]:
    items: list[Item] = []
    practice = message("skating.chart.friction_of_practice", **friction_range(MU_PRACTICE, 1))
    published = message("skating.chart.friction_published", **friction_range(MU_PUBLISHED, 2))
    usual = message("skating.chart.usual_friction", usual=Quantity(MU_USUAL, "", 1))
    for (low, high), role, label in (
        (MU_PRACTICE, MarkRole.ALLOWED, practice),
        (MU_PUBLISHED, MarkRole.GOOD, published),
    ):
        lower, upper = force.over(radii, low), force.over(radii, high)
        outline_x = np.concatenate([radii, radii[::-1]])
        outline_y = np.concatenate([lower, upper[::-1]])
        items.append(Shape(outline_x, outline_y, role, label, filled=True))
    items.append(Curve(radii, force.over(radii, MU_USUAL), MarkRole.TARGET, usual))
    return items


def _level(level: float, role: MarkRole, label: Message | None = None) -> Curve:
    return Curve(floats([55.0, 150.0]), floats([level, level]), role, label)


def _summary(force: SideForce, settings: Settings | None, places: tuple[int, ...]) -> Message:
    said = message(
        "skating.chart.mean_force",
        force=Quantity(force.mean.middle_gf, "gf"),
        downforce=Quantity(force.downforce_gf, "gf"),
        low=Quantity(force.mean.low_gf, "", 2),
        high=Quantity(force.mean.high_gf, "gf"),
        **friction_range(MU_PRACTICE, 1),
    )
    if force.sign_change_mm is not None:
        radius = Quantity(force.sign_change_mm, "mm", 0)
        said = sentences(said, message("skating.chart.changes_sign_at", radius=radius))
    if settings is None or not places:
        return said
    now = Quantity(settings.force_gf[places[-1]], "gf")
    return sentences(said, message("skating.chart.compensation", force=now))
