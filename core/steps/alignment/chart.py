"""The picture of an alignment: distortion over the record, now against the target."""

from __future__ import annotations

from typing import Final

import numpy as np

from core.drawing.chart import Axis, Band, Curve, Item, MarkRole, Picture, Points, Rule, Tag
from core.language import Message, Quantity, message
from core.physics.arm_geometry import ArmGeometry, Floats, null_radii_mm, tracking_error_deg
from core.physics.groove_radii import GrooveRadii
from core.physics.tracking_distortion import distortion_percent
from core.steps.alignment.decision import AlignmentDecider
from core.steps.alignment.figures import HEAD
from core.steps.alignment.state import Where
from core.steps.alignment.target import Aim
from core.steps.shared import amount

_POINTS: Final = 90
_TRAIL: Final = 4
_HIGHEST_PERCENT: Final = 12.0


def nothing(grooves: GrooveRadii) -> Picture:
    """Draw the empty record, if there is no target."""
    return _picture(grooves, 2.0, _limits(grooves), message("alignment.chart.no_target"))


def chart(aim: Aim, where: Where, judge: AlignmentDecider | None) -> Picture:
    """Draw target, earlier arms and the present arm; without a reading the target alone."""
    grooves = aim.grooves
    radius = np.linspace(grooves.inner_mm, grooves.outer_mm, _POINTS)
    target = _percent(aim.target, radius)
    items: list[Item] = [*_limits(grooves)]
    items += [
        Rule(
            "x",
            null,
            MarkRole.TARGET,
            message("alignment.chart.null_at", radius=Quantity(null, "", 1)),
        )
        for null in null_radii_mm(aim.target)
        if grooves.inner_mm - 5 <= null <= grooves.outer_mm + 5
    ]
    shown = [target]
    at_worst = _at_worst(target)
    summary = message("alignment.chart.only_target", target=at_worst)
    if judge is not None and np.isfinite(judge.worst_limit):
        allowed = message("alignment.chart.allowed")
        items.insert(0, Band("y", 0.0, judge.worst_limit, MarkRole.GOOD, allowed))
        shown.append(np.array([judge.worst_limit]))
    for off in where.earlier[-_TRAIL:] if where.knows_offset else ():
        before = _percent(aim.arm_off_by(float(off[0]), float(off[1])), radius)
        items.append(Curve(radius, _cut(before), MarkRole.BEFORE, message("common.earlier")))
        shown.append(before)
    items.append(Curve(radius, target, MarkRole.TARGET, message("alignment.chart.target")))
    if judge is not None and where.knows_offset:
        now = _percent(aim.arm_off_by(float(judge.off[0]), float(judge.off[1])), radius)
        role = MarkRole.PREDICTED if where.pending else MarkRole.NOW
        label = message("common.expected") if where.pending else message("common.now")
        items.append(Curve(radius, _cut(now), role, label))
        shown.append(now)
        if np.isfinite(now).any():
            worst = _at_worst(now)
            if where.pending:
                summary = message("alignment.chart.expected", now=worst, target=at_worst)
            else:
                summary = message("alignment.chart.now", now=worst, target=at_worst)
    highest = max(float(np.nanmax(_cut(y))) if np.isfinite(y).any() else 0.0 for y in shown)
    if judge is not None and where.knows_offset:
        role = MarkRole.PREDICTED if where.pending else MarkRole.NOW
        items += _at_grids(aim, judge, role, lift=0.07 * highest)
    return _picture(grooves, max(highest * 1.15, 0.2), items, summary)


def _picture(
    grooves: GrooveRadii, highest_percent: float, items: list[Item], summary: Message
) -> Picture:
    low, high = grooves.inner_mm - 6.0, grooves.outer_mm + 6.0
    return Picture(
        title=message("alignment.chart.title"),
        summary=summary,
        x=Axis(message("alignment.chart.radius"), "mm", low, high),
        y=Axis(message("alignment.chart.distortion"), "%", 0.0, highest_percent),
        items=tuple(items),
        scale_note=message("alignment.chart.at"),
    )


def _at_worst(percent: Floats) -> Quantity:
    return Quantity(float(np.nanmax(percent)), "%")


def _percent(arm: ArmGeometry, radius_mm: Floats) -> Floats:
    return distortion_percent(tracking_error_deg(arm, radius_mm), radius_mm)


def _cut(percent: Floats) -> Floats:
    return np.minimum(percent, _HIGHEST_PERCENT)


def _at_grids(aim: Aim, judge: AlignmentDecider, role: MarkRole, *, lift: float) -> list[Item]:
    """Mark the two places where the head is read, with the error there in degrees."""
    radius = np.array(aim.radii_mm)
    error = judge.error[:2]
    half = judge.half_widths(judge.where.covariance)
    if not (np.isfinite(error).all() and np.isfinite(half).all()):
        return []
    middle = _cut(distortion_percent(error, radius))
    bars = np.minimum(distortion_percent(np.minimum(half, 80.0), radius), _HIGHEST_PERCENT)
    items: list[Item] = [Points(radius, middle, role, message("alignment.chart.at_grids"), bars)]
    items += [
        Tag(
            float(r),
            float(y) + lift,
            message("common.value", value=amount(float(e), "°", 1, HEAD)),
            role,
        )
        for r, y, e in zip(radius, middle, error, strict=True)
    ]
    return items


def _limits(grooves: GrooveRadii) -> list[Item]:
    return [
        Rule("x", grooves.inner_mm, MarkRole.GUIDE, message("alignment.chart.innermost")),
        Rule("x", grooves.outer_mm, MarkRole.GUIDE, message("alignment.chart.outermost")),
    ]
