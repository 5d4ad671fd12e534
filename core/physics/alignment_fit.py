"""From readings on a protractor to where the stylus and head really stand, and the next move.

Readings: head angles against the tangent at known groove radii, and how far the stylus lands from
an arc or point drawn for a given arm. Each carries its standard uncertainty, and so does the
measured pivot-to-spindle distance; all of them go into one weighted least-squares fit of effective
length L, offset b and pivot-to-spindle distance D (Gauss-Newton; the covariance is the usual
linear one, derived). Signs and units as in `core.physics.arm_geometry`.

In the head's own frame a head angle e at radius r puts the spindle at r (cos e, sin e) and the
pivot at L (sin b, cos b), which lie D apart (derived). So two angles alone give L and b as the
meeting of two circles; that is the exact answer for two, and the start for more.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np

from core.physics.arm_geometry import Floats, PivotedArm, error_and_slopes_deg

_COARSEST_LENGTH_MM: Final = 20.0
_APART: Final = 1e-9
"""A column this close (relative) to those before it can't be told apart from them."""


@dataclass(frozen=True, slots=True)
class AngleReading:
    """Head angle against the tangent at a groove radius; positive = turned out (e of the arm)."""

    radius_mm: float
    error_deg: float
    u_deg: float

    def __post_init__(self) -> None:
        if not (self.radius_mm > 0 and 0 < self.u_deg < math.inf and abs(self.error_deg) < 90):
            raise ValueError(
                "A head angle needs a radius above 0 mm, an angle below 90 deg and an "
                "uncertainty above 0."
            )


@dataclass(frozen=True, slots=True)
class LandingReading:
    """How far beyond a drawn arc or point the stylus lands, along the line from the pivot.

    Positive = further from the pivot than the mark. `radius_mm` is the groove radius at which it
    was read (overhang gauge: the drawn overhang), `drawn_for` the arm whose effective length and
    pivot-to-spindle distance the mark was drawn for.
    """

    beyond_mm: float
    u_mm: float
    radius_mm: float
    drawn_for: PivotedArm

    def __post_init__(self) -> None:
        if not (self.radius_mm > 0 and 0 < self.u_mm < math.inf and math.isfinite(self.beyond_mm)):
            raise ValueError(
                "A landing error needs a radius above 0 mm, a finite length and an uncertainty "
                "above 0."
            )


@dataclass(frozen=True, slots=True)
class KnownOffset:
    """An offset taken from the maker or known by build (a straight arm: 0), u_deg 0 = exact."""

    offset_deg: float
    u_deg: float = 0.0


class NoFit(StrEnum):
    """Why readings give no answer."""

    TOO_FEW = "too_few"
    """They can't tell effective length and offset apart."""
    TOO_COARSE = "too_coarse"
    """They fix the effective length no better than 20 mm."""
    NO_ARM = "no_arm"
    """No arm with this pivot-to-spindle distance fits them."""


Matrix = tuple[tuple[float, ...], ...]
Guess = tuple[float, float, float]
"""L in mm, b in deg, D in mm."""
Equations = tuple[list[float], list[tuple[float, float, float]]]


@dataclass(frozen=True, slots=True)
class ArmFit:
    """Where the arm stands by the readings.

    Attributes
    ----------
    effective_length_mm : float
    offset_deg : float or None
        None where only landing was read: the offset stays unknown.
    pivot_to_spindle_mm : float
        The measured distance, moved by the readings if they are more than enough.
    covariance : 3 x 3 tuple
        Over (L in mm, b in deg, D in mm); the offset's row is 0 where it is unknown.
    standardised_residuals : tuple of float
        One per reading in the order angles, landings: reading less fit over the standard
        deviation of that difference; 0 where the reading alone fixes its part of the fit.
    """

    effective_length_mm: float
    offset_deg: float | None
    pivot_to_spindle_mm: float
    covariance: Matrix
    standardised_residuals: tuple[float, ...]

    @property
    def arm(self) -> PivotedArm | None:
        """Return the fitted arm, None where the offset is unknown."""
        if self.offset_deg is None:
            return None
        return PivotedArm(self.pivot_to_spindle_mm, self.effective_length_mm, self.offset_deg)


