"""Where a pickup arm puts its stylus, and how far from the groove's tangent it points.

Signs, for this file and everything that builds on it
-----------------------------------------------------
- *Tracking error* ``e(r)``: positive when the head points outward of the tangent, so that turning
  it in (toward the spindle) would cure it. A head angle read against a protractor's grid line is
  this same number: positive = the head stands turned out, negative = turned in.
- *Offset* ``b``: positive when the head is turned in toward the spindle, seen against the line
  from pivot to stylus. Turning the head in by 1 degree takes 1 degree off ``e`` everywhere.
- *Overhang* ``L - D``: positive when the stylus, swung over the spindle, passes beyond it.
- *Landing error*: positive when the stylus lands beyond the mark, further from the pivot.
- *Slide* is wanted minus present effective length: positive = away from the pivot, forward.
- *Twist* is wanted minus present offset: positive = turn the head in.

The formula (derived; Löfgren 1938 and Baerwald 1941 start from the same triangle): with the
effective length L from pivot to stylus, D from pivot to spindle and the groove radius r, the law
of cosines gives ``sin(e + b) = (r^2 + L^2 - D^2) / (2 r L)``. The triangle exists for
``|L - D| <= r <= L + D``; elsewhere no such groove can be played and results are NaN.

Lengths are millimetres and angles degrees at the surface, radians inside.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def _require_finite(names: tuple[str, ...], *values: float) -> None:
    if all(map(math.isfinite, values)):
        return
    for name, value in zip(names, values, strict=True):
        if not math.isfinite(value):
            raise ValueError(f"{name} must be a finite number, not {value}.")


@dataclass(frozen=True, slots=True)
class PivotedArm:
    """An arm turning about one pivot; a straight underhung arm has offset 0 and L below D.

    Attributes
    ----------
    pivot_to_spindle_mm : float
        D, above 0.
    effective_length_mm : float
        L, pivot to stylus, above 0.
    offset_deg : float
        b, within -90 to 90.

    Raises
    ------
    ValueError
        If a value is not finite or outside its range.
    """

    pivot_to_spindle_mm: float
    effective_length_mm: float
    offset_deg: float

    def __post_init__(self) -> None:
        _require_finite(
            ("pivot_to_spindle_mm", "effective_length_mm", "offset_deg"),
            self.pivot_to_spindle_mm,
            self.effective_length_mm,
            self.offset_deg,
        )
        if self.pivot_to_spindle_mm <= 0 or self.effective_length_mm <= 0:
            raise ValueError("Pivot-to-spindle distance and effective length must be above 0 mm.")
        if abs(self.offset_deg) >= 90:
            raise ValueError(f"An offset of {self.offset_deg} deg is not a head on an arm.")

    @property
    def offset_rad(self) -> float:
        """Offset in radians."""
        return math.radians(self.offset_deg)

    @property
    def overhang_mm(self) -> float:
        """L - D; negative for an underhung arm."""
        return self.effective_length_mm - self.pivot_to_spindle_mm

    @property
    def linear_offset_mm(self) -> float:
        """L sin b: half the sum of the null radii."""
        return self.effective_length_mm * math.sin(self.offset_rad)

    @property
    def null_product_mm2(self) -> float:
        """L^2 - D^2: the product of the null radii, negative for an underhung arm."""
        return self.overhang_mm * (self.effective_length_mm + self.pivot_to_spindle_mm)

    def moved_to_pivot(self, pivot_to_spindle_mm: float) -> "PivotedArm":
        """Return the arm with the same null radii for another pivot-to-spindle distance."""
        length = math.sqrt(pivot_to_spindle_mm**2 + self.null_product_mm2)
        offset = math.degrees(math.asin(self.linear_offset_mm / length))
        return PivotedArm(pivot_to_spindle_mm, length, offset)


@dataclass(frozen=True, slots=True)
class ParallelArm:
    """An arm that carries the head along a straight line, not about a pivot.

    The limit of a pivoted arm with a pivot infinitely far off: L - D stays finite and becomes the
    distance by which the stylus's path misses the spindle, and the formula becomes
    ``sin(e + b) = x / r`` (derived). Set right, both numbers are 0 and so is the error everywhere.

    Attributes
    ----------
    stylus_offset_mm : float
        x, how far the stylus runs beyond the radius that lies along its path; positive = the
        stylus sits forward, on the side the head points to.
    head_angle_deg : float
        b, the head's angle to the square of its path; positive = turned in toward the spindle.

    Raises
    ------
    ValueError
        If a value is not finite or the angle is 90 degrees or more.
    """

    stylus_offset_mm: float = 0.0
    head_angle_deg: float = 0.0

    def __post_init__(self) -> None:
        _require_finite(
            ("stylus_offset_mm", "head_angle_deg"), self.stylus_offset_mm, self.head_angle_deg
        )
        if abs(self.head_angle_deg) >= 90:
            raise ValueError(f"A head angle of {self.head_angle_deg} deg is not a head on an arm.")


ArmGeometry = PivotedArm | ParallelArm


def sine_of_arm_angle(
    radius_mm: Floats,
    pivot_to_spindle_mm: float | Floats,
    effective_length_mm: float | Floats,
) -> Floats:
    """Return sin(e + b) = (r^2 + L^2 - D^2) / (2 r L), NaN where the groove is out of reach.

    Arrays of distances and lengths are broadcast against the radii.
    """
    product = (effective_length_mm - pivot_to_spindle_mm) * (
        effective_length_mm + pivot_to_spindle_mm
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        sine = (radius_mm + product / radius_mm) / (2.0 * effective_length_mm)
    return np.where((radius_mm > 0) & (np.abs(sine) <= 1.0), sine, np.nan)


def sine_and_offset_rad(arm: ArmGeometry, radius_mm: Floats) -> tuple[Floats, float]:
    """Return sin(e + b), NaN out of reach, and b in radians, for either kind of arm."""
    if isinstance(arm, PivotedArm):
        sine = sine_of_arm_angle(radius_mm, arm.pivot_to_spindle_mm, arm.effective_length_mm)
        return sine, arm.offset_rad
    with np.errstate(divide="ignore", invalid="ignore"):
        sine = arm.stylus_offset_mm / radius_mm
    sine = np.where((radius_mm > 0) & (np.abs(sine) <= 1.0), sine, np.nan)
    return sine, math.radians(arm.head_angle_deg)


def tracking_error_rad(arm: ArmGeometry, radius_mm: ArrayLike) -> Floats:
    """Tracking error in radians; see `tracking_error_deg`."""
    sine, offset = sine_and_offset_rad(arm, np.asarray(radius_mm, dtype=np.float64))
    return np.asarray(np.arcsin(sine) - offset)


def tracking_error_deg(arm: ArmGeometry, radius_mm: ArrayLike) -> Floats:
    """Tracking error e(r), positive when the head points outward of the tangent.

    Parameters
    ----------
    arm : PivotedArm or ParallelArm
        The arm.
    radius_mm : array_like
        Groove radii, any shape.

    Returns
    -------
    ndarray
        Degrees, the shape of `radius_mm`; NaN for grooves this arm cannot reach
        (outside |L - D| to L + D, or inside a parallel arm's miss distance).
    """
    return np.degrees(tracking_error_rad(arm, radius_mm))


def tracking_errors_deg(arms: Sequence[ArmGeometry], radius_mm: Floats) -> Floats:
    """Return `tracking_error_deg` of several arms, shape (arms, radii), pivoted ones in one go."""
    pivoted = [arm for arm in arms if isinstance(arm, PivotedArm)]
    if len(pivoted) < len(arms):
        return np.array([tracking_error_deg(arm, radius_mm) for arm in arms])
    sine = sine_of_arm_angle(
        radius_mm,
        np.array([[arm.pivot_to_spindle_mm] for arm in pivoted]),
        np.array([[arm.effective_length_mm] for arm in pivoted]),
    )
    offset = np.array([[arm.offset_rad] for arm in pivoted])
    return np.asarray(np.degrees(np.arcsin(sine) - offset))


def error_and_slopes_deg(arm: PivotedArm, radius_mm: float) -> tuple[float, float, float]:
    """Return e (deg), de/dL and de/dD (deg per mm; derived) at one radius; NaN out of reach.

    de/dL is about 0.84 deg/mm at 66 mm and 0.41 deg/mm at 121 mm for D = 222 mm. At the ends of
    reach the slopes are infinite. The third derivative, de/db, is -1 deg/deg at every radius.
    """
    length, pivot = arm.effective_length_mm, arm.pivot_to_spindle_mm
    if not radius_mm > 0:
        return math.nan, math.nan, math.nan
    sine = (radius_mm + arm.null_product_mm2 / radius_mm) / (2.0 * length)
    if not abs(sine) <= 1.0:
        return math.nan, math.nan, math.nan
    error = math.degrees(math.asin(sine) - arm.offset_rad)
    root = math.sqrt(1.0 - sine**2)
    by_length = (length**2 + pivot**2 - radius_mm**2) / (2.0 * radius_mm * length**2)
    by_pivot = -pivot / (radius_mm * length)
    if root == 0.0:
        return error, math.copysign(math.inf, by_length), math.copysign(math.inf, by_pivot)
    return error, math.degrees(by_length / root), math.degrees(by_pivot / root)


def null_radii_mm(arm: ArmGeometry) -> tuple[float, ...]:
    """Radii without tracking error, ascending: two, one or none.

    Roots above 0 of r^2 - 2 r L sin b + (L^2 - D^2) = 0 (derived): two for an ordinary offset
    arm, one for an underhung one, none when the overhang is too great for the offset (or a
    straight arm overhangs). A parallel arm has one where x / sin b is above 0; with x = b = 0
    every radius is a null and the result is empty: ask `tracking_error_deg`.
    """
    if isinstance(arm, ParallelArm):
        sine = math.sin(math.radians(arm.head_angle_deg))
        radius = arm.stylus_offset_mm / sine if sine else 0.0
        return (radius,) if radius > 0 else ()
    half_sum, product = arm.linear_offset_mm, arm.null_product_mm2
    discriminant = half_sum**2 - product
    if discriminant < 0:
        return ()
    far = half_sum + math.copysign(math.sqrt(discriminant), half_sum)
    roots = {far, product / far} if far else {0.0}
    return tuple(sorted(root for root in roots if root > 0))
