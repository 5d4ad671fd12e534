"""A value with its uncertainty, and the one rule that turns both into a decision.

Every solver returns an `Estimate`. Errors that average down with more readings (noise, rounding
hidden by noise) are kept apart from those that do not (calibration of a scale or level); the latter
are added in quadrature after averaging.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from core.estimation.quantiles import normal_cdf, normal_quantile, two_sided_factor

Floats = NDArray[np.float64]

CONFIDENCE = 0.95
"""Confidence of every interval shown, unless stated otherwise."""

COVERAGE_FACTOR = two_sided_factor(CONFIDENCE)
"""Ratio of that interval's half width to a normal standard uncertainty: 1.96."""

CERTAIN_FACTOR: Final = 2.58
"""The same for the interval of 99 of 100 readings."""

SUSPICION = 0.01
"""Probability of a false alarm: good readings called disagreeing, or a good instrument noisy."""

FEW_ENOUGH_TO_ASK = 20
"""Largest number of extra readings asked for."""

CHEAPER_THAN_A_MOVE = 3
"""This many further readings cost less than a move and the readings after it: our own figure."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value, its standard uncertainty in the same unit, and how well that uncertainty is known.

    `degrees_of_freedom` is infinite when the uncertainty is known beforehand, n - 1 when it comes
    from n readings.

    Raises
    ------
    ValueError     If the value is not finite, the uncertainty negative or not finite, or the
    degrees of freedom     not above 0.
    """

    value: float
    standard_uncertainty: float
    degrees_of_freedom: float = math.inf

    def __post_init__(self) -> None:
        if not math.isfinite(self.value):
            raise ValueError(f"A reading must be a finite number, and this one is {self.value}.")
        if not (self.standard_uncertainty >= 0.0 and math.isfinite(self.standard_uncertainty)):
            raise ValueError(
                "A standard uncertainty must be zero or more, and this one is "
                f"{self.standard_uncertainty}."
            )
        if not self.degrees_of_freedom > 0.0:
            raise ValueError(
                f"Degrees of freedom must be above zero, and these are {self.degrees_of_freedom}."
            )

    def half_width(self, confidence: float = CONFIDENCE) -> float:
        """Half of the two-sided interval at this confidence, in the unit of the value."""
        factor = two_sided_factor(confidence, self.degrees_of_freedom)
        return factor * self.standard_uncertainty

    def interval(self, confidence: float = CONFIDENCE) -> tuple[float, float]:
        """Lower and upper end of the two-sided interval."""
        half = self.half_width(confidence)
        return self.value - half, self.value + half

    def contains(self, truth: float, confidence: float = CONFIDENCE) -> bool:
        """Whether the interval holds the given value."""
        return abs(truth - self.value) <= self.half_width(confidence)

    def scaled(self, factor: float) -> "Estimate":
        """Multiply by an exactly known factor."""
        return Estimate(
            self.value * factor, self.standard_uncertainty * abs(factor), self.degrees_of_freedom
        )

    def shifted(self, amount: float) -> "Estimate":
        """Add an exactly known amount."""
        return Estimate(self.value + amount, self.standard_uncertainty, self.degrees_of_freedom)

    def widened(
        self, standard_uncertainty: float, degrees_of_freedom: float = math.inf
    ) -> "Estimate":
        """Add an independent uncertainty in quadrature: one that more readings don't reduce."""
        return combine(
            self.value,
            (self.standard_uncertainty, self.degrees_of_freedom),
            (standard_uncertainty, degrees_of_freedom),
        )

    def plus(self, other: "Estimate") -> "Estimate":
        """Sum of two independent estimates."""
        return self.shifted(other.value).widened(
            other.standard_uncertainty, other.degrees_of_freedom
        )

    def minus(self, other: "Estimate") -> "Estimate":
        """Difference of two independent estimates."""
        return self.plus(other.scaled(-1.0))


