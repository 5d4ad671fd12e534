"""Level against vectors and reference optimisers. Standing of each source beside its check."""

import math

import numpy as np
import pytest
from scipy.optimize import curve_fit, least_squares, minimize
from scipy.spatial.transform import Rotation

from core.physics.feet import FootTravel, plan_feet
from core.physics.plane import (
    SlopeReading,
    degrees_of_slope,
    fit_plane,
    slope_of_degrees,
)

BEARINGS = [0.0, 90.0, 45.0, 135.0, 0.0, 90.0]
TURNED = [False, False, False, False, True, True]


def readings_of(slopes: np.ndarray, sigma: np.ndarray) -> list[SlopeReading]:
    return [
        SlopeReading(b, float(s), float(u), t)
        for b, s, u, t in zip(BEARINGS, slopes, sigma, TURNED, strict=True)
    ]


def model(signed: np.ndarray, gx: float, gy: float, b: float) -> np.ndarray:
    return gx * signed[0] + gy * signed[1] + b


HALF = math.sqrt(0.5)
ALONG = {0.0: (0.0, 1.0), 45.0: (HALF, HALF), 90.0: (1.0, 0.0), 135.0: (HALF, -HALF)}
"""Where a level's marked end lies, seen from above, x right and y back."""

SIGNED = np.array(
    [np.array(ALONG[b]) * (-1 if t else 1) for b, t in zip(BEARINGS, TURNED, strict=True)]
).T


def test_1_mm_per_m_is_0_0573_degrees() -> None:
    # Derived: atan(0.001).
    assert degrees_of_slope(1.0) == pytest.approx(0.0573, abs=5e-5)
    assert slope_of_degrees(degrees_of_slope(7.0)) == pytest.approx(7.0)


def test_the_construction_limit_of_a_machinists_level_is_0_029_degrees() -> None:
    # DIN 877, 0.5 mm/m; second-hand.
    assert degrees_of_slope(0.5) == pytest.approx(0.029, abs=5e-4)


@pytest.mark.parametrize("seed", range(10))
def test_the_plane_is_that_of_a_reference_least_squares(seed: int) -> None:
    # Reference: scipy.optimize.least_squares and curve_fit (for the covariance).
    rng = np.random.default_rng(seed)
    truth = rng.normal(0, 3, 3)
    sigma = rng.uniform(0.05, 0.3, 6)
    slopes = model(SIGNED, *truth) + rng.normal(0, sigma)
    ours = fit_plane(readings_of(slopes, sigma))
    assert ours is not None
    theirs = least_squares(lambda p: (slopes - model(SIGNED, *p)) / sigma, [0, 0, 0]).x
    _, covariance = curve_fit(model, SIGNED, slopes, sigma=sigma, absolute_sigma=True)
    assert [*ours.slope, ours.zero_error.value] == pytest.approx(theirs.tolist(), abs=1e-7)
    assert np.array(ours.covariance) == pytest.approx(covariance[:2, :2], rel=1e-5, abs=1e-9)
    assert ours.zero_error.standard_uncertainty**2 == pytest.approx(covariance[2, 2], rel=1e-5)


@pytest.mark.parametrize(("axis_deg", "tilt_deg"), [(0, 0.1), (30, 0.2), (120, 0.05), (250, 0.4)])
def test_a_plinth_turned_in_space_is_read_back(axis_deg: float, tilt_deg: float) -> None:
    # Derived a second way: a rotation in space (scipy.spatial.transform) of the plinth's plane,
    # with the rise along each bearing taken from its normal.
    axis = np.array([math.cos(math.radians(axis_deg)), math.sin(math.radians(axis_deg)), 0])
    normal = Rotation.from_rotvec(math.radians(tilt_deg) * axis).apply([0, 0, 1])
    readings = []
    for bearing in (0.0, 45.0, 90.0, 135.0):
        x, y = ALONG[bearing]
        rise = -(normal[0] * x + normal[1] * y) / normal[2]
        readings.append(SlopeReading(bearing, 1000 * rise, 0.1))
    fit = fit_plane(readings)
    assert fit is not None
    assert fit.tilt_deg.value == pytest.approx(tilt_deg, rel=1e-9)
    uphill = np.array([-normal[0], -normal[1]]) / np.hypot(normal[0], normal[1])
    bearing = math.radians(fit.high_bearing_deg)
    assert [math.sin(bearing), math.cos(bearing)] == pytest.approx(uphill.tolist())


@pytest.mark.parametrize("seed", range(20))
def test_feet_with_little_travel_do_as_well_as_a_reference_optimiser(seed: int) -> None:
    # Reference: scipy.optimize.minimize (SLSQP) over the plane of the lifts.
    rng = np.random.default_rng(seed)
    places = (
        [(0, 150), (-200, -150), (200, -150)]
        if seed % 2
        else [(-200, 150), (200, 150), (-200, -150), (200, -150)]
    )
    fixed = rng.random(len(places)) < 0.25
    if fixed.all():
        fixed[0] = False
    feet = [
        FootTravel(x, y, not f, float(rng.uniform(0, 1.2)), float(rng.uniform(0, 1.2)))
        for (x, y), f in zip(places, fixed, strict=True)
    ]
    slope = rng.uniform(-6, 6, 2)
    design = np.array([[x / 100, y / 100, 1.0] for x, y in places])
    limits = [(0.0, 0.0) if not f.adjustable else (-f.travel_down_mm, f.travel_up_mm) for f in feet]
    found = minimize(
        lambda p: (slope[0] + 10 * p[0]) ** 2 + (slope[1] + 10 * p[1]) ** 2,
        [0, 0, 0],
        method="SLSQP",
        constraints=[
            {"type": "ineq", "fun": lambda p: design @ p - [low for low, _ in limits]},
            {"type": "ineq", "fun": lambda p: [high for _, high in limits] - design @ p},
        ],
        options={"ftol": 1e-14, "maxiter": 500},
    )
    plan = plan_feet((float(slope[0]), float(slope[1])), feet)
    assert plan.remaining_tilt_mm_per_m == pytest.approx(math.sqrt(max(found.fun, 0)), abs=2e-3)
    for lift, (low, high) in zip(plan.lifts_mm, limits, strict=True):
        assert low - 1e-8 <= lift <= high + 1e-8


def test_after_the_lifts_the_normal_stands_upright() -> None:
    # Derived a second way: cross product of two edges between the lifted feet.
    feet = [FootTravel(0, 150), FootTravel(-200, -150), FootTravel(200, -150)]
    slope = (4.0, -7.0)
    lifts = plan_feet(slope, feet).lifts_mm
    points = [
        np.array([f.x_mm, f.y_mm, (slope[0] * f.x_mm + slope[1] * f.y_mm) / 1000 + dz])
        for f, dz in zip(feet, lifts, strict=True)
    ]
    normal = np.cross(points[1] - points[0], points[2] - points[0])
    assert np.hypot(normal[0], normal[1]) < 1e-9 * abs(normal[2])
