"""A stated gain and what one move showed, weighed by hand."""

from __future__ import annotations

import math

import pytest

from core.steps.shared.gain_samples import Sample, narrowed

EXACT = 0.0
"""The move was made exactly as asked for."""


@pytest.mark.parametrize(
    ("stated", "share", "found", "expected", "spread"),
    [
        # 0.45 to a tenth, 0.045; 1.0 for 2 asked, known to 0.1: 0.5 to 0.05. The weights are
        # 493.8 and 400: (222.2 + 200) / 893.8 = 0.4724, and 1 / sqrt(893.8) = 0.03345.
        (0.45, 0.1, 1.0, 0.4724, 0.03345),
        # 4.0 to a tenth, 0.4 (weight 6.25), beside 3.9 to 0.05 (400).
        (4.0, 0.1, 7.8, 3.90154, 0.04961),
        # -0.45 is as far off either way.
        (-0.45, 0.1, -1.0, -0.4724, 0.03345),
        # They do not agree: 0.5 apart, where 1.96 times the root of 0.045² + 0.05² is 0.132.
        (0.45, 0.1, 1.9, 0.95, 0.05),
    ],
)
def test_statement_and_finding_are_weighed_by_what_they_are_known_to(
    stated: float, share: float, found: float, expected: float, spread: float
) -> None:
    value, error = narrowed(stated, share, [Sample(2.0, found, 0.1, made_share=EXACT)])
    assert value == pytest.approx(expected, abs=2e-4)
    assert error == pytest.approx(max(spread / abs(expected), 0.03), rel=2e-2)


def test_a_move_made_inexactly_counts_for_less() -> None:
    # 2 asked for, made to 6 % of what it does: 0.06; with the readings' 0.08 it is 0.1, as above.
    inexact = Sample(2.0, 1.0, 0.08, made_share=0.06)
    assert inexact.made == pytest.approx(0.12)
    value, _ = narrowed(0.45, 0.1, [inexact])
    assert value == pytest.approx(0.4724, abs=2e-3)
    assert Sample(2.0, 1.0, 0.08, made_share=0.06, made_least=0.09).made == pytest.approx(0.15)


def test_two_moves_are_weighed_by_what_they_asked_for() -> None:
    # sum(x y) / sum(x²) of (1, 0.6) and (3, 1.5): 5.1 / 10; 0.1 / sqrt(10) = 0.0316.
    both = [Sample(1.0, 0.6, 0.1, made_share=EXACT), Sample(3.0, 1.5, 0.1, made_share=EXACT)]
    value, share = narrowed(None, 0.25, both)
    assert value == pytest.approx(0.51)
    assert share == pytest.approx(0.1 / math.sqrt(10.0) / 0.51, rel=1e-3)
