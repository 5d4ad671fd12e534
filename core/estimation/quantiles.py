"""Quantiles of the normal and of Student's distribution, without scipy."""

import math
from functools import lru_cache
from statistics import NormalDist

_NORMAL = NormalDist()
_CONTINUED_FRACTION_STEPS = 300


def normal_quantile(probability: float) -> float:
    """Value that a standard normal variable stays below with the given probability (0 to 1)."""
    return _NORMAL.inv_cdf(probability)


def normal_cdf(value: float) -> float:
    """Probability that a standard normal variable stays below the value."""
    return 0.5 * math.erfc(-value / math.sqrt(2.0))


@lru_cache(maxsize=512)
def two_sided_factor(confidence: float, degrees_of_freedom: float = math.inf) -> float:
    """Multiplier of a standard uncertainty that gives a two-sided interval.

    The (1 + confidence) / 2 quantile of Student's distribution; of the normal one at infinite
    degrees of freedom.

    Raises
    ------
    ValueError
        Unless 0 < confidence < 1 and the degrees of freedom are above 0.

    Notes
    -----
    The distribution function goes through the regularised incomplete beta function, by its
    continued fraction, and is inverted by bisection: slow beside a table, exact for any number
    of degrees of freedom, and remembered between calls.
    """
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"A confidence lies between 0 and 1, and this one is {confidence}.")
    if not degrees_of_freedom > 0.0:
        raise ValueError(f"Degrees of freedom are above 0, and these are {degrees_of_freedom}.")
    if degrees_of_freedom > 1e6:
        return normal_quantile(0.5 * (1.0 + confidence))
    tail = 1.0 - confidence
    low, high = 0.0, 2.0
    while _student_two_tails(high, degrees_of_freedom) > tail:
        low, high = high, 2.0 * high
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        if _student_two_tails(middle, degrees_of_freedom) > tail:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def _student_two_tails(t: float, degrees_of_freedom: float) -> float:
    """Probability that |T| exceeds t."""
    x = degrees_of_freedom / (degrees_of_freedom + t * t)
    return _incomplete_beta(0.5 * degrees_of_freedom, 0.5, x)


def _incomplete_beta(a: float, b: float, x: float) -> float:
    """Regularised incomplete beta function I_x(a, b)."""
    if x <= 0.0:
        return 0.0
    if x >= 1.0:
        return 1.0
    log_front = (
        math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    )
    if x < (a + 1.0) / (a + b + 2.0):
        return math.exp(log_front) * _beta_fraction(a, b, x) / a
    return 1.0 - math.exp(log_front) * _beta_fraction(b, a, 1.0 - x) / b


def _beta_fraction(a: float, b: float, x: float) -> float:
    """Continued fraction of the incomplete beta function, by Lentz's method."""
    tiny = 1e-300
    c = 1.0
    d = 1.0 / (1.0 - (a + b) * x / (a + 1.0) or tiny)
    h = d
    for m in range(1, _CONTINUED_FRACTION_STEPS):
        even = m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m))
        d = 1.0 / (1.0 + even * d or tiny)
        c = 1.0 + even / c or tiny
        h *= d * c
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0))
        d = 1.0 / (1.0 + odd * d or tiny)
        c = 1.0 + odd / c or tiny
        factor = d * c
        h *= factor
        if abs(factor - 1.0) < 1e-15:
            break
    return h
