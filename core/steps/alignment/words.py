"""Sentences, figures and moves of the alignment step."""

from __future__ import annotations

import math
from typing import Final

from core.fitting import (
    Control,
    Figure,
    Move,
    MovePart,
)
from core.language import Numbers
from core.physics.alignment_reach import Edge
from core.physics.arm_geometry import Arm, PivotedArm, null_radii_mm
from core.physics.tracking_distortion import worst_tracking
from core.records import Cartridge
from core.steps.alignment.decision import AlignmentDecider, AlignmentTarget
from core.steps.alignment.state import Where
from core.steps.alignment.target import Aim, Distance

_EDGES: Final = {
    Edge.LONGEST: "the front end of the slots",
    Edge.SHORTEST: "the rear end of the slots",
    Edge.LEAST_OFFSET: "how far the head turns out",
    Edge.GREATEST_OFFSET: "how far the head turns in",
    Edge.FIXED_LENGTH: "a length that can't be changed",
    Edge.FIXED_OFFSET: "an angle that can't be changed",
}


def slide_words(slide_mm: float, numbers: Numbers, *, parallel: bool) -> str:
    """Say how far and which way to slide: ``1.5 mm toward the pivot``."""
    if parallel:
        way = "forward" if slide_mm > 0 else "back"
    else:
        way = "away from the pivot" if slide_mm > 0 else "toward the pivot"
    return f"{numbers.unit(abs(slide_mm), 'mm', 1)} {way}"


def twist_words(twist_deg: float, numbers: Numbers) -> str:
    """Say how far and which way to turn: ``0.8° in``."""
    return f"{numbers.unit(abs(twist_deg), '°', 1)} {'in' if twist_deg > 0 else 'out'}"


def head_move(
    wanted: AlignmentTarget,
    aim: Aim,
    judge: AlignmentDecider,
    numbers: Numbers,
    *,
    base_mm: float = 0.0,
) -> tuple[str, Move]:
    """Return headline and move for sliding and twisting, and what the base is to do beside it."""
    where, factor = judge.where, judge.factor
    parallel = not isinstance(aim.target, PivotedArm)
    orders: list[str] = []
    sure: list[str] = []
    parts: list[MovePart] = []
    if wanted.slide_mm:
        orders.append(f"slide {slide_words(wanted.slide_mm, numbers, parallel=parallel)}")
        sure.append(numbers.unit(factor * where.length_u_mm, "mm", 1))
        parts.append(MovePart(control=Control.SLIDE, amount=wanted.slide_mm, unit="mm"))
    if wanted.twist_deg:
        orders.append(f"turn the cartridge {twist_words(wanted.twist_deg, numbers)}")
        sure.append(numbers.unit(factor * where.offset_u_deg, "°", 1))
        parts.append(MovePart(control=Control.TWIST, amount=wanted.twist_deg, unit="°"))
    if base_mm:
        way = "away from the spindle" if base_mm > 0 else "toward the spindle"
        orders.append(f"move the arm base {numbers.unit(abs(base_mm), 'mm', 1)} {way}")
        if not wanted.slide_mm:
            sure.append(numbers.unit(factor * where.length_u_mm, "mm", 1))
        parts.append(MovePart(control=Control.ARM_BASE, amount=base_mm, unit="mm"))
    order = " and ".join(orders)
    order = f"{order[0].upper()}{order[1:]}."
    then = "Snug the screws" if wanted.slide_mm or wanted.twist_deg else "Fasten the base"
    towards = " In is toward the spindle." if wanted.twist_deg else ""
    headline = order
    if len(orders) == 3:  # three orders in full are too long to be read across a room
        headline = order.replace(" and turn the cartridge", ", turn")
        headline = headline.replace(" and move the arm base", ", base")
    return headline, Move(
        sentence=f"{order}{towards} Known to ±{' and ±'.join(sure)}. {then}, then read again.",
        parts=tuple(parts),
        predicted=expected(aim, judge, numbers, wanted, base_mm),
    )


