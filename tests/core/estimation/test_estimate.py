import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.estimation import (
    Decision,
    Estimate,
    combine,
    decide,
    disagreement,
    mean_of,
    readings_needed,
    worst_residual,
)
from tests.truth import Held, TruthComesBack, held_by


class TestMeanOfKnownReadingError(TruthComesBack):
    def attempt(self, rng: np.random.Generator) -> Held:
        truth, sigma = rng.uniform(1, 4), 10 ** rng.uniform(-3, -1)
        readings = truth + rng.normal(0, sigma, int(rng.integers(1, 8)))
        return {"mean": held_by(truth, mean_of(readings.tolist(), sigma))}


class TestMeanOfUnknownReadingError(TruthComesBack):
    def attempt(self, rng: np.random.Generator) -> Held:
        truth, sigma = rng.uniform(1, 4), 10 ** rng.uniform(-3, -1)
        readings = truth + rng.normal(0, sigma, int(rng.integers(2, 8)))
        return {"mean": held_by(truth, mean_of(readings.tolist()))}


class TestMeanWithCalibrationError(TruthComesBack):
    def attempt(self, rng: np.random.Generator) -> Held:
        truth, sigma, calibration = 2.0, 0.02, rng.uniform(0.0, 0.05)
        common = rng.normal(0, calibration)
        readings = truth + common + rng.normal(0, sigma, 5)
        found = mean_of(readings.tolist(), sigma, calibration_standard_uncertainty=calibration)
        return {"mean": held_by(truth, found)}


class TestMeanOfRoundedReadings(TruthComesBack):
    def attempt(self, rng: np.random.Generator) -> Held:
        truth, step = rng.uniform(1, 4), 0.05
        noise = step * rng.uniform(0.3, 2.0)
        readings = np.round((truth + rng.normal(0, noise, 4)) / step) * step
        return {"mean": held_by(truth, mean_of(readings.tolist(), noise, resolution=step))}


def test_a_steady_reading_on_a_coarse_scale_does_not_become_sharp_by_repetition() -> None:
    once = mean_of([2.0], 1e-6, resolution=0.1)
    often = mean_of([2.0] * 25, 1e-6, resolution=0.1)
    assert once.standard_uncertainty == pytest.approx(0.1 / math.sqrt(12), rel=1e-3)
    assert often.standard_uncertainty == pytest.approx(once.standard_uncertainty, rel=2e-2)
    shaken = mean_of([2.0, 2.1, 1.9, 2.0] * 6 + [2.0], 0.1, resolution=0.1)
    assert shaken.standard_uncertainty < 0.3 * once.standard_uncertainty + 0.02


def test_a_noisier_instrument_than_stated_is_found_out_and_widens_the_interval() -> None:
    stated = mean_of([2.00, 2.01, 1.99, 2.00], 0.01)
    noisy = mean_of([1.90, 2.10, 1.95, 2.05], 0.01)
    assert stated.degrees_of_freedom == math.inf
    assert noisy.degrees_of_freedom == 3
    assert noisy.half_width() > 10 * stated.half_width()


def test_a_mean_needs_readings_and_a_spread_needs_two() -> None:
    with pytest.raises(ValueError, match="no reading"):
        mean_of([], 0.1)
    with pytest.raises(ValueError, match="read once more"):
        mean_of([2.0])


@pytest.mark.parametrize(
    ("value", "uncertainty", "dof"),
    [(math.nan, 0.1, math.inf), (math.inf, 0.1, 2), (1, -0.1, 2), (1, math.nan, 2), (1, 0.1, 0)],
)
def test_an_estimate_of_nonsense_is_refused(value: float, uncertainty: float, dof: float) -> None:
    with pytest.raises(ValueError, match="must be"):
        Estimate(value, uncertainty, dof)


def test_sums_and_differences_add_uncertainty_in_quadrature() -> None:
    a, b = Estimate(3.0, 0.3), Estimate(1.0, 0.4)
    assert a.plus(b) == Estimate(4.0, 0.5)
    assert a.minus(b) == Estimate(2.0, 0.5)
    assert a.scaled(-2.0) == Estimate(-6.0, 0.6)


