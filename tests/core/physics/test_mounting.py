import math

import pytest

from core.physics.hardware import screw_into_body, screw_through
from core.physics.loading import (
    LoadVerdict,
    judge_capacitance,
    load_resonance_khz,
    total_capacitance_pf,
)
from core.physics.resonance import (
    compliance_span,
    mass_for_hz,
    mass_to_add_g,
    moving_mass_g,
    resonance_hz,
    resonance_span_hz,
)


def test_adding_the_mass_asked_for_brings_the_resonance_to_10_hz() -> None:
    for mass, compliance in ((12.0, 30.0), (25.0, 6.0), (9.0, 9.0)):
        reached = resonance_hz(mass + mass_to_add_g(mass, compliance), compliance)
        assert reached == pytest.approx(10.0)
    assert mass_to_add_g(25.0, 20.0) < 0.0


def test_a_headshell_counts_only_when_it_is_given() -> None:
    assert moving_mass_g(11.0, 6.0, 1.0) == 18.0
    assert moving_mass_g(11.0, 6.0, 1.0, 8.0) == 26.0


def test_a_compliance_at_100_hz_is_a_band_and_the_softest_end_is_the_lowest_resonance() -> None:
    band = compliance_span(10.0, at_100_hz=True)
    assert (band.low, band.middle, band.high) == (15.0, 17.5, 20.0)
    heard = resonance_span_hz(20.0, band)
    assert heard.low < heard.middle < heard.high
    assert heard.low == pytest.approx(resonance_hz(20.0, 20.0))


def test_a_static_compliance_counts_half_and_samples_spread() -> None:
    band = compliance_span(40.0, static=True, relative_error=0.1)
    assert (band.low, band.middle, band.high) == pytest.approx((18.0, 20.0, 22.0))


def test_a_compliance_can_not_be_both_static_and_at_100_hz() -> None:
    with pytest.raises(ValueError, match="not both"):
        compliance_span(10.0, at_100_hz=True, static=True)


@pytest.mark.parametrize(("mass", "compliance"), [(0.0, 10.0), (10.0, -1.0), (math.nan, 10.0)])
def test_masses_and_compliances_of_nothing_are_refused(mass: float, compliance: float) -> None:
    with pytest.raises(ValueError, match="above zero"):
        resonance_hz(mass, compliance)
    with pytest.raises(ValueError, match="above zero"):
        mass_for_hz(mass, compliance)


@pytest.mark.parametrize(
    ("total", "expected"),
    [
        (99.0, LoadVerdict.TOO_LITTLE),
        (100.0, LoadVerdict.INSIDE),
        (200.0, LoadVerdict.INSIDE),
        (201.0, LoadVerdict.TOO_MUCH),
    ],
)
def test_capacitance_is_judged_by_the_makers_range(total: float, expected: LoadVerdict) -> None:
    assert judge_capacitance(total, 100.0, 200.0) is expected


def test_cable_and_input_add() -> None:
    assert total_capacitance_pf(120.0, 100.0) == 220.0
    with pytest.raises(ValueError, match="above zero"):
        load_resonance_khz(0.0, 100.0)


class TestScrews:
    def test_a_through_screw_spans_headshell_lug_and_nut(self) -> None:
        choice = screw_through(4.0, 3.0)
        assert choice.needed_mm == 9.0
        assert choice.stock_mm == 10.0

    def test_a_stack_of_exactly_a_stock_length_takes_it(self) -> None:
        assert screw_through(3.0, 3.0).stock_mm == 8.0

    def test_a_stack_beyond_all_stock_has_none(self) -> None:
        assert screw_through(25.0, 10.0).stock_mm is None

    def test_a_screw_into_a_tapped_body_never_bottoms(self) -> None:
        choice = screw_into_body(4.0, 3.0)
        assert choice.stock_mm == 6.0
        assert choice.stock_mm < 4.0 + 3.0
        assert choice.stock_mm >= choice.needed_mm

    def test_a_thread_too_shallow_for_any_stock_length_asks_for_washers(self) -> None:
        bare = screw_into_body(4.0, 1.8)
        assert bare.stock_mm is None
        assert screw_into_body(4.0, 1.8, washers_mm=0.5).stock_mm == 6.0

    def test_a_hole_without_thread_is_refused(self) -> None:
        with pytest.raises(ValueError, match="thread depth"):
            screw_into_body(4.0, 0.0)
