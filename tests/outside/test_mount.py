"""Mount against handbook forms and reference libraries. Standing beside each check."""

import numpy as np
import pytest
from scipy import constants
from scipy.integrate import solve_ivp

from core.physics.loading import gain_for_output_db, load_resonance_khz
from core.physics.resonance import compliance_span, mass_for_hz, resonance_hz


def test_17_g_on_15_um_per_mn_resonates_at_9_967_hz() -> None:
    # Derived: 1000 / (2 pi sqrt(17 x 15)).
    assert resonance_hz(17.0, 15.0) == pytest.approx(9.967, abs=5e-4)


@pytest.mark.parametrize(
    ("mass", "compliance", "hz"), [(8, 35, 9.502), (17, 15, 9.957), (26, 7, 11.786)]
)
def test_the_handbook_form_with_159_agrees(mass: float, compliance: float, hz: float) -> None:
    # Handbook form 159 / sqrt(M C), memory; worked by hand: 280, 255 and 182 have the roots 16.733,
    # 15.969 and 13.491. 159 stands for 159.155.
    assert resonance_hz(mass, compliance) == pytest.approx(hz, rel=1.1e-3)


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


def test_500_mh_250_pf_resonates_at_14_24_khz() -> None:
    # Derived.
    assert load_resonance_khz(500.0, 250.0) == pytest.approx(14.24, abs=5e-3)


# 0.5 mV to 500 mV is a thousand times, 60 dB; 5 mV 40 dB; the whole of it already 0 dB (derived).
@pytest.mark.parametrize(("output_mv", "gain_db"), [(0.5, 60.0), (5.0, 40.0), (500.0, 0.0)])
def test_the_gain_that_a_cartridge_wants(output_mv: float, gain_db: float) -> None:
    assert gain_for_output_db(output_mv, 500.0) == pytest.approx(gain_db)
