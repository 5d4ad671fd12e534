"""Speed: from a strobe disc, from timed turns, from a readout."""

import math
from dataclasses import dataclass

from core.estimation import COVERAGE_FACTOR, Estimate


def rpm_of_bars(bars: float, flashes_hz: float) -> float:
    """Speed at which so many bars stand still: 60 f / n, derived."""
    _above_zero(bars, flashes_hz)
    return 60.0 * flashes_hz / bars


@dataclass(frozen=True, slots=True)
class BarCount:
    """A whole number of bars, the speed they stand still at, and how far off nominal that is."""

    bars: int
    stands_at_rpm: float
    off_percent: float

    @property
    def exact(self) -> bool:
        """Whether it stands still at the nominal speed, to the last digit that is told."""
        return abs(self.off_percent) < 0.005


def nearest_bars(nominal_rpm: float, flashes_hz: float) -> BarCount:
    """Whole number of bars whose speed is nearest to the nominal one, and what it stands at."""
    _above_zero(nominal_rpm, flashes_hz)
    ideal = 60.0 * flashes_hz / nominal_rpm
    candidates = {max(math.floor(ideal), 1), math.ceil(ideal)}
    bars = min(candidates, key=lambda n: abs(rpm_of_bars(n, flashes_hz) - nominal_rpm))
    stands_at = rpm_of_bars(bars, flashes_hz)
    return BarCount(bars, stands_at, percent_off(stands_at, nominal_rpm))


def percent_off(rpm: float, nominal_rpm: float) -> float:
    """Error of a speed in percent of nominal, positive when fast."""
    return 100.0 * (rpm / nominal_rpm - 1.0)


def speed_error_percent(rpm: Estimate, nominal_rpm: float) -> Estimate:
    """Error of a speed in percent of nominal, with its uncertainty."""
    return rpm.scaled(100.0 / nominal_rpm).shifted(-100.0)


def rpm_of_drift(
    bars: int,
    flashes_hz: float,
    drifted_bars: float,
    seconds: float,
    *,
    drift_standard_uncertainty_bars: float,
    time_standard_uncertainty_s: float = 0.0,
    flashes_relative_uncertainty: float = 0.0,
) -> Estimate:
    """Speed from bars that drift past a mark.

    Parameters
    ----------
    bars : int
        Bars round the disc.
    flashes_hz : float
        Flashes per second; twice the mains frequency for a mains lamp.
    drifted_bars : float
        Bars that passed: positive with the platter (fast), negative against it (slow).
    seconds : float
        In this time, above zero.
    drift_standard_uncertainty_bars, time_standard_uncertainty_s : float
        Of the count and of the time.
    flashes_relative_uncertainty : float
        Of the flash rate, as a share: 0.001 for a tenth of a percent. It doesn't average down.

    Returns
    -------
    Estimate
        rpm = 60 (f + k / T) / n, derived: each flash shows the disc advanced by one bar and the
        drift of a flash's time. 180 bars at 100, 10 back in 30 s: -0.333 %.
    """
    _above_zero(bars, flashes_hz, seconds)
    drift_hz = drifted_bars / seconds
    rate = math.hypot(
        drift_standard_uncertainty_bars / seconds,
        drift_hz * time_standard_uncertainty_s / seconds,
    )
    per_bar = 60.0 / bars
    return Estimate(
        per_bar * (flashes_hz + drift_hz),
        per_bar * math.hypot(rate, flashes_relative_uncertainty * flashes_hz),
    )


def rpm_of_turns(turns: float, seconds: float, *, time_standard_uncertainty_s: float) -> Estimate:
    """Speed from counted turns: 60 N / T, both above zero.

    The uncertainty of the time is that of both presses of the stopwatch together.
    """
    _above_zero(turns, seconds)
    rpm = 60.0 * turns / seconds
    return Estimate(rpm, rpm * time_standard_uncertainty_s / seconds)


def turns_needed(
    nominal_rpm: float, tolerance_percent: float, time_standard_uncertainty_s: float
) -> int:
    """How many turns to count so that the 95 % interval is half of the tolerance.

    From the relative error of the time, 1.96 u / T = tolerance / 2 (derived).
    """
    _above_zero(nominal_rpm, tolerance_percent)
    seconds = 2.0 * COVERAGE_FACTOR * time_standard_uncertainty_s / (tolerance_percent / 100.0)
    return max(math.ceil(seconds * nominal_rpm / 60.0), 1)


def _above_zero(*values: float) -> None:
    if not all(value > 0.0 for value in values):
        raise ValueError("Bars, flashes, times and speeds must all be above zero.")
