"""Which effective length and offset a pivoted arm should have, by published and exact rules.

All of them weigh the tracking error by 1 / r, as distortion does. The published ones use the
small-angle form: with P = L^2 - D^2 and l = L sin b, the weighed error e / r is proportional to
``1 - 2 l / r + P / r^2``, a parabola in 1 / r. The exact ones minimise e / r itself at the given D.
Signs and units as in `core.physics.arm_geometry`.
"""

import math
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

import numpy as np

from core.physics.arm_geometry import Floats, PivotedArm, sine_of_arm_angle
from core.physics.groove_radii import GrooveRadii
from core.physics.tracking_distortion import weighed_extremes_per_mm


class Solution(StrEnum):
    """A rule for choosing effective length and offset."""

    LOFGREN_A = "Löfgren A (Baerwald)"
    LOFGREN_B = "Löfgren B"
    STEVENSON = "Stevenson"
    FREE_LEAST_SQUARES = "least squares, both free"
    EXACT_MINIMAX = "least worst, exact"
    EXACT_LEAST_SQUARES = "least squares, exact"
    OWN_NULLS = "own null radii"


@dataclass(frozen=True, slots=True)
class NullRadii:
    """Two radii at which the tracking error is to vanish.

    Raises
    ------
    ValueError
        Unless 0 < inner <= outer, both finite.
    """

    inner_mm: float
    outer_mm: float

    def __post_init__(self) -> None:
        if not 0 < self.inner_mm <= self.outer_mm < math.inf:
            raise ValueError(
                f"The inner null radius ({self.inner_mm} mm) must lie above 0 and not outside "
                f"the outer one ({self.outer_mm} mm)."
            )

    @property
    def product_mm2(self) -> float:
        """L^2 - D^2."""
        return self.inner_mm * self.outer_mm

    @property
    def linear_offset_mm(self) -> float:
        """L sin b."""
        return (self.inner_mm + self.outer_mm) / 2.0


def arm_for_nulls(pivot_to_spindle_mm: float, nulls: NullRadii) -> PivotedArm:
    """Return the arm whose tracking error vanishes at both radii (exact).

    L = sqrt(D^2 + r1 r2), sin b = (r1 + r2) / (2 L).

    Raises
    ------
    ValueError
        If D is not a finite number above the outer null radius: the pivot would stand over
        the record.
    """
    if not nulls.outer_mm < pivot_to_spindle_mm < math.inf:
        raise ValueError(
            f"The pivot ({pivot_to_spindle_mm} mm from the spindle) must stand further out than "
            f"the outer null radius ({nulls.outer_mm:.1f} mm)."
        )
    length = math.sqrt(pivot_to_spindle_mm**2 + nulls.product_mm2)
    offset = math.degrees(math.asin(nulls.linear_offset_mm / length))
    return PivotedArm(pivot_to_spindle_mm, length, offset)


def _nulls_of_parabola(linear_offset_mm: float, product_mm2: float) -> NullRadii:
    spread = math.sqrt(linear_offset_mm**2 - product_mm2)
    return NullRadii(linear_offset_mm - spread, linear_offset_mm + spread)


def lofgren_a_nulls(grooves: GrooveRadii) -> NullRadii:
    """Null radii for the least worst e / r (Löfgren 1938; Baerwald 1941 agrees).

    The parabola in 1 / r is the second Chebyshev polynomial on the grooves, so its zeros stand
    at 1/sqrt 2 of the half-width about the middle of 1 / r (derived).
    """
    inner, outer = grooves.inner_mm, grooves.outer_mm
    s = 1.0 / math.sqrt(2.0)
    top = 2.0 * inner * outer
    return NullRadii(
        top / ((1.0 + s) * outer + (1.0 - s) * inner),
        top / ((1.0 - s) * outer + (1.0 + s) * inner),
    )


def _moment(power: int, grooves: GrooveRadii) -> float:
    """Integral of r^-power over the grooves, power at least 2."""
    n = power - 1
    return (grooves.inner_mm**-n - grooves.outer_mm**-n) / n


def lofgren_b_nulls(grooves: GrooveRadii) -> NullRadii:
    """Null radii for Löfgren's second solution: A's linear offset, least mean square of e / r.

    Setting the derivative by P of the integral of (1 - 2 l / r + P / r^2)^2 dr to 0 (derived).
    """
    half_sum = lofgren_a_nulls(grooves).linear_offset_mm
    product = (2.0 * half_sum * _moment(3, grooves) - _moment(2, grooves)) / _moment(4, grooves)
    return _nulls_of_parabola(half_sum, product)


def stevenson_nulls(grooves: GrooveRadii) -> NullRadii:
    """Null radii with one null at the innermost groove (Stevenson 1966).

    The outer one makes |e / r| at the outermost groove equal to its extreme between the nulls,
    which leaves a quadratic (derived).
    """
    inner, outer = grooves.inner_mm, grooves.outer_mm
    k = inner / outer
    a = 1.0 + 4.0 * k * (1.0 - k)
    half_b = inner * (1.0 + 2.0 * (1.0 - k))
    return NullRadii(inner, (half_b + math.sqrt(half_b**2 - a * inner**2)) / a)


