"""The filter written out in numbers is the one written in matrices."""

from __future__ import annotations

import math
from dataclasses import astuple

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.stats import norm

from core.estimation.gain_filter import MixtureComponent

number = st.floats(-10.0, 10.0)
size = st.floats(0.01, 10.0)


variance = st.floats(0.0, 10.0)
components = st.builds(
    MixtureComponent,
    number,
    number,
    number,
    number,
    variance,
    variance,
    variance,
    number,
    number,
    number,
)


def mean_of(component: MixtureComponent) -> NDArray[np.float64]:
    return np.array([component.reading, component.gain, component.slack])


def covariance_of(component: MixtureComponent) -> NDArray[np.float64]:
    parts = np.array(
        [[1.0, component.yg_part, component.yh_part], [0, 1.0, component.gh_part], [0, 0, 1.0]]
    )
    found = parts @ np.diag([component.own, component.gg_own, component.hh]) @ parts.T
    assert (component.yy, component.gg) == pytest.approx((found[0, 0], found[1, 1]), rel=1e-12)
    return found


@given(components, number, st.floats(-1.0, 1.0), size)
def test_a_move_is_a_step_of_the_state(
    component: MixtureComponent, amount: float, share: float, added: float
) -> None:
    step = np.array([[1.0, amount, -share], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    then = component.predict(amount, share, added)
    expected = step @ covariance_of(component) @ step.T + np.diag([added, 0.0, 0.0])
    np.testing.assert_allclose(mean_of(then), step @ mean_of(component), rtol=1e-12, atol=1e-10)
    np.testing.assert_allclose(covariance_of(then), expected, rtol=1e-10, atol=1e-8)
    assert then.log_weight == component.log_weight


@given(components, number, size, st.floats(0.0, 2.0))
def test_a_reading_is_weighed_by_its_variance(
    component: MixtureComponent, value: float, noise: float, drift: float
) -> None:
    row = np.array([1.0, 0.0, 0.0])
    before = covariance_of(component) + np.diag([drift, 0.0, 0.0])
    variance = float(row @ before @ row) + noise
    gain = before @ row / variance
    surprise = value - component.reading
    kept = np.eye(3) - np.outer(gain, row)
    # Joseph's form, which no rounding makes negative
    expected = kept @ before @ kept.T + noise * np.outer(gain, gain)
    then = component.update(value, noise, drift)
    np.testing.assert_allclose(mean_of(then), mean_of(component) + gain * surprise, atol=1e-8)
    np.testing.assert_allclose(covariance_of(then), expected, atol=1e-8)
    weight = then.log_weight - component.log_weight
    density = norm.logpdf(value, component.reading, math.sqrt(variance))
    assert weight == pytest.approx(density, rel=1e-9, abs=1e-9)


def test_a_thing_known_exactly_learns_nothing_from_an_exact_reading() -> None:
    exact = MixtureComponent(0.0, 2.0, 1.0, 0.0, own=0.0, gg_own=0.0625, hh=0.0)
    assert astuple(exact.update(2.5, 0.0, 0.0)) == astuple(exact)
