"""Tilt against vectors and reference fits. Standing of each source beside its check."""

import cmath
import math

import numpy as np
import pytest
from scipy.optimize import curve_fit, minimize_scalar

from core.physics.crosstalk import LeakReading, fit_crosstalk
from core.physics.tilt import tilt_of_leak_deg


def turned_coils(tilt_deg: float) -> tuple[np.ndarray, np.ndarray]:
    """Left and right generator axes, 45 degrees either way of upright, turned by the tilt."""
    angles = np.radians(np.array([45.0, -45.0]) + tilt_deg)
    left, right = (np.array([math.sin(a), math.cos(a)]) for a in angles)
    return left, right


@pytest.mark.parametrize(
    ("tilt", "leak"), [(0.5, -41.18), (1.0, -35.16), (2.0, -29.14), (3.0, -25.61)]
)
def test_a_pure_tilt_leaks_its_tangent(tilt: float, leak: float) -> None:
    # Derived: 20 log10 tan t; 0.005 dB are 0.06 % of the tangent.
    assert tilt_of_leak_deg(leak) == pytest.approx(tilt, rel=6e-4)


@pytest.mark.parametrize("tilt", [-3.0, -0.4, 1.0, 2.5])
def test_the_tangent_is_that_of_turned_generator_axes(tilt: float) -> None:
    # Derived a second way: a left-wall movement projected on both turned axes.
    left, right = turned_coils(tilt)
    wall = np.array([math.sin(math.radians(45)), math.cos(math.radians(45))])
    leak = abs(float(wall @ right)) / float(wall @ left)
    assert tilt_of_leak_deg(20 * math.log10(leak)) == pytest.approx(abs(tilt), rel=1e-9)


def test_1_degree_leaks_0_01745_of_the_wanted_channel() -> None:
    # Geometry, as given by a personal page on asahi-net.or.jp; seen.
    assert tilt_of_leak_deg(20 * math.log10(0.01745)) == pytest.approx(1.0, rel=6e-4)


def test_25_db_of_separation_with_3_3_degrees_in_phase_leaves_18_9_db() -> None:
    # Derived: amplitudes add, 10^(-25/20) + tan 3.3; with the other sign they all but cancel.
    own, together = 10 ** (-25 / 20), 10 ** (-18.9 / 20)
    assert tilt_of_leak_deg(20 * math.log10(together - own)) == pytest.approx(3.3, abs=0.05)
    assert -20 * math.log10(abs(own - math.tan(math.radians(3.3)))) > 45


def leak_curve(t_deg: np.ndarray, c_deg: float, q: float) -> np.ndarray:
    """Leak in dB of axes turned by t - c, with one of the generator's own a quarter cycle late."""
    wall = np.array([math.sin(math.radians(45)), math.cos(math.radians(45))])
    leaks = []
    for tilt in np.atleast_1d(t_deg) - c_deg:
        left, right = turned_coils(float(tilt))
        wanted, across = float(wall @ left), float(wall @ right)
        leaks.append(abs((across + 1j * q * wanted) / wanted))
    return 20 * np.log10(np.array(leaks))


@pytest.mark.parametrize("seed", range(10))
def test_the_fit_is_that_of_a_reference_optimiser(seed: int) -> None:
    # Reference: scipy.optimize.curve_fit on the same model, value and covariance.
    rng = np.random.default_rng(seed)
    t = np.linspace(-3, 3, 7)
    sigma = 0.4
    first = leak_curve(t, rng.uniform(-1, 1), 0.04) + rng.normal(0, sigma, 7)
    second = leak_curve(t, rng.uniform(-1, 1), 0.03) + rng.normal(0, sigma, 7)
    fit = fit_crosstalk(
        [LeakReading(*map(float, row)) for row in zip(t, first, second, strict=True)],
        leak_standard_uncertainty_db=sigma,
    )
    assert fit is not None
    middles, variances = [], []
    for leaks, ours in ((first, fit.left_in_right), (second, fit.right_in_left)):
        theirs, covariance = curve_fit(
            leak_curve, t, leaks, p0=[0.0, 0.03], sigma=np.full(7, sigma), absolute_sigma=True
        )
        assert ours.least_at_deg == pytest.approx(theirs[0], abs=2e-3)
        assert ours.floor == pytest.approx(abs(theirs[1]), rel=2e-3)
        middles.append(theirs[0])
        variances.append(covariance[0, 0])
    assert fit.best_deg.value == pytest.approx(np.mean(middles), abs=2e-3)
    assert fit.best_deg.standard_uncertainty == pytest.approx(
        0.5 * math.sqrt(sum(variances)), rel=2e-2
    )