def free_least_squares_nulls(grooves: GrooveRadii) -> NullRadii:
    """Null radii for the least mean square of e / r with length and offset both free (derived)."""
    first = math.log(grooves.outer_mm / grooves.inner_mm)
    second, third, fourth = (_moment(power, grooves) for power in (2, 3, 4))
    # the normal equations: P * fourth - 2 l * third = -second, P * third - 2 l * second = -first
    determinant = third**2 - fourth * second
    product = (second**2 - first * third) / determinant
    twice_l = (second * third - first * fourth) / determinant
    return _nulls_of_parabola(twice_l / 2.0, product)


def groove_nodes(grooves: GrooveRadii, count: int = 24) -> tuple[Floats, Floats]:
    """Gauss-Legendre radii (mm) and weights (mm) over the grooves, each of shape (count,)."""
    x, weight = np.polynomial.legendre.leggauss(count)
    half = (grooves.outer_mm - grooves.inner_mm) / 2.0
    return (grooves.outer_mm + grooves.inner_mm) / 2.0 + half * x, half * weight


def _length_slope(radius_mm: Floats, pivot_mm: float, length_mm: float, sine: Floats) -> Floats:
    slope = (length_mm**2 + pivot_mm**2 - radius_mm**2) / (2.0 * radius_mm * length_mm**2)
    return np.asarray(slope / np.sqrt(1.0 - sine**2))


def _exact_least_squares(pivot_mm: float, grooves: GrooveRadii) -> PivotedArm:
    radius, weight = groove_nodes(grooves)
    scale = np.sqrt(weight) / radius
    start = arm_for_nulls(pivot_mm, free_least_squares_nulls(grooves))
    length, offset = start.effective_length_mm, start.offset_rad
    for _ in range(40):
        sine = sine_of_arm_angle(radius, pivot_mm, length)
        residual = scale * (np.arcsin(sine) - offset)
        slopes = np.column_stack((scale * _length_slope(radius, pivot_mm, length, sine), -scale))
        step = np.linalg.lstsq(slopes, -residual, rcond=None)[0]
        length, offset = length + float(step[0]), offset + float(step[1])
        if abs(step[0]) < 1e-10:
            break
    return PivotedArm(pivot_mm, length, math.degrees(offset))


def _exact_minimax(pivot_mm: float, grooves: GrooveRadii) -> PivotedArm:
    """Remez exchange: e / r takes the same size with alternating sign at three radii."""
    arm = arm_for_nulls(pivot_mm, lofgren_a_nulls(grooves))
    signs = np.array([1.0, -1.0, 1.0])
    for _ in range(30):
        radius, weighed = weighed_extremes_per_mm(arm, grooves, "angle")
        length = arm.effective_length_mm
        sine = sine_of_arm_angle(radius, pivot_mm, length)
        slopes = np.column_stack(
            (_length_slope(radius, pivot_mm, length, sine) / radius, -1.0 / radius, -signs)
        )
        step = np.linalg.solve(slopes, -weighed)
        arm = PivotedArm(
            pivot_mm, length + float(step[0]), math.degrees(arm.offset_rad + float(step[1]))
        )
        if abs(step[0]) < 1e-10:
            break
    return arm


@lru_cache(maxsize=256)
def solve(
    solution: Solution,
    pivot_to_spindle_mm: float,
    grooves: GrooveRadii,
    own_nulls: NullRadii | None = None,
) -> PivotedArm:
    """Return the arm that a solution asks for at this pivot-to-spindle distance, nothing held.

    Parameters
    ----------
    solution : Solution
        The rule. `EXACT_MINIMAX` and `EXACT_LEAST_SQUARES` minimise the largest |e / r|, or the
        integral of (e / r)^2 dr, over the grooves without small angles.
    pivot_to_spindle_mm : float
        D, above the outer groove radius.
    grooves : GrooveRadii
        The grooves to serve.
    own_nulls : NullRadii, optional
        Needed for `OWN_NULLS`, unused otherwise.

    Raises
    ------
    ValueError
        If D does not clear the grooves, or own nulls are wanted and missing.
    """
    if not grooves.outer_mm < pivot_to_spindle_mm < math.inf:
        raise ValueError(
            f"The pivot ({pivot_to_spindle_mm} mm from the spindle) must stand further out than "
            f"the outermost groove ({grooves.outer_mm} mm)."
        )
    if solution is Solution.EXACT_MINIMAX:
        return _exact_minimax(pivot_to_spindle_mm, grooves)
    if solution is Solution.EXACT_LEAST_SQUARES:
        return _exact_least_squares(pivot_to_spindle_mm, grooves)
    if solution is Solution.OWN_NULLS:
        if own_nulls is None:
            raise ValueError("Alignment to own null radii needs both radii.")
        return arm_for_nulls(pivot_to_spindle_mm, own_nulls)
    closed_form = {
        Solution.LOFGREN_A: lofgren_a_nulls,
        Solution.LOFGREN_B: lofgren_b_nulls,
        Solution.STEVENSON: stevenson_nulls,
        Solution.FREE_LEAST_SQUARES: free_least_squares_nulls,
    }[solution]
    return arm_for_nulls(pivot_to_spindle_mm, closed_form(grooves))
