"""Tilt (azimuth) from the leak into the silent channel, over the settings tried.

Tilt and settings are positive as in `core.physics.tilt`.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from core.estimation import Disagreement, Estimate, worst_residual

FloatArray = npt.NDArray[np.float64]

_DB_PER_NEPER = 20.0 / math.log(10.0)
_PASSES = 60
_REWEIGHINGS = 3


@dataclass(frozen=True, slots=True)
class LeakReading:
    """Leaks at one tilt setting, with phase if it is known.

    The setting is on any scale that is the same for all readings. Leaks are wrong channel less
    right channel: on the left-only band right less left, and the reverse. Phases are of the wrong
    channel against the right one, both or neither.
    """

    setting_deg: float
    left_in_right_db: float
    right_in_left_db: float
    left_in_right_phase_deg: float | None = None
    right_in_left_phase_deg: float | None = None

    @property
    def has_phase(self) -> bool:
        """Whether the signs of the leaks are known."""
        return self.left_in_right_phase_deg is not None and (
            self.right_in_left_phase_deg is not None
        )


@dataclass(frozen=True, slots=True)
class ChannelFit:
    """One leak against setting: sqrt(tan^2(t - least_at) + floor^2), the floor as an amplitude.

    The covariance is of (least_at in radians, floor), 2 by 2.
    """

    least_at_deg: float
    floor: float
    covariance: tuple[tuple[float, float], tuple[float, float]]

    def leak_db(self, settings_deg: npt.ArrayLike) -> FloatArray:
        """Leak in dB at each setting."""
        across = np.tan(np.radians(np.asarray(settings_deg, dtype=float) - self.least_at_deg))
        power: FloatArray = np.maximum(across**2 + self.floor**2, 1e-16)
        level: FloatArray = 10.0 * np.log10(power)
        return level


@dataclass(frozen=True, slots=True)
class CrosstalkFit:
    """Both leaks against tilt.

    `best_deg` is where the sum of both leaks' powers is least, halfway between the two least
    settings: the true upright of the stylus when the generator's own leaks are alike. `equal_deg`
    is where both are equal, None where the curves do not cross within 10 degrees of the best.
    `outside_range`: the best lies outside the settings tried; set it and read again before
    believing it. `worst` is the reading that fits worst, two per setting: 2 i left in right, 2 i +
    1 right in left.
    """

    left_in_right: ChannelFit
    right_in_left: ChannelFit
    best_deg: Estimate
    equal_deg: float | None
    outside_range: bool
    worst: Disagreement | None


def settings_needed(readings: Sequence[LeakReading]) -> int:
    """How many further, different settings the fit needs: two in all, or one with phase."""
    if not readings:
        return 1 if _all_phased(readings) else 2
    distinct = len({round(reading.setting_deg, 3) for reading in readings})
    return max((1 if _all_phased(readings) else 2) - distinct, 0)


def fit_crosstalk(
    readings: Sequence[LeakReading],
    *,
    leak_standard_uncertainty_db: float,
    setting_standard_uncertainty_deg: float = 0.0,
    leak_floor: float = 0.0,
) -> CrosstalkFit | None:
    """Fit both leaks over the settings tried and find the best one.

    Parameters
    ----------
    readings : sequence of LeakReading
        At two or more different settings, or at one with phase.
    leak_standard_uncertainty_db : float
        Of each leak, above zero. Phases are taken to be as good: sigma dB of amplitude is
        sigma / 8.686 radians of phase.
    setting_standard_uncertainty_deg : float
        Of each setting, independent of the others.
    leak_floor : float
        What noise adds to each leak with phase, as an amplitude: one standard uncertainty of
        either part. A leak of almost nothing is known no better.

    Returns
    -------
    CrosstalkFit or None
        None when `settings_needed` is above zero.

    Notes
    -----
    Model (derived): leak_LR = |k1 + tan(t - t0)|, leak_RL = |k2 - tan(t - t0)|, with complex k
    for the generator's own leaks. The real part of k1 can't be told apart from a shift of t0, so
    each channel is fitted as |leak|^2 = tan^2(t - c) + q^2, with c = t0 - Re k1 (or t0 + Re k2)
    and q = |Im k|. That is quadratic with known curvature: two settings fix it without any sign.
    The best setting (c1 + c2) / 2 is t0 exactly when Re k1 = Re k2, and the least sum always.
    Solved in dB by damped Gauss-Newton, started from the linear solution.
    """
    if not leak_standard_uncertainty_db > 0.0:
        raise ValueError("Leaks need an uncertainty above zero.")
    if not readings or settings_needed(readings) > 0:
        return None
    sigma_t = math.radians(setting_standard_uncertainty_deg)
    settings = np.radians([reading.setting_deg for reading in readings])
    phased = _all_phased(readings)
    channels: list[ChannelFit] = []
    residuals = np.empty(2 * len(readings))
    own = np.empty(2 * len(readings))
    for place, sign in ((0, 1.0), (1, -1.0)):
        leaks = np.array([_leak(reading, place) for reading in readings])
        if phased:
            phases = np.radians([_phase(reading, place) for reading in readings])
            channel, left, spread = _fit_phased(
                settings, leaks, phases, sign, (leak_standard_uncertainty_db, leak_floor), sigma_t
            )
        else:
            channel, left, spread = _fit_levels(
                settings, leaks, leak_standard_uncertainty_db, sigma_t
            )
        channels.append(channel)
        residuals[place::2], own[place::2] = left, spread
    first, second = channels
    best = 0.5 * (first.least_at_deg + second.least_at_deg)
    uncertainty = 0.5 * math.degrees(math.sqrt(first.covariance[0][0] + second.covariance[0][0]))
    tried = [reading.setting_deg for reading in readings]
    return CrosstalkFit(
        left_in_right=first,
        right_in_left=second,
        best_deg=Estimate(best, uncertainty),
        equal_deg=_crossing(first, second, best),
        outside_range=not min(tried) <= best <= max(tried),
        worst=worst_residual(residuals.tolist(), own.tolist()),
    )


def _all_phased(readings: Sequence[LeakReading]) -> bool:
    return bool(readings) and all(reading.has_phase for reading in readings)


def _leak(reading: LeakReading, place: int) -> float:
    return reading.right_in_left_db if place else reading.left_in_right_db


def _phase(reading: LeakReading, place: int) -> float:
    phase = reading.right_in_left_phase_deg if place else reading.left_in_right_phase_deg
    return math.nan if phase is None else phase


def _fit_levels(
    settings: FloatArray, leaks_db: FloatArray, sigma_db: float, sigma_t: float
) -> tuple[ChannelFit, FloatArray, FloatArray]:
    """Least squares in dB over (c, q); the residuals and their own uncertainties beside it."""
    parameters = _straight_line_start(settings, leaks_db)
    sigma = np.full_like(leaks_db, sigma_db)
    for _ in range(_REWEIGHINGS if sigma_t > 0.0 else 1):
        if sigma_t > 0.0:
            _, jacobian = _levels_model(parameters, settings)
            sigma = np.hypot(sigma_db, jacobian[:, 0] * sigma_t)
        parameters = _gauss_newton(parameters, settings, leaks_db, sigma)
    model, jacobian = _levels_model(parameters, settings)
    jacobian = jacobian / sigma[:, None]
    covariance: FloatArray = np.linalg.pinv(jacobian.T @ jacobian).astype(np.float64)
    leverage = np.einsum("ij,jk,ik->i", jacobian, covariance, jacobian)
    free = np.where(leverage < 1.0 - 1e-6, 1.0 - leverage, 0.0)
    return _channel(parameters, covariance), (leaks_db - model) / sigma, np.sqrt(free)


def _straight_line_start(settings: FloatArray, leaks_db: FloatArray) -> FloatArray:
    """Start of the fit: |leak|^2 - x^2 = -2 c x + (c^2 + q^2) is a straight line in x = tan t."""
    power = 10.0 ** (leaks_db / 10.0)
    middle = float(settings.mean())
    across = np.tan(settings - middle)
    line = np.column_stack([-2.0 * across, np.ones_like(across)])
    (slope, level), *_ = np.linalg.lstsq(
        line / power[:, None], (power - across**2) / power, rcond=None
    )
    least = math.atan(float(np.clip(slope, -1.0, 1.0))) + middle
    floor = math.sqrt(max(float(level - slope**2), 0.05 * float(power.min())))
    return np.array([least, floor])


def _gauss_newton(
    start: FloatArray, settings: FloatArray, leaks_db: FloatArray, sigma: FloatArray
) -> FloatArray:
    # Plain floats: arrays of a handful of settings cost more to call than to compute.
    points = list(zip(settings.tolist(), leaks_db.tolist(), sigma.tolist(), strict=True))
    least, floor = float(start[0]), float(start[1])
    now = _normal_equations(least, floor, points)
    damping = 1e-3
    for _ in range(_PASSES):
        cost, cc, cq, qq, to_c, to_q = now
        cc += damping * (cc + 1e-12)
        qq += damping * (qq + 1e-12)
        determinant = cc * qq - cq * cq
        trial = now
        if determinant > 0.0:
            next_least = least + (to_c * qq - to_q * cq) / determinant
            next_floor = max(abs(floor + (to_q * cc - to_c * cq) / determinant), 1e-6)
            trial = _normal_equations(next_least, next_floor, points)
        if determinant <= 0.0 or trial[0] > cost:
            damping *= 8.0
            if damping > 1e12:
                break
            continue
        settled = cost - trial[0] < 1e-8 * (1.0 + cost)
        least, floor, now = next_least, next_floor, trial
        damping = max(0.2 * damping, 1e-12)
        if settled:
            break
    return np.array([least, floor])


def _normal_equations(
    least: float, floor: float, points: Sequence[tuple[float, float, float]]
) -> tuple[float, float, float, float, float, float]:
    """Cost, the three sums of the normal matrix over (c, q), and its right-hand side."""
    cost = cc = cq = qq = to_c = to_q = 0.0
    for setting, leak_db, sigma in points:
        across = math.tan(setting - least)
        power = across * across + floor * floor
        by_c = -_DB_PER_NEPER * across * (1.0 + across * across) / power / sigma
        by_q = _DB_PER_NEPER * floor / power / sigma
        gap = (leak_db - 0.5 * _DB_PER_NEPER * math.log(power)) / sigma
        cost += gap * gap
        cc += by_c * by_c
        cq += by_c * by_q
        qq += by_q * by_q
        to_c += by_c * gap
        to_q += by_q * gap
    return cost, cc, cq, qq, to_c, to_q


def _levels_model(parameters: FloatArray, settings: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Leak in dB of one channel, and its derivatives by (c, q)."""
    least, floor = parameters
    across = np.tan(settings - least)
    power = across**2 + floor**2
    by_least = -_DB_PER_NEPER * across * (1.0 + across**2) / power
    by_floor = _DB_PER_NEPER * floor / power
    return 0.5 * _DB_PER_NEPER * np.log(power), np.column_stack([by_least, by_floor])


