"""Level: the height change of each foot, and the slope left where some can't be turned."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

_SLACK_MM = 1e-9
_ON_ONE_LINE = 1e-12
"""Feet that lie across their line by no more than a millionth of its length have no plane."""


@dataclass(frozen=True, slots=True)
class FootTravel:
    """One foot, or one place where the deck rests: x to the right, y to the back.

    Any origin common to all feet will do. `travel_up_mm` and `travel_down_mm` are how far the deck
    can still rise or sink there; infinity when unknown.
    """

    x_mm: float
    y_mm: float
    adjustable: bool = True
    travel_up_mm: float = math.inf
    travel_down_mm: float = math.inf


@dataclass(frozen=True, slots=True)
class FootPlan:
    """Height changes per foot, positive up, and the slope (right, back) that they leave."""

    lifts_mm: tuple[float, ...]
    remaining_mm_per_m: tuple[float, float]

    @property
    def remaining_tilt_mm_per_m(self) -> float:
        """Size of the slope that stays."""
        return math.hypot(*self.remaining_mm_per_m)


def slope_per_lift(feet: Sequence[FootTravel]) -> tuple[tuple[float, float], ...]:
    """Change of slope (right, back) by a lift of each foot alone, mm/m per mm.

    Raises
    ------
    ValueError
        Fewer than three feet, or all on one line.

    Notes
    -----
    Derived. Of three feet it is the plane through the lifts; with four or more that were not lifted
    in one plane it is the least-squares plane, as a deck that rocks rests between its feet: the
    normal equations about the middle of the feet, two by two.
    """
    middle_x = sum(foot.x_mm for foot in feet) / max(len(feet), 1)
    middle_y = sum(foot.y_mm for foot in feet) / max(len(feet), 1)
    places = [(foot.x_mm - middle_x, foot.y_mm - middle_y) for foot in feet]
    xx = sum(x * x for x, _ in places)
    xy = sum(x * y for x, y in places)
    yy = sum(y * y for _, y in places)
    spread = xx * yy - xy * xy
    if not spread > _ON_ONE_LINE * (xx + yy) ** 2:
        raise ValueError("Give at least three feet that do not stand on one line.")
    scale = 1000.0 / spread
    return tuple((scale * (yy * x - xy * y), scale * (xx * y - xy * x)) for x, y in places)


def slope_after_lifts(
    slope_mm_per_m: tuple[float, float], lifts_mm: Sequence[float], feet: Sequence[FootTravel]
) -> tuple[float, float]:
    """Slope (right, back), mm/m, after a lift in mm of each foot; as `slope_per_lift`."""
    return _after(slope_mm_per_m, lifts_mm, slope_per_lift(feet))


def _after(
    slope: tuple[float, float],
    lifts_mm: Sequence[float],
    per_lift: Sequence[tuple[float, float]],
) -> tuple[float, float]:
    right, back = slope
    for lift, (by_right, by_back) in zip(lifts_mm, per_lift, strict=True):
        right += lift * by_right
        back += lift * by_back
    return right, back


def turns_of_lift(lift_mm: float, pitch_mm_per_turn: float) -> float:
    """Return the turns of a foot's thread: lift over pitch, with the sign of the lift."""
    if not pitch_mm_per_turn > 0.0:
        raise ValueError("A thread needs a pitch above zero.")
    return lift_mm / pitch_mm_per_turn


def plan_feet(slope_mm_per_m: tuple[float, float], feet: Sequence[FootTravel]) -> FootPlan:
    """Height change at each foot that levels the deck as far as the feet allow.

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
    per_lift = slope_per_lift(feet)
    lifts = None
    if all(foot.adjustable for foot in feet):
        lifts = _all_adjustable(feet, slope_mm_per_m)
    if lifts is None:
        lifts = _least_slope(feet, slope_mm_per_m)
    lifts = [0.0 if abs(lift) < 1e-12 else lift for lift in lifts]
    right, back = _after(slope_mm_per_m, lifts, per_lift)
    rest = (0.0 if abs(right) < 1e-9 else right, 0.0 if abs(back) < 1e-9 else back)
    return FootPlan(lifts_mm=tuple(lifts), remaining_mm_per_m=rest)


def plan_shims(slope_mm_per_m: tuple[float, float], feet: Sequence[FootTravel]) -> FootPlan:
    """Shim thickness under each foot or rack spike of a deck whose feet can't be adjusted.

    The highest place gets none and nothing goes down, as shims only raise.
    """
    shimmed = [replace(f, adjustable=True, travel_up_mm=math.inf, travel_down_mm=0.0) for f in feet]
    return plan_feet(slope_mm_per_m, shimmed)


def _all_adjustable(
    feet: Sequence[FootTravel], slope_mm_per_m: tuple[float, float]
) -> list[float] | None:
    """Lifts that level it fully, the highest foot left as it is if travel allows; else None."""
    gx, gy = slope_mm_per_m[0] / 1000.0, slope_mm_per_m[1] / 1000.0
    lifts = [-(gx * foot.x_mm + gy * foot.y_mm) for foot in feet]
    stay = -min(lifts)
    lowest = max(-foot.travel_down_mm - lift for foot, lift in zip(feet, lifts, strict=True))
    highest = min(foot.travel_up_mm - lift for foot, lift in zip(feet, lifts, strict=True))
    if lowest > highest + _SLACK_MM:
        return None
    common = min(max(stay, lowest), highest)
    return [lift + common for lift in lifts]


def _least_slope(feet: Sequence[FootTravel], slope_mm_per_m: tuple[float, float]) -> list[float]:
    """Lifts of least remaining slope, over every set of travel ends that may hold the answer.

    Three unknowns and few feet: trying all sets of up to three ends is exact and cheap.
    """
    ends: list[tuple[float, float, float]] = []
    held: list[tuple[float, float, float]] = []
    for foot in feet:
        if not foot.adjustable:
            held.append((foot.x_mm, foot.y_mm, 0.0))
        else:
            bounds = (foot.travel_up_mm, -foot.travel_down_mm)
            ends += [(foot.x_mm, foot.y_mm, bound) for bound in bounds if math.isfinite(bound)]
    gx, gy = slope_mm_per_m[0] / 1000.0, slope_mm_per_m[1] / 1000.0
    best = [0.0] * len(feet)
    best_rest, best_sum = math.hypot(gx, gy), 0.0
    for count in range(4):
        for active in itertools.combinations(ends, count):
            plane = _held_plane((gx, gy), [*held, *active])
            if plane is None:
                continue
            a, b, c = plane
            rest = math.hypot(gx + a, gy + b)
            if rest >= best_rest + 1e-12:
                continue
            if not held and not active:
                c = -min(a * foot.x_mm + b * foot.y_mm for foot in feet)
            lifts = [a * foot.x_mm + b * foot.y_mm + c for foot in feet]
            if not all(_can_go(foot, lift) for foot, lift in zip(feet, lifts, strict=True)):
                continue
            total = sum(abs(lift) for lift in lifts)
            if rest < best_rest - 1e-12 or total < best_sum:
                best, best_rest, best_sum = lifts, rest, total
    return [lift if foot.adjustable else 0.0 for foot, lift in zip(feet, best, strict=True)]


def _can_go(foot: FootTravel, lift_mm: float) -> bool:
    """Whether the foot's travel allows a lift; a fixed foot always does, as the plane holds it."""
    if not foot.adjustable:
        return True
    return -foot.travel_down_mm - _SLACK_MM <= lift_mm <= foot.travel_up_mm + _SLACK_MM


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
