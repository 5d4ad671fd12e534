"""Downforce against constants, torques and reference fits. Standing beside each check."""

import math

import numpy as np
import pytest
from scipy import constants, stats
from scipy.optimize import brentq
from scipy.spatial.transform import Rotation

from core.estimation import Estimate
from core.physics.scale import CHECK_WEIGHT_LIMITS_MG, ScaleCorrection, check_weight_uncertainty_g
from core.physics.statics import (
    counterweight_place_mm,
    downforce_change_of_height_gf,
    downforce_change_of_slide_gf,
    downforce_per_mm_gf,
)
from core.records import MILLINEWTON_PER_GRAM_FORCE


def downforce_by_torque(masses: list[tuple[float, float, float]], reach_mm: float) -> float:
    """Downforce at the reach of (grams, mm ahead of the pivot, mm above it): r x F, y component."""
    torque = sum(
        np.cross(np.array([x, 0.0, z]), np.array([0.0, 0.0, -mass])) for mass, x, z in masses
    )
    return float(torque[1]) / reach_mm


def test_a_gram_force_is_9_80665_mn() -> None:
    # CGPM 1901, exact; seen in scipy.constants.
    assert constants.gram * constants.g / constants.milli == pytest.approx(
        MILLINEWTON_PER_GRAM_FORCE, rel=1e-15
    )


def test_100_g_at_230_mm_give_0_4348_gf_per_mm() -> None:
    # Derived: W / L.
    assert downforce_per_mm_gf(100.0, 230.0) == pytest.approx(0.4348, abs=5e-5)


def test_a_slide_of_7_g_by_1_5_mm_at_230_mm_is_0_046_gf() -> None:
    # Derived: m ds / L, which is 1.5 / 231.5 more than with the longer arm counted.
    found = downforce_change_of_slide_gf(1.5, 7.0, 230.0)
    assert found * 231.5 / 230.0 == pytest.approx(0.046, abs=5e-4)


def test_the_slide_agrees_with_the_torques_about_the_pivot() -> None:
    # Derived a second way: cross products of place and weight.
    place = counterweight_place_mm(7.0, 2.0, 100.0, 230.0)
    before = downforce_by_torque([(7, 230, 0), (100, -place, 0)], 230)
    after = downforce_by_torque([(7, 231.5, 0), (100, -place, 0)], 231.5)
    assert before == pytest.approx(2.0)
    assert downforce_change_of_slide_gf(1.5, 7.0, 230.0, 2.0) == pytest.approx(after - before)


@pytest.mark.parametrize("downforce", [0.0, 1.5, 3.0])
def test_the_counterweight_stands_where_a_root_search_puts_it(downforce: float) -> None:
    # Reference: scipy.optimize.brentq on the torque, arm tube as a third mass.
    def excess(place: float) -> float:
        arm = [(8.0, 230.0, 0.0), (12.0, 60.0, 0.0), (110.0, -place, 0.0)]
        return downforce_by_torque(arm, 230.0) - downforce

    found = counterweight_place_mm(8.0, downforce, 110.0, 230.0, 12.0 * 60.0)
    assert found == pytest.approx(brentq(excess, 0.0, 100.0))


def test_a_low_centre_of_mass_makes_a_high_pan_read_too_much() -> None:
    # Derived a second way: the arm's masses turned in space (scipy.spatial.transform).
    masses = [(8.0, 230.0, -10.0), (130.0, -12.0, -6.0)]
    rise = 4.0
    lift = Rotation.from_euler("y", -math.asin(rise / 230.0))
    turned = []
    for mass, x, z in masses:
        there = lift.apply([x, 0.0, z])
        turned.append((mass, there[0], there[2]))
    change = downforce_by_torque(turned, 230.0 * math.cos(math.asin(rise / 230.0)))
    change -= downforce_by_torque(masses, 230.0)
    total = sum(mass for mass, _, _ in masses)
    below = -sum(mass * z for mass, _, z in masses) / total
    found = downforce_change_of_height_gf(rise, total, below, 230.0)
    assert found > 0
    assert found == pytest.approx(change, rel=0.02)


@pytest.mark.parametrize(("nominal_g", "limit_mg"), [(1.0, 1.0), (2.0, 1.2), (5.0, 1.6)])
def test_check_weights_of_class_m1_keep_these_limits(nominal_g: float, limit_mg: float) -> None:
    # OIML R 111-1, class M1; second-hand. Their spread: scipy.stats.uniform over the limits.
    assert CHECK_WEIGHT_LIMITS_MG[nominal_g] == limit_mg
    spread = stats.uniform(-limit_mg / 1000, 2 * limit_mg / 1000).std()
    assert check_weight_uncertainty_g(limit_mg) == pytest.approx(spread)


def test_the_correction_is_the_line_through_empty_and_weighed() -> None:
    # Reference: scipy.stats.linregress through the two points.
    line = stats.linregress([0.03, 2.09], [0.0, 2.0])
    correction = ScaleCorrection(Estimate(0.03, 0.0), Estimate(2.09, 0.0), Estimate(2.0, 0.0))
    shown = 1.87
    assert correction.corrected(Estimate(shown, 0.0)).value == pytest.approx(
        line.intercept + line.slope * shown
    )
    assert correction.gain.value == pytest.approx(1 / line.slope)


def test_its_uncertainty_is_that_of_drawing_all_errors_at_random() -> None:
    # Reference: 400,000 seeded draws.
    rng = np.random.default_rng(4)
    u = 0.02
    empty, weighed, shown = (rng.normal(mean, u, 400_000) for mean in (0.05, 2.12, 1.8))
    weight = rng.normal(2.0, 0.005, 400_000)
    drawn = (shown - empty) * weight / (weighed - empty)
    found = ScaleCorrection(Estimate(0.05, u), Estimate(2.12, u), Estimate(2.0, 0.005)).corrected(
        Estimate(1.8, u)
    )
    assert found.standard_uncertainty == pytest.approx(float(drawn.std()), rel=0.01)
