"""The stylus over the record, seen from above: where it meets a groove, and how the head stands.

The spindle is the origin, the pivot lies on the first axis. The stylus is carried round the pivot
until it stands on the groove, and angles are taken between the vectors there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from core.practice.vectors import (
    UP,
    Vector,
    dot,
    flat,
    least_between,
    length,
    minus,
    plus,
    root_between,
    turned,
    unit,
)

INNER_GROOVE_MM: Final = 60.325
OUTER_GROOVE_MM: Final = 146.05
"""IEC 60098 (1958), second-hand."""

NULLS_MM: Final = (65.998, 120.891)
"""Löfgren A for these grooves: printed in many places, second-hand."""

TURN_RAD_PER_S: Final = 100.0 / 3.0 / 60.0 * 2.0 * math.pi
PEAK_MM_PER_S: Final = 100.0
_RADII: Final = 13


@dataclass(frozen=True, slots=True)
class Swing:
    """An arm seen from above.

    ``tip`` is where the stylus stands from the pivot, and ``ahead`` where the head points, both
    in the arm's own frame: forward, and outward from the spindle.
    """

    pivot_mm: float
    tip: Vector
    ahead: Vector

    def on_groove(self, radius_mm: float) -> tuple[Vector, Vector]:
        """Return the stylus and the head's direction with the stylus on that groove.

        Raises
        ------
        ValueError
            When the stylus does not reach it.
        """
        pivot: Vector = (self.pivot_mm, 0.0, 0.0)
        along, aside, _ = self.tip

        def too_far(angle: float) -> float:
            cosine, sine = math.cos(angle), math.sin(angle)
            x = self.pivot_mm + along * cosine - aside * sine
            return math.hypot(x, along * sine + aside * cosine) - radius_mm

        # Forward toward the spindle is half a turn; the arm swings in over the record from there
        # outward, on the near side, until it points away from the spindle.
        turn = root_between(too_far, math.pi, 2.0 * math.pi)
        return (
            plus(pivot, turned(flat(self.tip), UP, turn)),
            unit(turned(flat(self.ahead), UP, turn)),
        )

    def error_deg(self, radius_mm: float) -> float:
        """Return how far the head is turned out against the groove, degrees."""
        stylus, head = self.on_groove(radius_mm)
        outward = unit(stylus)
        return math.degrees(math.asin(max(-1.0, min(1.0, dot(head, outward)))))

    def line_out(self, radius_mm: float) -> float:
        """Return how much of the arm's own line points outward at a groove: the skating share."""
        pivot: Vector = (self.pivot_mm, 0.0, 0.0)
        stylus, _ = self.on_groove(radius_mm)
        return dot(unit(minus(stylus, pivot)), unit(stylus))


def distortion_percent(error_deg: float, radius_mm: float) -> float:
    """Return second-harmonic tracking distortion (Löfgren's formula, second-hand)."""
    slope = math.tan(abs(math.radians(error_deg)))
    return 100.0 * PEAK_MM_PER_S / (TURN_RAD_PER_S * radius_mm) * slope


def radii() -> list[float]:
    """Return groove radii to look at, inner first."""
    step = (OUTER_GROOVE_MM - INNER_GROOVE_MM) / (_RADII - 1)
    return [INNER_GROOVE_MM + step * i for i in range(_RADII)]


def worst_percent(swing: Swing) -> float:
    """Return the worst distortion between the groove limits."""
    return max(distortion_percent(swing.error_deg(r), r) for r in radii())


def _uneven(swing: Swing) -> float:
    """Return the worst error over radius, as Löfgren's rule takes it (small angles)."""
    places = (INNER_GROOVE_MM, 75.0, 90.0, 105.0, 120.0, OUTER_GROOVE_MM)
    return max(abs(swing.error_deg(radius)) / radius for radius in places)


def simple(pivot_mm: float, reach_mm: float, offset_deg: float) -> Swing:
    """Return the arm with this effective length and offset."""
    ahead = turned((1.0, 0.0, 0.0), UP, -math.radians(offset_deg))
    return Swing(pivot_mm, (reach_mm, 0.0, 0.0), ahead)


@dataclass(frozen=True, slots=True)
class GrooveTarget:
    """Effective length and offset that an alignment asks for."""

    reach_mm: float
    offset_deg: float


@lru_cache(maxsize=4096)
def wanted_for(pivot_mm: float, *, straight: bool = False) -> GrooveTarget:
    """Return the alignment for a pivot-to-spindle distance, found by root search.

    An offset head: the arm that stands true at both null radii. With the stylus on one of them the
    head is laid along the groove; its angle to the arm is then the offset, and of two grooves both
    must give the same. A straight head: the length with the least worst error over radius.
    """
    if straight:
        reach = least_between(
            lambda reach: _uneven(simple(pivot_mm, reach, 0.0)),
            pivot_mm - 35.0,
            pivot_mm - 4.0,
        )
        return GrooveTarget(reach, 0.0)

    def offset_at(reach: float, radius: float) -> float:
        return simple(pivot_mm, reach, 0.0).error_deg(radius)

    reach = root_between(
        lambda reach: offset_at(reach, NULLS_MM[0]) - offset_at(reach, NULLS_MM[1]),
        pivot_mm + 5.0,
        pivot_mm + 35.0,
    )
    return GrooveTarget(reach, offset_at(reach, NULLS_MM[0]))


def landing_mm(
    swing: Swing, drawn_pivot_mm: float, drawn_reach_mm: float, radius_mm: float
) -> float:
    """Return how far beyond a drawn arc the stylus lands.

    The arc is drawn about a pivot at the drawn distance, in the true pivot's direction.
    """
    stylus, _ = swing.on_groove(radius_mm)
    return length(minus(stylus, (drawn_pivot_mm, 0.0, 0.0))) - drawn_reach_mm
