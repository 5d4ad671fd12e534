import math

import pytest

from core.estimation import normal_cdf, normal_quantile, two_sided_factor


@pytest.mark.parametrize("confidence", [-0.1, 0.0, 1.0, 1.5, math.nan])
def test_a_confidence_outside_0_to_1_is_refused(confidence: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        two_sided_factor(confidence)


@pytest.mark.parametrize("dof", [0.0, -1.0, math.nan])
def test_degrees_of_freedom_of_zero_or_less_are_refused(dof: float) -> None:
    with pytest.raises(ValueError, match="above 0"):
        two_sided_factor(0.95, dof)


def test_more_degrees_of_freedom_never_widen_the_interval() -> None:
    factors = [two_sided_factor(0.95, dof) for dof in (0.5, 1, 1.7, 2, 5, 30, 1000, 2e6, math.inf)]
    assert factors == sorted(factors, reverse=True)


def test_quantile_and_distribution_undo_each_other() -> None:
    for p in (1e-6, 0.025, 0.3, 0.5, 0.9, 0.975):
        assert normal_cdf(normal_quantile(p)) == pytest.approx(p, rel=1e-9)
