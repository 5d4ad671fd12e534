"""Protractor sheets of a pivoted arm: grids at the null radii, and the stylus's own arc.

Both are drawn with the spindle as origin. On the grid sheet the null radii lie on one line from
the spindle, and the sheet is turned under the stylus; on the arc sheet each grid stands where the
stylus passes, and the line from the spindle is turned to the pivot once and stays.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from core.drawing.marks import (
    DASHED,
    FAINT,
    FINE,
    HAIR,
    XY,
    Arc,
    Area,
    Circle,
    Line,
    Mark,
    Pen,
    Words,
    extent,
    on_circle,
    shifted,
)
from core.language import Name, Numbers, message
from core.paper.check_lines import CHECK_LINES, check_line_across, check_line_along, print_advice
from core.paper.lettering import Measure, TextColumn, rough_width
from core.paper.protractor_plan import ProtractorPlan
from core.paper.sheet import PaperSize, Sheet, printable

SPINDLE_RADIUS_MM: Final = 3.62
"""Half the hole of a record, 7.24 mm (IEC 60098, from memory)."""

GAUGE_MM: Final = 0.7
"""Gap between the two lines the cantilever is seen between; cantilevers are 0.3 to 0.6 mm thick
(common practice, no source)."""

_OVERLAP_MM: Final = 24.0
"""How much two neighbouring sheets share."""

_REGISTER_X_MM: Final = (-8.0, 150.0)

_HALF_ALONG_MM: Final = 18.0
_STEP_MM: Final = 3.0
_LADDER_MM: Final = 5
SPINDLE_X_MM: Final = 30.0
_WORD_ROOM_MM: Final = 3.6
"""From the foot of a figure on the ladder to lines that would strike it through."""


def spindle_marks() -> tuple[Mark, ...]:
    """Draw the spindle's hole at (0, 0): a cross to pierce and a circle to cut."""
    return (
        Circle(0.0, 0.0, SPINDLE_RADIUS_MM, FINE),
        Line(-7.0, 0.0, 7.0, 0.0, HAIR),
        Line(0.0, -7.0, 0.0, 7.0, HAIR),
    )


def grid_marks(radius_mm: float, bearing_deg: float, half_across_mm: float) -> tuple[Mark, ...]:
    """Draw the grid of one null radius, in the direction of ``bearing_deg`` from the spindle.

    Lines square to the radius first (the head and its cantilever lie along them), then those along
    it, which go ``half_across_mm`` to either side. Across the null two lines a cantilever apart
    stand in place of one.
    """
    angle = math.radians(bearing_deg)
    out, along = (math.cos(angle), math.sin(angle)), (-math.sin(angle), math.cos(angle))

    def place(u: float, v: float) -> XY:
        return (
            (radius_mm + u) * out[0] + v * along[0],
            (radius_mm + u) * out[1] + v * along[1],
        )

    def line(u0: float, v0: float, u1: float, v1: float, pen: Pen) -> Line:
        return Line(*place(u0, v0), *place(u1, v1), pen)

    reach, steps = _HALF_ALONG_MM, math.floor(half_across_mm / _STEP_MM)
    marks: list[Mark] = [
        line(k * _STEP_MM, -reach, k * _STEP_MM, reach, FINE) for k in range(-steps, steps + 1) if k
    ]
    half_gap = GAUGE_MM / 2.0
    marks += [line(side * half_gap, -reach, side * half_gap, reach, HAIR) for side in (-1, 1)]
    ends = steps * _STEP_MM
    marks += [
        line(-ends, k * 2 * _STEP_MM, ends, k * 2 * _STEP_MM, FAINT) for k in range(-3, 4) if k
    ]
    marks.append(line(-ends, 0.0, ends, 0.0, HAIR))
    marks.append(Circle(*place(0.0, 0.0), 0.6, HAIR))
    return tuple(marks)


def half_across(nulls_mm: tuple[float, ...]) -> float:
    """Return how far grids go along the radius: 12 mm, less where two nulls are close."""
    if len(nulls_mm) < 2:
        return 12.0
    return max(min(12.0, (nulls_mm[1] - nulls_mm[0]) / 2.0 - 1.0), _STEP_MM)


