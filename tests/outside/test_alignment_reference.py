"""Alignment against scipy's optimiser and quadrature, numpy's Chebyshev polynomials and FFT, and
a construction by vectors that shares no formula with the code. All derived."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import fft, integrate, optimize, special

from core.physics.alignment_fit import AngleReading, LandingReading, fit_arm
from core.physics.alignment_reach import Reach, best_for
from core.physics.alignment_solutions import (
    Solution,
    free_least_squares_nulls,
    lofgren_a_nulls,
    lofgren_b_nulls,
    solve,
    stevenson_nulls,
)
from core.physics.arm_geometry import ParallelArm, PivotedArm, null_radii_mm, tracking_error_deg
from core.physics.groove_radii import GROOVES_1958, GROOVES_1964_1981, GROOVES_1981
from core.physics.tracking_distortion import distortion_percent, worst_tracking

GROOVE_STANDARDS = (GROOVES_1958, GROOVES_1981, GROOVES_1964_1981)

arms = st.builds(
    lambda pivot_mm, overhang_mm, offset_deg: PivotedArm(
        pivot_mm, pivot_mm + overhang_mm, offset_deg
    ),
    st.floats(150.0, 400.0),
    st.floats(-40.0, 40.0),
    st.floats(-5.0, 40.0),
)


def turned(vector, degrees):
    return vector * np.exp(1j * np.radians(degrees))


def errors_by_vectors(pivot_mm, length_mm, offset_deg, radius_mm):
    """Tracking errors in radians from a drawing in the complex plane, no cosine rule.

    Spindle at 0, pivot at i D. The stylus is where the circle of radius L about the pivot meets
    the groove, right of the line of centres. The head points along pivot-to-stylus turned by the
    offset toward the spindle; the error is the turn left between it and the groove's tangent.
    """
    pivot = 1j * pivot_mm
    # the common chord of both circles is level, and its height follows from their powers
    height = ((pivot_mm - length_mm) * (pivot_mm + length_mm) + radius_mm**2) / (2.0 * pivot_mm)
    stylus = np.sqrt((radius_mm - height) * (radius_mm + height)) + 1j * height
    along_arm = (stylus - pivot) / abs(stylus - pivot)
    head = turned(along_arm, -offset_deg)  # toward the spindle: clockwise, seen from above
    tangent = -1j * stylus / abs(stylus)  # the way the stylus looks along the groove
    return np.angle(head / tangent)


def error_by_vectors(arm, radius_mm):
    """The same of one arm at one radius, in degrees."""
    drawn = errors_by_vectors(
        arm.pivot_to_spindle_mm, arm.effective_length_mm, arm.offset_deg, radius_mm
    )
    return math.degrees(float(drawn))


@settings(max_examples=150, deadline=None)
@given(arms, st.floats(0.0, 1.0))
def test_vector_construction_gives_the_same_error(arm, where):
    low = abs(arm.overhang_mm) + 2.0
    radius_mm = low + where * (150.0 - low)
    drawn = math.radians(error_by_vectors(arm, radius_mm))
    computed = math.radians(float(tracking_error_deg(arm, radius_mm)))
    # 1e-12 rad, times what a thin triangle loses in both constructions
    flatness = math.cos(computed + arm.offset_rad)
    assert abs(drawn - computed) < 1e-12 / flatness


def test_vector_construction_gives_the_same_error_for_common_arms_to_1e_12():
    for pivot_mm in np.linspace(180.0, 300.0, 13):
        for solution in (Solution.LOFGREN_A, Solution.LOFGREN_B, Solution.STEVENSON):
            arm = solve(solution, float(pivot_mm), GROOVES_1958)
            for radius_mm in np.linspace(57.0, 147.0, 31):
                drawn = math.radians(error_by_vectors(arm, radius_mm))
                computed = math.radians(float(tracking_error_deg(arm, radius_mm)))
                assert abs(drawn - computed) < 1e-12


def test_pramaniks_arm_drawn_by_vectors():
    # Pramanik, Audio, June 1980, as given by tonmeister.ca, 2023-07-18: second-hand. 233.2 mm at
    # 215.4, 24.1 degrees; his formula is the one in use, so his arm is drawn instead.
    arm = PivotedArm(215.4, 233.2, 24.1)
    radius = np.linspace(55.0, 150.0, 20)
    drawn = np.degrees(errors_by_vectors(215.4, 233.2, 24.1, radius))
    np.testing.assert_allclose(tracking_error_deg(arm, radius), drawn, rtol=0, atol=1e-11)


def test_parallel_arm_drawn_by_vectors():
    # the path is a line x mm beyond the spindle; the head stands square to it, turned in by b
    arm = ParallelArm(stylus_offset_mm=3.0, head_angle_deg=0.7)
    for radius_mm in (60.0, 100.0, 140.0):
        stylus = complex(math.sqrt(radius_mm**2 - 3.0**2), -3.0)
        head = turned(-1j, -0.7)
        drawn = math.degrees(np.angle(head / (-1j * stylus / radius_mm)))
        assert float(tracking_error_deg(arm, radius_mm)) == pytest.approx(drawn, abs=1e-12)


@pytest.mark.parametrize("grooves", GROOVE_STANDARDS)
def test_minimax_nulls_are_the_zeros_of_the_second_chebyshev_polynomial(grooves):
    ends = 1.0 / np.array([grooves.outer_mm, grooves.inner_mm])
    t2 = np.polynomial.Chebyshev.basis(2, domain=ends)
    nulls = lofgren_a_nulls(grooves)
    assert sorted(1.0 / t2.roots()) == pytest.approx([nulls.inner_mm, nulls.outer_mm], rel=1e-12)


def small_angle_square(half_sum, product, grooves):
    return integrate.quad(
        lambda r: ((1.0 - 2.0 * half_sum / r + product / r**2) * 100.0) ** 2,
        grooves.inner_mm,
        grooves.outer_mm,
        epsabs=1e-12,
        epsrel=1e-12,
    )[0]


@pytest.mark.parametrize("grooves", GROOVE_STANDARDS)
def test_lofgren_b_is_the_least_square_at_the_minimax_offset(grooves):
    half_sum = lofgren_a_nulls(grooves).linear_offset_mm
    found = optimize.minimize_scalar(
        lambda p: small_angle_square(half_sum, p * 1e4, grooves),
        bracket=(0.7, 0.9),
        options={"xtol": 1e-10},
    )
    assert lofgren_b_nulls(grooves).product_mm2 == pytest.approx(found.x * 1e4, rel=1e-7)


@pytest.mark.parametrize("grooves", GROOVE_STANDARDS)
def test_free_least_squares_is_the_least_square_of_all(grooves):
    found = optimize.minimize(
        lambda p: small_angle_square(p[0] * 100.0, p[1] * 1e4, grooves),
        (0.9, 0.8),
        method="Nelder-Mead",
        options={"xatol": 1e-9, "fatol": 1e-13},
    )
    nulls = free_least_squares_nulls(grooves)
    assert nulls.linear_offset_mm == pytest.approx(found.x[0] * 100.0, rel=1e-6)
    assert nulls.product_mm2 == pytest.approx(found.x[1] * 1e4, rel=1e-6)


@pytest.mark.parametrize("grooves", GROOVE_STANDARDS)
def test_stevenson_balances_the_outer_groove_against_the_middle(grooves):
    def unbalance(outer_null):
        def weighed(r):
            return (r - grooves.inner_mm) * (r - outer_null) / r**2

        middle = optimize.minimize_scalar(
            weighed,
            bounds=(grooves.inner_mm, outer_null),
            method="bounded",
            options={"xatol": 1e-9},
        )
        return weighed(grooves.outer_mm) + middle.fun

    found = optimize.brentq(unbalance, 100.0, 140.0, xtol=1e-11)
    assert stevenson_nulls(grooves).outer_mm == pytest.approx(found, abs=1e-6)


@pytest.mark.parametrize("grooves", [GROOVES_1958, GROOVES_1981])
@pytest.mark.parametrize("pivot_mm", [190.0, 222.0, 280.0])
def test_exact_least_squares_against_quadrature_and_optimiser(pivot_mm, grooves):
    def square(p):
        def weighed(r):
            return float(errors_by_vectors(pivot_mm, p[0], p[1], r) / r * 1e4) ** 2

        return integrate.quad(weighed, grooves.inner_mm, grooves.outer_mm, epsrel=1e-12)[0]

    arm = solve(Solution.EXACT_LEAST_SQUARES, pivot_mm, grooves)
    found = optimize.minimize(
        square,
        (arm.effective_length_mm + 0.4, arm.offset_deg - 0.3),
        method="Nelder-Mead",
        options={"xatol": 1e-8, "fatol": 1e-12},
    )
    assert (arm.effective_length_mm, arm.offset_deg) == pytest.approx(tuple(found.x), abs=2e-5)
    # both published least-squares solutions do worse, the free one less so
    here = square((arm.effective_length_mm, arm.offset_deg))
    free = solve(Solution.FREE_LEAST_SQUARES, pivot_mm, grooves)
    b = solve(Solution.LOFGREN_B, pivot_mm, grooves)
    assert here < square((free.effective_length_mm, free.offset_deg))
    assert square((free.effective_length_mm, free.offset_deg)) < square(
        (b.effective_length_mm, b.offset_deg)
    )


@pytest.mark.parametrize("grooves", [GROOVES_1958, GROOVES_1981])
@pytest.mark.parametrize("pivot_mm", [190.0, 222.0, 280.0])
def test_exact_minimax_against_a_linear_programme(pivot_mm, grooves):
    # minimise t with -t <= e(r) / r <= t on 2,001 radii: sequential linear programming
    radius = np.linspace(grooves.inner_mm, grooves.outer_mm, 2001)
    start = solve(Solution.LOFGREN_B, pivot_mm, grooves)
    length, offset = start.effective_length_mm, start.offset_deg
    for _ in range(8):
        here = errors_by_vectors(pivot_mm, length, offset, radius) / radius
        step_mm = 1e-4
        by_length = (
            errors_by_vectors(pivot_mm, length + step_mm, offset, radius)
            - errors_by_vectors(pivot_mm, length - step_mm, offset, radius)
        ) / (2.0 * step_mm * radius)
        by_offset = -math.radians(1.0) / radius
        one = np.full(radius.shape, -1.0)
        found = optimize.linprog(
            [0.0, 0.0, 1.0],
            A_ub=1e4
            * np.vstack(
                (
                    np.column_stack((by_length, by_offset, one * 1e-4)),
                    np.column_stack((-by_length, -by_offset, one * 1e-4)),
                )
            ),
            b_ub=1e4 * np.concatenate((-here, here)),
            bounds=[(-2, 2), (-2, 2), (0, None)],
        )
        assert found.success
        length, offset = length + found.x[0], offset + found.x[1]
    arm = solve(Solution.EXACT_MINIMAX, pivot_mm, grooves)
    assert arm.effective_length_mm == pytest.approx(length, abs=2e-4)
    assert arm.offset_deg == pytest.approx(offset, abs=2e-4)


@pytest.mark.parametrize("seed", range(8))
def test_best_within_reach_against_a_global_optimiser(seed):
    rng = np.random.default_rng(seed)
    pivot_mm = float(rng.uniform(190.0, 310.0))
    solution = (Solution.EXACT_MINIMAX, Solution.EXACT_LEAST_SQUARES)[seed % 2]
    ideal = solve(solution, pivot_mm, GROOVES_1958)
    side_mm, side_deg = rng.choice([-1.0, 1.0], 2)
    lengths = np.sort(ideal.effective_length_mm + side_mm * rng.uniform(-3.0, 6.0, 2))
    offsets = np.sort(ideal.offset_deg + side_deg * rng.uniform(-1.0, 5.0, 2))
    radius = np.linspace(GROOVES_1958.inner_mm, GROOVES_1958.outer_mm, 4001)

    def cost(p):
        weighed = 1e4 * errors_by_vectors(pivot_mm, p[0], p[1], radius) / radius
        if solution is Solution.EXACT_MINIMAX:
            return float(np.max(np.abs(weighed)))
        return float(integrate.simpson(weighed**2, x=radius))

    found = optimize.differential_evolution(
        cost, [tuple(lengths), tuple(offsets)], rng=seed, tol=1e-9, popsize=8
    )
    best = best_for(
        pivot_mm,
        GROOVES_1958,
        solution,
        Reach(float(lengths[0]), float(lengths[1]), float(offsets[0]), float(offsets[1])),
    )
    ours = cost((best.arm.effective_length_mm, best.arm.offset_deg))
    assert ours <= found.fun * (1.0 + 1e-5)
    assert best.arm.effective_length_mm == pytest.approx(found.x[0], abs=1e-3)
    assert best.arm.offset_deg == pytest.approx(found.x[1], abs=1e-3)


@pytest.mark.parametrize("solution", [Solution.EXACT_MINIMAX, Solution.EXACT_LEAST_SQUARES])
def test_straight_underhung_arm_against_a_scalar_optimiser(solution):
    radius = np.linspace(GROOVES_1958.inner_mm, GROOVES_1958.outer_mm, 4001)

    def cost(length_mm):
        weighed = 1e4 * errors_by_vectors(222.0, length_mm, 0.0, radius) / radius
        if solution is Solution.EXACT_MINIMAX:
            return float(np.max(np.abs(weighed)))
        return float(integrate.simpson(weighed**2, x=radius))

    found = optimize.minimize_scalar(
        cost, bounds=(190.0, 221.0), method="bounded", options={"xatol": 1e-8}
    )
    best = best_for(222.0, GROOVES_1958, solution, Reach(least_offset_deg=0, greatest_offset_deg=0))
    assert best.arm.effective_length_mm == pytest.approx(found.x, abs=1e-4)
    assert best.arm.overhang_mm < 0
    assert len(best.nulls_mm) == 1


@settings(max_examples=60, deadline=None)
@given(arms)
def test_null_radii_are_where_the_drawn_error_changes_sign(arm):
    # every radius the stylus reaches, scanned by less than 0.3 mm; roots by scipy.optimize.brentq
    near, far = abs(arm.overhang_mm) + 1e-6, arm.pivot_to_spindle_mm + arm.effective_length_mm
    nulls = [null for null in null_radii_mm(arm) if null > near]
    assume(len(nulls) < 2 or nulls[1] - nulls[0] > 0.5)
    radius = np.linspace(near, far - 1e-6, 4001)
    drawn = errors_by_vectors(
        arm.pivot_to_spindle_mm, arm.effective_length_mm, arm.offset_deg, radius
    )
    roots = [
        optimize.brentq(lambda r: error_by_vectors(arm, r), radius[k], radius[k + 1], xtol=1e-10)
        for k in np.flatnonzero(np.diff(np.sign(drawn)))
    ]
    assert nulls == pytest.approx(roots, abs=1e-6)


@pytest.mark.parametrize("solution", list(Solution)[:-1])
def test_worst_within_the_grooves_against_a_fine_scan(solution):
    arm = solve(solution, 222.0, GROOVES_1958)
    radius = np.linspace(GROOVES_1958.inner_mm, GROOVES_1958.outer_mm, 200_001)
    error = tracking_error_deg(arm, radius)
    worst = worst_tracking(arm, GROOVES_1958)
    assert abs(worst.error_deg) == pytest.approx(np.max(np.abs(error)), rel=1e-8)
    scan = distortion_percent(error, radius)
    assert worst.distortion_percent == pytest.approx(np.max(scan), rel=1e-8)


@pytest.mark.parametrize("error_deg", [0.5, 1.8, 4.0])
@pytest.mark.parametrize("radius_mm", [60.325, 100.0])
def test_distortion_formula_against_a_traced_groove_and_its_spectrum(error_deg, radius_mm):
    # A groove y = a sin(k s) traced along a line leaning by the error: y = a sin(k (s + y tan e)),
    # solved point by point, then the second harmonic of the velocity by FFT.
    velocity, tone_rad_per_s = 100.0, 2.0 * math.pi * 1000.0
    groove_mm_per_s = 2.0 * math.pi * 100.0 / 180.0 * radius_mm
    amplitude, wave = velocity / tone_rad_per_s, tone_rad_per_s / groove_mm_per_s
    lean = math.tan(math.radians(error_deg))
    phase = np.arange(256) * 2.0 * math.pi / 256
    traced = [
        optimize.brentq(
            lambda y, p=p: y - amplitude * math.sin(p + wave * y * lean),
            -1.1 * amplitude,
            1.1 * amplitude,
            xtol=1e-18,
        )
        for p in phase
    ]
    spectrum = np.abs(fft.rfft(traced))
    second_percent = 100.0 * 2.0 * spectrum[2] / spectrum[1]
    formula = float(distortion_percent(error_deg, radius_mm))
    assert second_percent == pytest.approx(formula, rel=2e-3)
    # and the series of Kepler's equation says by how much the formula is an approximation
    skew = wave * amplitude * lean
    kepler = 100.0 * 2.0 * (special.jv(2, 2 * skew) / 2.0) / special.jv(1, skew)
    assert second_percent == pytest.approx(kepler, rel=1e-7)


def test_fit_against_scipys_least_squares():
    target = solve(Solution.LOFGREN_A, 222.0, GROOVES_1958)
    angles = [
        AngleReading(66.0, 1.4, 0.3),
        AngleReading(100.0, 0.7, 0.4),
        AngleReading(121.0, 0.9, 0.3),
    ]
    landing = LandingReading(1.1, 0.35, 95.0, target)
    fit = fit_arm(222.3, 0.5, angles, [landing])

    def differences(p):
        length, offset, pivot = p
        radius = np.array([a.radius_mm for a in angles])
        model = np.degrees(errors_by_vectors(pivot, length, offset, radius))
        read = [(a.error_deg - m) / a.u_deg for a, m in zip(angles, model, strict=True)]
        # where the stylus stands on groove 95 and how far that is from the drawn pivot
        height = (pivot**2 - length**2 + 95.0**2) / (2.0 * pivot)
        stylus = complex(math.sqrt(95.0**2 - height**2), height)
        beyond = abs(stylus - 222.0j) - target.effective_length_mm
        return [*read, (1.1 - beyond) / 0.35, (222.3 - pivot) / 0.5]

    found = optimize.least_squares(
        differences, (240.0, 22.0, 222.0), xtol=1e-15, ftol=1e-15, gtol=1e-15, x_scale=(1, 1, 1)
    )
    ours = (fit.effective_length_mm, fit.offset_deg, fit.pivot_to_spindle_mm)
    assert ours == pytest.approx(tuple(found.x), abs=1e-6)
    covariance = np.linalg.inv(found.jac.T @ found.jac)
    np.testing.assert_allclose(np.array(fit.covariance), covariance, rtol=1e-4, atol=1e-8)