def expected(
    aim: Aim,
    judge: AlignmentDecider,
    numbers: Numbers,
    wanted: AlignmentTarget | None = None,
    base_mm: float = 0.0,
) -> str:
    """Say what the next reading should then be."""
    slide, twist = (wanted.slide_mm, wanted.twist_deg) if wanted else (0.0, 0.0)
    length, offset = float(judge.off[0]) + slide, float(judge.off[1]) + twist
    if base_mm:
        length = 0.0
    if not isinstance(aim.target, PivotedArm) or not isinstance(aim.wanted, PivotedArm):
        return (
            f"The stylus {numbers.signed_unit(length, 'mm', 1)} from the line, the head "
            f"{numbers.signed_unit(-offset, '°', 1)} against the grid."
        )
    landing = aim.target.effective_length_mm + length - aim.wanted.effective_length_mm
    text = f"Landing {numbers.signed_unit(landing, 'mm', 1)}"
    if not judge.where.knows_offset:
        return f"{text}."
    error = judge.error[:2] + judge.slopes[:2] @ [length - judge.off[0], offset - judge.off[1]]
    inner, outer = (float(e) for e in error)
    if not (math.isfinite(inner) and math.isfinite(outer)):
        return f"{text}."
    return (
        f"{text}, angles {numbers.signed_unit(inner, '°', 1)} at the inner grid and "
        f"{numbers.signed_unit(outer, '°', 1)} at the outer."
    )


def tighten_move() -> Move:
    """Return the move that ends the sliding: the screws."""
    return Move(
        sentence="Tighten the screws gently, a little on each in turn, then read both once more.",
        parts=(MovePart(control=Control.SCREWS, amount=1.0, unit=""),),
        reason="Tightening often moves the cartridge a little.",
    )


def cautions_for(cartridge: Cartridge, *, head: bool) -> tuple[str, ...]:
    """Return the cautions for hands at the head, or for a stylus about to be lowered."""
    if not head:
        return ()
    return ("guard", "arm_locked", "screws") if cartridge.has_guard else ("arm_locked", "screws")


def wanted_figures(aim: Aim) -> list[Figure]:
    """Return the target's own numbers, which need no reading."""
    figures: list[Figure] = []
    target = aim.target
    if isinstance(target, PivotedArm):
        figures += [
            Figure("wanted_length", "Effective length wanted", target.effective_length_mm, "mm", 2),
            Figure("wanted_overhang", "Overhang wanted", target.overhang_mm, "mm", 2),
            Figure("wanted_offset", "Offset wanted", target.offset_deg, "°", 2),
        ]
        nulls = null_radii_mm(target)
        labels = ("Inner null", "Outer null") if len(nulls) == 2 else ("Null",)
        keys = ("wanted_null_inner", "wanted_null_outer") if len(nulls) == 2 else ("wanted_null",)
        figures += [
            Figure(key, label + " wanted", null, "mm", 1)
            for key, label, null in zip(keys, labels, nulls, strict=False)
        ]
    figures += [
        Figure("wanted_distortion", "Worst distortion wanted", aim.best.distortion_percent, "%", 2),
    ]
    return [figure for figure in figures if math.isfinite(figure.value)]


def found_figures(
    aim: Aim, judge: AlignmentDecider, landing_mm: float, twist_deg: float
) -> list[Figure]:
    """Return what the readings say of the arm as it stands."""
    where, factor = judge.where, judge.factor
    length, offset = (float(v) for v in judge.off)
    half_length, half_offset = factor * where.length_u_mm, factor * where.offset_u_deg
    arm = aim.arm_off_by(length, offset)
    figures = [
        Figure(
            "slide",
            "Length off by",
            length,
            "mm",
            2,
            half_length,
            0.0,
            landing_mm,
            "positive: too long",
        )
    ]
    if where.knows_offset:
        figures.append(
            Figure(
                "twist",
                "Angle off by",
                offset,
                "°",
                2,
                half_offset,
                0.0,
                twist_deg,
                "positive: turned in too far",
            )
        )
        for key, label, error, half in zip(
            ("error_inner", "error_outer"),
            (f"{_place(aim, 'inner')}", f"{_place(aim, 'outer')}"),
            (float(e) for e in judge.error[:2]),
            (float(h) for h in judge.half_widths(where.covariance)),
            strict=True,
        ):
            figures.append(Figure(key, label, error, "°", 2, half))
    figures += _arm_figures(aim, arm, half_length, half_offset, knows=where.knows_offset)
    return [figure for figure in figures if math.isfinite(figure.value)]


