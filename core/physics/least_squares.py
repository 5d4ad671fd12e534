"""Least squares for two or three unknowns, in plain floats.

A person takes few readings: for so few numbers the sums themselves cost less than handing them to
a library made for large matrices, and a log is judged anew with every entry.
"""

import math
import operator
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

_APART: Final = 1e-9
"""Less of its own length than this, and a column says nothing that those before it don't."""


@dataclass(frozen=True, slots=True)
class Decomposed:
    """A table as columns square to each other times a triangle (modified Gram and Schmidt).

    Attributes
    ----------
    units : tuple of list of float
        One for each unknown, of length 1 and square to each other, as long as there are rows.
    triangle : tuple of list of float
        Row i, column k: how much of unit i column k has; nothing below the diagonal.
    """

    units: tuple[list[float], ...]
    triangle: tuple[list[float], ...]

    def solution(self, right: Sequence[float]) -> list[float]:
        """Return the unknowns that leave the least sum of squares of table times unknowns - right.

        `right` has one number for each row.
        """
        left = list(right)
        parts = []
        for unit in self.units:
            part = _product(unit, left)
            left = [b - part * q for b, q in zip(left, unit, strict=True)]
            parts.append(part)
        found = [0.0] * len(parts)
        for i in reversed(range(len(parts))):
            known = sum(self.triangle[i][k] * found[k] for k in range(i + 1, len(parts)))
            found[i] = (parts[i] - known) / self.triangle[i][i]
        return found

    def covariance(self) -> list[list[float]]:
        """Return that of the unknowns where each row has a standard uncertainty of 1."""
        count = len(self.units)
        inverse = [[0.0] * count for _ in range(count)]
        for k in range(count):
            inverse[k][k] = 1.0 / self.triangle[k][k]
            for i in reversed(range(k)):
                known = sum(self.triangle[i][j] * inverse[j][k] for j in range(i + 1, k + 1))
                inverse[i][k] = -known / self.triangle[i][i]
        return [[_product(one, other) for other in inverse] for one in inverse]

    def leverage(self) -> list[float]:
        """Return for each row how far the fit follows it: 0 not at all, 1 exactly."""
        return [sum(q * q for q in row) for row in zip(*self.units, strict=True)]


def decomposed(columns: Sequence[Sequence[float]]) -> Decomposed | None:
    """Decompose a table, given as one column for each unknown, all of finite numbers.

    Returns
    -------
    Decomposed or None
        None where the rows can't tell the unknowns apart.
    """
    units: list[list[float]] = []
    triangle = [[0.0] * len(columns) for _ in columns]
    for k, column in enumerate(columns):
        left = list(column)
        size = math.sqrt(_product(left, left))
        for i, unit in enumerate(units):
            part = triangle[i][k] = _product(unit, left)
            left = [b - part * q for b, q in zip(left, unit, strict=True)]
        rest = triangle[k][k] = math.sqrt(_product(left, left))
        if rest <= _APART * size:
            return None
        units.append([b / rest for b in left])
    return Decomposed(tuple(units), tuple(triangle))


def _product(one: Sequence[float], other: Sequence[float]) -> float:
    total: float = sum(map(operator.mul, one, other))
    return total