def grid_sheet(
    plan: ProtractorPlan,
    size: PaperSize,
    numbers: Numbers | None = None,
    measure: Measure = rough_width,
) -> Sheet:
    """Return the two-radius grid, for any arm with these null radii."""
    say = numbers or Numbers()
    half = half_across(plan.nulls_mm)
    middle_y = printable(size).bottom + 34.0
    marks: list[Mark] = [*spindle_marks()]
    end = max(plan.nulls_mm) + half + 4.0
    start = SPINDLE_RADIUS_MM + 4.0
    for null in plan.nulls_mm:
        marks += grid_marks(null, 0.0, half)
        marks.append(Line(start, 0.0, null - half, 0.0, HAIR))
        start = null + half
        marks.append(
            Words(null, _HALF_ALONG_MM + 2.0, f"{say.plain(null, 2)} mm", 3.2, "middle", bold=True)
        )
    marks.append(Line(start, 0.0, end, 0.0, HAIR))
    placed = list(shifted(marks, SPINDLE_X_MM, middle_y))
    words = (
        say.text(message("paper.protractor.cut_or_punch_the_hole_and")),
        say.text(message("paper.protractor.turn_the_sheet_until_the_stylus")),
        (say.text(message("paper.protractor.look_from_the_front_the_cantilever"))),
        say.text(message("paper.protractor.then_the_other_grid_without_moving")),
    )
    heights = printable(size).top, middle_y + _HALF_ALONG_MM + 12.0
    heading = say.text(message("paper.protractor.grids_at_the_null_radii"))
    placed += margin_marks(heading, plan.lines(say), words, size, heights, say, measure)
    nulls = say.listed([say.plain(r, 1) for r in plan.nulls_mm])
    return Sheet(
        title=say.text(message("paper.protractor.protractor_two_radius_grid"))
        if len(plan.nulls_mm) > 1
        else say.text(message("paper.protractor.protractor_grid")),
        summary=say.text(
            message(
                "paper.protractor.grids_at_mm_from_the_spindle",
                nulls=Name(nulls),
                deck_name=Name(plan.deck_name),
            )
        ),
        size=size,
        marks=tuple(placed),
        check=CHECK_LINES,
    )


def arc_marks(plan: ProtractorPlan, say: Numbers) -> tuple[Mark, ...]:
    """Draw the stylus's arc with its grids and its landing ladder; spindle at (0, 0)."""
    pivot, length = plan.pivot_mm, plan.arm.effective_length_mm
    marks: list[Mark] = [*spindle_marks()]
    outer, inner = plan.grooves.outer_mm, plan.grooves.inner_mm
    first = _bearing_from_pivot(plan, inner - 4.0)
    last = _bearing_from_pivot(plan, outer + 4.0)
    marks.append(Arc(0.0, pivot, length, first, last - first, FINE))
    half = half_across(plan.nulls_mm)
    ladder = _ladder(plan, say)
    for null in plan.nulls_mm:
        x, y = plan.stylus_at(null)
        bearing = math.degrees(math.atan2(y, x))
        marks += grid_marks(null, bearing, half)
        ux, uy = x / null, y / null
        line = Line(8.0 * ux, 8.0 * uy, (null - half) * ux, (null - half) * uy, FAINT)
        marks += _line_past(line, [(word.x, word.y) for word in ladder if isinstance(word, Words)])
        down = _HALF_ALONG_MM + 3.6
        marks.append(
            Words(
                x + down * uy,
                y - down * ux,
                f"{say.plain(null, 2)} mm",
                3.0,
                "middle",
                bold=True,
                turn_deg=bearing,
            )
        )
    for radius in (inner, outer):
        marks.append(_across_arc(plan, *plan.stylus_at(radius), 3.0))
    _, y = plan.stylus_at(min(inner - 4.0, plan.nulls_mm[0] - half))
    marks.append(
        Words(
            _left_of_grid(plan, half) - 1.0,
            y - 9.5 if y < 0.0 else y + 7.0,  # off the line from the spindle
            say.text(message("paper.protractor.innermost_groove")),
            2.4,
            "right",
            colour=0.3,
        )
    )
    x, y = plan.stylus_at(outer)
    marks.append(
        Words(
            x + 4.0,
            y - 4.5,
            say.text(message("paper.protractor.outermost_groove")),
            2.4,
            turn_deg=-90.0,
            colour=0.3,
        )
    )
    return (*marks, *ladder)


