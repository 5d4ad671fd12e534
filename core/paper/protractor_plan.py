"""What a protractor is drawn for: the deck, the alignment chosen, and where the stylus must go."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from core.drawing.marks import XY
from core.fitting import Context, Journey
from core.language import Numbers
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
        nulls = " and ".join(numbers.plain(radius, 2) for radius in self.nulls_mm)
        inner, outer = numbers.short(self.grooves.inner_mm), numbers.short(self.grooves.outer_mm)
        overhang = self.arm.overhang_mm
        how = "overhang" if overhang >= 0 else "underhang"
        pivot = numbers.unit(self.pivot_mm, "mm")
        source = "as measured" if self.measured_here else "from the deck's page"
        return (
            f"Deck: {self.deck_name}",
            f"Alignment: {self.rule}",
            f"Null {'radii' if len(self.nulls_mm) > 1 else 'radius'}: {nulls} mm",
            f"Grooves served: {inner} to {outer} mm ({self.grooves.source})",
            (
                f"Pivot to spindle {pivot} ({source}); effective length "
                f"{numbers.unit(self.arm.effective_length_mm, 'mm')}"
            ),
            (
                f"Offset {numbers.unit(self.arm.offset_deg, '°')}; {how} "
                f"{numbers.unit(abs(overhang), 'mm')}"
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
            f"The arm of '{deck.name}' tracks along a radius and has no null radii.",
            "It gets a radius-line sheet instead.",
        )
    distance = pivot_mm if pivot_mm is not None else deck.arm.pivot_to_spindle_mm
    if distance is None:
        raise PaperProblem(
            f"The deck '{deck.name}' has no pivot-to-spindle distance.",
            "Measure it from the arm's pivot to the centre of the spindle and enter it with the "
            "deck.",
        )
    if not 0.0 < distance <= _LONGEST_PIVOT_MM:
        raise PaperProblem(
            f"A pivot {distance:g} mm from the spindle is no arm's.",
            f"Measure again: it lies between the outermost groove and {_LONGEST_PIVOT_MM:g} mm.",
        )
    arm = _arm_for(deck, chosen, distance)
    # Grids at radii that are not on paper anyway would be no help.
    nulls = tuple(r for r in null_radii_mm(arm) if 20.0 <= r <= 170.0)
    if not nulls:
        raise PaperProblem(
            "This alignment has no radius without tracking error on the record.",
            "Choose another alignment or other groove radii.",
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
            f"No arm with its pivot {distance:g} mm from the spindle can be aligned to these "
            f"radii: {_lowered(str(error))}",
            "Measure pivot to spindle again, or choose other radii.",
        ) from error
    served = (chosen.groove_radii.inner_mm, chosen.groove_radii.outer_mm)
    if np.isnan(tracking_error_deg(arm, served)).any():
        raise PaperProblem(
            f"With its pivot {distance:g} mm from the spindle the stylus can't reach the grooves "
            f"from {served[0]:g} to {served[1]:g} mm.",
            "Measure pivot to spindle again, or choose other radii.",
        )
    return arm


def _lowered(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]
