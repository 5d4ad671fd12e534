"""The small solver against the one made for large matrices."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st
from numpy.typing import NDArray

from core.physics.least_squares import Decomposed, decomposed

number = st.floats(-100.0, 100.0)
Table = NDArray[np.float64]


@st.composite
def problems(draw: st.DrawFn) -> tuple[Table, Table]:
    """Draw a table of one to three unknowns that can be told apart, and a right side."""
    unknowns = draw(st.integers(1, 3))
    rows = draw(st.integers(unknowns, 9))
    table = np.array(draw(st.lists(number, min_size=unknowns * rows, max_size=unknowns * rows)))
    table = table.reshape(rows, unknowns)
    sizes = np.linalg.norm(table, axis=0)
    assume((sizes > 1e-3).all())
    singular = np.linalg.svd(table / sizes, compute_uv=False)
    assume(singular[-1] > 1e-3)
    return table, np.array(draw(st.lists(number, min_size=rows, max_size=rows)))


def taken_apart(table: Table) -> Decomposed:
    found = decomposed(table.T.tolist())
    assert found is not None
    return found


@given(problems())
@example((np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]]), np.array([1.0, 0.0, 0.0])))
@example((np.array([[0.0], [1.0], [1.54965966e-15]]), np.array([1.0, 0.0, 1.0])))
@example((np.array([[0.0], [1.0]]), np.array([3.87e-219, 2.225e-313])))
def test_it_finds_what_the_singular_values_find(problem: tuple[Table, Table]) -> None:
    table, right = problem
    small = taken_apart(table)
    expected = np.linalg.lstsq(table, right, rcond=None)[0]
    off = np.abs(small.solution(right.tolist()) - expected)
    # what rounding leaves goes by the right side, not by a solution that may be nothing
    scale = np.linalg.norm(right) / np.linalg.norm(table, axis=0)
    assert (off <= 1e-7 * np.abs(expected) + 1e-9 * scale + 1e-300).all(), (off, expected)
    covariance = np.linalg.inv(table.T @ table)
    np.testing.assert_allclose(
        small.covariance(), covariance, atol=1e-7 * float(np.abs(covariance).max())
    )
    hat = table @ np.linalg.pinv(table)
    np.testing.assert_allclose(small.leverage(), np.diag(hat), atol=1e-9)


@pytest.mark.parametrize(
    "columns",
    [
        [[0.0, 0.0]],
        [[1.0, 2.0], [2.0, 4.0]],
        [[1.0, 1.0], [1.0, 2.0], [3.0, 4.0]],  # two rows can't tell three unknowns
        [[1.0, 0.0, 1.0], [0.0, 1.0, 1.0], [1.0, 1.0, 2.0]],
        [[]],
    ],
)
def test_unknowns_that_no_row_tells_apart_are_refused(columns: list[list[float]]) -> None:
    assert decomposed(columns) is None
