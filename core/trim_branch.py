"""One belief behind a trim, carried on from move to move and from reading to reading.

State: the thing read (y), the control's gain (g, reading units per control unit) and the effect of
its slack (h). A move m changes y by g m, less h when the control has just been reversed and first
takes up its slack. That is linear in the state, so the exact answer for normal errors is the
Kalman filter. It is written out in plain floats: an answer takes a hundred such steps, and an
array of three by three costs ten times as much as its nine numbers.
"""

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Branch:
    """One belief: normal over (y, g, h), with the weight it has among the branches.

    Parameters
    ----------
    log_weight : float
        Natural logarithm.
    reading, gain, slack : float
        Means of y, g and h.
    yy, yg, yh, gg, gh, hh : float
        Their variances and covariances.
    """

    log_weight: float
    reading: float
    gain: float
    slack: float
    yy: float
    yg: float
    yh: float
    gg: float
    gh: float
    hh: float

    def moved(self, amount: float, share: float, added_variance: float) -> "Branch":
        """Return the belief after a move that takes up a share of the slack."""
        yg = self.yg + amount * self.gg - share * self.gh
        yh = self.yh + amount * self.gh - share * self.hh
        yy = self.yy + amount * self.yg - share * self.yh + amount * yg - share * yh
        return Branch(
            self.log_weight,
            self.reading + amount * self.gain - share * self.slack,
            self.gain,
            self.slack,
            yy + added_variance,
            yg,
            yh,
            self.gg,
            self.gh,
            self.hh,
        )

    def having_read(self, value: float, noise_variance: float, drift_variance: float) -> "Branch":
        """Return the belief after a reading, weighed by how well it was foretold."""
        yy = self.yy + drift_variance
        variance = yy + noise_variance
        if variance <= 0.0:
            return self
        surprise = value - self.reading
        chance = surprise**2 / variance + math.log(2.0 * math.pi * variance)
        by_y, by_g, by_h = yy / variance, self.yg / variance, self.yh / variance
        return Branch(
            self.log_weight - 0.5 * chance,
            self.reading + by_y * surprise,
            self.gain + by_g * surprise,
            self.slack + by_h * surprise,
            yy - by_y * yy,
            self.yg - by_y * self.yg,
            self.yh - by_y * self.yh,
            self.gg - by_g * self.yg,
            self.gh - by_g * self.yh,
            self.hh - by_h * self.yh,
        )