def arc_sheets(
    plan: ProtractorPlan,
    size: PaperSize,
    numbers: Numbers | None = None,
    measure: Measure = rough_width,
    *,
    tiled: bool = True,
) -> tuple[Sheet, ...]:
    """Return the stylus's arc with a line to the pivot.

    Where the pivot lies beyond the sheet: with ``tiled`` the line goes on over further sheets with
    register marks; else it ends at the sheet's edge and says how far the pivot lies.
    """
    say = numbers or Numbers()
    area = printable(size)
    drawn = arc_marks(plan, say)
    box = extent(drawn)
    origin_y = area.bottom + 4.0 - box.bottom
    room = area.top - origin_y
    whole = plan.pivot_mm + 6.0 <= room
    marks: list[Mark] = [*drawn]
    line_end = plan.pivot_mm if whole else room
    marks.append(Line(0.0, 7.0, 0.0, line_end, HAIR))
    marks += pivot_marks(plan, say) if whole else ()
    if not whole and not tiled:
        marks += _arrow(room, say)
    placed = list(shifted(marks, SPINDLE_X_MM, origin_y))
    words: tuple[str, ...] = (
        (
            say.text(
                message(
                    "paper.protractor.cut_or_punch_the_hole_and_2",
                    pivot_mm=Name(say.plain(plan.pivot_mm, 1)),
                )
            )
        ),
        (say.text(message("paper.protractor.set_the_stylus_down_on_the"))),
        (say.text(message("paper.protractor.then_read_the_heads_angle_at"))),
    )
    if not whole and not tiled:
        words = (
            (
                say.text(
                    message(
                        "paper.protractor.the_pivot_lies_beyond_this_sheet",
                        pivot_mm=Name(say.plain(plan.pivot_mm, 1)),
                    )
                )
            ),
            *words,
        )
    top = area.top if whole or not tiled else area.top - _OVERLAP_MM
    heights = top, origin_y + box.top + 8.0
    heading = say.text(message("paper.protractor.the_styluss_arc"))
    placed += margin_marks(heading, plan.lines(say), words, size, heights, say, measure)
    title = say.text(message("paper.protractor.protractor_stylus_arc"))
    first = Sheet(
        title=title,
        summary=say.text(
            message(
                "paper.protractor.the_styluss_arc_about_the_pivot",
                pivot_mm=Name(say.plain(plan.pivot_mm, 1)),
                deck_name=Name(plan.deck_name),
            )
        ),
        size=size,
        marks=tuple(placed),
        check=CHECK_LINES,
    )
    if whole or not tiled:
        return (first,)
    return _continued(first, pivot_marks(plan, say), plan.pivot_mm, (SPINDLE_X_MM, origin_y), say)


def pivot_marks(plan: ProtractorPlan, say: Numbers) -> tuple[Mark, ...]:
    """Draw the place of the pivot."""
    y = plan.pivot_mm
    return (
        Circle(0.0, y, 3.0, FINE),
        Line(-5.0, y, 5.0, y, HAIR),
        Line(0.0, y, 0.0, y + 5.0, HAIR),
        Words(-5.5, y - 1.0, say.text(message("paper.protractor.pivot")), 3.0, "right"),
    )


def _arrow(tip: float, say: Numbers) -> tuple[Mark, ...]:
    return (
        Area(((0.0, tip), (-1.6, tip - 6.0), (1.6, tip - 6.0)), 0.0),
        Words(3.0, tip - 4.0, say.text(message("paper.protractor.to_the_pivot")), 3.0),
    )


def _bearing_from_pivot(plan: ProtractorPlan, radius_mm: float) -> float:
    x, y = plan.stylus_at(radius_mm)
    return math.degrees(math.atan2(y - plan.pivot_mm, x))


