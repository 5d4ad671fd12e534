"""Tracking error weighted by groove radius: distortion, its extremes and its maximum.

Signs and units as in `core.physics.arm_geometry`.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike

from core.physics.arm_geometry import (
    ArmGeometry,
    Floats,
    PivotedArm,
    sine_and_offset_rad,
    tracking_error_deg,
    tracking_error_rad,
)
from core.physics.groove_radii import GrooveRadii

LP_RPM: Final = 100.0 / 3.0
PEAK_VELOCITY_MM_PER_S: Final = 100.0
_SCAN_POINTS: Final = 97
_LEAST_SQUARE: Final = 1e-30
"""Of a cosine: at the end of reach the slope is infinite, and a search needs a number."""


def _angular_speed_rad_per_s(rpm: float, peak_velocity_mm_per_s: float) -> float:
    if not rpm > 0 or not peak_velocity_mm_per_s >= 0:
        raise ValueError("The speed must be above 0 rpm, and the peak velocity not negative.")
    return 2.0 * math.pi * rpm / 60.0


def distortion_percent(
    error_deg: ArrayLike,
    radius_mm: ArrayLike,
    *,
    rpm: float = LP_RPM,
    peak_velocity_mm_per_s: float = PEAK_VELOCITY_MM_PER_S,
) -> Floats:
    """Second-harmonic tracking distortion of a lateral tone, percent of its fundamental.

    100 v tan|e| / (w r) (Baerwald 1941, second-hand; valid while v tan|e| / (w r) is well below
    1), v the peak recorded velocity and w the disc's angular speed.

    Raises
    ------
    ValueError
        If `rpm` is not above 0 or the velocity is negative.
    """
    speed = _angular_speed_rad_per_s(rpm, peak_velocity_mm_per_s)
    lean = np.abs(np.tan(np.radians(np.asarray(error_deg, dtype=np.float64))))
    radius = np.asarray(radius_mm, dtype=np.float64)
    return np.asarray(100.0 * peak_velocity_mm_per_s * lean / (speed * radius))


def error_for_distortion_deg(percent: float, radius_mm: ArrayLike) -> Floats:
    """Size of the tracking error at which `distortion_percent` reaches so much, at 33 1/3 rpm.

    atan(w r percent / (100 v)) (derived: the same formula turned round); below 90 deg, NaN for
    NaN, the shape of `radius_mm`.
    """
    speed = _angular_speed_rad_per_s(LP_RPM, PEAK_VELOCITY_MM_PER_S)
    radius = np.asarray(radius_mm, dtype=np.float64)
    lean = speed * radius * percent / (100.0 * PEAK_VELOCITY_MM_PER_S)
    return np.degrees(np.arctan(lean))


def find_root(
    function: Callable[[float], float],
    low: float,
    high: float,
    *,
    tolerance: float = 1e-10,
    ends: tuple[float, float] | None = None,
) -> float:
    """Root of a continuous function between `low` and `high`, whose values differ in sign.

    Illinois variant of false position: never leaves the bracket, stops once a step is within
    `tolerance`. An end that stays twice running has its value halved, so that the next step falls
    beyond the root and both ends close in. If both ends have the same sign, the end with the
    smaller magnitude is returned. `ends` are the values at `low` and `high`, where they are known.
    """
    f_low, f_high = ends or (function(low), function(high))
    if f_low == 0.0 or f_high == 0.0 or (f_low > 0) == (f_high > 0):
        return low if abs(f_low) <= abs(f_high) else high
    root, stayed = low, ""
    for _ in range(100):
        previous, root = root, (low * f_high - high * f_low) / (f_high - f_low)
        value = function(root)
        if value == 0.0 or abs(root - previous) <= tolerance:
            break
        if (value > 0) == (f_high > 0):
            high, f_high = root, value
            f_low = f_low / 2.0 if stayed == "low" else f_low
            stayed = "low"
        else:
            low, f_low = root, value
            f_high = f_high / 2.0 if stayed == "high" else f_high
            stayed = "high"
    return root


ErrorMeasure = Literal["angle", "tangent"]


def _slope_sign(arm: ArmGeometry, radius_mm: Floats, weighing: ErrorMeasure) -> Floats:
    """r^2 times the slope of e / r, or r^2 cos^2 e times that of tan(e) / r."""
    sine, offset = sine_and_offset_rad(arm, radius_mm)
    error = np.arcsin(sine) - offset
    lean = -sine
    if isinstance(arm, PivotedArm):
        lean = lean + radius_mm / arm.effective_length_mm
    weighed = error if weighing == "angle" else np.sin(error) * np.cos(error)
    with np.errstate(divide="ignore"):
        return np.asarray(lean / np.sqrt(1.0 - sine**2) - weighed)


def _scalar_slope_sign(arm: ArmGeometry, weighing: ErrorMeasure) -> Callable[[float], float]:
    """`_slope_sign` for single floats: ten times as fast, and the searches live on it."""
    if isinstance(arm, PivotedArm):
        rise, offset = 1.0 / (2.0 * arm.effective_length_mm), arm.offset_rad
        fall = arm.null_product_mm2 * rise
    else:
        rise, fall = 0.0, arm.stylus_offset_mm
        offset = math.radians(arm.head_angle_deg)

    def slope_sign(radius_mm: float) -> float:
        # At the very end of reach rounding may carry it beyond 1.
        sine = min(max(rise * radius_mm + fall / radius_mm, -1.0), 1.0)
        error = math.asin(sine) - offset
        weighed = error if weighing == "angle" else math.sin(error) * math.cos(error)
        lean = rise * radius_mm - fall / radius_mm
        return lean / math.sqrt(max(1.0 - sine * sine, _LEAST_SQUARE)) - weighed

    return slope_sign


@lru_cache(maxsize=16)
def _scan(grooves: GrooveRadii) -> Floats:
    """Radii between which a slope is looked at for a change of sign; not to be written to.

    A record's grooves are few, and one search looks along them tens of times.
    """
    radii = np.linspace(grooves.inner_mm, grooves.outer_mm, _SCAN_POINTS)
    radii.flags.writeable = False
    return radii


def weighed_extremes_per_mm(
    arm: ArmGeometry, grooves: GrooveRadii, weighing: ErrorMeasure = "tangent"
) -> tuple[Floats, Floats]:
    """Where the error weighed by radius has its extremes within the grooves, ends included.

    Parameters
    ----------
    arm, grooves
        The arm and the grooves looked at.
    weighing : {"tangent", "angle"}
        tan(e) / r, to which distortion is proportional, or e / r, the measure in which the
        published solutions are stated.

    Returns
    -------
    radii_mm, weighed_per_mm : ndarray
        Both of shape (n,), n at least 2, radii ascending; values signed, NaN out of reach.
    """
    scan = _scan(grooves)
    slope = _slope_sign(arm, scan, weighing)
    inner = [
        find_root(_scalar_slope_sign(arm, weighing), float(scan[i]), float(scan[i + 1]))
        for i in np.flatnonzero(slope[:-1] * slope[1:] < 0)
    ]
    radii = np.array([grooves.inner_mm, *inner, grooves.outer_mm])
    error = tracking_error_rad(arm, radii)
    return radii, (error if weighing == "angle" else np.tan(error)) / radii


@dataclass(frozen=True, slots=True)
class WorstTracking:
    """The largest tracking error and the largest distortion, and where they stand.

    All four are NaN when part of the grooves is out of the arm's reach.
    """

    error_deg: float
    error_radius_mm: float
    distortion_percent: float
    distortion_radius_mm: float


def worst_tracking(
    arm: ArmGeometry,
    grooves: GrooveRadii,
    *,
    rpm: float = LP_RPM,
    peak_velocity_mm_per_s: float = PEAK_VELOCITY_MM_PER_S,
) -> WorstTracking:
    """Return the worst error (signed, deg) and worst distortion (percent) within the grooves.

    The error's only inner extreme stands at sqrt(L^2 - D^2) (derived: e' = 0 there); the
    distortion's are found from the sign changes of its slope.
    """
    speed = _angular_speed_rad_per_s(rpm, peak_velocity_mm_per_s)
    candidates = [grooves.inner_mm, grooves.outer_mm]
    if isinstance(arm, PivotedArm) and arm.null_product_mm2 > 0:
        turning = math.sqrt(arm.null_product_mm2)
        if grooves.inner_mm < turning < grooves.outer_mm:
            candidates.append(turning)
    errors = tracking_error_deg(arm, candidates)
    radii, lean = weighed_extremes_per_mm(arm, grooves)
    if not (np.isfinite(errors).all() and np.isfinite(lean).all()):
        return WorstTracking(math.nan, math.nan, math.nan, math.nan)
    at = int(np.argmax(np.abs(errors)))
    lean_at = int(np.argmax(np.abs(lean)))
    percent = 100.0 * peak_velocity_mm_per_s * abs(float(lean[lean_at])) / speed
    return WorstTracking(float(errors[at]), candidates[at], percent, float(radii[lean_at]))
