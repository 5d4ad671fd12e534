"""The picture of skating: side force over the record, and what compensation answers."""

from __future__ import annotations

import numpy as np

from core.drawing.chart import (
    Axis,
    Curve,
    Floats,
    Item,
    Picture,
    Role,
    Rule,
    Shape,
    Tag,
    floats,
)
from core.language import Numbers
from core.physics.friction import MU_PRACTICE, MU_PUBLISHED, MU_USUAL
from core.steps.skating.force import Settings, SideForce

_TITLE = "Side force over the record"


def force_picture(
    force: SideForce | None,
    settings: Settings | None,
    places: tuple[int, ...],
    numbers: Numbers,
) -> Picture:
    """Draw the side force with its band of friction, and compensation as set.

    Parameters
    ----------
    force
        None for a parallel-tracking arm, which has none.
    settings, places
        What can be set and the places set so far, the last one now; may be empty.
    numbers
        How numbers are written.
    """
    x = Axis("Groove radius", "mm", 55.0, 150.0)
    if force is None:
        y = Axis("Side force", "gf", -0.1, 0.4)
        return Picture(
            title=_TITLE,
            summary="No side force: the arm pulls along the groove everywhere.",
            x=x,
            y=y,
            items=(Rule("y", 0.0, Role.NOW, "No side force"),),
        )
    radii = force.radii_mm()
    items: list[Item] = [Rule("y", 0.0, Role.GUIDE)]
    heights = [0.0]
    if radii.size:
        items += _bands(force, radii)
        for friction in MU_PRACTICE:
            curve = force.over(radii, friction)
            heights += [float(curve.min()), float(curve.max())]
        sign_change = force.sign_change_mm
        if sign_change is not None and x.low < sign_change < x.high:
            items.append(Rule("x", sign_change, Role.GUIDE, "The force changes sign here"))
    if settings is not None:
        levels = [settings.force_gf[place] for place in places]
        for level in dict.fromkeys(levels[:-1]):
            items.append(_level(level, Role.BEFORE, ""))
        if levels:
            items.append(_level(levels[-1], Role.NOW, "Compensation as set"))
        heights += levels
    margin = max(0.1 * (max(heights) - min(heights)), 0.02)
    y = Axis("Side force", "gf", min(heights) - margin, max(heights) + margin)
    if not radii.size:
        items.append(Tag(102.5, 0.0, "This arm does not reach the grooves", Role.GUIDE))
    return Picture(
        title=_TITLE,
        summary=_summary(force, settings, places, numbers),
        x=x,
        y=y,
        items=tuple(items),
    )


def _bands(force: SideForce, radii: Floats) -> list[Item]:
    items: list[Item] = []
    for (low, high), role, label in (
        (MU_PRACTICE, Role.ALLOWED, "Friction 0.2 to 0.5"),
        (MU_PUBLISHED, Role.GOOD, "Friction 0.25 to 0.3"),
    ):
        lower, upper = force.over(radii, low), force.over(radii, high)
        outline_x = np.concatenate([radii, radii[::-1]])
        outline_y = np.concatenate([lower, upper[::-1]])
        items.append(Shape(outline_x, outline_y, role, label, filled=True))
    items.append(Curve(radii, force.over(radii, MU_USUAL), Role.TARGET, "Side force, friction 0.3"))
    return items


def _level(level: float, role: Role, label: str) -> Curve:
    return Curve(floats([55.0, 150.0]), floats([level, level]), role, label)


def _summary(
    force: SideForce, settings: Settings | None, places: tuple[int, ...], numbers: Numbers
) -> str:
    mean = (
        f"Side force {numbers.unit(force.mean.middle_gf, 'gf')} in the mean at "
        f"{numbers.unit(force.downforce_gf, 'gf')} downforce, between "
        f"{numbers.plain(force.mean.low_gf)} and {numbers.unit(force.mean.high_gf, 'gf')} "
        "with friction."
    )
    if force.sign_change_mm is not None:
        mean += f" It changes sign at {numbers.unit(force.sign_change_mm, 'mm', 0)}."
    if settings is None or not places:
        return mean
    return f"{mean} Compensation as set {numbers.unit(settings.force_gf[places[-1]], 'gf')}."
