"""The sheet for an arm that tracks along a radius: the line its stylus must follow."""

from __future__ import annotations

from typing import Final

from core.drawing.marks import FAINT, FINE, HAIR, Line, Mark, Words, shifted
from core.language import Numbers
from core.paper.check_lines import CHECK_LINES
from core.paper.lettering import Measure, rough_width
from core.paper.protractor import GAUGE_MM, SPINDLE_X_MM, margin_marks, spindle_marks
from core.paper.sheet import PaperProblem, PaperSize, Sheet, printable
from core.physics.groove_radii import GrooveRadii
from core.records import Deck
from core.steps import alignment

_HALF_ALONG_MM: Final = 20.0
_BESIDE_MM: Final = 5
_BEYOND_MM: Final = 4.0


def radius_marks(grooves: GrooveRadii) -> tuple[Mark, ...]:
    """Draw the radius from the spindle at (0, 0) along x, with lines beside and across it."""
    first, last = grooves.inner_mm - _BEYOND_MM, grooves.outer_mm + _BEYOND_MM
    marks: list[Mark] = [*spindle_marks(), Line(8.0, 0.0, last, 0.0, HAIR)]
    marks += [Line(first, k, last, k, FAINT) for k in range(-_BESIDE_MM, _BESIDE_MM + 1) if k]
    for radius in (grooves.inner_mm, grooves.outer_mm):
        marks += [
            Line(
                radius + side * GAUGE_MM / 2,
                -_HALF_ALONG_MM,
                radius + side * GAUGE_MM / 2,
                _HALF_ALONG_MM,
                HAIR,
            )
            for side in (-1, 1)
        ]
    step = 10.0
    radius = grooves.inner_mm + step
    while radius < grooves.outer_mm - 3.0:
        marks.append(Line(radius, -_HALF_ALONG_MM, radius, _HALF_ALONG_MM, FINE))
        radius += step
    return tuple(marks)


def radius_sheet(
    deck: Deck,
    chosen: alignment.AlignmentChoices | None = None,
    size: PaperSize = PaperSize.A4,
    numbers: Numbers | None = None,
    measure: Measure = rough_width,
) -> Sheet:
    """Return the radius line for a deck whose arm tracks along it.

    Raises
    ------
    PaperProblem
        If the arm swings about a pivot, or the grooves do not fit the paper.
    """
    if deck.arm.is_pivoted:
        raise PaperProblem(
            f"The arm of '{deck.name}' swings about a pivot and follows no straight line.",
            "It gets a grid and an arc instead.",
        )
    say = numbers or Numbers()
    grooves = (chosen or alignment.AlignmentChoices()).groove_radii
    area = printable(size)
    if SPINDLE_X_MM + grooves.outer_mm + _BEYOND_MM > area.right:
        raise PaperProblem(
            f"Grooves out to {grooves.outer_mm:g} mm do not fit {size.label}.",
            "Choose a smaller outermost groove.",
        )
    middle_y = area.bottom + 36.0
    marks: list[Mark] = [*radius_marks(grooves)]
    for radius, name in ((grooves.inner_mm, "innermost"), (grooves.outer_mm, "outermost")):
        words = f"{name} {say.short(radius)} mm"
        marks.append(Words(radius, -_HALF_ALONG_MM - 4.5, words, 3.0, "middle", bold=True))
    marks += [
        Words(grooves.outer_mm + 5.0, k - 0.8, say.signed(float(k), 0), 2.2, colour=0.2)
        for k in (-5, 5)
    ]
    placed = list(shifted(marks, SPINDLE_X_MM, middle_y))
    facts = (
        f"Deck: {deck.name}",
        "Alignment: the stylus moves along a radius; no tracking error at any groove",
        "Null radii: all; overhang 0 mm; offset 0°",
        (
            f"Grooves served: {say.short(grooves.inner_mm)} to {say.short(grooves.outer_mm)} mm "
            f"({grooves.source})"
        ),
    )
    advice = (
        (
            "Cut or punch the hole and lay the sheet over the spindle. Turn it until the long "
            "line lies under the stylus at the outermost groove, and tape it down."
        ),
        (
            "Move the arm by hand, stylus raised, to the innermost groove and set it down "
            "there: it lands on the line, or so many mm ahead of it (+, on the side the head "
            "points to). Read the same at the outermost groove."
        ),
        (
            "At the outermost groove look from the front: the cantilever lies between the two "
            "lines a cantilever apart. Turned out, away from the spindle, is +."
        ),
    )
    heights = area.top, middle_y + _HALF_ALONG_MM + 12.0
    heading = "Radius line for a parallel-tracking arm"
    placed += margin_marks(heading, facts, advice, size, heights, say, measure)
    return Sheet(
        title="Protractor: radius line",
        summary=f"A straight line from the spindle to the outermost groove, for {deck.name}.",
        size=size,
        marks=tuple(placed),
        check=CHECK_LINES,
    )
