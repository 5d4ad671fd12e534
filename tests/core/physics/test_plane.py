import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from core.physics.plane import (
    SlopeReading,
    direction,
    directions_suffice,
    fit_plane,
    read_both_ways,
    slope_of_bubble,
    slope_of_gap,
)
from tests.truth import Held, TruthComesBack, held_by


def read_plane(
    gx: float,
    gy: float,
    bearings: list[tuple[float, bool]],
    *,
    zero: float = 0.0,
    sigma: float = 0.1,
    noise: np.ndarray | None = None,
) -> list[SlopeReading]:
    readings = []
    for index, (bearing, turned) in enumerate(bearings):
        x, y = direction(bearing)
        rise = (gx * x + gy * y) * (-1 if turned else 1)
        error = 0.0 if noise is None else float(noise[index])
        readings.append(SlopeReading(bearing, rise + zero + error, sigma, turned))
    return readings


BOTH_WAYS = [(0.0, False), (0.0, True), (90.0, False), (45.0, False)]


class TestPlaneWithReversal(TruthComesBack):
    def attempt(self, rng: np.random.Generator) -> Held:
        gx, gy, zero = rng.normal(0, 4, 3)
        readings = read_plane(gx, gy, BOTH_WAYS, zero=zero, noise=rng.normal(0, 0.1, 4))
        fit = fit_plane(readings)
        assert fit is not None
        return {
            "right": held_by(gx, fit.gx),
            "back": held_by(gy, fit.gy),
            "zero error": held_by(zero, fit.zero_error),
        }


class TestPlaneWithoutReversal(TruthComesBack):
    def attempt(self, rng: np.random.Generator) -> Held:
        gx, gy = rng.normal(0, 4, 2)
        zero = rng.normal(0, 0.5)
        ways = [(0.0, False), (90.0, False), (45.0, False), (135.0, False)]
        readings = read_plane(gx, gy, ways, zero=zero, noise=rng.normal(0, 0.1, 4))
        fit = fit_plane(readings, zero_error_standard_uncertainty_mm_per_m=0.5)
        assert fit is not None
        return {
            "right": held_by(gx, fit.gx),
            "back": held_by(gy, fit.gy),
        }


@given(st.floats(-20, 20), st.floats(-20, 20), st.floats(-50, 50))
@settings(max_examples=60, deadline=None)
def test_reversal_cancels_any_zero_error(gx: float, gy: float, zero: float) -> None:
    fit = fit_plane(read_plane(gx, gy, BOTH_WAYS, zero=zero))
    assert fit is not None
    assert fit.zero_error_solved
    assert fit.slope == pytest.approx((gx, gy), abs=1e-9)
    assert fit.zero_error.value == pytest.approx(zero, abs=1e-9)


def test_without_reversal_the_zero_error_is_taken_as_nil_and_widens_the_answer() -> None:
    readings = read_plane(1.0, 2.0, [(0, False), (90, False)], sigma=0.1)
    known = fit_plane(readings)
    unknown = fit_plane(readings, zero_error_standard_uncertainty_mm_per_m=0.5)
    assert known is not None
    assert unknown is not None
    assert not unknown.zero_error_solved
    assert unknown.zero_error.value == 0.0
    assert unknown.gx.standard_uncertainty == pytest.approx(math.hypot(0.1, 0.5))
    assert known.gx.standard_uncertainty == pytest.approx(0.1)


def test_repeating_a_direction_does_not_average_the_zero_error_away() -> None:
    readings = read_plane(0, 0, [(0, False)] * 50 + [(90, False)] * 50)
    fit = fit_plane(readings, zero_error_standard_uncertainty_mm_per_m=0.5)
    assert fit is not None
    assert fit.gx.standard_uncertainty > 0.5


@pytest.mark.parametrize(
    "bearings",
    [
        [],
        [(0, False)],
        [(0, False), (0, True)],
        [(30, False), (210, False)],
        [(0, False), (5, False)],
    ],
)
def test_fewer_than_two_directions_give_no_answer(bearings: list[tuple[float, bool]]) -> None:
    assert fit_plane(read_plane(1, 1, bearings)) is None


def test_turning_the_level_and_reading_the_opposite_bearing_are_the_same() -> None:
    assert read_both_ways([SlopeReading(20, 0, 1), SlopeReading(20, 0, 1, turned=True)])
    assert read_both_ways([SlopeReading(20, 0, 1), SlopeReading(200, 0, 1)])
    assert not read_both_ways([SlopeReading(20, 0, 1), SlopeReading(200, 0, 1, turned=True)])


@pytest.mark.parametrize("spoilt", range(6))
def test_a_slope_read_wrongly_is_named(spoilt: int) -> None:
    ways = [(0.0, False), (0.0, True), (90.0, False), (90.0, True), (45.0, False), (135.0, False)]
    noise = np.zeros(6)
    noise[spoilt] = 2.0
    fit = fit_plane(read_plane(1, -2, ways, noise=noise))
    assert fit is not None
    assert fit.worst is not None
    assert fit.worst.index == spoilt


def test_readings_that_agree_accuse_none() -> None:
    noise = np.array([0.1, -0.1, 0.1, -0.1])
    ways = [(0.0, False), (90.0, False), (45.0, False), (135.0, False)]
    fit = fit_plane(read_plane(3, 1, ways, noise=noise))
    assert fit is not None
    assert fit.worst is None


