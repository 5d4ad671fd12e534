import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.estimation import mean_of
from core.physics.scale import check_weight_uncertainty_g, scale_correction
from core.physics.statics import (
    counterweight_place_mm,
    downforce_change_of_slide_gf,
    downforce_per_mm_gf,
)
from tests.truth import Held, TruthComesBack, held_by


class TestScaleWithCheckWeight(TruthComesBack):
    def attempt(self, rng: np.random.Generator) -> Held:
        gain, offset = rng.normal(1, 0.05), rng.normal(0, 0.03)
        true_weight = 2.0 + rng.normal(0, 0.001)
        downforce, sigma = rng.uniform(1.2, 3.0), 0.01

        def shown(true_gf: float, count: int) -> list[float]:
            return (offset + gain * true_gf + rng.normal(0, sigma, count)).tolist()

        correction = scale_correction(
            shown(true_weight, 3),
            2.0,
            reading_standard_uncertainty_gf=sigma,
            weight_standard_uncertainty_g=0.001,
            empty_gf=shown(0.0, 2),
        )
        found = correction.corrected(mean_of(shown(downforce, 3), sigma))
        return {
            "downforce": held_by(downforce, found),
            "gain": held_by(gain, correction.gain),
            "offset": held_by(offset, correction.empty),
        }


class TestScaleSetToZero(TruthComesBack):
    def attempt(self, rng: np.random.Generator) -> Held:
        gain, downforce, sigma = rng.normal(1, 0.05), rng.uniform(1.2, 3.0), 0.01
        correction = scale_correction(
            [gain * 2.0 + rng.normal(0, sigma)],
            2.0,
            reading_standard_uncertainty_gf=sigma,
            weight_standard_uncertainty_g=0.0007,
        )
        readings = (gain * downforce + rng.normal(0, sigma, 3)).tolist()
        return {"downforce": held_by(downforce, correction.corrected(mean_of(readings, sigma)))}


def test_more_readings_of_the_arm_do_not_mend_a_badly_weighed_scale() -> None:
    correction = scale_correction(
        [2.0], 2.0, reading_standard_uncertainty_gf=0.02, weight_standard_uncertainty_g=0.0
    )
    many = correction.corrected(mean_of([2.0, 2.01, 1.99] * 30, 0.02))
    assert many.standard_uncertainty > 0.02


def test_a_scale_that_does_not_answer_to_the_weight_is_refused() -> None:
    with pytest.raises(ValueError, match="zero it and weigh again"):
        scale_correction(
            [0.1], 2.0, reading_standard_uncertainty_gf=0.01, weight_standard_uncertainty_g=0.0
        )
    with pytest.raises(ValueError, match="more than nothing"):
        scale_correction(
            [0.1], 0.0, reading_standard_uncertainty_gf=0.01, weight_standard_uncertainty_g=0.0
        )


def test_the_limits_of_a_check_weight_are_spread_evenly() -> None:
    assert check_weight_uncertainty_g(1.2) == pytest.approx(0.00069282, rel=1e-4)


@given(
    st.floats(4, 30), st.floats(0, 4), st.floats(60, 160), st.floats(180, 320), st.floats(-500, 500)
)
@settings(max_examples=60, deadline=None)
def test_the_moments_about_the_pivot_balance(
    head: float, downforce: float, weight: float, length: float, arm: float
) -> None:
    place = counterweight_place_mm(head, downforce, weight, length, arm)
    assert head * length + arm - weight * place == pytest.approx(downforce * length, abs=1e-6)
    slid = place - 0.5 / downforce_per_mm_gf(weight, length)
    assert head * length + arm - weight * slid == pytest.approx((downforce + 0.5) * length)


def test_a_slide_of_nothing_changes_nothing_and_bad_arms_are_refused() -> None:
    assert downforce_change_of_slide_gf(0.0, 7.0, 230.0) == 0.0
    with pytest.raises(ValueError, match="above zero"):
        downforce_per_mm_gf(100.0, 0.0)