def test_the_best_setting_has_the_least_sum_of_both_leaks() -> None:
    # Reference: scipy.optimize.minimize_scalar over complex leaks.
    k1, k2, t0 = 0.015 + 0.03j, -0.004 - 0.05j, 0.8

    def leaks(t_deg: float) -> tuple[float, float]:
        across = math.tan(math.radians(t_deg - t0))
        return abs(k1 + across), abs(k2 - across)

    least = minimize_scalar(
        lambda t: sum(leak**2 for leak in leaks(t)), bounds=(-5, 5), method="bounded"
    ).x
    readings = [
        LeakReading(t, *(20 * math.log10(leak) for leak in leaks(t))) for t in (-2.0, 0.0, 2.0, 3.0)
    ]
    fit = fit_crosstalk(readings, leak_standard_uncertainty_db=0.2)
    assert fit is not None
    assert fit.best_deg.value == pytest.approx(least, abs=3e-3)


def test_with_phases_the_generators_own_leak_is_what_stands_square_to_the_tilts() -> None:
    # Derived: axes turned by 1.5 degrees and by -0.5, each with 0.03 a quarter of a cycle late.
    wall = np.array([math.sin(math.radians(45)), math.cos(math.radians(45))])
    readings = []
    for setting in (0.0, 2.0):
        left, right = turned_coils(setting - 1.5)
        leak = float(wall @ right) / float(wall @ left) + 0.03j
        level, phase = 20 * math.log10(abs(leak)), math.degrees(np.angle(leak))
        other = -leak.conjugate()  # the other wall sees the same turn the other way round
        readings.append(LeakReading(setting, level, level, phase, math.degrees(np.angle(other))))
    fit = fit_crosstalk(readings, leak_standard_uncertainty_db=0.2)
    assert fit is not None
    assert fit.left_in_right.floor == pytest.approx(0.03, rel=1e-6)
    assert fit.right_in_left.floor == pytest.approx(0.03, rel=1e-6)
    assert fit.best_deg.value == pytest.approx(1.5, abs=1e-6)


@pytest.mark.parametrize("count", [2, 3, 5])
def test_a_leak_with_phase_that_stands_off_is_told_by_its_own_spread(count: int) -> None:
    """A residual is known better than its reading, as the mean has bent toward it.

    Least squares with numpy: the residuals' covariance is V - J (J' V⁻¹ J)⁻¹ J' (derived; every
    text on linear models).
    """
    settings = np.linspace(-2.0, 2.0, count)
    leaks = np.tan(np.radians(settings - 0.5)) + 0.02j
    readings = []
    for place, (setting, leak) in enumerate(zip(settings, leaks, strict=True)):
        left = leak + (0.04 if place == count - 1 else 0.0)
        right = -leak.real + 0.02j
        readings.append(
            LeakReading(
                float(setting),
                *(20.0 * math.log10(abs(one)) for one in (left, right)),
                *(math.degrees(cmath.phase(one)) for one in (left, right)),
            )
        )
    sigma_db, sigma_deg = 0.5, 0.3
    fit = fit_crosstalk(
        readings,
        leak_standard_uncertainty_db=sigma_db,
        setting_standard_uncertainty_deg=sigma_deg,
    )
    assert fit is not None
    assert fit.worst is not None
    heard = np.array([10.0 ** (one.left_in_right_db / 20.0) for one in readings])
    real = heard * np.cos(np.radians([one.left_in_right_phase_deg or 0.0 for one in readings]))
    upright = np.radians(settings) - np.arctan(real)
    variance = (heard * sigma_db * math.log(10.0) / 20.0) ** 2 + math.radians(sigma_deg) ** 2
    weights = np.diag(1.0 / variance)
    ones = np.ones((count, 1))
    of_mean = np.linalg.inv(ones.T @ weights @ ones)
    mean = float((of_mean @ ones.T @ weights @ upright)[0])
    spread = np.sqrt(np.diag(np.diag(variance) - ones @ of_mean @ ones.T))
    normalised = np.abs(upright - mean) / spread
    assert fit.worst.normalised == pytest.approx(float(normalised.max()), rel=1e-6)
    assert fit.left_in_right.least_at_deg == pytest.approx(math.degrees(mean))
    assert fit.left_in_right.covariance[0][0] == pytest.approx(float(of_mean[0, 0]))
