"""Mount against handbook forms and reference libraries. Standing beside each check."""

import math

import numpy as np
import pytest
from scipy import constants
from scipy.integrate import solve_ivp
from scipy.signal import freqs

from core.physics.loading import load_peak_db, load_q, load_resonance_khz
from core.physics.resonance import compliance_span, mass_for_hz, resonance_hz


def test_17_g_on_15_um_per_mn_resonates_at_9_967_hz() -> None:
    # Derived: 1000 / (2 pi sqrt(17 x 15)).
    assert resonance_hz(17.0, 15.0) == pytest.approx(9.967, abs=5e-4)


@pytest.mark.parametrize(("mass", "compliance"), [(8, 35), (17, 15), (26, 7)])
def test_the_handbook_form_with_159_agrees(mass: float, compliance: float) -> None:
    # Handbook form 159 / sqrt(M C); memory.
    assert resonance_hz(mass, compliance) == pytest.approx(
        159 / math.sqrt(mass * compliance), rel=1e-3
    )


def test_a_mass_on_a_spring_swings_at_that_rate() -> None:
    # Reference: scipy.integrate, the equation of motion in SI units, zero crossings counted.
    mass_kg, compliance_m_per_n = 0.017, 15e-3

    def crossing(_: float, state: np.ndarray) -> float:
        return float(state[0])

    swing = solve_ivp(
        lambda _, state: [state[1], -state[0] / (compliance_m_per_n * mass_kg)],
        (0, 1.0),
        [1e-4, 0.0],
        events=crossing,
        rtol=1e-10,
        atol=1e-14,
    )
    times = swing.t_events[0]
    assert 0.5 / np.mean(np.diff(times)) == pytest.approx(resonance_hz(17.0, 15.0), rel=1e-6)


def test_the_old_unit_of_compliance_has_the_same_number() -> None:
    # Reference: scipy.constants; 1e-6 cm/dyne in m/N against 1 um/mN in m/N.
    old = 1e-6 * constants.centi / constants.dyn
    assert old == pytest.approx(constants.micro / constants.milli)


def test_a_compliance_at_100_hz_is_taken_1_5_to_2_times() -> None:
    # Common practice, no source.
    band = compliance_span(10.0, at_100_hz=True)
    assert (band.low, band.high) == (15.0, 20.0)


def test_the_good_band_of_an_ordinary_arm_is_that_of_ordinary_compliances() -> None:
    # Common practice, no source: 8 to 12 Hz. At 18 g that is 9.8 to 22 um/mN (derived).
    assert mass_for_hz(8.0, 21.99) == pytest.approx(18.0, rel=1e-3)
    assert mass_for_hz(12.0, 9.772) == pytest.approx(18.0, rel=1e-3)


def test_500_mh_with_200_pf_resonates_at_15_92_khz() -> None:
    # Derived: 1 / (2 pi sqrt(L C)).
    assert load_resonance_khz(500.0, 200.0) == pytest.approx(15.92, abs=5e-3)


def test_500_mh_250_pf_47_kohm_resonates_at_14_24_khz_with_q_1_05() -> None:
    # Derived.
    assert load_resonance_khz(500.0, 250.0) == pytest.approx(14.24, abs=5e-3)
    assert load_q(500.0, 250.0, 47.0) == pytest.approx(1.05, abs=5e-3)


@pytest.mark.parametrize(("coil", "capacitance"), [(500.0, 250.0), (500.0, 400.0), (400.0, 120.0)])
def test_the_electrical_peak_is_that_of_the_network(coil: float, capacitance: float) -> None:
    # Reference: scipy.signal.freqs of L in series, R and C across the input; peak searched for.
    inductance, farads, ohms = coil * 1e-3, capacitance * 1e-12, 47e3
    grid = 2 * np.pi * np.linspace(100, 40e3, 200_000)
    _, response = freqs([1], [inductance * farads, inductance / ohms, 1], grid)
    peak = 20 * np.log10(np.abs(response).max())
    found = load_peak_db(load_q(coil, capacitance))
    assert found == pytest.approx(max(peak, 0.0), abs=2e-3)
