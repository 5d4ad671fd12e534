"""Check lines, what a person measured on them, and what follows for the next print."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from core.drawing.marks import Line, Mark, Pen, Words, extent
from core.language import Name, Numbers, Quantity, message
from core.paper.sheet import CheckLines, PaperProblem, Sheet

CHECK_MM: Final = 150.0
"""Length of each check line. On 150 mm the limit is 0.3 mm, which a ruler still shows."""

CHECK_LINES: Final = CheckLines(CHECK_MM, CHECK_MM)

ACCEPTED: Final = 0.002
"""How far a printed length may be off, as a share: over 100 mm of arm this is 0.2 mm (ours)."""

_FURTHEST: Final = 0.15
"""A page scaled by more was not printed by this program."""

_PEN: Final = Pen(0.2)
_TICK_MM: Final = 4.0


@dataclass(frozen=True, slots=True)
class Measured:
    """What the check lines measured in mm on a print made with ``factor``.

    ``factor`` is how much larger than life that print was made on purpose, 1 at first.
    """

    x_mm: float
    y_mm: float
    factor: float = 1.0


@dataclass(frozen=True, slots=True)
class ScaleAnswer:
    """Whether a print is true enough to be used, and what to do about it.

    ``factor`` is what to print with from now on, None where no scale can correct the error;
    ``sentence`` tells a person what was found and what to do.
    """

    accepted: bool
    factor: float | None
    sentence: str


def judge_scale(
    measured: Measured, numbers: Numbers | None = None, drawn: CheckLines = CHECK_LINES
) -> ScaleAnswer:
    """Judge a print by its check lines.

    Within 0.2 % in both directions it is true. Off by the same share in both (to 0.2 %) it is
    printed again at the inverse scale. Off by different shares nothing helps: a single scale can
    mend only one of the two directions, and every angle between them is wrong.

    Raises
    ------
    PaperProblem
        If a length is no length, or so far off that it must be mistyped.
    """
    say = numbers or Numbers()
    for way, length, true in (
        ("across", measured.x_mm, drawn.x_mm),
        ("along", measured.y_mm, drawn.y_mm),
    ):
        if not math.isfinite(length) or length <= 0.0:
            raise PaperProblem(
                message(
                    "paper.check_lines.the_check_line_can_t_measure",
                    way=way,
                    length=Name(say.plain(length, 1)),
                ),
                message("paper.check_lines.measure_it_from_end_mark_to"),
            )
        if abs(length / true - 1.0) > _FURTHEST:
            raise PaperProblem(
                message(
                    "paper.check_lines.the_check_line_is_drawn_mm",
                    way=way,
                    true=Name(say.short(true)),
                    length=Name(say.short(length)),
                ),
                message("paper.check_lines.look_for_a_slip_or_another"),
            )
    off_x, off_y = measured.x_mm / drawn.x_mm - 1.0, measured.y_mm / drawn.y_mm - 1.0
    across, along = _percent(off_x, say), _percent(off_y, say)
    if _within(off_x) and _within(off_y):
        return ScaleAnswer(
            accepted=True,
            factor=measured.factor,
            sentence=say.text(
                message(
                    "paper.check_lines.true_to_scale_across_along_use",
                    across=Name(across),
                    along=Name(along),
                )
            ),
        )
    if not _within(off_x - off_y):
        return ScaleAnswer(
            accepted=False,
            factor=None,
            sentence=say.text(
                message(
                    "paper.check_lines.do_not_use_this_sheet_it_2",
                    across=Name(across),
                    along=Name(along),
                )
            ),
        )
    factor = measured.factor / (1.0 + (off_x + off_y) / 2.0)
    size = _percent((off_x + off_y) / 2.0, say)
    return ScaleAnswer(
        accepted=False,
        factor=factor,
        sentence=say.text(
            message(
                "paper.check_lines.do_not_use_this_sheet_it",
                size=Name(size),
                factor=Name(say.plain(factor * 100.0, 2)),
            )
        ),
    )


def _within(share: float) -> bool:
    return abs(share) <= ACCEPTED + 1e-9


def _percent(share: float, numbers: Numbers) -> str:
    return numbers.signed_unit(share * 100.0, "%", 2)


def corrected(sheet: Sheet, factor: float, numbers: Numbers | None = None) -> float:
    """Return the factor to draw a sheet with: 1 for a sheet that need not be true.

    Raises
    ------
    PaperProblem
        If the sheet, made larger by the factor about its middle, leaves the paper.
    """
    if not sheet.is_true_scale or factor == 1.0:
        return 1.0
    if not math.isfinite(factor) or factor <= 0.0:
        raise PaperProblem(
            message("paper.check_lines.is_no_scale_to_print_at", factor=Name(f"{factor}")),
            message("paper.check_lines.measure_the_check_lines_again_and"),
        )
    box = extent(sheet.marks)
    half_x, half_y = sheet.size.width_mm / 2.0, sheet.size.height_mm / 2.0
    reach_x = max(half_x - box.left, box.right - half_x) * factor
    reach_y = max(half_y - box.bottom, box.top - half_y) * factor
    if reach_x > half_x or reach_y > half_y:
        percent = (numbers or Numbers()).plain(factor * 100.0, 1)
        raise PaperProblem(
            message(
                "paper.check_lines.printed_at_to_make_up_for",
                percent=Name(percent),
                title=Name(sheet.title),
            ),
            message("paper.check_lines.turn_off_fit_to_page_in"),
        )
    return factor


def check_line_across(x: float, y: float, numbers: Numbers) -> tuple[Mark, ...]:
    """Draw the check line in x from (x, y), its question above it."""
    end = x + CHECK_MM
    return (
        Line(x, y, end, y, _PEN),
        Line(x, y - _TICK_MM / 2, x, y + _TICK_MM / 2, _PEN),
        Line(end, y - _TICK_MM / 2, end, y + _TICK_MM / 2, _PEN),
        Words(x + CHECK_MM / 2, y + 1.2, _question("across", numbers), 2.8, "middle"),
    )


def check_line_along(x: float, y: float, numbers: Numbers) -> tuple[Mark, ...]:
    """Draw the check line in y from (x, y) upward, its question to its left."""
    end = y + CHECK_MM
    return (
        Line(x, y, x, end, _PEN),
        Line(x - _TICK_MM / 2, y, x + _TICK_MM / 2, y, _PEN),
        Line(x - _TICK_MM / 2, end, x + _TICK_MM / 2, end, _PEN),
        Words(x - 1.2, y + CHECK_MM / 2, _question("along", numbers), 2.8, "middle", turn_deg=90.0),
    )


def _question(way: str, numbers: Numbers) -> str:
    return numbers.text(
        message(
            "paper.check_lines.check_line_mm_what_did_you",
            way=way,
            check_mm=Name(numbers.short(CHECK_MM)),
        )
    )


def print_advice(numbers: Numbers) -> str:
    """Say how to print a sheet whose lengths must be true."""
    share, size = Quantity(100.0 * ACCEPTED, "%", 1), Quantity(ACCEPTED * CHECK_MM, "mm", 1)
    said = message("paper.check_lines.print_at_not_fitted_to_the", share=share, size=size)
    return numbers.text(said)