def arm_from_two_angles(
    pivot_to_spindle_mm: float, first: AngleReading, second: AngleReading
) -> PivotedArm | None:
    """Return the one arm that shows these head angles, None if there is none (exact, derived)."""
    (x0, y0), (x1, y1) = (
        (
            reading.radius_mm * math.cos(math.radians(reading.error_deg)),
            reading.radius_mm * math.sin(math.radians(reading.error_deg)),
        )
        for reading in (first, second)
    )
    apart = math.hypot(x1 - x0, y1 - y0)
    if not 1e-9 < apart < 2.0 * pivot_to_spindle_mm:
        return None
    square_x, square_y = (y0 - y1) / apart, (x1 - x0) / apart
    if square_y < 0:
        square_x, square_y = -square_x, -square_y
    height = math.sqrt(pivot_to_spindle_mm**2 - apart**2 / 4.0)
    x, y = (x0 + x1) / 2.0 + height * square_x, (y0 + y1) / 2.0 + height * square_y
    if y <= 0:
        return None
    return PivotedArm(pivot_to_spindle_mm, math.hypot(x, y), math.degrees(math.atan2(x, y)))


def landing_beyond_mm(
    drawn_for: PivotedArm,
    radius_mm: float,
    pivot_to_spindle_mm: float,
    effective_length_mm: float,
) -> tuple[float, float, float]:
    """Return the landing error, and its slopes by length and by pivot distance, mm and mm per mm.

    The stylus stands on groove radius r, L from the true pivot; its distance from the drawn pivot,
    less the drawn length, is the landing error (derived). With the true D equal to the drawn one it
    is L less the drawn length, at any radius; a wrong D shifts it by about -cos of the arm's angle
    to the line of centres, so that a landing error measures overhang more than length.
    """
    drawn, pivot, length = drawn_for.pivot_to_spindle_mm, pivot_to_spindle_mm, effective_length_mm
    span = radius_mm**2 - length**2
    squared = radius_mm**2 + drawn**2 - drawn * (span / pivot + pivot)
    if squared <= 0:
        return math.nan, math.nan, math.nan
    reached = math.sqrt(squared)
    return (
        reached - drawn_for.effective_length_mm,
        drawn / pivot * length / reached,
        drawn * (span / pivot**2 - 1.0) / (2.0 * reached),
    )


@dataclass(frozen=True, slots=True)
class _Problem:
    """All readings as weighted rows over (L mm, b deg, D mm)."""

    pivot_to_spindle_mm: float
    pivot_u_mm: float
    angles: tuple[AngleReading, ...]
    landings: tuple[LandingReading, ...]
    known_offset: KnownOffset | None

    def rows(self, length_mm: float, offset_deg: float, pivot_mm: float) -> Equations:
        """Weighted differences (reading less model), and the model's weighted slopes as rows."""
        arm = PivotedArm(pivot_mm, length_mm, offset_deg)
        differences: list[float] = []
        slopes: list[tuple[float, float, float]] = []
        for angle in self.angles:
            error, by_length, by_pivot = error_and_slopes_deg(arm, angle.radius_mm)
            differences.append((angle.error_deg - error) / angle.u_deg)
            slopes.append((by_length / angle.u_deg, -1.0 / angle.u_deg, by_pivot / angle.u_deg))
        for landing in self.landings:
            beyond, by_length, by_pivot = landing_beyond_mm(
                landing.drawn_for, landing.radius_mm, pivot_mm, length_mm
            )
            differences.append((landing.beyond_mm - beyond) / landing.u_mm)
            slopes.append((by_length / landing.u_mm, 0.0, by_pivot / landing.u_mm))
        if self.known_offset is not None and self.known_offset.u_deg > 0:
            u_deg = self.known_offset.u_deg
            differences.append((self.known_offset.offset_deg - offset_deg) / u_deg)
            slopes.append((0.0, 1.0 / u_deg, 0.0))
        if self.pivot_u_mm > 0:
            differences.append((self.pivot_to_spindle_mm - pivot_mm) / self.pivot_u_mm)
            slopes.append((0.0, 0.0, 1.0 / self.pivot_u_mm))
        return differences, slopes

    def free(self) -> list[int]:
        """Which of (L, b, D) the readings bear on."""
        free = [0]
        pinned = self.known_offset is not None and self.known_offset.u_deg == 0
        if (self.angles or self.known_offset is not None) and not pinned:
            free.append(1)
        if self.pivot_u_mm > 0:
            free.append(2)
        return free

    def start(self) -> Guess | NoFit:
        """Return a first guess good enough for Gauss-Newton."""
        if self.landings:
            return self._start_from_landing(self.landings[0])
        if self.known_offset is not None and self.angles:
            return self._start_from_known_offset(self.known_offset, self.angles[0])
        ordered = sorted(self.angles, key=lambda a: a.radius_mm)
        if len(ordered) < 2 or ordered[0].radius_mm == ordered[-1].radius_mm:
            return NoFit.TOO_FEW
        arm = arm_from_two_angles(self.pivot_to_spindle_mm, ordered[0], ordered[-1])
        if arm is None:
            return NoFit.NO_ARM
        return arm.effective_length_mm, arm.offset_deg, self.pivot_to_spindle_mm

    def _start_from_landing(self, landing: LandingReading) -> Guess | NoFit:
        pivot = self.pivot_to_spindle_mm
        length = pivot + landing.drawn_for.overhang_mm + landing.beyond_mm
        if length <= 0:
            return NoFit.NO_ARM
        offset = 0.0
        if self.known_offset is not None:
            offset = self.known_offset.offset_deg
        elif self.angles:
            unturned = PivotedArm(pivot, length, 0.0)
            first = self.angles[0]
            offset = error_and_slopes_deg(unturned, first.radius_mm)[0] - first.error_deg
        return length, offset, pivot

    def _start_from_known_offset(self, known: KnownOffset, reading: AngleReading) -> Guess | NoFit:
        turn = math.radians(reading.error_deg + known.offset_deg)
        square = self.pivot_to_spindle_mm**2 - (reading.radius_mm * math.cos(turn)) ** 2
        if square <= 0:
            return NoFit.NO_ARM
        length = reading.radius_mm * math.sin(turn) + math.sqrt(square)
        return length, known.offset_deg, self.pivot_to_spindle_mm


