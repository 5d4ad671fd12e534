"""A plane through thousands of readings: the same as with the odd ones left out one by one."""

from __future__ import annotations

import itertools
import math
import random

from hypothesis import given
from hypothesis import strategies as st

from core.physics.plane import (
    SlopeReading,
    directions_suffice,
    fit_plane,
    fit_without_odd,
    read_both_ways,
)

ANGLES = st.lists(
    st.one_of(
        st.floats(0.0, 360.0),
        st.sampled_from([0.0, 5.0, 9.9, 10.1, 175.0, 180.0, 180.05, 180.1, 185.0, 359.96]),
    ),
    max_size=8,
)


def _read(bearing: float, slope: float = 0.0, *, turned: bool = False) -> SlopeReading:
    return SlopeReading(bearing, slope, 0.1, turned)


@given(ANGLES)
def test_directions_of_every_pair(bearings: list[float]) -> None:
    readings = [_read(bearing) for bearing in bearings]
    pairs = list(itertools.combinations((one.unit() for one in readings), 2))
    least = math.sin(math.radians(10.0))
    assert directions_suffice(readings) == any(
        abs(a[0] * b[1] - a[1] * b[0]) >= least for a, b in pairs
    )
    assert read_both_ways(readings) == any(
        a[0] * b[0] + a[1] * b[1] < -1.0 + 1e-6 for a, b in pairs
    )


def _many(count: int, seed: int, *, both_ways: bool) -> list[SlopeReading]:
    chance = random.Random(seed)
    return [
        _read(
            chance.choice((0.0, 90.0, 45.0)),
            chance.gauss(0.0, 0.4),
            turned=both_ways and chance.random() < 0.5,
        )
        for _ in range(count)
    ]


def test_the_same_are_left_out_as_one_by_one() -> None:
    counts = []
    for seed, both_ways in itertools.product(range(4), (True, False)):
        readings = _many(160, seed, both_ways=both_ways)
        places = [(one.bearing_deg, one.turned) for one in readings]
        may_go = [place in places[at + 1 :] for at, place in enumerate(places)]
        kept, odd = list(range(len(readings))), list[int]()
        while True:
            fit = fit_plane(
                [readings[i] for i in kept], zero_error_standard_uncertainty_mm_per_m=0.5
            )
            assert fit is not None
            if fit.worst is None or not may_go[kept[fit.worst.index]]:
                break
            odd.append(kept.pop(fit.worst.index))
        counts.append(len(odd))
        found = fit_without_odd(readings, may_go, zero_error_standard_uncertainty_mm_per_m=0.5)
        assert found == (fit, kept, odd)
    assert max(counts) > 20
