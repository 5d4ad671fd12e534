"""Statistics and the trim's learning against scipy. Standing of each source beside its check."""

import math

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import quad
from scipy.optimize import least_squares

from core.estimation import (
    ControlModel,
    ControlMove,
    ControlTrial,
    Estimate,
    Prospect,
    combine,
    estimate,
    mean_of,
    normal_quantile,
    readings_until,
    two_sided_factor,
)
from core.estimation.gain_filter import PriorGain, posterior


@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.95, 0.99, 0.999])
@pytest.mark.parametrize("dof", [0.7, 1, 2, 2.5, 3, 7, 30, 200, 1e5])
def test_students_quantile(confidence: float, dof: float) -> None:
    # Reference: scipy.stats.t.
    expected = stats.t.ppf(0.5 * (1 + confidence), dof)
    assert two_sided_factor(confidence, dof) == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize(
    ("dof", "printed"), [(1, 12.706), (2, 4.303), (4, 2.776), (9, 2.262), (30, 2.042)]
)
def test_students_quantile_as_printed(dof: int, printed: float) -> None:
    # Printed tables of Student's t, two-sided 95 %; memory.
    assert two_sided_factor(0.95, dof) == pytest.approx(printed, abs=5e-4)


def test_normal_quantile() -> None:
    # Reference: scipy.stats.norm; 1.96 as printed everywhere (memory).
    for p in (0.001, 0.2, 0.9, 0.975, 0.9999):
        assert normal_quantile(p) == pytest.approx(stats.norm.ppf(p), rel=1e-9)
    assert two_sided_factor(0.95) == pytest.approx(1.96, abs=5e-5)


def test_interval_of_a_mean_with_unknown_error() -> None:
    # Reference: scipy.stats.t.interval.
    readings = [2.01, 1.97, 2.04, 2.00]
    low, high = stats.t.interval(0.95, 3, loc=np.mean(readings), scale=stats.sem(readings))
    assert mean_of(readings).interval() == pytest.approx((low, high))


def test_degrees_of_freedom_of_a_difference() -> None:
    # Reference: scipy.stats.ttest_ind without equal variances (Welch).
    rng = np.random.default_rng(1)
    a, b = rng.normal(0, 1, 5), rng.normal(0, 3, 8)
    expected = stats.ttest_ind(a, b, equal_var=False).df
    found = combine(0.0, (float(stats.sem(a)), 4), (float(stats.sem(b)), 7))
    assert found.degrees_of_freedom == pytest.approx(expected)


@pytest.mark.parametrize("dof", [1, 2, 4, 10])
def test_the_spread_is_suspected_at_the_chi_square_point(dof: int) -> None:
    # Reference: scipy.stats.chi2; the closed form in use is good to 2 % there.
    assert estimate._chi_square_limit(dof) == pytest.approx(stats.chi2.ppf(0.99, dof), rel=0.02)


@pytest.mark.parametrize("share", [0.0, 0.1, 0.2, 0.3])
def test_the_rounding_that_stays_after_averaging(share: float) -> None:
    # Reference: scipy.integrate.quad over where the truth lies in its step, expectation of the
    # rounded reading from scipy.stats.norm.
    def bias(truth: float) -> float:
        if share == 0.0:
            return round(truth) - truth
        edges = np.arange(-6, 7) + 0.5
        return float(np.sum(1 - stats.norm.cdf(edges, truth, share))) - 6.0 - truth

    square, _ = quad(lambda x: bias(x) ** 2, -0.5, 0.5, points=[0.0])
    assert estimate._lasting_rounding(1.0, share) == pytest.approx(math.sqrt(square), abs=2e-3)


def test_the_trim_learns_what_a_batch_solution_learns() -> None:
    # Reference: scipy.optimize.least_squares over gain, start and each move's own error at once.
    control = ControlModel("turn", stated_gain=1.0, execution_relative=0.1)
    readings, moves, sigma = [2.0, 0.7, 0.15, -0.02], [-1.5, -0.6, -0.2], 0.03
    trials: list[ControlTrial] = [Estimate(readings[0], sigma)]
    for move, reading in zip(moves, readings[1:], strict=True):
        trials += [ControlMove(move), Estimate(reading, sigma)]
    prior = PriorGain(1.0, 1.0, 0.25)
    learned = posterior(trials, control, [prior], 0.0)

    def misfit(p: np.ndarray) -> np.ndarray:
        start, gain, *jumps = p
        levels = start + np.concatenate([[0.0], np.cumsum(jumps)])
        acting = learned.gain.value
        return np.concatenate(
            [
                (levels - readings) / sigma,
                (np.array(jumps) - gain * np.array(moves))
                / (np.abs(acting * np.array(moves)) * 0.1),
                [(gain - 1.0) / 0.25],
            ]
        )

    found = least_squares(misfit, [2.0, 1.0, -1.5, -0.6, -0.2])
    covariance = np.linalg.inv(found.jac.T @ found.jac)
    level = np.array([1.0, 0.0, 1.0, 1.0, 1.0])
    assert learned.gain.value == pytest.approx(found.x[1], rel=1e-3)
    assert learned.gain.standard_uncertainty == pytest.approx(math.sqrt(covariance[1, 1]), rel=1e-2)
    assert learned.value.value == pytest.approx(float(level @ found.x), abs=1e-4)
    assert learned.value.standard_uncertainty == pytest.approx(
        math.sqrt(float(level @ covariance @ level)), rel=1e-2
    )


@pytest.mark.parametrize(
    ("read", "lasting", "tolerance"),
    [(0.1, 0.03, 0.1), (0.1, 0.0, 0.09), (0.2, 0.05, 0.21), (0.05, 0.02, 0.062)],
)
def test_how_many_more_readings_settle_it(read: float, lasting: float, tolerance: float) -> None:
    # Drawn, not worked out: so many readings with an error of their own and one in common.
    rng = np.random.default_rng(20261130)
    drawn, many = 20_000, 12
    own = read * rng.standard_normal((drawn, many))
    common = lasting * rng.standard_normal(drawn)
    taken = np.arange(1, many + 1)
    means = np.cumsum(own, axis=1) / taken + common[:, None]
    inside = np.mean(np.abs(means) <= tolerance, axis=0)
    first = int(taken[inside >= 0.95][0])
    now = Estimate(5.0, math.hypot(read, lasting))
    assert readings_until(now, 5.0, tolerance, Prospect(read, read, lasting)) == first - 1