@pytest.mark.parametrize(
    ("slope", "bearing"), [((0, 1), 0), ((1, 0), 90), ((0, -1), 180), ((-1, 0), 270), ((1, 1), 45)]
)
def test_the_high_side_has_the_bearing_of_the_rise(
    slope: tuple[float, float], bearing: float
) -> None:
    fit = fit_plane(read_plane(*slope, [(0, False), (90, False)]))
    assert fit is not None
    assert fit.high_bearing_deg == pytest.approx(bearing)


@given(
    st.floats(0.0, 2.0 * math.pi),
    st.one_of(st.floats(0.0, 1.5), st.floats(3.0, 20.0)),
    st.lists(st.tuples(st.floats(0, 360), st.floats(0.1, 2)), min_size=2, max_size=5),
    st.floats(0, 3),
)
def test_a_tilt_is_as_uncertain_as_its_line_or_as_the_worst_line(bearing, size, lines, zero_u):
    """Along a line it is how far the ellipse of one standard deviation reaches that way."""
    readings = [SlopeReading(b, 0.0, sigma) for b, sigma in lines]
    fit = fit_plane(readings, zero_error_standard_uncertainty_mm_per_m=zero_u)
    assume(fit is not None)
    round_it = np.linspace(0.0, 2.0 * math.pi, 40001)
    root = np.linalg.cholesky(np.array(fit.covariance))
    ellipse = root @ np.stack((np.cos(round_it), np.sin(round_it)))
    longest = float(np.hypot(*ellipse).max())
    way = np.array((math.cos(bearing), math.sin(bearing)))
    gx, gy = size * longest * way
    moved = replace(fit, gx=fit.gx.shifted(gx - fit.gx.value), gy=fit.gy.shifted(gy - fit.gy.value))
    told_apart = size > 2.0
    expected = float((way @ ellipse).max()) if told_apart else longest
    assert moved.tilt.value == pytest.approx(size * longest)
    assert moved.tilt.standard_uncertainty == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize(("tilt", "uncertainty"), [(0.79, 0.4), (0.81, 0.1)])
def test_a_tilt_is_told_apart_from_zero_at_twice_the_worst_line(tilt, uncertainty):
    """Read to 0.1 front to back and to 0.4 left to right: 0.8 mm/m is twice the worse."""
    readings = [SlopeReading(0.0, tilt, 0.1), SlopeReading(90.0, 0.0, 0.4)]
    fit = fit_plane(readings)
    assert fit is not None
    assert fit.tilt.standard_uncertainty == pytest.approx(uncertainty)


def test_bubble_and_ruler_become_slopes() -> None:
    assert slope_of_bubble(-1.5, 0.3) == pytest.approx(-0.45)
    assert slope_of_gap(0.6, 300.0) == pytest.approx(2.0)
    with pytest.raises(ValueError, match="length above zero"):
        slope_of_gap(1.0, 0.0)


def test_a_slope_without_uncertainty_is_refused() -> None:
    with pytest.raises(ValueError, match="uncertainty above zero"):
        fit_plane(read_plane(1, 1, [(0, False), (90, False)], sigma=0.0))


@pytest.mark.parametrize("slope", [0.0, 50.0, 500.0, -500.0])
def test_a_tilt_in_degrees_is_as_uncertain_as_the_angle_of_its_slope(slope: float) -> None:
    """By the difference of both ends, at slopes where a degree is no longer 17.5 mm/m."""
    fit = fit_plane(read_plane(slope, 0.0, BOTH_WAYS, sigma=0.5))
    assert fit is not None
    rise, u = abs(fit.tilt.value), fit.tilt.standard_uncertainty
    ends = [math.degrees(math.atan((rise + way * u) / 1000.0)) for way in (-1.0, 1.0)]
    assert fit.tilt_deg.value == pytest.approx(sum(ends) / 2.0, abs=1e-4)
    assert fit.tilt_deg.standard_uncertainty == pytest.approx((ends[1] - ends[0]) / 2.0, rel=1e-3)


@pytest.mark.parametrize(
    ("lines", "solved"),
    [
        ([(10.0, False), (10.0, True), (100.0, False)], True),
        ([(10.0, False), (190.0, False), (100.0, False)], True),
        ([(10.0, True), (190.0, True), (100.0, False)], True),
        ([(10.0, False), (100.0, False), (100.0, False)], False),
        ([(10.0, False), (100.0, False), (55.0, False), (145.0, False)], False),
        ([(350.0, False), (170.0, False), (80.0, False)], True),
        ([(0.0, False), (90.0, False), (180.1, False)], False),  # a tenth of a degree beside it
    ],
)
def test_a_zero_error_is_solved_where_some_line_was_read_from_both_ends(
    lines: list[tuple[float, bool]], solved: bool
) -> None:
    assert read_both_ways([SlopeReading(at, 0.0, 0.1, turned) for at, turned in lines]) is solved


@pytest.mark.parametrize(
    ("bearings", "enough"),
    [
        ([0.0, 9.0], False),
        ([0.0, 11.0], True),
        ([0.0, 180.0, 171.0], False),
        ([0.0, 180.0, 169.0], True),
        ([0.0, 351.0], False),
        ([0.0, 349.0], True),
        ([45.0, 225.0, 51.0, 39.0], True),  # 12 degrees between the outermost two
        ([45.0, 225.0, 49.0, 41.0], False),
        ([90.0, 270.0, 96.0, 264.0], True),  # 264 is the line of 84
        ([90.0, 270.0, 94.0, 266.0], False),
    ],
)
def test_two_lines_ten_degrees_apart_make_a_plane(bearings: list[float], enough: bool) -> None:
    assert directions_suffice([SlopeReading(at, 0.0, 0.1) for at in bearings]) is enough