def _across_arc(plan: ProtractorPlan, x: float, y: float, half_mm: float) -> Line:
    """Draw a short line through a place on the arc, toward the pivot."""
    length = math.hypot(x, y - plan.pivot_mm)
    ux, uy = x / length, (y - plan.pivot_mm) / length
    return Line(x - half_mm * ux, y - half_mm * uy, x + half_mm * ux, y + half_mm * uy, DASHED)


def _left_of_grid(plan: ProtractorPlan, half: float) -> float:
    """Return how far left the inner grid and what is read in it reach."""
    null = plan.nulls_mm[0]
    x, y = plan.stylus_at(null)
    grid = extent(grid_marks(null, math.degrees(math.atan2(y, x)), half))
    return min(grid.left, plan.stylus_at(plan.grooves.inner_mm - 4.0)[0])


def _line_past(line: Line, words: Sequence[XY]) -> list[Line]:
    """Return a line from the spindle outward with gaps where words stand."""
    length = math.hypot(line.x1 - line.x0, line.y1 - line.y0)
    ux, uy = (line.x1 - line.x0) / length, (line.y1 - line.y0) / length
    pieces, start = [], 0.0
    for x, y in words:
        along = (x - line.x0) * ux + (y - line.y0) * uy
        aside = abs((y - line.y0) * ux - (x - line.x0) * uy)
        if aside >= _WORD_ROOM_MM or not 0.0 < along < length:
            continue
        gap = math.sqrt(_WORD_ROOM_MM**2 - aside**2)
        pieces.append((start, along - gap))
        start = along + gap
    return [
        Line(line.x0 + a * ux, line.y0 + a * uy, line.x0 + b * ux, line.y0 + b * uy, line.pen)
        for a, b in (*pieces, (start, length))
        if b > a
    ]


def _ladder(plan: ProtractorPlan, say: Numbers) -> list[Mark]:
    """Draw arcs a millimetre apart, between the grids, to read the landing on."""
    radius = _between(plan)
    middle = _bearing_from_pivot(plan, radius)
    length = plan.arm.effective_length_mm
    marks: list[Mark] = []
    for k in range(-_LADDER_MM, _LADDER_MM + 1):
        wide = 4.0 if k % 5 == 0 else 2.5
        span = math.degrees(2.0 * wide / (length + k))
        if k:
            marks.append(Arc(0.0, plan.pivot_mm, length + k, middle - span / 2, span, HAIR))
        if k % 5 == 0 and k:
            x, y = on_circle(0.0, plan.pivot_mm, length + k, middle)
            turn = middle + 90.0
            shift = 1.6 if k < 0 else -3.6
            ux, uy = on_circle(0.0, 0.0, 1.0, middle)
            marks.append(
                Words(
                    x - shift * ux,
                    y - shift * uy,
                    say.signed(float(k), 0),
                    2.4,
                    "middle",
                    turn_deg=turn,
                )
            )
    x, y = plan.stylus_at(radius)
    marks.append(_across_arc(plan, x, y, _LADDER_MM))
    return marks


def _between(plan: ProtractorPlan) -> float:
    """Return a radius clear of the grids."""
    if len(plan.nulls_mm) == 2:
        return sum(plan.nulls_mm) / 2.0
    null = plan.nulls_mm[0]
    inner, outer = plan.grooves.inner_mm, plan.grooves.outer_mm
    return (null + outer) / 2.0 if outer - null > null - inner else (null + inner) / 2.0


def _register_marks(y_mm: float) -> tuple[Mark, ...]:
    """Draw the two crosses that must lie on each other on both sheets; drawing coordinates."""
    marks: list[Mark] = []
    for x in _REGISTER_X_MM:
        marks += (
            Line(x - 5.0, y_mm, x + 5.0, y_mm, HAIR),
            Line(x, y_mm - 5.0, x, y_mm + 5.0, HAIR),
            Circle(x, y_mm, 2.5, HAIR),
        )
    return tuple(marks)


