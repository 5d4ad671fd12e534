"""Check lines, what a person measured on them, and what follows for the next print."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from core.drawing.marks import Line, Mark, Pen, Words, extent
from core.language import Numbers
from core.paper.sheet import CheckLines, PaperProblem, Sheet

CHECK_MM: Final = 150.0
"""Length of each check line. On 150 mm the limit is 0.3 mm, which a ruler still shows."""

CHECK_LINES: Final = CheckLines(CHECK_MM, CHECK_MM)

ACCEPTED: Final = 0.002
"""How far a printed length may be off, as a share: over 100 mm of arm this is 0.2 mm (ours)."""

_FURTHEST: Final = 0.15
"""A page shrunk or grown by more is no page of ours."""

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
                f"The check line {way} can't measure {say.plain(length, 1)} mm.",
                "Measure it from end mark to end mark, in millimetres.",
            )
        if abs(length / true - 1.0) > _FURTHEST:
            raise PaperProblem(
                f"The check line {way} is drawn {say.short(true)} mm long; "
                f"{say.short(length)} mm is too far off to be a matter of scale.",
                "Look for a slip or another unit; if it is so, print again at 100 %.",
            )
    off_x, off_y = measured.x_mm / drawn.x_mm - 1.0, measured.y_mm / drawn.y_mm - 1.0
    across, along = _percent(off_x, say), _percent(off_y, say)
    if _within(off_x) and _within(off_y):
        return ScaleAnswer(
            accepted=True,
            factor=measured.factor,
            sentence=f"True to scale: across {across}, along {along}. Use this sheet.",
        )
    if not _within(off_x - off_y):
        return ScaleAnswer(
            accepted=False,
            factor=None,
            sentence=f"Do not use this sheet: it is off by {across} across and {along} along. One "
            "scale can't mend two different errors, and angles on it are wrong. Measure both lines "
            "again; if it stays so, use another printer or another paper feed.",
        )
    factor = measured.factor / (1.0 + (off_x + off_y) / 2.0)
    size = _percent((off_x + off_y) / 2.0, say)
    return ScaleAnswer(
        accepted=False,
        factor=factor,
        sentence=f"Do not use this sheet: it came out {size} off, the same in both directions. "
        f"Print it again: it will be made at {say.plain(factor * 100.0, 2)} % to make up for it. "
        "Then measure the new print.",
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
            f"{factor} is no scale to print at.", "Measure the check lines again and enter both."
        )
    box = extent(sheet.marks)
    half_x, half_y = sheet.size.width_mm / 2.0, sheet.size.height_mm / 2.0
    reach_x = max(half_x - box.left, box.right - half_x) * factor
    reach_y = max(half_y - box.bottom, box.top - half_y) * factor
    if reach_x > half_x or reach_y > half_y:
        percent = (numbers or Numbers()).plain(factor * 100.0, 1)
        raise PaperProblem(
            f"Printed at {percent} % to make up for the printer, '{sheet.title}' leaves the paper.",
            "Turn off 'fit to page' in the print dialog, print at 100 % and measure again.",
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
    return f"Check line {way}: {numbers.short(CHECK_MM)} mm. What did you measure?  __________ mm"


PRINT_ADVICE: Final = (
    "Print at 100 %, not fitted to the page. Measure both check lines before you trust this sheet: "
    "each must be true to 0.2 %, which is 0.3 mm. Enter what you measured beside the preview, or "
    "with --measured, and Setdown prints it again corrected, or tells you why it can't."
)
