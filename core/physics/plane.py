"""Level: the plane of the plinth from slopes along directions.

Bearings run clockwise as seen from above: 0 degrees points to the back (+y), 90 to the right
(+x), 180 to the front, 270 to the left. A slope is positive when the deck rises along the
bearing, in millimetres per metre.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from core.estimation import Disagreement, Estimate, worst_residual

_LEAST_SPREAD = math.sin(math.radians(10.0))
"""Directions closer together than this (sine) don't count as two."""


def degrees_of_slope(slope_mm_per_m: float) -> float:
    """Angle of a slope: atan(slope / 1000), so 1 mm/m is 0.0573 degrees (derived)."""
    return math.degrees(math.atan(slope_mm_per_m / 1000.0))


def slope_of_degrees(angle_deg: float) -> float:
    """Slope in mm/m that an inclinometer's angle stands for (below 90 degrees)."""
    return 1000.0 * math.tan(math.radians(angle_deg))


def slope_of_bubble(divisions: float, sensitivity_mm_per_m: float) -> float:
    """Slope in mm/m from a bubble: it goes to the high side, so towards the bearing is positive."""
    return divisions * sensitivity_mm_per_m


def slope_of_gap(rise_mm: float, length_mm: float) -> float:
    """Slope in mm/m from a ruler under a straightedge: rise towards the bearing over its length."""
    if not length_mm > 0.0:
        raise ValueError("The straightedge needs a length above zero.")
    return 1000.0 * rise_mm / length_mm


def direction(bearing_deg: float) -> tuple[float, float]:
    """Return the unit vector (x right, y back) of a bearing."""
    angle = math.radians(bearing_deg)
    return math.sin(angle), math.cos(angle)


@dataclass(frozen=True, slots=True)
class SlopeReading:
    """One slope along one direction.

    The bearing is where the level's marked end points before any turning; the slope is positive
    when the level says that its marked end is high; the uncertainty leaves the level's zero error
    out. `turned`: the level lies end for end on the same line, so that a true slope shows with the
    opposite sign while the zero error keeps its own.
    """

    bearing_deg: float
    slope_mm_per_m: float
    standard_uncertainty_mm_per_m: float
    turned: bool = False

    def unit(self) -> tuple[float, float]:
        """Direction of the level's marked end, as a unit vector."""
        return direction(self.bearing_deg + (180.0 if self.turned else 0.0))


@dataclass(frozen=True, slots=True)
class PlaneFit:
    """The plane that the slopes describe, mm/m: rise to the right (`gx`) and to the back (`gy`).

    The covariance (2 by 2) includes the level's zero error, which is solved when some direction was
    read both ways, else 0 with the uncertainty stated for the level. Residuals are reading less
    plane, in the order read; `worst` disagrees with the plane by more than chance explains.
    """

    gx: Estimate
    gy: Estimate
    covariance: tuple[tuple[float, float], tuple[float, float]]
    zero_error: Estimate
    zero_error_solved: bool
    residuals_mm_per_m: tuple[float, ...]
    worst: Disagreement | None

    @property
    def slope(self) -> tuple[float, float]:
        """Rise to the right and to the back, mm/m."""
        return self.gx.value, self.gy.value

    @property
    def tilt(self) -> Estimate:
        """Steepest slope |g|, mm/m.

        Its uncertainty is that along the steepest line; where the tilt is not told apart from
        zero no line stands out, and the largest over all lines is taken.
        """
        (xx, _), (xy, yy) = self.covariance
        x, y = self.slope
        size = math.hypot(x, y)
        # the larger root of a symmetric two by two
        largest = 0.5 * (xx + yy) + math.hypot(0.5 * (xx - yy), xy)
        if size <= 2.0 * math.sqrt(max(largest, 0.0)):
            return Estimate(size, math.sqrt(max(largest, 0.0)))
        along = (x * x * xx + 2.0 * x * y * xy + y * y * yy) / (size * size)
        return Estimate(size, math.sqrt(max(along, 0.0)))

    @property
    def tilt_deg(self) -> Estimate:
        """The same in degrees."""
        tilt = self.tilt
        per_mm = math.degrees(1.0 / 1000.0) / (1.0 + (tilt.value / 1000.0) ** 2)
        return Estimate(degrees_of_slope(tilt.value), tilt.standard_uncertainty * per_mm)

    @property
    def high_bearing_deg(self) -> float:
        """Bearing of the high side, 0 to below 360; without meaning when the tilt is zero."""
        return math.degrees(math.atan2(self.gx.value, self.gy.value)) % 360.0


