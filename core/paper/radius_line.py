"""The sheet for an arm that tracks along a radius: the line its stylus must follow."""

from __future__ import annotations

from typing import Final

from core.drawing.marks import FAINT, FINE, HAIR, Line, Mark, Words, shifted
from core.language import Name, Numbers, message
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
            message("paper.radius_line.the_arm_of_swings_about_a", deck=Name(deck.name)),
            message("paper.radius_line.it_gets_a_grid_and_an"),
        )
    say = numbers or Numbers()
    grooves = (chosen or alignment.AlignmentChoices()).groove_radii
    area = printable(size)
    if SPINDLE_X_MM + grooves.outer_mm + _BEYOND_MM > area.right:
        raise PaperProblem(
            message(
                "paper.radius_line.grooves_out_to_mm_do_not",
                outer_mm=Name(f"{grooves.outer_mm:g}"),
                size=Name(size.label),
            ),
            message("paper.radius_line.choose_a_smaller_outermost_groove"),
        )
    middle_y = area.bottom + 36.0
    marks: list[Mark] = [*radius_marks(grooves)]
    inner, outer = Name(say.short(grooves.inner_mm)), Name(say.short(grooves.outer_mm))
    for radius, name in (
        (grooves.inner_mm, message("paper.radius_line.innermost", radius=inner)),
        (grooves.outer_mm, message("paper.radius_line.outermost", radius=outer)),
    ):
        words = say.text(name)
        marks.append(Words(radius, -_HALF_ALONG_MM - 4.5, words, 3.0, "middle", bold=True))
    marks += [
        Words(grooves.outer_mm + 5.0, k - 0.8, say.signed(float(k), 0), 2.2, colour=0.2)
        for k in (-5, 5)
    ]
    placed = list(shifted(marks, SPINDLE_X_MM, middle_y))
    facts = (
        say.text(message("paper.radius_line.deck", deck=Name(deck.name))),
        say.text(message("paper.radius_line.alignment_the_stylus_moves_along_a")),
        say.text(message("paper.radius_line.null_radii_all_overhang_mm_offset")),
        (
            say.text(
                message(
                    "paper.radius_line.grooves_served_to_mm",
                    inner_mm=Name(say.short(grooves.inner_mm)),
                    outer_mm=Name(say.short(grooves.outer_mm)),
                    source=Name(grooves.source),
                )
            )
        ),
    )
    advice = (
        (say.text(message("paper.radius_line.cut_or_punch_the_hole_and"))),
        (say.text(message("paper.radius_line.move_the_arm_by_hand_stylus"))),
        (say.text(message("paper.radius_line.at_the_outermost_groove_look_from"))),
    )
    heights = area.top, middle_y + _HALF_ALONG_MM + 12.0
    heading = say.text(message("paper.radius_line.radius_line_for_a_parallel_tracking"))
    placed += margin_marks(heading, facts, advice, size, heights, say, measure)
    return Sheet(
        title=say.text(message("paper.radius_line.protractor_radius_line")),
        summary=say.text(
            message("paper.radius_line.a_straight_line_from_the_spindle", deck=Name(deck.name))
        ),
        size=size,
        marks=tuple(placed),
        check=CHECK_LINES,
    )
