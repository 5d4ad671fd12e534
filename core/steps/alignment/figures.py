"""The figures of an alignment: the target, and the arm by the readings."""

from __future__ import annotations

import math
from typing import Final

from core.fitting import Figure
from core.language import Message, message
from core.physics.arm_geometry import ArmGeometry, PivotedArm, null_radii_mm
from core.physics.tracking_distortion import worst_tracking
from core.steps.alignment.decision import AlignmentDecider
from core.steps.alignment.target import Aim

HEAD: Final = message("alignment.off.head_out"), message("alignment.off.head_in")
"""A tracking error is positive if the head is turned out."""

LENGTH: Final = message("alignment.off.too_long"), message("alignment.off.too_short")
ALONG: Final = message("alignment.off.too_far_forward"), message("alignment.off.too_far_back")
"""A parallel arm has no length: its cartridge stands forward or back of its line."""


def wanted_figures(aim: Aim) -> list[Figure]:
    """Return the target's own numbers, which need no reading."""
    figures: list[Figure] = []
    target = aim.target
    if isinstance(target, PivotedArm):
        length_mm, overhang_mm = target.effective_length_mm, target.overhang_mm
        figures += [
            Figure("wanted_length", message("alignment.figure.wanted_length"), length_mm, "mm", 2),
            Figure(
                "wanted_overhang", message("alignment.figure.wanted_overhang"), overhang_mm, "mm", 2
            ),
            Figure(
                "wanted_offset",
                message("alignment.figure.wanted_offset"),
                target.offset_deg,
                "°",
                2,
            ),
        ]
        for which, null in _nulls(target):
            label = message("alignment.figure.wanted_null", which=which)
            figures.append(_null_figure("wanted_null", which, label, null))
    label = message("alignment.figure.wanted_distortion")
    figures.append(Figure("wanted_distortion", label, aim.best.distortion_percent, "%", 2))
    return [figure for figure in figures if math.isfinite(figure.value)]


def _nulls(arm: PivotedArm) -> list[tuple[str, float]]:
    """Return the null radii with their names: an arm has one or two."""
    nulls = null_radii_mm(arm)
    names = ("inner", "outer") if len(nulls) == 2 else ("only",)
    return list(zip(names, nulls, strict=False))


def _null_figure(key: str, which: str, label: Message, null_mm: float) -> Figure:
    if which == "only":
        return Figure(key, label, null_mm, "mm", 1)
    return Figure(f"{key}_{which}", label, null_mm, "mm", 1, subject=which)


def found_figures(
    aim: Aim, judge: AlignmentDecider, landing_mm: float, twist_deg: float
) -> list[Figure]:
    """Return the figures of the arm as read."""
    where, factor = judge.where, judge.factor
    length, offset = (float(v) for v in judge.off)
    half_length, half_offset = factor * where.length_u_mm, factor * where.offset_u_deg
    arm = aim.arm_off_by(length, offset)
    pivoted = isinstance(aim.target, PivotedArm)
    figures = [
        Figure(
            "slide",
            message("alignment.figure.slide") if pivoted else message("alignment.figure.along"),
            length,
            "mm",
            2,
            half_length,
            0.0,
            landing_mm,
            ways=LENGTH if pivoted else ALONG,
        )
    ]
    if where.knows_offset:
        figures.append(
            Figure(
                "twist",
                message("alignment.figure.twist"),
                offset,
                "°",
                2,
                half_offset,
                0.0,
                twist_deg,
                ways=(message("alignment.off.turned_in"), message("alignment.off.turned_out")),
            )
        )
        for which, error, half in zip(
            ("inner", "outer"),
            (float(e) for e in judge.error[:2]),
            (float(h) for h in judge.half_widths(where.covariance)),
            strict=True,
        ):
            label = _error_label(aim, which)
            key = f"error_{which}"
            figures.append(Figure(key, label, error, "°", 2, half, subject=which, ways=HEAD))
    figures += _arm_figures(aim, arm, half_length, half_offset, knows=where.knows_offset)
    return [figure for figure in figures if math.isfinite(figure.value)]


def _error_label(aim: Aim, which: str) -> Message:
    if isinstance(aim.target, PivotedArm):
        return message("alignment.figure.error_at_null", which=which)
    return message("alignment.figure.error_at_groove", which=which)


def _arm_figures(
    aim: Aim, arm: ArmGeometry, half_length: float, half_offset: float, *, knows: bool
) -> list[Figure]:
    figures: list[Figure] = []
    target = aim.target
    if isinstance(arm, PivotedArm) and isinstance(target, PivotedArm):
        figures += [
            Figure(
                "effective_length",
                message("alignment.figure.effective_length"),
                arm.effective_length_mm,
                "mm",
                2,
                half_length,
                target.effective_length_mm,
            ),
            Figure(
                "overhang",
                message("alignment.figure.overhang"),
                arm.overhang_mm,
                "mm",
                2,
                half_length,
                target.overhang_mm,
            ),
        ]
        if not knows:
            return figures
        figures += [
            Figure(
                "offset",
                message("alignment.figure.offset"),
                arm.offset_deg,
                "°",
                2,
                half_offset,
                target.offset_deg,
            ),
            Figure(
                "linear_offset",
                message("alignment.figure.linear_offset"),
                arm.linear_offset_mm,
                "mm",
                2,
                None,
                target.linear_offset_mm,
            ),
        ]
        for which, null in _nulls(arm):
            label = message("alignment.figure.null", which=which)
            figures.append(_null_figure("null", which, label, null))
    elif not knows:
        return figures
    worst, best = worst_tracking(arm, aim.grooves), aim.best
    figures += [
        Figure(
            "worst_error",
            message("alignment.figure.worst_error"),
            worst.error_deg,
            "°",
            2,
            None,
            best.error_deg,
            note=message("alignment.figure.within_grooves"),
            ways=HEAD,
        ),
        Figure(
            "worst_distortion",
            message("alignment.figure.worst_distortion"),
            worst.distortion_percent,
            "%",
            2,
            None,
            best.distortion_percent,
            note=message("alignment.figure.at_speed"),
        ),
    ]
    return figures
