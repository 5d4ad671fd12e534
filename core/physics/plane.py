"""Level: the plane of the plinth from slopes along directions.

Bearings run clockwise as seen from above: 0 degrees points to the back (+y), 90 to the right
(+x), 180 to the front, 270 to the left. A slope is positive when the deck rises along the
bearing, in millimetres per metre.
"""

import math
from bisect import bisect
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

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


@lru_cache(maxsize=1024)  # thousands of readings lie along a few directions
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
    def tells_high_side(self) -> bool:
        """Whether the tilt is larger than its own 95 % uncertainty, so that one side is high."""
        return self.tilt.value > self.tilt.half_width()

    @property
    def high_bearing_deg(self) -> float:
        """Bearing of the high side, 0 to below 360; without meaning when the tilt is zero."""
        return math.degrees(math.atan2(self.gx.value, self.gy.value)) % 360.0


def directions_suffice(readings: Sequence[SlopeReading]) -> bool:
    """Whether two of the directions lie at least 10 degrees apart, so that a plane is fixed."""
    units = _units(readings)
    if not units:
        return False
    # As lines, by the angle from the first: the two outermost are farthest apart, or one of them
    # from the first.
    first = units[0]
    turns = [math.atan2(_sine(first, unit), _cosine(first, unit)) for unit in units]
    lines = sorted(zip((math.remainder(turn, math.pi) for turn in turns), units, strict=True))
    low, high = lines[0][1], lines[-1][1]
    return any(
        abs(_sine(a, b)) >= _LEAST_SPREAD for a, b in ((first, low), (first, high), (low, high))
    )


def read_both_ways(readings: Sequence[SlopeReading]) -> bool:
    """Whether the level lay along some line with its marked end at either side in turn."""
    units = _units(readings)
    bearings = sorted((math.atan2(*unit), unit) for unit in units)
    for x, y in units:
        after = bisect(bearings, (math.atan2(-x, -y), (-x, -y)))
        nearest = (bearings[after - 1][1], bearings[after % len(bearings)][1])
        if any(_cosine((x, y), other) < -1.0 + 1e-6 for other in nearest):
            return True
    return False


def _units(readings: Sequence[SlopeReading]) -> list[tuple[float, float]]:
    """Return each direction that was read, once."""
    return list(dict.fromkeys(reading.unit() for reading in readings))


def _sine(a: tuple[float, float], b: tuple[float, float]) -> float:
    return a[0] * b[1] - a[1] * b[0]


def _cosine(a: tuple[float, float], b: tuple[float, float]) -> float:
    return a[0] * b[0] + a[1] * b[1]


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


def fit_without_odd(
    readings: Sequence[SlopeReading],
    may_go: Sequence[bool],
    *,
    zero_error_standard_uncertainty_mm_per_m: float = 0.0,
) -> tuple[PlaneFit | None, list[int], list[int]]:
    """Fit the plane, and leave out one reading after the other that is odd and may go.

    Parameters
    ----------
    readings, zero_error_standard_uncertainty_mm_per_m
        As for :func:`fit_plane`.
    may_go : sequence of bool
        For each reading whether it may be left out. Each direction needs one that may not.

    Returns
    -------
    tuple
        The plane through the rest, None as from :func:`fit_plane`; the places of the readings in
        it, in order; those left out, the oddest first. The odd one that may not go is in it.
    """
    kept, odd = list(range(len(readings))), list[int]()
    if len(readings) > _MANY:
        odd = _odd_of_many(readings, may_go, zero_error_standard_uncertainty_mm_per_m)
        kept = sorted(set(kept).difference(odd))
    while True:
        fit = fit_plane(
            [readings[place] for place in kept],
            zero_error_standard_uncertainty_mm_per_m=zero_error_standard_uncertainty_mm_per_m,
        )
        if fit is None or fit.worst is None or not may_go[kept[fit.worst.index]]:
            return fit, kept, odd
        odd.append(kept.pop(fit.worst.index))


_MANY = 100
"""From so many readings on each that goes is taken out of the sums, in place of a new fit."""


def _odd_of_many(
    readings: Sequence[SlopeReading], may_go: Sequence[bool], zero_error_u: float
) -> list[int]:
    """Return the readings that go, the oddest first, by the normal equations of the same fit.

    They lose digits that an orthogonal triangle keeps, so the last fit is not taken from here.
    """
    if not directions_suffice(readings):
        return []
    sigma = np.array([reading.standard_uncertainty_mm_per_m for reading in readings])
    slopes = np.array([reading.slope_mm_per_m for reading in readings])
    units = np.array([reading.unit() for reading in readings])
    solved = read_both_ways(readings)
    rows = np.column_stack((units, np.ones(len(units)))) if solved else units
    weights = sigma**-2.0
    normal, right = rows.T @ (weights[:, None] * rows), rows.T @ (weights * slopes)
    common = rows.T @ weights
    stay, odd = np.ones(len(rows), dtype=bool), list[int]()
    while True:
        inverse = np.linalg.inv(normal)
        residuals = slopes - rows @ (inverse @ right)
        leverage = weights * ((rows @ inverse) * rows).sum(axis=1)
        spare = np.where(stay & (leverage < 1.0 - 1e-9), 1.0 - leverage, 0.0)
        own = sigma * np.sqrt(spare)
        if not solved:
            unfollowed = zero_error_u * (1.0 - units @ (inverse @ common))
            own = np.where(spare > 0.0, np.hypot(own, unfollowed), own)
        worst = worst_residual(residuals, own)
        if worst is None or not may_go[worst.index]:
            return odd
        row, weight = rows[worst.index], weights[worst.index]
        normal -= weight * np.outer(row, row)
        right -= weight * slopes[worst.index] * row
        common -= weight * row
        stay[worst.index] = False
        odd.append(worst.index)
