"""Level: how far each foot must go, and what slope stays when some can't."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

_SLACK_MM = 1e-9


@dataclass(frozen=True, slots=True)
class Foot:
    """One foot, or one place where the deck rests.

    Parameters
    ----------
    x_mm, y_mm : float
        Where it stands: x to the right, y to the back, from any origin common to all feet.
    adjustable : bool
        Whether it can be screwed up and down.
    travel_up_mm, travel_down_mm : float
        How far the deck can still rise or sink at this foot; infinity when unknown.
    """

    x_mm: float
    y_mm: float
    adjustable: bool = True
    travel_up_mm: float = math.inf
    travel_down_mm: float = math.inf


@dataclass(frozen=True, slots=True)
class FootPlan:
    """Height changes and what they leave.

    Parameters
    ----------
    lifts_mm : tuple of float
        Per foot, in order; positive raises the deck there.
    remaining_mm_per_m : tuple of float
        Slope (right, back) that stays afterwards.
    limited : bool
        Whether travel or fixed feet keep the deck from becoming level.
    check_rocking : bool
        Four or more feet: three carry, so each must be felt to bear afterwards.
    """

    lifts_mm: tuple[float, ...]
    remaining_mm_per_m: tuple[float, float]
    limited: bool
    check_rocking: bool

    @property
    def remaining_tilt_mm_per_m(self) -> float:
        """Size of the slope that stays."""
        return math.hypot(*self.remaining_mm_per_m)


def turns_of_lift(lift_mm: float, pitch_mm_per_turn: float) -> float:
    """Return the turns of a foot's thread: lift over pitch, with the sign of the lift."""
    if not pitch_mm_per_turn > 0.0:
        raise ValueError("A thread needs a pitch above zero.")
    return lift_mm / pitch_mm_per_turn


def plan_feet(slope_mm_per_m: tuple[float, float], feet: Sequence[Foot]) -> FootPlan:
    """Height change at each foot that levels the deck as far as the feet allow.

    Parameters
    ----------
    slope_mm_per_m : (float, float)
        Rise to the right and to the back.
    feet : sequence of Foot
        At least three that are not on one line.

    Returns
    -------
    FootPlan

    Raises
    ------
    ValueError
        Fewer than three feet, or all on one line.

    Notes
    -----
    Derived. All feet keep to one plane, so the lifts are dz_i = d.p_i + c with d the change of
    slope, which also keeps four feet bearing as before. Fixed feet demand dz = 0. Within that and
    the travel of each foot, d is chosen for the least remaining |g + d|. Where c is free the
    highest adjustable foot stays and the others rise; if one then runs out of travel the whole
    is lowered by as much as it lacks.
    """
    places = np.array([[foot.x_mm, foot.y_mm, 1.0] for foot in feet])
    if len(feet) < 3 or np.linalg.matrix_rank(places, tol=1e-6) < 3:
        raise ValueError("Give at least three feet that do not stand on one line.")
    slope = np.asarray(slope_mm_per_m, dtype=float) / 1000.0
    fixed = np.array([not foot.adjustable for foot in feet])
    up = np.array([foot.travel_up_mm for foot in feet])
    down = np.array([foot.travel_down_mm for foot in feet])
    if not fixed.any():
        free = _all_adjustable(places, slope, up, down)
        if free is not None:
            return _plan(free, places, slope)
    return _plan(_least_slope(places, slope, fixed, up, down), places, slope)


def plan_shims(slope_mm_per_m: tuple[float, float], feet: Sequence[Foot]) -> FootPlan:
    """Shim thickness under each foot or rack spike of a deck whose feet can't be adjusted.

    The highest place gets none and nothing goes down, as shims only raise.
    """
    shimmed = [replace(f, adjustable=True, travel_up_mm=math.inf, travel_down_mm=0.0) for f in feet]
    return plan_feet(slope_mm_per_m, shimmed)


def _all_adjustable(
    places: FloatArray, slope: FloatArray, up: FloatArray, down: FloatArray
) -> FloatArray | None:
    lifts = -(places[:, :2] @ slope)
    stay = -float(lifts.min())
    lowest, highest = float(np.max(-down - lifts)), float(np.min(up - lifts))
    if lowest > highest + _SLACK_MM:
        return None
    return lifts + min(max(stay, lowest), highest)