def combine(value: float, *parts: tuple[float, float]) -> Estimate:
    """Estimate from independent (standard uncertainty, degrees of freedom) parts.

    Uncertainties add in quadrature; degrees of freedom by Welch and Satterthwaite's formula.
    """
    variance = sum(u * u for u, _ in parts)
    if variance == 0.0:
        return Estimate(value, 0.0)
    weight = sum((u * u / variance) ** 2 / dof for u, dof in parts)
    return Estimate(value, math.sqrt(variance), 1.0 / weight if weight > 0.0 else math.inf)


def rounding_uncertainty(resolution: float) -> float:
    """Return the standard uncertainty of one reading rounded to steps of `resolution`.

    resolution / sqrt(12): the standard deviation of an error spread evenly over one step.
    """
    return resolution / math.sqrt(12.0)


def mean_of(
    readings: Sequence[float],
    reading_standard_uncertainty: float | None = None,
    *,
    calibration_standard_uncertainty: float = 0.0,
    resolution: float = 0.0,
) -> Estimate:
    """Mean of repeated readings of one thing.

    Parameters
    ----------
    readings : sequence of float
        At least one; at least two when the uncertainty of a reading is unknown.
    reading_standard_uncertainty : float or None
        Standard deviation of one reading, known beforehand. None: taken from the spread alone.
    calibration_standard_uncertainty : float
        Error common to all the readings (offset or gain of the instrument). It does not average
        down, and is added in quadrature.
    resolution : float
        Step the readings are rounded to, when `reading_standard_uncertainty` does not include
        rounding. A steady thing read on a coarse scale shows the same figure each time, so the
        rounding averages down only as far as noise shakes it.

    Returns
    -------
    Estimate
        In the unit of the readings.

    Raises
    ------
    ValueError
        Without readings, or with one reading and no known uncertainty.

    Notes
    -----
    With a known uncertainty sigma the interval is the normal one, sigma / sqrt(n), whatever the
    spread happens to be: n = 3 readings tell a spread too poorly to mend what is known. Only when
    the spread is larger than sound readings show in 1 of 100 cases (chi-square test) is the
    stated figure given up for the observed spread with Student's t. Coverage of the 95 % interval
    is measured in the tests: 93 to 97 %.

    The part of the rounding that does not average down: with noise sigma and step q the rounding
    error, as a function of where the truth lies in its step, keeps a mean square of
    sum over k of (q / (pi k))^2 / 2 x exp(-(2 pi k sigma / q)^2) (derived: Fourier series of the
    saw-tooth, each term smoothed by normal noise). It is q^2 / 12 without noise and is gone at
    sigma = q / 2.
    """
    count = len(readings)
    if count == 0:
        raise ValueError("There is no reading yet to take the mean of.")
    mean = float(sum(readings)) / count
    away = [float(one) - mean for one in readings]
    spread = math.sqrt(sum(a * a for a in away) / (count - 1)) if count > 1 else 0.0
    if reading_standard_uncertainty is None:
        if count < 2:
            raise ValueError(
                "One reading says nothing of its own error: read once more, or give the "
                "instrument's resolution."
            )
        estimate = Estimate(mean, spread / math.sqrt(count), count - 1.0)
        lasting = rounding_uncertainty(resolution) if spread < 0.5 * resolution else 0.0
    else:
        noise = reading_standard_uncertainty
        lasting = _lasting_rounding(resolution, noise)
        averaging = math.sqrt(max(noise**2 + resolution**2 / 12.0 - lasting**2, 0.0))
        if count > 1 and (count - 1) * spread**2 > _chi_square_limit(count - 1) * averaging**2:
            estimate = Estimate(mean, spread / math.sqrt(count), count - 1.0)
        else:
            estimate = Estimate(mean, averaging / math.sqrt(count))
    return estimate.widened(math.hypot(lasting, calibration_standard_uncertainty))


