"""The arm as a rigid body on its bearing: where stylus, head and weights are.

The arm's own frame: first axis from the bearing toward the stylus as the maker drew it, second
square to it and away from the spindle, third up. Turning the head in is then a turn about the
third axis, clockwise seen from above.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from core.practice.vectors import (
    UP,
    Vector,
    cross,
    dot,
    flat,
    length,
    plus,
    root_between,
    times,
    turned,
    turned_about,
    unit,
)

FORWARD: Final[Vector] = (1.0, 0.0, 0.0)
OUTWARD: Final[Vector] = (0.0, 1.0, 0.0)

SCREWS_APART_MM: Final = 12.7
"""Half an inch: how mounting screws stand apart (common practice)."""

MILLINEWTON_PER_GF: Final = 9.80665
"""By the standard acceleration of free fall (CGPM 1901)."""


@dataclass(frozen=True, slots=True)
class Build:
    """How the arm is made and set, with its true values.

    Lengths in mm, angles in degrees, masses in g. ``middle_mm`` and ``middle_deg`` are effective
    length and offset with the cartridge in the middle of its slots; ``slide_mm`` runs along the
    slots, which lie along the head; ``twist_deg`` turns the cartridge about its screws, in is
    plus; ``roll_deg`` lifts the left side seen from the front; ``bearing_mm`` is how far the
    bearing stands above where the arm lies parallel, the cartridge as long as its maker says and
    nothing between it and the head; ``bearing_above_tube_mm`` how far above the tube's axis.
    """

    middle_mm: float
    middle_deg: float
    slide_mm: float
    twist_deg: float
    holes_to_tip_mm: float
    body_height_mm: float
    body_width_mm: float
    head_shim_mm: float
    side_shim_mm: float
    roll_deg: float
    roll_about_tube: bool
    body_roll_deg: float
    lift_square_to_head: bool
    bearing_mm: float
    gives_um_per_mn: float
    head_g: float
    arm_g: float
    arm_forward_mm: float
    weight_g: float
    weight_behind_mm: float
    weight_below_mm: float
    spring_gf: float
    bearing_above_tube_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Pose:
    """The arm with its stylus at rest on the record (or on the pan of a scale).

    `pitch_deg` is the tube's against the record, rear high positive; `tip` the stylus from the
    bearing; `ahead`, `across` and `upward` the cartridge's own directions; `axis` and `pitch_rad`
    the lift axis and the turn about it; `bearing_mm` the height of the bearing above the record;
    `tube_mm` that of the tube's axis above the bearing.
    """

    pitch_deg: float
    tip: Vector
    ahead: Vector
    across: Vector
    upward: Vector
    downforce_gf: float
    axis: Vector
    pitch_rad: float
    bearing_mm: float
    tube_mm: float

    def height_mm(self, place: Vector) -> float:
        """Return how high a point of the arm, measured from the tube, stands above the record."""
        point = plus(place, times(self.tube_mm, UP))
        return self.bearing_mm + turned(point, self.axis, self.pitch_rad)[2]

    @property
    def reach_mm(self) -> float:
        """The effective length: from bearing to stylus, seen from above."""
        return length(flat(self.tip))

    @property
    def offset_deg(self) -> float:
        """The offset angle: from the line bearing-stylus to the cartridge, in is plus."""
        line, head = unit(flat(self.tip)), unit(flat(self.ahead))
        sine = dot(cross(head, line), UP)
        return math.degrees(math.atan2(sine, dot(head, line)))

    @property
    def tilt_deg(self) -> float:
        """The body's tilt seen from the front, left side high is plus."""
        level = unit(flat(self.across))
        return -math.degrees(math.atan2(self.across[2], dot(self.across, level)))


def _head_along(degrees_in: float) -> Vector:
    return turned(FORWARD, UP, -math.radians(degrees_in))


@dataclass(frozen=True, slots=True)
class _Assembly:
    """The parts in the arm's frame before it is pitched."""

    tip: Vector
    ahead: Vector
    across: Vector
    upward: Vector
    head: Vector