def _least_slope(
    places: FloatArray, slope: FloatArray, fixed: BoolArray, up: FloatArray, down: FloatArray
) -> FloatArray:
    """Lifts of least remaining slope, over every set of travel ends that may hold the answer.

    Three unknowns and few feet: trying all sets of up to three ends is exact and cheap.
    """
    ends: list[tuple[float, float, float]] = []
    held: list[tuple[float, float, float]] = []
    for (x, y, _), is_fixed, high, low in zip(places.tolist(), fixed, up, down, strict=True):
        if is_fixed:
            held.append((x, y, 0.0))
        else:
            bounds = (float(high), -float(low))
            ends += [(x, y, bound) for bound in bounds if math.isfinite(bound)]
    gx, gy = float(slope[0]), float(slope[1])
    highest = np.where(fixed, math.inf, up + _SLACK_MM)
    lowest = np.where(fixed, -math.inf, -down - _SLACK_MM)
    best = np.zeros(len(places))
    best_key = (math.hypot(gx, gy), 0.0)
    for count in range(4):
        for active in itertools.combinations(ends, count):
            plane = _held_plane((gx, gy), [*held, *active])
            if plane is None:
                continue
            rest = math.hypot(gx + plane[0], gy + plane[1])
            if rest >= best_key[0] + 1e-12:
                continue
            lifts = places @ np.array(plane)
            if not held and not active:
                lifts -= lifts.min()
            if np.any(lifts > highest) or np.any(lifts < lowest):
                continue
            key = (rest, float(np.abs(lifts).sum()))
            if key[0] < best_key[0] - 1e-12 or key[1] < best_key[1]:
                best, best_key = lifts, key
    best[fixed] = 0.0
    return best


def _held_plane(
    slope: tuple[float, float], held: Sequence[tuple[float, float, float]]
) -> tuple[float, float, float] | None:
    """Plane a x + b y + c of least |slope + (a, b)| through given points; None if there is none.

    Derived: the differences to the first point each fix (a, b) along one line. With one line
    the point of it nearest to -slope is taken, with two (a, b) is where they cross.
    """
    a, b = -slope[0], -slope[1]
    if not held:
        return a, b, 0.0
    x0, y0, z0 = held[0]
    lines = [(x - x0, y - y0, z - z0) for x, y, z in held[1:]]
    if lines:
        dx, dy, dz = max(lines, key=lambda line: line[0] ** 2 + line[1] ** 2)
        length2 = dx * dx + dy * dy
        if length2 > 0.0:
            ex, ey, ez = max(lines, key=lambda line: abs(dx * line[1] - dy * line[0]))
            cross = dx * ey - dy * ex
            if abs(cross) > 1e-9 * length2:
                a, b = (dz * ey - ez * dy) / cross, (dx * ez - ex * dz) / cross
            else:
                short = (dz - a * dx - b * dy) / length2
                a, b = a + short * dx, b + short * dy
    if any(abs(a * dx + b * dy - dz) > _SLACK_MM for dx, dy, dz in lines):
        return None
    return a, b, z0 - a * x0 - b * y0


def _remaining(lifts: FloatArray, places: FloatArray, slope: FloatArray) -> FloatArray:
    change, *_ = np.linalg.lstsq(places, lifts, rcond=None)
    rest: FloatArray = slope + change[:2]
    return rest


def _plan(lifts: FloatArray, places: FloatArray, slope: FloatArray) -> FootPlan:
    rest = 1000.0 * _remaining(lifts, places, slope)
    rest[np.abs(rest) < 1e-9] = 0.0
    lifts = np.where(np.abs(lifts) < 1e-12, 0.0, lifts)
    return FootPlan(
        lifts_mm=tuple(float(lift) for lift in lifts),
        remaining_mm_per_m=(float(rest[0]), float(rest[1])),
        limited=bool(np.hypot(*rest) > 1e-6),
        check_rocking=len(places) > 3,
    )