def _continued(
    first: Sheet, far_end: tuple[Mark, ...], length_mm: float, origin: XY, numbers: Numbers
) -> tuple[Sheet, ...]:
    """Return a sheet and those that carry its upright line on to the far end.

    The line runs up from (0, 0) of the drawing, which lies at ``origin`` on the first sheet, and
    ends after ``length_mm``, where ``far_end`` is drawn.
    """
    area = printable(first.size)
    x, y = origin
    seams: list[float] = []
    tops = [area.top - y]
    pages: list[list[Mark]] = [list(first.marks)]
    while tops[-1] < length_mm + 6.0:
        bottom = tops[-1] - _OVERLAP_MM
        top = bottom + area.height
        seams.append(tops[-1] - _OVERLAP_MM / 2.0)
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
        lift = y if index == 0 else area.bottom - (tops[index - 1] - _OVERLAP_MM)
        if index < len(seams):
            edge = tops[index] - _OVERLAP_MM
            marks += shifted(_register_marks(seams[index]), x, lift)
            marks.append(
                Line(area.left, edge + lift, area.left + 14.0, edge + lift, DASHED),
            )
        if index > 0:
            marks += shifted(_register_marks(seams[index - 1]), x, lift)
            marks += _tile_words(first, index, count, numbers)
        else:
            marks.append(
                Words(
                    area.right,
                    area.bottom,
                    numbers.text(message("paper.protractor.sheet_of_2", count=count)),
                    3.0,
                    "right",
                    bold=True,
                )
            )
        sheets.append(
            Sheet(
                title=numbers.text(
                    message(
                        "paper.protractor.sheet_of",
                        title=Name(first.title),
                        index=index + 1,
                        count=count,
                    )
                ),
                summary=first.summary
                if index == 0
                else numbers.text(message("paper.protractor.the_line_to_the_pivot_goes")),
                size=first.size,
                marks=tuple(marks),
                check=CHECK_LINES,
            )
        )
    return tuple(sheets)


def _tile_words(first: Sheet, index: int, count: int, numbers: Numbers) -> list[Mark]:
    area = printable(first.size)
    left = area.left + 32.0
    base = area.bottom + _OVERLAP_MM + 60.0
    marks: list[Mark] = [
        Words(
            left,
            base,
            numbers.text(
                message(
                    "paper.protractor.sheet_of",
                    title=Name(first.title),
                    index=index + 1,
                    count=count,
                )
            ),
            4.5,
            bold=True,
        ),
        Words(
            left,
            base - 8.0,
            numbers.text(message("paper.protractor.lay_this_sheet_over_the_one")),
            3.2,
        ),
        Words(
            left,
            base - 12.5,
            numbers.text(message("paper.protractor.crosses_and_the_line_lie_on")),
            3.2,
        ),
        Words(
            left,
            base - 19.0,
            numbers.text(message("paper.protractor.both_check_lines_of_every_sheet")),
            3.2,
        ),
    ]
    marks += check_line_across(left, base - 30.0, numbers)
    marks += check_line_along(area.left + 7.0, base - 30.0, numbers)
    return marks


def margin_marks(
    heading: str,
    facts: Sequence[str],
    advice: Sequence[str],
    size: PaperSize,
    heights_mm: tuple[float, float],
    say: Numbers,
    measure: Measure,
) -> tuple[Mark, ...]:
    """Set heading, figures, instructions and check lines into the free corner of a sheet.

    ``heights_mm`` are those of the corner's top and of the check line across.
    """
    area = printable(size)
    left = SPINDLE_X_MM + 10.0
    top, bottom = heights_mm
    column = TextColumn(left, top, area.right - left, measure)
    column.say(heading, size_mm=6.0, bold=True)
    column.skip(1.0)
    for line in facts:
        column.say(line, size_mm=3.2)
    column.skip(2.0)
    for number, line in enumerate(advice, 1):
        column.say(f"{number}. {line}")
        column.skip(0.6)
    column.skip(1.0)
    column.say(say.text(message("paper.protractor.stop_the_platter_and_leave_the")))
    column.skip(1.0)
    column.say(print_advice(say), bold=True)
    return (
        *column.marks,
        *check_line_across(left + 2.0, bottom, say),
        *check_line_along(area.left + 7.0, area.top - 152.0, say),
    )