def fit_arm(
    pivot_to_spindle_mm: float,
    pivot_u_mm: float,
    angles: Sequence[AngleReading] = (),
    landings: Sequence[LandingReading] = (),
    known_offset: KnownOffset | None = None,
) -> ArmFit | NoFit:
    """Fit effective length and offset to readings on a pivoted arm.

    Parameters
    ----------
    pivot_to_spindle_mm, pivot_u_mm : float
        The measured D and its standard uncertainty (0 = taken as exact).
    angles : sequence of AngleReading
        Two at different radii suffice alone; one with a landing error or a known offset.
    landings : sequence of LandingReading
        Alone they give the effective length and leave the offset unknown.
    known_offset : KnownOffset, optional
        Where the head cannot be turned, or the maker's figure with its uncertainty.

    Returns
    -------
    ArmFit or NoFit
        `NoFit` says in a sentence what is missing; readings never raise.

    Raises
    ------
    ValueError
        If D is not above 0 or its uncertainty negative.
    """
    if not (0 < pivot_to_spindle_mm < math.inf and 0 <= pivot_u_mm < math.inf):
        raise ValueError("Pivot-to-spindle distance must be above 0 mm, its uncertainty not below.")
    problem = _Problem(
        pivot_to_spindle_mm, pivot_u_mm, tuple(angles), tuple(landings), known_offset
    )
    start = problem.start()
    return start if isinstance(start, NoFit) else _gauss_newton(problem, start)


def _gauss_newton(problem: _Problem, start: Guess) -> ArmFit | NoFit:
    free = problem.free()
    at = list(start)
    for _ in range(30):
        length, offset, pivot = at
        if not (length > 0 and pivot > 0 and abs(offset) < 90):
            return NoFit.NO_ARM
        differences, slopes = map(np.array, problem.rows(length, offset, pivot))
        design = slopes[:, free]
        if not (np.isfinite(differences).all() and np.isfinite(design).all()):
            return NoFit.NO_ARM
        if len(design) < len(free):
            return NoFit.TOO_FEW
        units, triangle = np.linalg.qr(design)
        if (np.abs(np.diag(triangle)) <= _APART * np.linalg.norm(design, axis=0)).any():
            return NoFit.TOO_FEW
        inverse = np.linalg.solve(triangle, units.T)
        step = (inverse @ differences).tolist()
        for place, change in zip(free, step, strict=True):
            at[place] += change
        if max(map(abs, step)) < 1e-10:
            leverage = (units**2).sum(axis=1)
            return _summary(problem, at, differences, leverage, inverse @ inverse.T, free)
    return NoFit.NO_ARM


def _summary(
    problem: _Problem,
    at: list[float],
    differences: Floats,
    leverage: Floats,
    free_covariance: Floats,
    free: list[int],
) -> ArmFit | NoFit:
    all_three = np.zeros((3, 3))
    all_three[np.ix_(free, free)] = free_covariance
    covariance = all_three.tolist()
    if math.sqrt(covariance[0][0]) > _COARSEST_LENGTH_MM:
        return NoFit.TOO_COARSE
    # What is left of each reading's own variance once the fit has followed it.
    spare = 1.0 - leverage
    count = len(problem.angles) + len(problem.landings)
    standardised = tuple(
        d / math.sqrt(s) if s > 1e-6 else 0.0
        for d, s in zip(differences[:count].tolist(), spare[:count].tolist(), strict=True)
    )
    length, offset, pivot = at
    unknown = 1 not in free and problem.known_offset is None
    return ArmFit(
        effective_length_mm=length,
        offset_deg=None if unknown else offset,
        pivot_to_spindle_mm=pivot,
        covariance=tuple(tuple(row) for row in covariance),
        standardised_residuals=standardised,
    )
