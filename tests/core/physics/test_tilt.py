import math

import numpy as np
import pytest

from core.physics.crosstalk import CrosstalkFit, LeakReading, fit_crosstalk, settings_needed
from core.physics.tilt import channel_balance, gap_tilt_deg, shim_mm
from tests.truth import Held, TruthComesBack, held_by


class TestGapTilt(TruthComesBack):
    def attempt(self, rng: np.random.Generator) -> Held:
        tilt, width = math.radians(rng.uniform(-4, 4)), rng.uniform(12, 20)
        left, right = 8.0 + width * math.tan(tilt), 8.0
        found = gap_tilt_deg(
            left + rng.normal(0, 0.2),
            right + rng.normal(0, 0.2),
            width + rng.normal(0, 0.5),
            gap_standard_uncertainty_mm=0.2,
            width_standard_uncertainty_mm=0.5,
        )
        return {"tilt": held_by(math.degrees(tilt), found)}


def leaks(
    t0_deg: float,
    k1: complex,
    k2: complex,
    settings: list[float],
    *,
    rng: np.random.Generator | None = None,
    sigma_db: float = 0.0,
    sigma_deg: float = 0.0,
    phased: bool = False,
) -> list[LeakReading]:
    """The generator's own leaks plus that of the tilt, as complex amplitudes."""
    out = []
    for setting in settings:
        slip = rng.normal(0, sigma_deg) if rng is not None else 0.0
        across = math.tan(math.radians(setting + slip - t0_deg))
        values = [k1 + across, k2 - across]
        if rng is not None:
            per_neper = 20 / math.log(10)
            values = [
                v * np.exp((rng.normal(0, sigma_db) + 1j * rng.normal(0, sigma_db)) / per_neper)
                for v in values
            ]
        db = [20 * math.log10(abs(v)) for v in values]
        phase = [math.degrees(math.atan2(v.imag, v.real)) for v in values]
        out.append(LeakReading(setting, *db, *(phase if phased else ())))
    return out


def random_leak(rng: np.random.Generator) -> complex:
    return complex(rng.normal(0, 0.015), rng.choice([-1, 1]) * rng.uniform(0.02, 0.05))


def solved(readings: list[LeakReading], sigma_db: float, sigma_deg: float = 0.0) -> CrosstalkFit:
    fit = fit_crosstalk(
        readings,
        leak_standard_uncertainty_db=sigma_db,
        setting_standard_uncertainty_deg=sigma_deg,
    )
    assert fit is not None
    return fit


class TestCrosstalkFromLevels(TruthComesBack):
    def attempt(self, rng: np.random.Generator) -> Held:
        t0, k = rng.uniform(-1.5, 1.5), random_leak(rng)
        k2 = complex(k.real, random_leak(rng).imag)
        readings = leaks(t0, k, k2, [-2, -1, 0, 1, 2], rng=rng, sigma_db=0.4, sigma_deg=0.05)
        return {"best": held_by(t0, solved(readings, 0.4, 0.05).best_deg)}


class TestCrosstalkWithPhase(TruthComesBack):
    def attempt(self, rng: np.random.Generator) -> Held:
        t0, k = rng.uniform(-1.5, 1.5), random_leak(rng)
        k2 = complex(k.real, random_leak(rng).imag)
        settings = [-1.0, 0.5] if rng.random() < 0.5 else [0.0]
        readings = leaks(t0, k, k2, settings, rng=rng, sigma_db=0.4, phased=True)
        return {"best": held_by(t0, solved(readings, 0.4).best_deg)}


@pytest.mark.parametrize("count", [2, 3, 5])
def test_without_error_the_upright_is_found_exactly(count: int) -> None:
    settings = np.linspace(-2, 2.5, count).tolist()
    fit = solved(leaks(0.7, 0.01 + 0.03j, 0.01 - 0.03j, settings), 0.3)
    assert fit.best_deg.value == pytest.approx(0.7, abs=1e-3)
    assert fit.equal_deg == pytest.approx(0.7, abs=2e-3)