def _lasting_rounding(resolution: float, noise: float) -> float:
    if resolution == 0.0:
        return 0.0
    if noise == 0.0:
        return rounding_uncertainty(resolution)
    total = 0.0
    for order in range(1, 200):
        left = math.exp(-((2.0 * math.pi * order * noise / resolution) ** 2))
        if left == 0.0:
            break  # so small that all further ones are negligible
        total += (resolution / (math.pi * order)) ** 2 / 2.0 * left
    return math.sqrt(total)


def _chi_square_limit(degrees_of_freedom: int) -> float:
    """Upper `SUSPICION` point of chi-square, by Wilson and Hilferty's cube-root form."""
    ratio = 2.0 / (9.0 * degrees_of_freedom)
    root = 1.0 - ratio + normal_quantile(1.0 - SUSPICION) * math.sqrt(ratio)
    return degrees_of_freedom * root**3


_EQUALS: Final = 1e-9
"""Residuals that differ by no more than this share count as equal."""


@dataclass(frozen=True, slots=True)
class Disagreement:
    """The reading that fits the others worst: `index` is its place in the sequence, from 0.

    `residual` is the reading less what the others expect of it, in the unit of the readings;
    `normalised` its size over its own standard uncertainty.
    """

    index: int
    residual: float
    normalised: float


def worst_residual(
    residuals: Sequence[float] | Floats, standard_uncertainties: Sequence[float] | Floats
) -> Disagreement | None:
    """Return the largest normalised residual, if too large for chance.

    Parameters
    ----------
    residuals, standard_uncertainties : sequence of float
        Same length and unit; the uncertainty is that of the residual itself, smaller than that of
        the reading because the fit has bent towards it. Entries of zero uncertainty (readings the
        fit follows exactly) are passed over.

    Returns
    -------
    Disagreement or None
        None when all are within what chance explains: the limit is the normal one for
        `SUSPICION` shared among the readings (Bonferroni). Of equals the later is named, since
        that is the one still at hand to read again.
    """
    if len(residuals) != len(standard_uncertainties):
        raise ValueError("Each residual needs its own uncertainty.")
    sizes, sigmas = np.abs(residuals), np.asarray(standard_uncertainties, dtype=float)
    open_to_doubt = np.flatnonzero(sigmas > 0.0)
    usable = len(open_to_doubt)
    if not usable:
        return None
    normalised = sizes[open_to_doubt] / sigmas[open_to_doubt]
    worst = int(np.argmax(normalised))
    # Of those after it only what comes so near can be its equal, however many there are.
    near = normalised[worst] * (1.0 - usable * _EQUALS)
    for later in worst + 1 + np.flatnonzero(normalised[worst + 1 :] >= near):
        if normalised[later] >= normalised[worst] * (1.0 - _EQUALS):
            worst = int(later)
    place = int(open_to_doubt[worst])
    found = Disagreement(place, float(residuals[place]), float(normalised[worst]))
    limit = normal_quantile(1.0 - SUSPICION / (2.0 * usable))
    return found if found.normalised > limit else None


def disagreement(readings: Sequence[float], sigma: float) -> Disagreement | None:
    """Which of several readings of one thing disagrees with the others, if any does.

    Its residual is measured against the mean of the others; `sigma` is the standard uncertainty of
    one reading, above zero, same unit. Of two readings that disagree nobody can say which is wrong:
    the later is named. Fewer than two never disagree.
    """
    count = len(readings)
    if count < 2:
        return None
    mean = float(sum(readings)) / count
    against_others = [(float(one) - mean) * count / (count - 1) for one in readings]
    own = sigma * math.sqrt(count / (count - 1))
    return worst_residual(against_others, [own] * count)


def chance_inside(now: Estimate, target: float, tolerance: float) -> float:
    """Return the probability that the true value lies within the tolerance of the target."""
    sd, away = now.half_width() / COVERAGE_FACTOR, now.value - target
    if sd <= 0.0:
        return float(abs(away) <= tolerance)
    return normal_cdf((tolerance - away) / sd) - normal_cdf((-tolerance - away) / sd)


