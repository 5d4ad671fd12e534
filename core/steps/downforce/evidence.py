"""What the weighings of one state tell of its downforce, and what more of them could."""

from __future__ import annotations

from dataclasses import dataclass

from core.estimation import COVERAGE_FACTOR, Estimate, normal_cdf, readings_needed, worth_reading
from core.steps.downforce.weighings import ScaleWorth


@dataclass(frozen=True, slots=True)
class WeighedDownforce:
    """Weighings of one state, at least one, as the scale showed them, beside what is wanted.

    ``now`` is the downforce they come to, gf, calibration included.
    """

    shown_gf: list[float]
    now: Estimate
    worth: ScaleWorth
    target_gf: float
    tolerance_gf: float

    @property
    def deviation_gf(self) -> float:
        """What is there, less the target."""
        return self.now.value - self.target_gf

    @property
    def sigma_gf(self) -> float:
        """Standard uncertainty a normal error of the same interval would have."""
        return self.now.half_width() / COVERAGE_FACTOR

    @property
    def lasting_gf(self) -> float:
        """The part of it that all weighings share: the scale's own."""
        return self.worth.calibration_gf(sum(self.shown_gf) / len(self.shown_gf))

    @property
    def free_gf(self) -> float:
        """The part of it that more weighings lessen."""
        return float(max(self.sigma_gf**2 - self.lasting_gf**2, 0.0) ** 0.5)

    @property
    def single_gf(self) -> float:
        """What one weighing scatters by."""
        return float(self.free_gf * len(self.shown_gf) ** 0.5)

    @property
    def scale_decides(self) -> bool:
        """Whether the scale's own error is the larger part."""
        return self.lasting_gf > self.free_gf

    @property
    def chance(self) -> float:
        """The chance that downforce lies inside the tolerance."""
        return self.chance_if(self.deviation_gf, self.sigma_gf)

    def chance_if(self, deviation_gf: float, sigma_gf: float) -> float:
        """Return the same for another deviation, known so well."""
        if sigma_gf <= 0.0:
            return float(abs(deviation_gf) <= self.tolerance_gf)
        above = normal_cdf((self.tolerance_gf - deviation_gf) / sigma_gf)
        return above - normal_cdf((-self.tolerance_gf - deviation_gf) / sigma_gf)

    def more(self) -> int | None:
        """Return how many more weighings would settle it, None if no reasonable number."""
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
