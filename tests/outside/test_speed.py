"""Speed against printed discs and a simulated lamp. Standing of each source beside its check."""

import numpy as np
import pytest

from core.physics.strobe import nearest_bars, percent_off, rpm_of_bars, rpm_of_drift, rpm_of_turns


@pytest.mark.parametrize(
    ("nominal", "mains_hz", "bars"),
    [(100 / 3, 50.0, 180), (100 / 3, 60.0, 216), (45.0, 60.0, 160)],
)
def test_exact_discs(nominal: float, mains_hz: float, bars: int) -> None:
    # Derived: 60 f / n, a mains lamp flashing twice a cycle.
    found = nearest_bars(nominal, 2 * mains_hz)
    assert found.bars == bars
    assert found.exact


@pytest.mark.parametrize(
    ("nominal", "flashes", "bars", "stands_at"),
    [(45.0, 100.0, 133, 45.113), (78.26, 100.0, 77, 77.922), (78.26, 120.0, 92, 78.261)],
)
def test_discs_that_stand_beside_the_nominal_speed(
    nominal: float, flashes: float, bars: int, stands_at: float
) -> None:
    # Derived.
    found = nearest_bars(nominal, flashes)
    assert found.bars == bars
    assert found.stands_at_rpm == pytest.approx(stands_at, abs=5e-4)


def test_133_bars_at_100_flashes_stand_a_quarter_of_a_percent_fast() -> None:
    # Derived; inside the +-0.5 % of recorded speed of IEC 60098:2020 cl. 5.6 (seen).
    off = percent_off(rpm_of_bars(133, 100.0), 45.0)
    assert off == pytest.approx(0.25, abs=2e-3)
    assert abs(off) < 0.5


def test_180_bars_at_100_with_10_back_in_30_s_are_0_333_percent_slow() -> None:
    # Derived: k / (T f).
    found = rpm_of_drift(180, 100.0, -10, 30.0, drift_standard_uncertainty_bars=0.3)
    assert percent_off(found.value, 100 / 3) == pytest.approx(-0.333, abs=5e-4)


@pytest.mark.parametrize("error_percent", [-0.7, -0.1, 0.25, 0.6])
@pytest.mark.parametrize(("nominal", "bars"), [(100 / 3, 180), (45.0, 133)])
def test_a_disc_seen_flash_by_flash_drifts_as_computed(
    nominal: float, bars: int, error_percent: float
) -> None:
    # Derived a second way: the bar pattern's phase at each flash, unwrapped as the eye follows it.
    flashes, seconds = 100.0, 20.0
    rpm = nominal * (1 + error_percent / 100)
    times = np.arange(0, seconds, 1 / flashes)
    phase = np.angle(np.exp(2j * np.pi * bars * rpm / 60 * times))
    drifted = np.diff(np.unwrap(phase)[[0, -1]])[0] / (2 * np.pi)
    found = rpm_of_drift(
        bars, flashes, float(drifted), float(times[-1]), drift_standard_uncertainty_bars=0.1
    )
    assert found.value == pytest.approx(rpm, rel=1e-9)


def test_a_hundred_turns_in_three_minutes_are_33_and_a_third() -> None:
    # Nominal speed of IEC 60098 (second-hand); derived.
    found = rpm_of_turns(100, 180.0, time_standard_uncertainty_s=0.2)
    assert found.value == pytest.approx(100 / 3)
    assert found.standard_uncertainty / found.value == pytest.approx(0.2 / 180.0)
