"""From where an arm stands to where it should: slide and twist, with what the readings leave open.

Signs as in `core.physics.arm_geometry`: slide positive = forward, away from the pivot; twist
positive = turn the head in. Parallel arms, which have no pivot, are fitted here too.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from core.physics.alignment_fit import AngleReading, ArmFit, NoFit
from core.physics.arm_geometry import ParallelArm, PivotedArm


@dataclass(frozen=True, slots=True)
class AlignmentMove:
    """How far to slide the cartridge and turn the head: wanted less present length and offset.

    The twist is None where the offset is unknown.
    """

    slide_mm: float
    slide_u_mm: float
    twist_deg: float | None
    twist_u_deg: float | None


def move_to(target: PivotedArm, fit: ArmFit) -> AlignmentMove:
    """Return slide and twist from the fitted arm to the target.

    The target is carried over to the fitted pivot-to-spindle distance with its null radii kept,
    and the uncertainty of that distance acts on both ends: dL*/dD = D / L*, db*/dD =
    -(D / L*^2) tan b* (derived). So a wrong D spoils a slide found by landing hardly at all.
    """
    wanted = target.moved_to_pivot(fit.pivot_to_spindle_mm)
    length, pivot = wanted.effective_length_mm, wanted.pivot_to_spindle_mm
    covariance = np.array(fit.covariance)
    by_slide = np.array([-1.0, 0.0, pivot / length])
    twist, twist_u = None, None
    if fit.offset_deg is not None:
        follow = -pivot / length**2 * math.tan(wanted.offset_rad)
        by_twist = np.array([0.0, -1.0, math.degrees(follow)])
        twist = wanted.offset_deg - fit.offset_deg
        twist_u = math.sqrt(float(by_twist @ covariance @ by_twist))
    return AlignmentMove(
        slide_mm=length - fit.effective_length_mm,
        slide_u_mm=math.sqrt(float(by_slide @ covariance @ by_slide)),
        twist_deg=twist,
        twist_u_deg=twist_u,
    )


@dataclass(frozen=True, slots=True)
class ParallelFit:
    """Where a parallel arm stands: stylus offset x and head angle b, each with its uncertainty.

    Both should be 0, so the slide is -x and the twist -b, with the same uncertainties.
    """

    arm: ParallelArm
    stylus_offset_u_mm: float
    head_angle_u_deg: float


@dataclass(frozen=True, slots=True)
class StylusOffsetReading:
    """How far forward of the radius along its path the stylus runs, read on a straight line."""

    beyond_mm: float
    u_mm: float

    def __post_init__(self) -> None:
        if not (0 < self.u_mm < math.inf and math.isfinite(self.beyond_mm)):
            raise ValueError("A stylus offset needs a finite length and an uncertainty above 0.")


def fit_parallel_arm(
    angles: Sequence[AngleReading], offsets: Sequence[StylusOffsetReading] = ()
) -> ParallelFit | NoFit:
    """Fit stylus offset and head angle of a parallel arm to head angles and direct readings.

    Each angle says r sin(e + b) = x (derived), so two angles at different radii suffice:
    tan b = (r2 sin e2 - r1 sin e1) / (r1 cos e1 - r2 cos e2); or one angle and one direct
    reading. Gauss-Newton on all of them, weighted by their uncertainties.

    Returns
    -------
    ParallelFit or NoFit
        `NoFit.TOO_FEW` when x and b cannot be told apart; `NoFit.NO_ARM` when no straight path
        shows these angles.
    """
    radius = np.array([a.radius_mm for a in angles])
    read_rad = np.radians([a.error_deg for a in angles])
    angle_u_rad = np.radians([a.u_deg for a in angles])
    beyond = np.array([o.beyond_mm for o in offsets])
    beyond_u = np.array([o.u_mm for o in offsets])
    if not len(angles) or (not len(offsets) and float(np.ptp(radius)) == 0.0):
        return NoFit.TOO_FEW
    # small angles make it linear, which starts Gauss-Newton well: e = x / r - b
    at = np.zeros(2)
    bearing = np.empty((0, 2))
    for _ in range(30):
        sine = at[0] / radius
        if (np.abs(sine) >= 1.0).any():
            return NoFit.NO_ARM
        model = np.arcsin(sine) - at[1]
        slope = 1.0 / (radius * np.sqrt(1.0 - sine**2))
        by_angle = np.column_stack((slope, np.full(radius.shape, -1.0))) / angle_u_rad[:, None]
        by_offset = np.column_stack((1.0 / beyond_u, np.zeros(beyond.shape)))
        bearing = np.vstack((by_angle, by_offset))
        differences = np.concatenate(
            ((read_rad - model) / angle_u_rad, (beyond - at[0]) / beyond_u)
        )
        step = np.linalg.lstsq(bearing, differences, rcond=None)[0]
        at = at + step
        if np.max(np.abs(step)) < 1e-12:
            break
    else:
        return NoFit.NO_ARM
    covariance = np.linalg.inv(bearing.T @ bearing)
    if abs(at[1]) >= math.pi / 2:
        return NoFit.NO_ARM
    return ParallelFit(
        ParallelArm(float(at[0]), math.degrees(float(at[1]))),
        math.sqrt(float(covariance[0, 0])),
        math.degrees(math.sqrt(float(covariance[1, 1]))),
    )