def test_unlike_generator_leaks_shift_the_best_setting_to_the_least_sum() -> None:
    k1, k2 = 0.02 + 0.03j, -0.01 + 0.04j
    fit = solved(leaks(0.0, k1, k2, [-2, -1, 0, 1, 2]), 0.3)
    grid = np.radians(np.linspace(-3, 3, 60001))
    total = np.abs(k1 + np.tan(grid)) ** 2 + np.abs(k2 - np.tan(grid)) ** 2
    least = math.degrees(float(grid[np.argmin(total)]))
    assert fit.best_deg.value == pytest.approx(least, abs=2e-3)


def test_leaks_equal_at_the_crossing_of_both_curves() -> None:
    fit = solved(leaks(0.3, 0.01 + 0.02j, 0.02 + 0.05j, [-3, -1, 1, 3]), 0.3)
    assert fit.equal_deg is not None
    left = float(fit.left_in_right.leak_db(fit.equal_deg))
    right = float(fit.right_in_left.leak_db(fit.equal_deg))
    assert left == pytest.approx(right, abs=0.02)


def test_too_few_settings_are_named_and_not_solved() -> None:
    one = leaks(0.0, 0.02j, 0.02j, [0.0])
    assert settings_needed([]) == 2
    assert settings_needed(one) == 1
    assert settings_needed(one + one) == 1
    assert fit_crosstalk(one, leak_standard_uncertainty_db=0.3) is None
    assert fit_crosstalk([], leak_standard_uncertainty_db=0.3) is None
    assert settings_needed(leaks(0.0, 0.02j, 0.02j, [0.0], phased=True)) == 0
    assert settings_needed(leaks(0.0, 0.02j, 0.02j, [0.0, 1.0])) == 0


def test_an_upright_beyond_the_settings_tried_is_flagged() -> None:
    assert solved(leaks(3.0, 0.03j, 0.03j, [-1, 0, 1]), 0.3).outside_range
    assert not solved(leaks(0.5, 0.03j, 0.03j, [-1, 0, 1]), 0.3).outside_range


def test_a_leak_written_down_wrongly_is_named() -> None:
    readings = leaks(0.5, 0.01 + 0.03j, 0.01 + 0.03j, [-3, -2, -1, 0, 1, 2, 3])
    spoilt = readings[4]
    readings[4] = LeakReading(
        spoilt.setting_deg, spoilt.left_in_right_db, spoilt.right_in_left_db + 6.0
    )
    fit = solved(readings, 0.3)
    assert fit.worst is not None
    assert fit.worst.index == 9


def test_leaks_without_uncertainty_are_refused() -> None:
    with pytest.raises(ValueError, match="uncertainty above zero"):
        fit_crosstalk(leaks(0, 0.02j, 0.02j, [0, 1]), leak_standard_uncertainty_db=0.0)


def test_lopsided_channels_are_told_apart_from_tilt() -> None:
    lopsided = channel_balance(-20.0, -18.5, level_standard_uncertainty_db=0.1)
    assert lopsided.value == pytest.approx(1.5)
    # Reference: 400,000 seeded draws of both levels.
    rng = np.random.default_rng(6)
    drawn = rng.normal(-18.5, 0.1, 400_000) - rng.normal(-20.0, 0.1, 400_000)
    assert lopsided.standard_uncertainty == pytest.approx(float(drawn.std()), rel=0.01)


def test_a_shim_makes_the_gap_it_fills() -> None:
    thickness = shim_mm(1.5, 16.0)
    found = gap_tilt_deg(5.0 + thickness, 5.0, 16.0, gap_standard_uncertainty_mm=0.1)
    assert found.value == pytest.approx(1.5)
    with pytest.raises(ValueError, match="some distance apart"):
        gap_tilt_deg(1, 2, 0, gap_standard_uncertainty_mm=0.1)
