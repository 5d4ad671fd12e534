"""The arm as rigid bodies: what each control does to stylus, head, rear and downforce.

Axes, with the bearing as origin: x along the tube toward the stylus, y away from the spindle,
z up. Before a move the arm is as it should be: parallel to the record, its stylus at the effective
length on the x axis, its head turned in by the offset angle. Every control turns or shifts one of
the rigid bodies (cartridge on its screws, head on the tube, arm on its bearing), each turn by a
rotation matrix; then the arm turns about its lift axis until the stylus touches the record. What
is returned is the difference from before, so it is exact there and right to first order near it.

Check values (derived), drop 17 mm, length 239.3 mm, offset 23 degrees: rolling the head by
+2 degrees about its own axis twists by -0.131 degrees and takes 0.232 mm off the reach; about
the tube's axis it twists by -0.155 degrees and leaves the reach alone. A bearing 20 mm above the
record that is raised by 4 mm takes 0.38 mm off the reach of 230 or 240 mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

HOLE_SPACING_MM: Final = 12.7
"""Half an inch between the two screws: the usual mounting (common practice)."""

_Vector = tuple[float, float, float]
_Matrix = tuple[_Vector, _Vector, _Vector]

_X: Final[_Vector] = (1.0, 0.0, 0.0)
_Y: Final[_Vector] = (0.0, 1.0, 0.0)
_Z: Final[_Vector] = (0.0, 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class ArmLayout:
    """An arm as it should stand, before anything is moved.

    Attributes
    ----------
    length_mm : float
        Effective length, bearing to stylus seen from above, above 0.
    offset_deg : float
        Offset angle, turned in positive.
    drop_mm : float
        How far the stylus hangs below the face of the head, and below the axis it rolls about.
    pivot_above_record_mm : float
        Height of the lift axis above the record.
    axis_square_to_head : bool
        Whether the lift axis is square to the head; else it is square to the tube.
    rolls_about_tube : bool
        Whether `ArmMove.roll_deg` turns about the tube's axis; else about the head's own.
    pivoted : bool
        Whether the stylus swings about a pivot; else the head is carried along a radius.
    tip_to_holes_mm : float
        How far the screws lie behind the stylus.
    cartridge_g : float
        Mass that moves with the cartridge, its hardware included.
    downforce_gf : float
        Downforce before the move.
    """

    length_mm: float
    offset_deg: float
    drop_mm: float
    pivot_above_record_mm: float
    axis_square_to_head: bool = False
    rolls_about_tube: bool = False
    pivoted: bool = True
    tip_to_holes_mm: float = 9.5
    cartridge_g: float = 0.0
    downforce_gf: float = 0.0


@dataclass(frozen=True, slots=True)
class ArmMove:
    """How far each control is moved; what is left out stays where it is.

    `slide_mm` runs along the head, away from the pivot positive; `twist_deg` turns the cartridge
    about its screws, in positive; `roll_deg` lifts the left side seen from the front;
    `left_shim_mm` is the thickness of a strip under the left screw, negative under the right;
    `lift_mm` is how far pillar or base shim raise the bearing; `head_shim_mm` and `record_mm` are
    how much thicker those become. An arm base that slides carries the whole arm along and changes
    none of this, only the distance to the spindle.
    """

    slide_mm: float = 0.0
    twist_deg: float = 0.0
    roll_deg: float = 0.0
    left_shim_mm: float = 0.0
    lift_mm: float = 0.0
    head_shim_mm: float = 0.0
    record_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class ArmChange:
    """What a move changes.

    Attributes
    ----------
    reach_mm : float
        Effective length (and overhang); of an arm carried along a radius, how far the stylus runs
        ahead of it.
    offset_deg : float
        Offset angle against the line from pivot to stylus, in positive; of an arm carried along a
        radius, against the square of its path.
    tilt_deg : float
        Tilt of the body seen from the front, left side high positive.
    rear_mm : float
        How much higher the rear of the tube stands than parallel, over the effective length.
    downforce_gf : float
        By the moments of cartridge and stylus. What a pitched arm gains by hanging low is left
        out: see :func:`core.physics.statics.downforce_change_of_height_gf`.
    """

    reach_mm: float
    offset_deg: float
    tilt_deg: float
    rear_mm: float
    downforce_gf: float


@dataclass(frozen=True, slots=True)
class _Body:
    """The cartridge: its stylus, its middle, and its directions ahead and across."""

    tip: _Vector
    middle: _Vector
    ahead: _Vector
    across: _Vector

    def turned(self, matrix: _Matrix, through: _Vector = (0.0, 0.0, 0.0)) -> _Body:
        """Return it turned about an axis through a point."""
        return _Body(
            _turned_about(self.tip, matrix, through),
            _turned_about(self.middle, matrix, through),
            _times(matrix, self.ahead),
            _times(matrix, self.across),
        )


def arm_change(arm: ArmLayout, move: ArmMove) -> ArmChange:
    """Return what a move of any controls does to an arm that stands as it should."""
    axis = _times(_rotation(_Z, -math.radians(arm.offset_deg)), _Y)
    if not arm.axis_square_to_head:
        axis = _Y
    forward = (axis[1], -axis[0], 0.0)
    before = _mounted(arm, ArmMove())
    body = _mounted(arm, move)
    height = arm.pivot_above_record_mm + move.lift_mm - move.record_mm
    pitch = _rotation(axis, _pitch_rad(body.tip, forward, height))
    body, tube = body.turned(pitch), _times(pitch, _X)
    offset_deg = _head_in_deg(body, pivoted=arm.pivoted) - arm.offset_deg
    reach_mm = (
        math.hypot(body.tip[0], body.tip[1]) if arm.pivoted else body.tip[0]
    ) - arm.length_mm
    moment = arm.downforce_gf * _dot(before.tip, forward) + arm.cartridge_g * (
        _dot(body.middle, forward) - _dot(before.middle, forward)
    )
    lever = _dot(body.tip, forward)
    return ArmChange(
        reach_mm=reach_mm,
        offset_deg=offset_deg,
        tilt_deg=-math.degrees(math.atan2(body.across[2], math.hypot(*body.across[:2]))),
        rear_mm=-arm.length_mm * tube[2] / max(math.hypot(tube[0], tube[1]), 1e-9),
        downforce_gf=moment / lever - arm.downforce_gf if lever > 0.0 else 0.0,
    )


def _mounted(arm: ArmLayout, move: ArmMove) -> _Body:
    """Return the cartridge in the head, the tube level."""
    head = _times(_rotation(_Z, -math.radians(arm.offset_deg)), _X)
    face_mm = arm.drop_mm - arm.pivot_above_record_mm  # above the bearing
    holes = _plus(
        (arm.length_mm, 0.0, face_mm - move.head_shim_mm - abs(move.left_shim_mm) / 2.0),
        head,
        move.slide_mm - arm.tip_to_holes_mm,
    )
    # Built as if the head pointed along the tube, then turned in about its screws.
    middle = (holes[0], holes[1], holes[2] - arm.drop_mm / 2.0)
    tip = (holes[0] + arm.tip_to_holes_mm, holes[1], holes[2] - arm.drop_mm)
    inward = _rotation(_Z, -math.radians(arm.offset_deg + move.twist_deg))
    body = _Body(tip, middle, _X, _Y).turned(inward, holes)
    strip_rad = math.atan2(move.left_shim_mm, HOLE_SPACING_MM)  # that side goes down
    body = body.turned(_rotation(body.ahead, strip_rad), holes)
    roll_axis = _X if arm.rolls_about_tube else head
    roll = _rotation(roll_axis, -math.radians(move.roll_deg))
    return body.turned(roll, (arm.length_mm, 0.0, face_mm))


def _pitch_rad(tip: _Vector, forward: _Vector, height_mm: float) -> float:
    """Return how far the arm turns, nose down positive, until the stylus touches.

    A turn by a takes the stylus to z cos a - s sin a, with s its distance ahead of the axis: that
    is the bearing's height below the bearing (derived).
    """
    ahead, up = _dot(tip, forward), tip[2]
    radius = math.hypot(ahead, up)
    if radius == 0.0:
        return 0.0
    return math.asin(min(max(height_mm / radius, -1.0), 1.0)) + math.atan2(up, ahead)


def _head_in_deg(body: _Body, *, pivoted: bool) -> float:
    line = body.tip if pivoted else _X
    inward = line[1] * body.ahead[0] - line[0] * body.ahead[1]
    along = line[0] * body.ahead[0] + line[1] * body.ahead[1]
    return math.degrees(math.atan2(inward, along))


def _rotation(axis: _Vector, angle_rad: float) -> _Matrix:
    """Return the matrix that turns right-handed about a unit vector: I + s K + (1 - c) K K."""
    x, y, z = axis
    c, s = math.cos(angle_rad), math.sin(angle_rad)
    t = 1.0 - c
    return (
        (t * x * x + c, t * x * y - s * z, t * x * z + s * y),
        (t * x * y + s * z, t * y * y + c, t * y * z - s * x),
        (t * x * z - s * y, t * y * z + s * x, t * z * z + c),
    )


def _times(matrix: _Matrix, vector: _Vector) -> _Vector:
    return (_dot(matrix[0], vector), _dot(matrix[1], vector), _dot(matrix[2], vector))


def _dot(one: _Vector, other: _Vector) -> float:
    return one[0] * other[0] + one[1] * other[1] + one[2] * other[2]


def _plus(one: _Vector, other: _Vector, share: float = 1.0) -> _Vector:
    return (one[0] + share * other[0], one[1] + share * other[1], one[2] + share * other[2])


def _turned_about(place: _Vector, matrix: _Matrix, through: _Vector) -> _Vector:
    return _plus(_times(matrix, _plus(place, through, -1.0)), through)
