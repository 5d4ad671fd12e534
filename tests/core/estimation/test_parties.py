"""Parties of readings, against every pair compared."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st

from core.estimation import Parties, within
from core.estimation.estimate import worst_residual

# From a few values, so that some are equal and some lie exactly at the limit.
READ = st.lists(
    st.tuples(st.sampled_from([0.0, 0.1, 0.2, 0.3, 1.0, 1.1, 7.0]), st.sampled_from([0.03, 0.1])),
    min_size=1,
    max_size=12,
)


@given(READ, st.sampled_from([1.0, 3.29]))
def test_the_largest_party_is_that_of_all_pairs(read: list[tuple[float, float]], k: float) -> None:
    values, spreads = [value for value, _ in read], [spread for _, spread in read]
    parties = [
        [
            j
            for j in range(len(read))
            if abs(values[i] - values[j]) <= k * math.hypot(spreads[i], spreads[j])
        ]
        for i in range(len(read))
    ]
    found = Parties(values, spreads, k)
    assert found.largest() == frozenset(max(parties, key=len))
    assert found.is_one == all(len(party) == len(read) for party in parties)


@given(st.lists(st.floats(-3.0, 3.0)), st.floats(-3.0, 3.0), st.floats(0.0, 2.0))
def test_what_lies_within_a_limit(values: list[float], value: float, limit: float) -> None:
    ordered = sorted(values)
    near = [place for place, one in enumerate(ordered) if abs(one - value) <= limit]
    assert list(within(ordered, value, limit)) == near


def test_of_equal_residuals_the_later_is_named() -> None:
    """Worked by hand: 9 and 9 lie equally far out, one of them a hair less; 8.9 does not."""
    found = worst_residual([9.0, 0.1, 9.0 - 1e-9, 8.9, -0.2], [1.0] * 5)
    assert found is not None
    assert (found.index, round(found.normalised, 6)) == (2, 9.0)


def test_what_has_no_uncertainty_is_passed_over() -> None:
    found = worst_residual([100.0, 0.0, 9.0], [0.0, 1.0, 1.0])
    assert found is not None
    assert found.index == 2
    assert worst_residual([100.0], [0.0]) is None
    assert worst_residual([], []) is None