def directions_suffice(readings: Sequence[SlopeReading]) -> bool:
    """Whether two of the directions lie at least 10 degrees apart, so that a plane is fixed."""
    return any(
        abs(a[0] * b[1] - a[1] * b[0]) >= _LEAST_SPREAD
        for a, b in itertools.combinations([reading.unit() for reading in readings], 2)
    )


def read_both_ways(readings: Sequence[SlopeReading]) -> bool:
    """Whether the level lay along some line with its marked end at either side in turn."""
    return any(
        a[0] * b[0] + a[1] * b[1] < -1.0 + 1e-6
        for a, b in itertools.combinations([reading.unit() for reading in readings], 2)
    )


def fit_plane(
    readings: Sequence[SlopeReading], *, zero_error_standard_uncertainty_mm_per_m: float = 0.0
) -> PlaneFit | None:
    """Plane slope and level zero error by weighted least squares of s = g.u + b.

    Parameters
    ----------
    readings : sequence of SlopeReading
        In any order; uncertainties above zero.
    zero_error_standard_uncertainty_mm_per_m : float
        Stated for the level. Used only when no direction was read both ways: then b is taken as
        0 and this uncertainty goes, undiminished by averaging, into the slope.

    Returns
    -------
    PlaneFit or None
        None when fewer than two independent directions were read: read another direction.

    Notes
    -----
    Derived. A level turned end for end shows s' = -g.u + b in its own frame, which is the same
    model with the unit vector of its marked end reversed. Slopes are small, so they add as
    vectors: the error is of the order of slope squared, 1e-6 at 1 mm/m.
    """
    if not directions_suffice(readings):
        return None
    if any(not r.standard_uncertainty_mm_per_m > 0.0 for r in readings):
        raise ValueError("Each slope needs an uncertainty above zero.")
    sigma = np.array([reading.standard_uncertainty_mm_per_m for reading in readings])
    slopes = np.array([reading.slope_mm_per_m for reading in readings])
    units = np.array([reading.unit() for reading in readings])
    solved = read_both_ways(readings)
    rows = np.column_stack((units, np.ones(len(units)))) if solved else units
    weighted = rows / sigma[:, None]
    across, triangle = np.linalg.qr(weighted)
    found = np.linalg.solve(triangle, across.T @ (slopes / sigma))
    residuals = slopes - rows @ found
    leverage = (across**2).sum(axis=1)
    spare = np.where(leverage < 1.0 - 1e-9, 1.0 - leverage, 0.0)
    own = sigma * np.sqrt(spare)
    inverse = np.linalg.inv(triangle)
    covariance = inverse @ inverse.T
    if solved:
        zero = Estimate(float(found[2]), math.sqrt(covariance[2, 2]))
    else:
        zero = Estimate(0.0, zero_error_standard_uncertainty_mm_per_m)
        shift = inverse @ across.T @ (1.0 / sigma)  # by a zero error of 1
        covariance = covariance + zero.standard_uncertainty**2 * np.outer(shift, shift)
        # With b taken as 0 the residuals hold it too, as far as the plane can't follow it.
        unfollowed = zero.standard_uncertainty * (1.0 - units @ shift)
        own = np.where(spare > 0.0, np.hypot(own, unfollowed), own)
    (xx, xy), (_, yy) = covariance[:2, :2].tolist()
    return PlaneFit(
        gx=Estimate(float(found[0]), math.sqrt(xx)),
        gy=Estimate(float(found[1]), math.sqrt(yy)),
        covariance=((xx, xy), (xy, yy)),
        zero_error=zero,
        zero_error_solved=solved,
        residuals_mm_per_m=tuple(residuals.tolist()),
        worst=worst_residual(residuals.tolist(), own.tolist()),
    )
