"""Skating against forces in the plane and reference optimisers. Standing beside each check."""

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq, minimize_scalar

from core.physics.ear_search import imbalance_db
from core.physics.friction import (
    MU_PUBLISHED,
    compensation_gf,
    side_force_gf,
    sign_change_radius_mm,
    thread_force_gf,
)

# D = 222 mm, Löfgren's first solution for 60.325 and 146.05 mm (derived twice).
LENGTH, SPINDLE, NULLS = 239.296, 222.0, (65.998, 120.891)


def stand(radius: float, length: float, spindle: float) -> tuple[np.ndarray, np.ndarray]:
    """Pivot and stylus in the plane, the spindle at the origin, from two circles that meet."""
    x = (radius**2 - length**2 + spindle**2) / (2 * spindle)
    return np.array([spindle, 0.0]), np.array([x, math.sqrt(radius**2 - x**2)])


def test_mu_0_3_at_23_degrees_is_0_117_of_the_downforce() -> None:
    # Derived: 0.3 sin 23. Radius and arm chosen for that angle.
    radius = 100.0
    spindle = math.sqrt(LENGTH**2 + radius**2 - 2 * LENGTH * radius * math.sin(math.radians(23)))
    assert side_force_gf(radius, 1.0, 0.3, LENGTH, spindle) == pytest.approx(0.117, abs=5e-4)


def test_friction_of_a_stylus_on_a_record() -> None:
    # Pardee, JAES, December 1981: 0.25 to 0.3; second-hand.
    assert MU_PUBLISHED == (0.25, 0.30)


def test_the_force_is_about_a_tenth_of_the_downforce() -> None:
    # Common practice, no source.
    answer = compensation_gf(2.0, LENGTH, SPINDLE, 60.325, 146.05)
    assert 0.08 < answer.low_gf / 2.0 < answer.middle_gf / 2.0 < 0.13


@pytest.mark.parametrize("radius", np.linspace(60.325, 146.05, 50))
def test_it_is_the_part_of_the_drag_square_to_the_arm(radius: float) -> None:
    # Derived a second way: the drag as a vector along the groove, resolved in the plane.
    pivot, stylus = stand(radius, LENGTH, SPINDLE)
    drag = 0.3 * 2.0 * np.array([stylus[1], -stylus[0]]) / radius
    arm = (pivot - stylus) / LENGTH
    square = drag - (drag @ arm) * arm
    found = float(side_force_gf(radius, 2.0, 0.3, LENGTH, SPINDLE))
    assert found == pytest.approx(float(np.linalg.norm(square)), rel=1e-9)


def test_it_is_least_where_a_reference_optimiser_finds_it() -> None:
    # Reference: scipy.optimize.minimize_scalar; derived: sqrt(r1 r2).
    found = minimize_scalar(
        lambda r: float(side_force_gf(r, 2.0, 0.3, LENGTH, SPINDLE)),
        bounds=(60, 146),
        method="bounded",
        options={"xatol": 1e-8},
    ).x
    assert math.sqrt(LENGTH**2 - SPINDLE**2) == pytest.approx(found, abs=1e-3)
    assert math.sqrt(NULLS[0] * NULLS[1]) == pytest.approx(found, abs=2e-2)


def test_an_underhung_arm_has_none_where_a_root_search_finds_it() -> None:
    # Reference: scipy.optimize.brentq.
    root = brentq(lambda r: float(side_force_gf(r, 2.0, 0.3, 205.0, 222.0)), 60, 140)
    assert sign_change_radius_mm(205.0, 222.0) == pytest.approx(root, abs=1e-6)


def test_the_mean_over_the_groove_is_that_of_a_reference_integral() -> None:
    # Reference: scipy.integrate.quad.
    area, _ = quad(lambda r: float(side_force_gf(r, 1.8, 0.3, LENGTH, SPINDLE)), 60.325, 146.05)
    answer = compensation_gf(1.8, LENGTH, SPINDLE, 60.325, 146.05)
    assert answer.middle_gf == pytest.approx(area / (146.05 - 60.325), rel=1e-9)


def test_a_weight_on_a_thread_acts_by_its_torque() -> None:
    # Derived a second way: torque as a cross product, over the effective length.
    torque = np.cross([0.0, 18.0, 0.0], [2.5, 0.0, 0.0])
    assert thread_force_gf(2.5, 18.0, 230.0) == pytest.approx(abs(torque[2]) / 230.0)


def test_what_an_ear_compares_is_the_load_of_the_two_walls() -> None:
    # Derived by vectors: downforce and side force resolved on walls that stand at 45 degrees.
    wall = np.array([[1.0, 1.0], [-1.0, 1.0]]) / math.sqrt(2.0)
    for side in (-0.3, 0.02, 0.117, 0.234):
        inner, outer = wall @ np.array([side, 2.0])
        assert imbalance_db(side, 2.0) == pytest.approx(20.0 * math.log10(inner / outer), abs=1e-9)
