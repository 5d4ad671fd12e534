"""A drawing that goes on over further sheets, with marks to bring them together."""

from __future__ import annotations

from typing import Final

from core.drawing.marks import (
    DASHED,
    HAIR,
    XY,
    Circle,
    Line,
    Mark,
    Words,
    shifted,
)
from core.language import Numbers
from core.paper.check_lines import (
    CHECK_LINES,
    check_line_across,
    check_line_along,
)
from core.paper.sheet import Sheet, printable

OVERLAP_MM: Final = 24.0
"""How much two neighbouring sheets share."""

_REGISTER_X_MM: Final = (-8.0, 150.0)


def register_marks(y_mm: float) -> tuple[Mark, ...]:
    """Draw the two crosses that must lie on each other on both sheets; drawing coordinates."""
    marks: list[Mark] = []
    for x in _REGISTER_X_MM:
        marks += (
            Line(x - 5.0, y_mm, x + 5.0, y_mm, HAIR),
            Line(x, y_mm - 5.0, x, y_mm + 5.0, HAIR),
            Circle(x, y_mm, 2.5, HAIR),
        )
    return tuple(marks)


def continued(
    first: Sheet, far_end: tuple[Mark, ...], length_mm: float, origin: XY, numbers: Numbers
) -> tuple[Sheet, ...]:
    """Return a sheet and those that carry its upright line on to the far end.

    Parameters
    ----------
    first
        The sheet, whose line runs up from the origin to the edge.
    far_end
        What is drawn where the line ends, in drawing coordinates.
    length_mm
        Where the line ends.
    origin
        Where the drawing's (0, 0) lies on the first sheet, in mm.
    numbers
        How numbers are written.
    """
    area = printable(first.size)
    x, y = origin
    seams: list[float] = []
    tops = [area.top - y]
    pages: list[list[Mark]] = [list(first.marks)]
    while tops[-1] < length_mm + 6.0:
        bottom = tops[-1] - OVERLAP_MM
        top = bottom + area.height
        seams.append(tops[-1] - OVERLAP_MM / 2.0)
        lift = area.bottom - bottom
        end = min(length_mm, top)
        marks: list[Mark] = [Line(0.0, bottom, 0.0, end, HAIR)]
        if length_mm + 6.0 <= top:
            marks += far_end
        pages.append(list(shifted(marks, x, lift)))
        tops.append(top)
    count = len(pages)
    sheets: list[Sheet] = []
    for index, page in enumerate(pages):
        marks = list(page)
        lift = y if index == 0 else area.bottom - (tops[index - 1] - OVERLAP_MM)
        if index < len(seams):
            edge = tops[index] - OVERLAP_MM
            marks += shifted(register_marks(seams[index]), x, lift)
            marks.append(
                Line(area.left, edge + lift, area.left + 14.0, edge + lift, DASHED),
            )
        if index > 0:
            marks += shifted(register_marks(seams[index - 1]), x, lift)
            marks += _words(first, index, count, numbers)
        else:
            marks.append(
                Words(area.right, area.bottom, f"Sheet 1 of {count}", 3.0, "right", bold=True)
            )
        sheets.append(
            Sheet(
                title=f"{first.title}, sheet {index + 1} of {count}",
                summary=first.summary if index == 0 else "The line to the pivot goes on.",
                size=first.size,
                marks=tuple(marks),
                check=CHECK_LINES,
            )
        )
    return tuple(sheets)


def _words(first: Sheet, index: int, count: int, numbers: Numbers) -> list[Mark]:
    area = printable(first.size)
    left = area.left + 32.0
    base = area.bottom + OVERLAP_MM + 60.0
    marks: list[Mark] = [
        Words(left, base, f"{first.title}, sheet {index + 1} of {count}", 4.5, bold=True),
        Words(left, base - 8.0, "Lay this sheet over the one before so that both ringed", 3.2),
        Words(left, base - 12.5, "crosses and the line lie on each other, and tape them.", 3.2),
        Words(left, base - 19.0, "Both check lines of every sheet must be true.", 3.2),
    ]
    marks += check_line_across(left, base - 30.0, numbers)
    marks += check_line_along(area.left + 7.0, base - 30.0, numbers)
    return marks