def test_a_poorly_known_part_hardly_counts_beside_a_large_well_known_one() -> None:
    mixed = combine(0.0, (1.0, math.inf), (0.1, 2.0))
    assert mixed.degrees_of_freedom > 10_000
    assert combine(0.0, (0.0, 1.0)).standard_uncertainty == 0.0


class TestDisagreement:
    def test_the_reading_far_from_the_others_is_named(self) -> None:
        found = disagreement([2.00, 2.01, 2.30, 1.99], 0.02)
        assert found is not None
        assert found.index == 2
        assert found.residual == pytest.approx(0.30)

    def test_of_two_the_later_is_named(self) -> None:
        found = disagreement([2.0, 2.2], 0.02)
        assert found is not None
        assert found.index == 1

    def test_honest_readings_are_suspected_in_about_1_of_100_cases(self) -> None:
        rng = np.random.default_rng(5)
        called = sum(
            disagreement((2 + rng.normal(0, 0.02, 4)).tolist(), 0.02) is not None
            for _ in range(4000)
        )
        assert 0.004 < called / 4000 < 0.016

    def test_one_reading_can_not_disagree(self) -> None:
        assert disagreement([2.0], 0.02) is None

    def test_readings_the_fit_follows_exactly_are_passed_over(self) -> None:
        assert worst_residual([9.0, 0.0], [0.0, 1.0]) is None
        assert worst_residual([9.0], [0.0]) is None


class TestTheRuleOfTheHouse:
    @pytest.mark.parametrize(
        ("deviation", "half_width", "expected"),
        [
            (0.0, 0.5, Decision.GOOD),
            (0.5, 0.5, Decision.GOOD),
            (-0.6, 0.5, Decision.MOVE),
            (0.3, 0.8, Decision.READ_AGAIN),
            (0.0, 1.1, Decision.READ_AGAIN),
            (3.0, 0.5, Decision.MOVE),
            (-1.5, 1.5, Decision.READ_AGAIN),
        ],
    )
    def test_good_move_or_read_again(
        self, deviation: float, half_width: float, expected: Decision
    ) -> None:
        assert decide(deviation, half_width, 1.0) is expected

    def test_a_move_finer_than_the_control_is_not_asked_for(self) -> None:
        assert decide(0.9, 0.5, 1.0, smallest_effect=2.0) is Decision.GOOD
        assert decide(1.4, 0.5, 1.0, smallest_effect=3.0) is Decision.STEP_TOO_COARSE
        assert decide(1.4, 0.5, 1.0, smallest_effect=-3.0) is Decision.STEP_TOO_COARSE
        assert decide(1.4, 0.5, 1.0, smallest_effect=2.0) is Decision.MOVE

    @given(
        st.floats(-10, 10),
        st.floats(0, 10),
        st.floats(0.01, 10),
        st.floats(0, 10),
        st.floats(-1, 1),
    )
    @settings(max_examples=200, deadline=None)
    def test_nothing_beyond_twice_the_tolerance_is_called_good(
        self, deviation: float, half_width: float, tolerance: float, step: float, where: float
    ) -> None:
        truth = deviation + where * half_width
        if decide(deviation, half_width, tolerance, smallest_effect=step) is Decision.GOOD:
            assert abs(truth) <= 2.0 * tolerance + 1e-9


class TestReadingsNeeded:
    def test_the_number_named_settles_it_and_one_fewer_does_not(self) -> None:
        more = readings_needed(0.02, 0.05, 0.03, 1)
        assert more is not None
        assert more > 0
        enough = Estimate(0.02, 0.03 / math.sqrt(1 + more)).half_width()
        short = Estimate(0.02, 0.03 / math.sqrt(more)).half_width()
        assert decide(0.02, enough, 0.05) is not Decision.READ_AGAIN
        assert decide(0.02, short, 0.05) is Decision.READ_AGAIN

    def test_nothing_more_is_needed_when_it_is_settled(self) -> None:
        assert readings_needed(0.0, 0.05, 0.01, 3) == 0

    def test_an_instrument_too_coarse_is_never_settled(self) -> None:
        assert readings_needed(0.01, 0.05, 0.01, 1, calibration_standard_uncertainty=0.04) is None

    def test_it_needs_a_first_reading(self) -> None:
        with pytest.raises(ValueError, match="At least one reading"):
            readings_needed(0.0, 0.05, 0.01, 0)
