"""Where channels break up: against an independent model whose levels are known."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from core.physics.break_up import BAND_DB, READ_SHARE, break_up
from tests.truth import Held, TruthComesBack, held_by

LEVELS = [-14.0, -12.0, -10.0, -8.0, -6.0, -4.0, -2.0]


def distortion(level: float, lets_go_db: float, steep: float) -> float:
    """Return distortion in percent: a trend as the level, and beside it what breaks up."""
    trend = 0.4 * 10.0 ** ((level + 14.0) / 20.0)
    return trend * math.hypot(1.0, 10.0 ** (steep * (level - lets_go_db) / 20.0))


def twice_the_trend(lets_go_db: float, steep: float) -> float:
    """Return the level at which it is twice its trend (6 dB), found by bisection (scipy)."""

    def above(level: float) -> float:
        trend = 0.4 * 10.0 ** ((level + 14.0) / 20.0)
        return distortion(level, lets_go_db, steep) / trend - 2.0

    return float(brentq(above, -30.0, 30.0))


class TestDifference(TruthComesBack):
    def attempt(self, rng: np.random.Generator) -> Held:
        steep, apart = float(rng.uniform(5.0, 8.0)), float(rng.uniform(-3.0, 3.0))
        middle = float(rng.uniform(-8.5, -6.0))
        truth = [middle + 0.5 * side * apart for side in (1.0, -1.0)]
        seen = []
        for lets_go in truth:
            here = lets_go + rng.normal(0.0, BAND_DB)
            seen.append(
                [
                    distortion(one, here, steep) * (1.0 + rng.normal(0.0, READ_SHARE))
                    for one in LEVELS
                ]
            )
        found = break_up(LEVELS, *seen).difference
        assert found is not None
        return {"difference": held_by(apart, found)}


@pytest.mark.parametrize("apart", [-2.5, 0.0, 1.0])
def test_without_error_the_levels_are_where_scipy_finds_them(apart: float) -> None:
    left, right = -7.0 + 0.5 * apart, -7.0 - 0.5 * apart
    bands = [[distortion(one, at, 6.0) for one in LEVELS] for at in (left, right)]
    found = break_up(LEVELS, *bands)
    assert found.left_db == pytest.approx(twice_the_trend(left, 6.0), abs=0.08)
    assert found.difference is not None
    assert found.difference.value == pytest.approx(apart, abs=0.08)
    assert found.first == ("together" if apart == 0.0 else "right" if apart > 0.0 else "left")


def test_a_channel_that_never_breaks_up_is_told() -> None:
    broken = [distortion(one, -7.0, 6.0) for one in LEVELS]
    clean = [distortion(one, 60.0, 6.0) for one in LEVELS]
    assert break_up(LEVELS, clean, clean).first == "neither"
    assert break_up(LEVELS, broken, clean).first == "left"
    assert break_up(LEVELS, clean, broken).first == "right"
    assert break_up(LEVELS, clean, broken).difference is None


def test_a_channel_broken_from_the_quietest_band_tells_a_side_and_no_difference() -> None:
    broken = [9.0] * len(LEVELS)
    late = [distortion(one, -7.0, 6.0) for one in LEVELS]
    found = break_up(LEVELS, broken, late)
    assert (found.first, found.difference) == ("left", None)


def test_too_few_bands_tell_nothing() -> None:
    assert break_up([], [], []).first == "neither"