def _fit_phased(
    settings: FloatArray,
    leaks_db: FloatArray,
    phases: FloatArray,
    sign: float,
    sigma: tuple[float, float],
    sigma_t: float,
) -> tuple[ChannelFit, FloatArray, FloatArray]:
    """Mean of c = t - atan(sign x Re leak) and of Im leak over the settings.

    An error of sigma in log amplitude and in phase alike is round in the complex plane, as noise
    is. `sigma` is in dB, and as an amplitude.
    """
    leak = 10.0 ** (leaks_db / 20.0) * np.exp(1j * phases)
    noise = np.hypot(np.abs(leak) * sigma[0] / _DB_PER_NEPER, sigma[1])
    each = settings - np.arctan(sign * leak.real)
    spread = np.hypot(noise, sigma_t)
    weight = 1.0 / spread**2
    variance = 1.0 / float(weight.sum())
    least = float(weight @ each) * variance
    floor_weight = 1.0 / noise**2
    floor_variance = 1.0 / float(floor_weight.sum())
    floor = float(floor_weight @ leak.imag) * floor_variance
    covariance = np.diag([variance, floor_variance])
    own = np.sqrt(np.maximum(spread**2 - variance, 0.0)) * (1.0 if len(settings) > 1 else 0.0)
    return _channel(np.array([least, abs(floor)], dtype=np.float64), covariance), each - least, own


def _channel(parameters: FloatArray, covariance: FloatArray) -> ChannelFit:
    return ChannelFit(
        least_at_deg=math.degrees(float(parameters[0])),
        floor=float(parameters[1]),
        covariance=(
            (float(covariance[0, 0]), float(covariance[0, 1])),
            (float(covariance[1, 0]), float(covariance[1, 1])),
        ),
    )


def _crossing(first: ChannelFit, second: ChannelFit, near_deg: float) -> float | None:
    """Find the setting nearest to the best at which both leaks are equal, within 10 degrees."""
    grid = near_deg + np.linspace(-10.0, 10.0, 801)
    difference = first.leak_db(grid) - second.leak_db(grid)
    turns = np.nonzero(np.diff(np.sign(difference)) != 0)[0]
    if turns.size == 0:
        return None
    place = int(turns[np.argmin(np.abs(grid[turns] - near_deg))])
    low, high = float(grid[place]), float(grid[place + 1])
    rise = float(difference[place + 1] - difference[place])
    return low - float(difference[place]) * (high - low) / rise