def _place(aim: Aim, which: str) -> str:
    if isinstance(aim.target, PivotedArm):
        return f"Error at the {which} null"
    return f"Error at the {which}most groove"


def _arm_figures(
    aim: Aim, arm: Arm, half_length: float, half_offset: float, *, knows: bool
) -> list[Figure]:
    figures: list[Figure] = []
    target = aim.target
    if isinstance(arm, PivotedArm) and isinstance(target, PivotedArm):
        figures += [
            Figure(
                "effective_length",
                "Effective length",
                arm.effective_length_mm,
                "mm",
                2,
                half_length,
                target.effective_length_mm,
            ),
            Figure(
                "overhang", "Overhang", arm.overhang_mm, "mm", 2, half_length, target.overhang_mm
            ),
        ]
        if not knows:
            return figures
        figures += [
            Figure("offset", "Offset", arm.offset_deg, "°", 2, half_offset, target.offset_deg),
            Figure(
                "linear_offset",
                "Linear offset",
                arm.linear_offset_mm,
                "mm",
                2,
                None,
                target.linear_offset_mm,
            ),
        ]
        nulls = null_radii_mm(arm)
        keys = ("null_inner", "null_outer") if len(nulls) == 2 else ("null",)
        labels = ("Inner null", "Outer null") if len(nulls) == 2 else ("Null",)
        figures += [
            Figure(key, label, null, "mm", 1)
            for key, label, null in zip(keys, labels, nulls, strict=False)
        ]
    elif not knows:
        return figures
    worst, best = worst_tracking(arm, aim.grooves), aim.best
    figures += [
        Figure(
            "worst_error",
            "Worst error",
            worst.error_deg,
            "°",
            2,
            None,
            best.error_deg,
            note="largest within the grooves",
        ),
        Figure(
            "worst_distortion",
            "Worst distortion",
            worst.distortion_percent,
            "%",
            2,
            None,
            best.distortion_percent,
            note="at 33⅓ rpm and 100 mm/s peak",
        ),
    ]
    return figures


def held_note(aim: Aim, numbers: Numbers) -> str:
    """Say what keeps the head from the alignment chosen, and what it costs."""
    ideal = worst_tracking(aim.wanted, aim.grooves).distortion_percent
    edges = " and ".join(_EDGES[edge] for edge in aim.held_by)
    short = ""
    if isinstance(aim.target, PivotedArm) and isinstance(aim.wanted, PivotedArm):
        length = aim.wanted.effective_length_mm - aim.target.effective_length_mm
        offset = aim.wanted.offset_deg - aim.target.offset_deg
        short = (
            f" The choice asks for {numbers.signed_unit(length, 'mm', 1)} and "
            f"{numbers.signed_unit(offset, '°', 1)} more."
        )
    return (
        f"Out of reach: {edges}.{short} The best within reach has "
        f"{numbers.unit(aim.best.distortion_percent, '%')} worst distortion, against "
        f"{numbers.unit(ideal, '%')}."
    )


def distance_note(distance: Distance, numbers: Numbers) -> str:
    """Say which pivot-to-spindle distance was taken."""
    value = numbers.within(distance.value_mm, 1.96 * distance.u_mm, "mm", 1)
    if distance.measured:
        return f"Pivot to spindle as measured here: {value}."
    return f"Pivot to spindle from the deck's page: {value}. Measure it again if in doubt."


def stray_note(where: Where, numbers: Numbers) -> str:
    """Say that a move did something else than asked."""
    if where.stray is None:
        return ""
    length, offset = (float(v) for v in where.stray)
    return (
        f"The last move ended {numbers.signed_unit(length, 'mm', 1)} and "
        f"{numbers.signed_unit(offset, '°', 1)} from where it was meant to: readings from before "
        "it no longer count. Check that it went the way it was asked."
    )
