"""Arm height: the pitch of the arm tube, and what the pillar must do about it.

Pitch is positive when the rear (pivot end) is high.
"""

import math
from typing import Literal

from core.estimation import Estimate


def arm_pitch_deg(
    front_mm: float,
    rear_mm: float,
    spacing_mm: float,
    *,
    height_standard_uncertainty_mm: float,
    spacing_standard_uncertainty_mm: float = 0.0,
    front_diameter_mm: float = 0.0,
    rear_diameter_mm: float = 0.0,
    edge: Literal["top", "bottom"] = "top",
) -> Estimate:
    """Pitch of the tube's axis from the heights of one of its edges at two places, degrees.

    Parameters
    ----------
    front_mm, rear_mm : float
        Height of the same edge above the record, near the head and near the pivot.
    spacing_mm : float
        Distance between the two places along the record, above zero.
    height_standard_uncertainty_mm, spacing_standard_uncertainty_mm : float
        Of each height, and of the distance.
    front_diameter_mm, rear_diameter_mm : float
        Of a tapered tube at the two places; leave both 0 when it does not taper.
    edge : {"top", "bottom"}
        Which edge was measured: the axis lies half a diameter below the top or above the bottom.

    Notes
    -----
    atan((rear - front) / spacing), derived.
    """
    if not spacing_mm > 0.0:
        raise ValueError("The two places on the tube must lie some distance apart.")
    taper = 0.5 * (rear_diameter_mm - front_diameter_mm)
    rise = rear_mm - front_mm + (taper if edge == "bottom" else -taper)
    scale = 1.0 / (spacing_mm**2 + rise**2)
    uncertainty = math.hypot(
        math.sqrt(2.0) * height_standard_uncertainty_mm * spacing_mm * scale,
        spacing_standard_uncertainty_mm * rise * scale,
    )
    return Estimate(math.degrees(math.atan2(rise, spacing_mm)), math.degrees(uncertainty))


def pillar_move_mm(
    pitch_deg: Estimate, reach_mm: float, *, reach_standard_uncertainty_mm: float = 0.0
) -> Estimate:
    """How far the pillar must rise (negative: sink) to bring the tube parallel to the record.

    -reach x tan(pitch), derived, for less than 10 degrees: the arm turns about the stylus tip. The
    reach is the horizontal distance from stylus to pivot, above zero. Not the difference of the two
    heights, unless they were read a reach apart.
    """
    _above_zero(reach_mm)
    angle = math.radians(pitch_deg.value)
    slope = math.tan(angle)
    from_angle = reach_mm * math.radians(pitch_deg.standard_uncertainty) / math.cos(angle) ** 2
    return Estimate(-reach_mm * slope, from_angle, pitch_deg.degrees_of_freedom).widened(
        reach_standard_uncertainty_mm * abs(slope)
    )


def pitch_change_deg(pillar_mm: float, reach_mm: float) -> float:
    """Change of pitch when the pillar rises: atan(rise / reach), 0.249 degrees a mm at 230 mm."""
    _above_zero(reach_mm)
    return math.degrees(math.atan2(pillar_mm, reach_mm))


def pitch_change_of_record_deg(extra_thickness_mm: float, reach_mm: float) -> float:
    """Change of pitch when a thicker record lifts the stylus: the rear is then low, so negative."""
    return -pitch_change_deg(extra_thickness_mm, reach_mm)


def reach_change_mm(length_mm: float, pitch_deg: float) -> float:
    """How much horizontal reach a pitched arm of this length gains by being set parallel.

    length x (1 - cos(pitch)), derived: 0.035 mm for 230 mm and 1 degree.
    """
    return length_mm * (1.0 - math.cos(math.radians(pitch_deg)))


def tilt_of_pitch_deg(pitch_deg: float, offset_deg: float) -> float:
    """Tilt that pitch adds on arms whose lift axis is square to the tube.

    pitch x sin(offset), derived for small pitch: the head's own long axis lies at the offset
    angle to the tube, so turning about the lift axis rolls it by that share.
    """
    return pitch_deg * math.sin(math.radians(offset_deg))


def _above_zero(reach_mm: float) -> None:
    if not reach_mm > 0.0:
        raise ValueError("The distance from stylus to pivot must be above zero.")