def _assembled(build: Build, sink_mm: float) -> _Assembly:
    """Mount the cartridge in the head, with its suspension compressed by so much."""
    slots = _head_along(build.middle_deg)
    ahead = _head_along(build.middle_deg + build.twist_deg)
    drop = build.head_shim_mm + build.body_height_mm - sink_mm
    tube = times(-build.bearing_above_tube_mm, UP)
    middle = plus(times(build.middle_mm, FORWARD), tube)
    screws = plus(middle, times(-build.holes_to_tip_mm, slots), times(build.slide_mm, slots))
    tip = plus(screws, times(build.holes_to_tip_mm, ahead), times(-drop, UP))
    across = cross(UP, ahead)
    upward = UP
    # A shim under one screw turns the body about the other; the tip sinks by half of it.
    lean = math.atan2(build.side_shim_mm, SCREWS_APART_MM)
    tip = plus(tip, times(-0.5 * abs(build.side_shim_mm), UP))
    face = plus(screws, times(-build.head_shim_mm - 0.5 * abs(build.side_shim_mm), UP))
    tip = turned_about(tip, face, ahead, lean)
    across, upward = turned(across, ahead, lean), turned(upward, ahead, lean)
    # The head's own turn: about the tube, or about the head.
    axis, through = (FORWARD, tube) if build.roll_about_tube else (slots, middle)
    turn = -math.radians(build.roll_deg)
    tip = turned_about(tip, through, axis, turn)
    ahead, across, upward = (turned(v, axis, turn) for v in (ahead, across, upward))
    # The body may not stand square on its own mounting face: the tip stays, the body leans.
    own = -math.radians(build.body_roll_deg)
    across, upward = turned(across, ahead, own), turned(upward, ahead, own)
    return _Assembly(tip, ahead, across, upward, plus(screws, times(-0.5 * drop, UP)))


def _downforce(
    build: Build, pitched: list[tuple[float, Vector]], tip: Vector, axis: Vector
) -> float:
    """Return the downforce that balances the moments of all weights about the lift axis."""
    weights = math.fsum(dot(cross(place, times(-mass, UP)), axis) for mass, place in pitched)
    lever = dot(cross(tip, UP), axis)
    return build.spring_gf - weights / lever


def pose_of(build: Build, *, pan_mm: float = 0.0) -> Pose:
    """Return how the arm rests on something `pan_mm` above the record.

    The arm is turned about its lift axis until the stylus touches; the suspension gives by the
    downforce, so the balance is found in three passes.
    """
    axis = OUTWARD
    if build.lift_square_to_head:
        axis = cross(UP, _head_along(build.middle_deg))
    parallel_mm = build.body_height_mm + build.bearing_above_tube_mm
    bearing_mm = parallel_mm + build.bearing_mm
    downforce, pitch_rad = 0.0, 0.0
    loose = _assembled(build, 0.0)
    tip = loose.tip
    for _ in range(3):
        sink_mm = max(downforce, 0.0) * MILLINEWTON_PER_GF * build.gives_um_per_mn / 1000.0
        loose = _assembled(build, sink_mm)
        body = loose.tip

        def above(angle: float, body: Vector = body) -> float:
            return bearing_mm + turned(body, axis, angle)[2] - pan_mm

        pitch_rad = root_between(above, -0.3, 0.3)
        tip = turned(body, axis, pitch_rad)
        weights = [
            (build.head_g, turned(loose.head, axis, pitch_rad)),
            (build.arm_g, turned(times(build.arm_forward_mm, FORWARD), axis, pitch_rad)),
            (
                build.weight_g,
                turned((-build.weight_behind_mm, 0.0, -build.weight_below_mm), axis, pitch_rad),
            ),
        ]
        downforce = _downforce(build, weights, tip, axis)
    tube = turned(FORWARD, axis, pitch_rad)
    return Pose(
        pitch_deg=-math.degrees(math.atan2(tube[2], length(flat(tube)))),
        tip=tip,
        ahead=turned(loose.ahead, axis, pitch_rad),
        across=turned(loose.across, axis, pitch_rad),
        upward=turned(loose.upward, axis, pitch_rad),
        downforce_gf=downforce,
        axis=axis,
        pitch_rad=pitch_rad,
        bearing_mm=bearing_mm,
        tube_mm=-build.bearing_above_tube_mm,
    )
