"""The best alignment an arm can really be given: slots end, heads are fixed, arms are straight.

A solution (see `core.physics.alignment_solutions`) is used as it stands where the arm can be set
to it. Where it cannot, its own measure is minimised over what the arm allows:

- Löfgren A and the exact minimax: the largest |e / r| over the grooves;
- Löfgren B and both least squares: the integral of (e / r)^2 over the grooves;
- own null radii: the sum of (e / r)^2 at those two radii;
- Stevenson: no error at the innermost groove, as near as can be had; that is what it is for.

Every one of these falls toward a single valley in (L, b), so where the solution is out of reach
the optimum stands on an edge that keeps it out, and those edges are searched one by one (checked
against a brute-force optimiser).
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache
from typing import Final

import numpy as np

from core.physics.alignment_solutions import NullRadii, Solution, groove_nodes, solve
from core.physics.arm_geometry import Floats, PivotedArm, null_radii_mm, sine_of_arm_angle
from core.physics.groove_radii import GrooveRadii
from core.physics.tracking_distortion import (
    WorstTracking,
    find_root,
    weighed_extremes_per_mm,
    worst_tracking,
)

_EDGE_TOLERANCE: Final = 1e-9
_MINIMAX: Final = frozenset({Solution.LOFGREN_A, Solution.EXACT_MINIMAX})


@dataclass(frozen=True, slots=True)
class Reach:
    """What effective lengths and offsets the arm and head allow; equal ends mean fixed.

    Raises
    ------
    ValueError
        If a lower limit lies above its upper one, or a limit is not a number.
    """

    shortest_mm: float = 0.0
    longest_mm: float = math.inf
    least_offset_deg: float = -90.0
    greatest_offset_deg: float = 90.0

    def __post_init__(self) -> None:
        if not self.shortest_mm <= self.longest_mm:
            raise ValueError(
                f"The shortest effective length ({self.shortest_mm} mm) lies above the longest "
                f"({self.longest_mm} mm)."
            )
        if not self.least_offset_deg <= self.greatest_offset_deg:
            raise ValueError(
                f"The least offset ({self.least_offset_deg} deg) lies above the greatest "
                f"({self.greatest_offset_deg} deg)."
            )

    def allows(self, arm: PivotedArm) -> bool:
        """Whether the arm lies inside, ends included."""
        return (
            self.shortest_mm - _EDGE_TOLERANCE
            <= arm.effective_length_mm
            <= self.longest_mm + _EDGE_TOLERANCE
            and self.least_offset_deg - _EDGE_TOLERANCE
            <= arm.offset_deg
            <= self.greatest_offset_deg + _EDGE_TOLERANCE
        )


ANYTHING: Final = Reach()


class Edge(StrEnum):
    """An end of the reach that keeps an alignment from its solution."""

    SHORTEST = "shortest effective length"
    LONGEST = "longest effective length"
    LEAST_OFFSET = "least offset"
    GREATEST_OFFSET = "greatest offset"
    FIXED_LENGTH = "effective length is fixed"
    FIXED_OFFSET = "offset is fixed"


@dataclass(frozen=True, slots=True)
class Alignment:
    """The target for an arm.

    `arm` is the best within reach, `solution_arm` what the solution asks for, `held_by` what keeps
    the two apart; `worst` is for `arm` within the grooves at 33 1/3 rpm and 100 mm/s.
    """

    solution: Solution
    grooves: GrooveRadii
    arm: PivotedArm
    solution_arm: PivotedArm
    held_by: tuple[Edge, ...]
    nulls_mm: tuple[float, ...]
    worst: WorstTracking


def length_for_null(
    pivot_to_spindle_mm: float, radius_mm: float | Floats, offset_deg: float
) -> Floats:
    """Effective length whose error vanishes at this radius with the offset given (exact).

    L = r sin b + sqrt(D^2 - (r cos b)^2), the longer of the two that fit the triangle; D above r.
    """
    radius, offset = np.asarray(radius_mm, dtype=np.float64), math.radians(offset_deg)
    return np.asarray(
        radius * math.sin(offset)
        + np.sqrt(pivot_to_spindle_mm**2 - (radius * math.cos(offset)) ** 2)
    )


def offset_for_null_deg(
    pivot_to_spindle_mm: float, radius_mm: float | Floats, effective_length_mm: float
) -> Floats:
    """Offset whose error vanishes at this radius with the length given; NaN out of reach."""
    radius = np.asarray(radius_mm, dtype=np.float64)
    return np.degrees(
        np.arcsin(sine_of_arm_angle(radius, pivot_to_spindle_mm, effective_length_mm))
    )


@dataclass(frozen=True, slots=True)
class _Measure:
    """How good an arm is, and which way to go along one axis: `balance` is 0 at the best."""

    radius_mm: Floats
    cost: Callable[[PivotedArm], float]
    length_balance: Callable[[PivotedArm], float]
    offset_balance: Callable[[PivotedArm], float]


def _minimax_measure(grooves: GrooveRadii) -> _Measure:
    def cost(arm: PivotedArm) -> float:
        return float(np.max(np.abs(weighed_extremes_per_mm(arm, grooves, "angle")[1])))

    def balance(arm: PivotedArm) -> float:
        # e rises with L and falls with b at every radius, and so do its highest and lowest value
        weighed = weighed_extremes_per_mm(arm, grooves, "angle")[1]
        return float(np.max(weighed) + np.min(weighed))

    return _Measure(
        np.linspace(grooves.inner_mm, grooves.outer_mm, 33), cost, balance, lambda a: -balance(a)
    )


def _squares_measure(radius_mm: Floats, weight: Floats) -> _Measure:
    def error(arm: PivotedArm) -> tuple[Floats, Floats]:
        sine = sine_of_arm_angle(radius_mm, arm.pivot_to_spindle_mm, arm.effective_length_mm)
        return sine, np.arcsin(sine) - arm.offset_rad

    def cost(arm: PivotedArm) -> float:
        return float(np.sum(weight * (error(arm)[1] / radius_mm) ** 2))

    def length_balance(arm: PivotedArm) -> float:
        sine, e = error(arm)
        length, pivot = arm.effective_length_mm, arm.pivot_to_spindle_mm
        slope = (length**2 + pivot**2 - radius_mm**2) / (radius_mm * np.sqrt(1.0 - sine**2))
        return float(np.sum(weight * e * slope / radius_mm**2))

    def offset_balance(arm: PivotedArm) -> float:
        return -float(np.sum(weight * error(arm)[1] / radius_mm**2))

    return _Measure(radius_mm, cost, length_balance, offset_balance)


def _innermost_measure(grooves: GrooveRadii) -> _Measure:
    # each edge is searched for the innermost null; between two edges the whole side decides
    inner = _squares_measure(np.array([grooves.inner_mm]), np.ones(1))
    return replace(inner, cost=_minimax_measure(grooves).cost)


def _measure(solution: Solution, grooves: GrooveRadii, own_nulls: NullRadii | None) -> _Measure:
    if solution in _MINIMAX:
        return _minimax_measure(grooves)
    if solution is Solution.STEVENSON:
        return _innermost_measure(grooves)
    if solution is Solution.OWN_NULLS and own_nulls is not None:
        return _squares_measure(np.array([own_nulls.inner_mm, own_nulls.outer_mm]), np.ones(2))
    return _squares_measure(*groove_nodes(grooves))


def _best_between(
    natural: Floats, low: float, high: float, balance: Callable[[float], float]
) -> float:
    """Best value of one coordinate in [low, high], known to lie in the natural range if free."""
    bottom, top = float(np.min(natural)), float(np.max(natural))
    if top <= low:
        return low
    if bottom >= high:
        return high
    bottom, top = max(bottom, low), min(top, high)
    at_bottom, at_top = balance(bottom), balance(top)
    if at_bottom >= 0:
        return bottom
    if at_top <= 0:
        return top
    return find_root(balance, bottom, top, tolerance=1e-12, ends=(at_bottom, at_top))


def _crossed(value: float, low: float, high: float) -> list[float]:
    """Return the end of [low, high] that keeps this value out, if one does."""
    return [low] if value < low else [high] if value > high else []


def _best_offset_deg(
    pivot_mm: float, length_mm: float, reach: Reach, measure: _Measure
) -> float | None:
    """Best offset within reach at this length, None where a groove of the measure is too far."""
    natural = offset_for_null_deg(pivot_mm, measure.radius_mm, length_mm)
    if np.isnan(natural).any():
        return None
    return _best_between(
        natural,
        reach.least_offset_deg,
        reach.greatest_offset_deg,
        lambda offset: measure.offset_balance(PivotedArm(pivot_mm, length_mm, offset)),
    )


def _best_length_mm(pivot_mm: float, offset_deg: float, reach: Reach, measure: _Measure) -> float:
    """Best effective length within reach at this offset."""
    # past |L - D| = r the smallest radius of the measure is out of the arm's reach
    span_mm = 0.999 * float(np.min(measure.radius_mm))
    natural = length_for_null(pivot_mm, measure.radius_mm, offset_deg)
    return _best_between(
        np.clip(natural, pivot_mm - span_mm, pivot_mm + span_mm),
        reach.shortest_mm,
        reach.longest_mm,
        lambda length: measure.length_balance(PivotedArm(pivot_mm, length, offset_deg)),
    )


def _edge_candidates(wanted: PivotedArm, reach: Reach, measure: _Measure) -> list[PivotedArm]:
    pivot_mm = wanted.pivot_to_spindle_mm
    candidates = []
    for length in _crossed(wanted.effective_length_mm, reach.shortest_mm, reach.longest_mm):
        offset = _best_offset_deg(pivot_mm, length, reach, measure)
        if offset is not None:
            candidates.append(PivotedArm(pivot_mm, length, offset))
    for edge in _crossed(wanted.offset_deg, reach.least_offset_deg, reach.greatest_offset_deg):
        length = _best_length_mm(pivot_mm, edge, reach, measure)
        candidates.append(PivotedArm(pivot_mm, length, edge))
    return candidates


def _held_by(arm: PivotedArm, reach: Reach) -> tuple[Edge, ...]:
    held = []
    if reach.shortest_mm == reach.longest_mm:
        held.append(Edge.FIXED_LENGTH)
    elif abs(arm.effective_length_mm - reach.shortest_mm) <= _EDGE_TOLERANCE:
        held.append(Edge.SHORTEST)
    elif abs(arm.effective_length_mm - reach.longest_mm) <= _EDGE_TOLERANCE:
        held.append(Edge.LONGEST)
    if reach.least_offset_deg == reach.greatest_offset_deg:
        held.append(Edge.FIXED_OFFSET)
    elif abs(arm.offset_deg - reach.least_offset_deg) <= _EDGE_TOLERANCE:
        held.append(Edge.LEAST_OFFSET)
    elif abs(arm.offset_deg - reach.greatest_offset_deg) <= _EDGE_TOLERANCE:
        held.append(Edge.GREATEST_OFFSET)
    return tuple(held)


@lru_cache(maxsize=256)
def best_for(
    pivot_to_spindle_mm: float,
    grooves: GrooveRadii,
    solution: Solution,
    reach: Reach = ANYTHING,
    own_nulls: NullRadii | None = None,
) -> Alignment:
    """Return the best alignment within reach for this pivot-to-spindle distance.

    A head that cannot be twisted is a reach with one offset, a straight underhung arm one with
    offset 0, an arm that cannot be slid one with one length, a plug-in both.

    Parameters
    ----------
    pivot_to_spindle_mm : float
        D, above the outer groove radius.
    grooves, solution, own_nulls
        As in `core.physics.alignment_solutions.solve`.
    reach : Reach
        What the arm allows; default anything.

    Raises
    ------
    ValueError
        If D does not clear the grooves, own nulls are wanted and missing, or no length within
        reach lets the stylus get to the innermost groove.
    """
    wanted = solve(solution, pivot_to_spindle_mm, grooves, own_nulls)
    arm = wanted
    if not reach.allows(wanted):
        measure = _measure(solution, grooves, own_nulls)
        usable = [
            candidate
            for candidate in _edge_candidates(wanted, reach, measure)
            if abs(candidate.overhang_mm) < grooves.inner_mm
        ]
        if not usable:
            raise ValueError(
                f"With an effective length of {reach.shortest_mm:g} to {reach.longest_mm:g} mm "
                f"and the pivot {pivot_to_spindle_mm:g} mm from the spindle, the stylus can't "
                f"reach the groove at {grooves.inner_mm:g} mm; measure both again."
            )
        arm = min(usable, key=measure.cost)
    return Alignment(
        solution,
        grooves,
        arm,
        wanted,
        () if arm is wanted else _held_by(arm, reach),
        null_radii_mm(arm),
        worst_tracking(arm, grooves),
    )
