"""What a protractor is drawn for: the deck, the alignment chosen, and where the stylus must go."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from core.drawing.marks import XY
from core.fitting import Context, Journey
from core.language import Name, Numbers, message
from core.paper.sheet import PaperProblem
from core.physics.alignment_reach import Reach, best_for
from core.physics.alignment_solutions import solve
from core.physics.arm_geometry import PivotedArm, null_radii_mm, tracking_error_deg
from core.physics.groove_radii import GrooveRadii
from core.records import ArmKind, Deck
from core.steps import alignment

_STRAIGHT: Final = Reach(least_offset_deg=0.0, greatest_offset_deg=0.0)
_LONGEST_PIVOT_MM: Final = 450.0


@dataclass(frozen=True, slots=True)
class ProtractorPlan:
    """Everything the protractor sheets of a pivoted arm show.

    ``arm`` is what the alignment ``rule`` asks for on these ``grooves``; of a straight arm with the
    offset held at 0. The head of a certain deck may not reach it, which the alignment step says.
    Grids stand at ``nulls_mm``, one or two radii without tracking error. ``measured_here`` is
    whether pivot to spindle was measured, and is not the deck's own figure.
    """

    deck_name: str
    rule: str
    grooves: GrooveRadii
    arm: PivotedArm
    nulls_mm: tuple[float, ...]
    measured_here: bool = False

    @property
    def pivot_mm(self) -> float:
        """Pivot to spindle."""
        return self.arm.pivot_to_spindle_mm

    def stylus_at(self, radius_mm: float) -> XY:
        """Return where the stylus stands on a groove: spindle at (0, 0), pivot at (0, D).

        The third corner of the triangle with sides D, L and r (law of cosines), on the right
        hand of who looks from the spindle to the pivot, as on a deck with its arm on the right.
        """
        pivot, length = self.pivot_mm, self.arm.effective_length_mm
        y = (pivot**2 + radius_mm**2 - length**2) / (2.0 * pivot)
        return math.sqrt(max(radius_mm**2 - y**2, 0.0)), y

    def lines(self, numbers: Numbers) -> tuple[str, ...]:
        """Say deck, rule, radii, overhang and offset, a line each."""
        nulls = numbers.listed([numbers.plain(radius, 2) for radius in self.nulls_mm])
        inner, outer = numbers.short(self.grooves.inner_mm), numbers.short(self.grooves.outer_mm)
        overhang = self.arm.overhang_mm
        pivot = numbers.unit(self.pivot_mm, "mm")
        return (
            numbers.text(message("paper.protractor_plan.deck", deck_name=Name(self.deck_name))),
            numbers.text(message("paper.protractor_plan.alignment", rule=Name(self.rule))),
            numbers.text(
                message("paper.protractor_plan.nulls", count=len(self.nulls_mm), nulls=Name(nulls))
            ),
            numbers.text(
                message(
                    "paper.protractor_plan.grooves_served_to_mm",
                    inner=Name(inner),
                    outer=Name(outer),
                    source=Name(self.grooves.source),
                )
            ),
            numbers.text(
                message(
                    "paper.protractor_plan.lengths",
                    source="measured" if self.measured_here else "deck",
                    pivot=Name(pivot),
                    length=Name(numbers.unit(self.arm.effective_length_mm, "mm")),
                )
            ),
            numbers.text(
                message(
                    "paper.protractor_plan.offset",
                    how="over" if overhang >= 0 else "under",
                    offset=Name(numbers.unit(self.arm.offset_deg, "°")),
                    overhang=Name(numbers.unit(abs(overhang), "mm")),
                )
            ),
        )


def plan_for(
    deck: Deck, chosen: alignment.AlignmentChoices | None = None, pivot_mm: float | None = None
) -> ProtractorPlan:
    """Return what to draw for a deck, by default with the step's defaults and the deck's distance.

    Raises
    ------
    PaperProblem
        If the arm tracks along a radius and has no null radii, the deck has no pivot-to-spindle
        distance, or no arm meets the radii asked for.
    """
    chosen = chosen or alignment.AlignmentChoices()
    if not deck.arm.is_pivoted:
        raise PaperProblem(
            message("paper.protractor_plan.the_arm_of_tracks_along_a", deck=Name(deck.name)),
            message("paper.protractor_plan.it_gets_a_radius_line_sheet"),
        )
    distance = pivot_mm if pivot_mm is not None else deck.arm.pivot_to_spindle_mm
    if distance is None:
        raise PaperProblem(
            message("paper.protractor_plan.the_deck_has_no_pivot_to", deck=Name(deck.name)),
            message("paper.protractor_plan.measure_it_from_the_arms_pivot"),
        )
    if not 0.0 < distance <= _LONGEST_PIVOT_MM:
        raise PaperProblem(
            message(
                "paper.protractor_plan.a_pivot_mm_from_the_spindle", distance=Name(f"{distance:g}")
            ),
            message(
                "paper.protractor_plan.measure_again_it_lies_between_the",
                longest_pivot_mm=Name(f"{_LONGEST_PIVOT_MM:g}"),
            ),
        )
    arm = _arm_for(deck, chosen, distance)
    # Grids at radii that are not on paper anyway would be no help.
    nulls = tuple(r for r in null_radii_mm(arm) if 20.0 <= r <= 170.0)
    if not nulls:
        raise PaperProblem(
            message("paper.protractor_plan.this_alignment_has_no_radius_without"),
            message("paper.protractor_plan.choose_another_alignment_or_other_groove"),
        )
    return ProtractorPlan(
        deck_name=deck.name,
        rule=chosen.criterion.label,
        grooves=chosen.groove_radii,
        arm=arm,
        nulls_mm=nulls,
        measured_here=pivot_mm is not None,
    )


def plan_of(journey: Journey) -> ProtractorPlan:
    """Return what to draw for a fitting: its own choice, and the distance it goes by.

    Raises
    ------
    PaperProblem
        As :func:`plan_for`.
    """
    context = journey.context(alignment.NAME)
    return plan_for(journey.deck, chosen_in(context), _measured_distance(journey))


def chosen_in(context: Context) -> alignment.AlignmentChoices:
    """Return the alignment chosen in a fitting, its defaults where none was."""
    chosen = context.chosen.get(alignment.NAME)
    return (
        chosen if isinstance(chosen, alignment.AlignmentChoices) else alignment.AlignmentChoices()
    )


def _measured_distance(journey: Journey) -> float | None:
    """Return pivot to spindle as the alignment step goes by it, None where it is the deck's own."""
    found = journey.status(alignment.NAME).assessment
    length, overhang = found.figure("wanted_length"), found.figure("wanted_overhang")
    if length is None or overhang is None:
        return None
    distance = length.value - overhang.value
    stated = journey.deck.arm.pivot_to_spindle_mm
    return None if stated is not None and abs(distance - stated) < 1e-6 else distance


def _arm_for(deck: Deck, chosen: alignment.AlignmentChoices, distance: float) -> PivotedArm:
    try:
        grooves, nulls = chosen.groove_radii, chosen.own_nulls
        rule = chosen.criterion.solution
        if deck.arm.kind is ArmKind.PIVOTED_STRAIGHT:
            arm = best_for(distance, grooves, rule, _STRAIGHT, nulls).arm
        else:
            arm = solve(rule, distance, grooves, nulls)
    except ValueError as error:
        raise PaperProblem(
            message(
                "paper.protractor_plan.no_arm_with_its_pivot_mm",
                distance=Name(f"{distance:g}"),
            ),
            message("paper.protractor_plan.measure_pivot_to_spindle_again_or"),
        ) from error
    served = (chosen.groove_radii.inner_mm, chosen.groove_radii.outer_mm)
    if np.isnan(tracking_error_deg(arm, served)).any():
        raise PaperProblem(
            message(
                "paper.protractor_plan.with_its_pivot_mm_from_the",
                distance=Name(f"{distance:g}"),
                served=Name(f"{served[0]:g}"),
                served_2=Name(f"{served[1]:g}"),
            ),
            message("paper.protractor_plan.measure_pivot_to_spindle_again_or"),
        )
    return arm