class Decision(Enum):
    """The possible answers of the decision rule."""

    GOOD = "good"
    MOVE = "move"
    READ_AGAIN = "read again"
    STEP_TOO_COARSE = "step too coarse"


def decide(
    deviation: float,
    half_width: float,
    tolerance: float,
    *,
    smallest_effect: float = 0.0,
) -> Decision:
    """Apply the decision rule: good, move, or read again.

    Parameters
    ----------
    deviation, half_width : float
        Estimate less target, and half of its 95 % interval.
    tolerance : float
        Largest deviation that is good enough, same unit.
    smallest_effect : float
        What the control's smallest step changes, same unit; 0 for a control without steps.

    Returns
    -------
    Decision
        GOOD when the whole interval lies inside the tolerance. MOVE when the deviation is larger
        than its own uncertainty, so that the direction is certain. READ_AGAIN otherwise: the
        reading error allows neither. A MOVE of less than half of the smallest step can't be
        made: then it is GOOD if the deviation itself is within tolerance, or STEP_TOO_COARSE.

    Notes
    -----
    With the exception for coarse controls a truth beyond twice the tolerance is still never
    called good at that confidence, as the deviation there exceeds its half width.
    """
    size = abs(deviation)
    if size + half_width <= tolerance:
        return Decision.GOOD
    if size <= half_width:
        return Decision.READ_AGAIN
    if size < 0.5 * abs(smallest_effect):
        return Decision.GOOD if size <= tolerance else Decision.STEP_TOO_COARSE
    return Decision.MOVE


def readings_needed(
    deviation: float,
    tolerance: float,
    sigma: float,
    n: float,
    *,
    calibration_standard_uncertainty: float = 0.0,
    most: int = FEW_ENOUGH_TO_ASK,
) -> int | None:
    """How many further readings would let `decide` settle, if the mean stays where it is.

    Parameters
    ----------
    deviation, tolerance : float
        As in `decide`.
    sigma : float
        Standard uncertainty of one reading.
    n : float
        Readings already taken, at least 1; not whole where earlier trials count in part.
    calibration_standard_uncertainty : float
        The part that does not average down.
    most : int
        Largest number worth asking for.

    Returns
    -------
    int or None
        0 if settled already; None if even `most` more would not do: the instrument is too coarse
        for this tolerance, or the deviation lies just where readings can't tell.
    """
    decisions = _foretold(deviation, tolerance, sigma, n, calibration_standard_uncertainty, most)
    return next((i for i, one in enumerate(decisions) if one is not Decision.READ_AGAIN), None)


def worth_reading(
    deviation: float,
    tolerance: float,
    sigma: float,
    n: float,
    *,
    calibration_standard_uncertainty: float = 0.0,
    most: int = CHEAPER_THAN_A_MOVE,
) -> int | None:
    """Return how many more readings would make it good as it stands, if the mean stays.

    A deviation inside the tolerance may be larger than its uncertainty, so that its direction is
    certain, and yet a move may be poor advice: it is no more exact than the next few readings, and
    undoes what was nearly right.

    Parameters
    ----------
    deviation, tolerance, sigma, n, calibration_standard_uncertainty
        As in `readings_needed`.
    most : int
        More than this cost as much as a move.

    Returns
    -------
    int or None
        At least 1; None when a move is the better advice.
    """
    decisions = _foretold(deviation, tolerance, sigma, n, calibration_standard_uncertainty, most)
    good = (i for i, one in enumerate(decisions) if i > 0 and one is Decision.GOOD)
    return next(good, None)


def _foretold(
    deviation: float, tolerance: float, sigma: float, n: float, calibration: float, most: int
) -> Iterator[Decision]:
    """Yield the decision after 0, 1, ... `most` more readings."""
    if not n >= 1.0:
        raise ValueError("At least one reading is needed before more can be foretold.")
    for more in range(most + 1):
        half_width = COVERAGE_FACTOR * math.hypot(sigma / math.sqrt(n + more), calibration)
        yield decide(deviation, half_width, tolerance)
