"""What the weighings of one state tell about the downforce, and what more could tell."""

from __future__ import annotations

from dataclasses import dataclass

from core.estimation import COVERAGE_FACTOR, Estimate, normal_cdf, readings_needed, worth_reading
from core.steps.downforce.weighings import ScaleWorth


@dataclass(frozen=True, slots=True)
class WeighedDownforce:
    """The weighings of one state, at least one, as shown, with the target.

    ``now`` is their downforce, gf, calibration included.
    """

    shown_gf: list[float]
    now: Estimate
    worth: ScaleWorth
    target_gf: float
    tolerance_gf: float

    @property
    def deviation_gf(self) -> float:
        """Downforce less the target."""
        return self.now.value - self.target_gf

    @property
    def sigma_gf(self) -> float:
        """Standard uncertainty of a normal error with the same interval."""
        return self.now.half_width() / COVERAGE_FACTOR

    @property
    def lasting_gf(self) -> float:
        """The part of it common to all weighings: the scale's own error."""
        return self.worth.calibration_gf(sum(self.shown_gf) / len(self.shown_gf))

    @property
    def free_gf(self) -> float:
        """The part of it that more weighings reduce."""
        return float(max(self.sigma_gf**2 - self.lasting_gf**2, 0.0) ** 0.5)

    @property
    def single_gf(self) -> float:
        """The scatter of one weighing."""
        return float(self.free_gf * len(self.shown_gf) ** 0.5)

    @property
    def scale_decides(self) -> bool:
        """Whether the scale's own error is the larger part."""
        return self.lasting_gf > self.free_gf

    @property
    def chance(self) -> float:
        """The probability that the downforce is inside the tolerance."""
        return self.chance_if(self.deviation_gf, self.sigma_gf)

    def chance_if(self, deviation_gf: float, sigma_gf: float) -> float:
        """Return the same for another deviation with this uncertainty."""
        if sigma_gf <= 0.0:
            return float(abs(deviation_gf) <= self.tolerance_gf)
        above = normal_cdf((self.tolerance_gf - deviation_gf) / sigma_gf)
        return above - normal_cdf((-self.tolerance_gf - deviation_gf) / sigma_gf)

    def more(self) -> int | None:
        """Return how many more weighings would settle it, None if too many."""
        return readings_needed(
            self.deviation_gf,
            self.tolerance_gf,
            self.single_gf,
            len(self.shown_gf),
            calibration_standard_uncertainty=self.lasting_gf,
        )

    def few_more(self) -> int | None:
        """Return how many would show it good as it is, None if a move costs less."""
        return worth_reading(
            self.deviation_gf,
            self.tolerance_gf,
            self.single_gf,
            len(self.shown_gf),
            calibration_standard_uncertainty=self.lasting_gf,
        )
