"""Downforce: a scale's offset and gain from its empty pan and a check weight."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from core.estimation import Estimate, combine, mean_of

CHECK_WEIGHT_LIMITS_MG = {1.0: 1.0, 2.0: 1.2, 5.0: 1.6}
"""Limits of error of class M1 weights by nominal grams (OIML R 111-1, second-hand)."""


def check_weight_uncertainty_g(limit_mg: float) -> float:
    """Return the standard uncertainty of a weight whose error is within +-limit, evenly spread."""
    return limit_mg / 1000.0 / math.sqrt(3.0)


@dataclass(frozen=True, slots=True)
class ScaleCorrection:
    """What the scale shows for nothing (exactly 0 if set to zero) and for a known weight, gf."""

    empty: Estimate
    weighed: Estimate
    weight_g: Estimate

    @property
    def gain(self) -> Estimate:
        """Shown per true gram: 1 for a true scale."""
        span = self.weighed.minus(self.empty)
        value = span.value / self.weight_g.value
        return combine(
            value,
            (span.standard_uncertainty / self.weight_g.value, span.degrees_of_freedom),
            (value * self.weight_g.standard_uncertainty / self.weight_g.value, math.inf),
        )

    def corrected(self, shown_gf: Estimate) -> Estimate:
        """Return the true downforce behind a reading (or a mean of readings), gf.

        Derived: (r - o) w / (s - o) with o empty, s weighed, w the weight. The errors of o, s and w
        are common to all readings and don't average down; o counts once for both places it stands
        in. The uncertainty of `shown_gf` is that of repeated reading only.
        """
        span = self.weighed.value - self.empty.value
        per_shown = self.weight_g.value / span
        value = (shown_gf.value - self.empty.value) * per_shown
        return combine(
            value,
            (per_shown * shown_gf.standard_uncertainty, shown_gf.degrees_of_freedom),
            (
                abs(value / span - per_shown) * self.empty.standard_uncertainty,
                self.empty.degrees_of_freedom,
            ),
            (
                abs(value / span) * self.weighed.standard_uncertainty,
                self.weighed.degrees_of_freedom,
            ),
            (abs(value / self.weight_g.value) * self.weight_g.standard_uncertainty, math.inf),
        )


def scale_correction(
    weighed_gf: Sequence[float],
    weight_g: float,
    *,
    reading_standard_uncertainty_gf: float,
    weight_standard_uncertainty_g: float,
    empty_gf: Sequence[float] = (),
    resolution_gf: float = 0.0,
) -> ScaleCorrection:
    """Offset and gain from readings of the check weight and, if taken, of the empty pan.

    Parameters
    ----------
    weighed_gf, empty_gf : sequence of float
        Readings with the weight on, and with nothing on. Without the latter the scale is taken
        to have been set to zero.
    weight_g, weight_standard_uncertainty_g : float
        The weight and its uncertainty.
    reading_standard_uncertainty_gf, resolution_gf : float
        As in `core.estimation.estimate.mean_of`.

    Raises
    ------
    ValueError
        The weight is not above zero, or the scale shows no more with it than without.
    """
    if not weight_g > 0.0:
        raise ValueError("A check weight must weigh more than nothing.")
    weighed = mean_of(weighed_gf, reading_standard_uncertainty_gf, resolution=resolution_gf)
    empty = (
        mean_of(empty_gf, reading_standard_uncertainty_gf, resolution=resolution_gf)
        if len(empty_gf)
        else Estimate(0.0, 0.0)
    )
    if not weighed.value - empty.value > 0.2 * weight_g:
        raise ValueError(
            "The scale shows hardly more with the check weight than without: set it to grams, "
            "zero it and weigh again."
        )
    return ScaleCorrection(empty, weighed, Estimate(weight_g, weight_standard_uncertainty_g))
