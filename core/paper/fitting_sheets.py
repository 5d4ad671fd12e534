"""Which sheets belong to a deck or a fitting."""

from __future__ import annotations

from core.fitting import Journey
from core.language import Numbers
from core.paper.lettering import Measure, rough_width
from core.paper.protractor import arc_sheets, grid_sheet
from core.paper.protractor_plan import chosen_in, plan_for, plan_of
from core.paper.radius_line import radius_sheet
from core.paper.sheet import PaperSize, Sheet
from core.records import Choice, Deck
from core.steps import alignment


class ProtractorKind(Choice):
    """Which protractor."""

    BOTH = "both", "Grids and arc"
    GRID = "grid", "Grids at the null radii"
    ARC = "arc", "The stylus's arc, pointing at the pivot"


def protractor_sheets(
    deck: Deck,
    chosen: alignment.AlignmentChoices | None,
    size: PaperSize,
    numbers: Numbers | None = None,
    measure: Measure = rough_width,
    *,
    kind: ProtractorKind = ProtractorKind.BOTH,
    tiled: bool = True,
    pivot_mm: float | None = None,
) -> tuple[Sheet, ...]:
    """Return a deck's protractor; of a parallel-tracking arm the radius line, whatever ``kind``.

    Raises
    ------
    PaperProblem
        As :func:`core.paper.protractor_plan.plan_for`.
    """
    if not deck.arm.is_pivoted:
        return (radius_sheet(deck, chosen, size, numbers, measure),)
    plan = plan_for(deck, chosen, pivot_mm)
    sheets: list[Sheet] = []
    if kind is not ProtractorKind.ARC:
        sheets.append(grid_sheet(plan, size, numbers, measure))
    if kind is not ProtractorKind.GRID:
        sheets += arc_sheets(plan, size, numbers, measure, tiled=tiled)
    return tuple(sheets)


def protractor_of(
    journey: Journey,
    size: PaperSize,
    numbers: Numbers | None = None,
    measure: Measure = rough_width,
) -> tuple[Sheet, ...]:
    """Return the protractor of a fitting, by its own choice and its own distance.

    Raises
    ------
    PaperProblem
        As :func:`core.paper.protractor_plan.plan_for`.
    """
    if not journey.deck.arm.is_pivoted:
        chosen = chosen_in(journey.context(alignment.NAME))
        return (radius_sheet(journey.deck, chosen, size, numbers, measure),)
    plan = plan_of(journey)
    return (
        grid_sheet(plan, size, numbers, measure),
        *arc_sheets(plan, size, numbers, measure),
    )
