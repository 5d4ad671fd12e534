"""Three-dimensional vectors, rotations and root finding for the practice deck.

The closed forms of trigonometry that the steps use are avoided on purpose: what comes out of these
must agree with them, and a mistake in one is then not hidden by the same mistake in the other.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

Vector = tuple[float, float, float]

UP: Vector = (0.0, 0.0, 1.0)


_MOST_TRIES = 80
_AS_NEAR = 2e-15
"""Closer than this, of the number or of 1, no two tries can be told apart."""


def plus(*vectors: Vector) -> Vector:
    """Return the sum."""
    x = y = z = 0.0
    for vector in vectors:
        x, y, z = x + vector[0], y + vector[1], z + vector[2]
    return (x, y, z)


def times(scale: float, vector: Vector) -> Vector:
    """Return a vector made longer or shorter."""
    return (scale * vector[0], scale * vector[1], scale * vector[2])


def minus(one: Vector, other: Vector) -> Vector:
    """Return the difference."""
    return (one[0] - other[0], one[1] - other[1], one[2] - other[2])


def dot(one: Vector, other: Vector) -> float:
    """Return the inner product."""
    return one[0] * other[0] + one[1] * other[1] + one[2] * other[2]


def cross(one: Vector, other: Vector) -> Vector:
    """Return the outer product."""
    return (
        one[1] * other[2] - one[2] * other[1],
        one[2] * other[0] - one[0] * other[2],
        one[0] * other[1] - one[1] * other[0],
    )


def length(vector: Vector) -> float:
    """Return how long it is."""
    return math.sqrt(dot(vector, vector))


def unit(vector: Vector) -> Vector:
    """Return the same direction one long; ZeroDivisionError for the nil vector."""
    return times(1.0 / length(vector), vector)


def turned(vector: Vector, axis: Vector, angle_rad: float) -> Vector:
    """Turn a vector about an axis through the origin, right-handed.

    Rodrigues' rotation: the part along the axis stays, the part square to it turns.
    """
    along = unit(axis)
    stays = times(dot(vector, along), along)
    square = minus(vector, stays)
    aside = cross(along, square)
    return plus(stays, times(math.cos(angle_rad), square), times(math.sin(angle_rad), aside))


def turned_about(point: Vector, through: Vector, axis: Vector, angle_rad: float) -> Vector:
    """Turn a point about an axis that passes through another point."""
    return plus(through, turned(minus(point, through), axis, angle_rad))


def flat(vector: Vector) -> Vector:
    """Return its shadow on the level plane."""
    return (vector[0], vector[1], 0.0)


def root_between(function: Callable[[float], float], low: float, high: float) -> float:
    """Return where a function changes sign between two ends.

    The rule of false position in its Illinois form: each try is where the straight line between
    the ends crosses, and an end that stays twice counts half.

    Raises
    ------
    ValueError
        When both ends have the same sign.
    """
    at_low, at_high = function(low), function(high)
    if at_low == 0.0:
        return low
    if at_high == 0.0:
        return high
    if (at_low > 0.0) == (at_high > 0.0):
        raise ValueError("No change of sign between the two ends.")
    moved, before = 0, low
    for _ in range(_MOST_TRIES):
        place = high - at_high * (high - low) / (at_high - at_low)
        if not low < place < high:
            place = 0.5 * (low + high)
        value = function(place)
        if value == 0.0 or abs(place - before) <= _AS_NEAR * max(abs(place), 1.0):
            return place
        before = place
        if (value > 0.0) == (at_low > 0.0):
            low, at_low = place, value
            at_high *= 0.5 if moved < 0 else 1.0
            moved = -1
        else:
            high, at_high = place, value
            at_low *= 0.5 if moved > 0 else 1.0
            moved = 1
    return before


def least_between(
    function: Callable[[float], float], low: float, high: float, *, coarse: int = 10
) -> float:
    """Return where a function is least: a coarse scan, then ternary search around its best."""
    places = [low + (high - low) * i / coarse for i in range(coarse + 1)]
    best = min(range(len(places)), key=lambda i: function(places[i]))
    left, right = places[max(best - 1, 0)], places[min(best + 1, coarse)]
    for _ in range(26):
        one, other = left + (right - left) / 3.0, right - (right - left) / 3.0
        if function(one) < function(other):
            right = other
        else:
            left = one
    return 0.5 * (left + right)


def solved(rows: Sequence[Sequence[float]], right: Sequence[float]) -> list[float]:
    """Solve a small square set of equations by elimination.

    Raises
    ------
    ValueError
        When they are not independent.
    """
    size = len(right)
    table = [[*map(float, row), float(value)] for row, value in zip(rows, right, strict=True)]
    for place in range(size):
        pivot = max(range(place, size), key=lambda i: abs(table[i][place]))
        if abs(table[pivot][place]) < 1e-12:
            raise ValueError("These equations are not independent.")
        table[place], table[pivot] = table[pivot], table[place]
        for row in range(size):
            if row != place:
                share = table[row][place] / table[place][place]
                table[row] = [a - share * b for a, b in zip(table[row], table[place], strict=True)]
    return [table[i][size] / table[i][i] for i in range(size)]
