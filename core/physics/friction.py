"""Skating: the side force of friction, and its compensation.

Side force is positive toward the spindle.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

MU_PUBLISHED = (0.25, 0.30)
"""Friction of a stylus on a record: Pardee, JAES, December 1981 (second-hand)."""
MU_PRACTICE = (0.2, 0.5)
"""The wider band that stylus shapes and grooves span: common practice, no source."""
MU_USUAL = 0.3
"""Upper end of the published band, taken where one figure is needed."""


def groove_angle_rad(
    radius_mm: npt.ArrayLike, length_mm: float, pivot_to_spindle_mm: float
) -> FloatArray:
    """Angle between the groove and the line from stylus to pivot, radians.

    asin((r^2 + L^2 - D^2) / (2 r L)), derived; the head's offset does not come into it. Negative
    on an underhung arm inside of its null.

    Raises
    ------
    ValueError
        A radius the stylus can't reach.
    """
    radius = np.asarray(radius_mm, dtype=float)
    sine = (radius**2 + length_mm**2 - pivot_to_spindle_mm**2) / (2.0 * radius * length_mm)
    if np.any(np.abs(sine) > 1.0):
        raise ValueError("The stylus of this arm does not reach one of these radii.")
    angle: FloatArray = np.arcsin(sine)
    return angle


def side_force_gf(
    radius_mm: npt.ArrayLike,
    downforce_gf: float,
    friction: float,
    length_mm: float,
    pivot_to_spindle_mm: float,
) -> FloatArray:
    """Side force square to the line from stylus to pivot, gf, the shape of `radius_mm`.

    friction x downforce x (r + r1 r2 / r) / (2 L) with r1 r2 = L^2 - D^2 (derived). Least at
    sqrt(r1 r2) when the arm overhangs; it changes sign at sqrt(D^2 - L^2) when it underhangs. A
    parallel-tracking arm has none: don't ask.
    """
    angle = groove_angle_rad(radius_mm, length_mm, pivot_to_spindle_mm)
    force: FloatArray = friction * downforce_gf * np.sin(angle)
    return force


def sign_change_radius_mm(length_mm: float, pivot_to_spindle_mm: float) -> float | None:
    """Radius at which an underhung arm's side force is nil and changes sign; None if overhung."""
    square = pivot_to_spindle_mm**2 - length_mm**2
    return math.sqrt(square) if square > 0.0 else None


@dataclass(frozen=True, slots=True)
class Compensation:
    """Force at the stylus that compensates for the mean side force over the groove, gf.

    For the lower, the usual and the upper friction.
    """

    low_gf: float
    middle_gf: float
    high_gf: float


def compensation_gf(
    downforce_gf: float,
    length_mm: float,
    pivot_to_spindle_mm: float,
    inner_mm: float,
    outer_mm: float,
    *,
    friction: tuple[float, float, float] = (MU_PUBLISHED[0], MU_USUAL, MU_PRACTICE[1]),
) -> Compensation:
    """Constant compensation that meets the mean side force between two radii.

    The mean over radius of (r + r1 r2 / r) / (2 L) in closed form:
    ((R2^2 - R1^2) / 2 + r1 r2 ln(R2 / R1)) / (2 L (R2 - R1)), derived.
    """
    if not 0.0 < inner_mm < outer_mm:
        raise ValueError("The inner groove radius must be above zero and below the outer.")
    product = length_mm**2 - pivot_to_spindle_mm**2
    mean = (0.5 * (outer_mm**2 - inner_mm**2) + product * math.log(outer_mm / inner_mm)) / (
        2.0 * length_mm * (outer_mm - inner_mm)
    )
    low, middle, high = (downforce_gf * mu * mean for mu in friction)
    return Compensation(low, middle, high)


def thread_force_gf(mass_g: float, lever_mm: float, length_mm: float) -> float:
    """Force at the stylus of a weight on a thread that pulls at a lever: mass x lever / length.

    Moments about the pivot (derived), with the thread square to its lever.
    """
    if not length_mm > 0.0:
        raise ValueError("The effective length must be above zero.")
    return mass_g * lever_mm / length_mm
