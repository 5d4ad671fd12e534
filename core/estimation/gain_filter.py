"""One belief behind a trim, carried on from move to move and from reading to reading.

State: the thing read (y), the control's gain (g, reading units per control unit) and the effect of
its slack (h). A move m changes y by g m, less h when the control has just been reversed and first
takes up its slack. That is linear in the state, so the exact answer for normal errors is the
Kalman filter. It is written out in plain floats: an answer takes a hundred such steps, and an
array of three by three costs ten times as much as its nine numbers.

The covariance is kept in factors, because a gain of which nothing is known beforehand has a
variance many powers of ten above what one reading leaves of it: taking the one from the other
loses every digit. With e, a and s independent, of variances ``own``, ``gg_own`` and ``hh``::

    h = s        g = a + gh_part s        y = e + yg_part a + yh_part s    (all about their means)

A move changes the parts alone, what it adds of its own goes to e alone, and a reading multiplies
variances by shares between 0 and 1 (Bierman, "Factorization Methods for Discrete Sequential
Estimation", 1977, the U-D update; from memory, held to sixty digits in the tests).
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
    own, gg_own, hh : float
        Variances of what y has for itself, of what g has beside h, and of h.
    yg_part, yh_part, gh_part : float
        How much of the second's own error the first has.
    """

    log_weight: float
    reading: float
    gain: float
    slack: float
    own: float
    gg_own: float
    hh: float
    yg_part: float = 0.0
    yh_part: float = 0.0
    gh_part: float = 0.0

    @property
    def yy(self) -> float:
        """Variance of y."""
        return self.own + self.yg_part**2 * self.gg_own + self.yh_part**2 * self.hh

    @property
    def gg(self) -> float:
        """Variance of g."""
        return self.gg_own + self.gh_part**2 * self.hh

    def moved(self, amount: float, share: float, added_variance: float) -> "Branch":
        """Return the belief after a move that takes up a share of the slack."""
        return Branch(
            self.log_weight,
            self.reading + amount * self.gain - share * self.slack,
            self.gain,
            self.slack,
            self.own + added_variance,
            self.gg_own,
            self.hh,
            self.yg_part + amount,
            self.yh_part + amount * self.gh_part - share,
            self.gh_part,
        )

    def having_read(self, value: float, noise_variance: float, drift_variance: float) -> "Branch":
        """Return the belief after a reading, weighed by how well it was foretold."""
        own = self.own + drift_variance
        by_a, by_s = self.gg_own * self.yg_part, self.hh * self.yh_part
        # The variance of the reading, if only e, only e and a, and all three were unknown.
        first = noise_variance + own
        second = first + by_a * self.yg_part
        variance = second + by_s * self.yh_part
        if variance <= 0.0:
            return self
        surprise = value - self.reading
        chance = surprise**2 / variance + math.log(2.0 * math.pi * variance)
        step = surprise / variance
        with_y = own + by_a * self.yg_part + by_s * self.yh_part
        with_g = by_a + by_s * self.gh_part
        taken = self.yh_part * by_a / second if second > 0.0 else 0.0
        return Branch(
            self.log_weight - 0.5 * chance,
            self.reading + with_y * step,
            self.gain + with_g * step,
            self.slack + by_s * step,
            own * _share(noise_variance, first),
            self.gg_own * _share(first, second),
            self.hh * second / variance,
            self.yg_part * _share(noise_variance, first),
            self.yh_part * _share(noise_variance, second),
            self.gh_part - taken,
        )


def _share(part: float, whole: float) -> float:
    """Return a part of a whole; all of it where there is nothing to share."""
    return part / whole if whole > 0.0 else 1.0
