"""One harness for every solver: make a truth, simulate the reading of it, solve, demand it back.

A 95 % interval that holds the truth in 95 % of honest trials is the whole promise, so the share is
measured: 2,000 seeded trials must give 93 to 97 % (four standard deviations of that share).
"""

from collections import Counter

import numpy as np

from core.estimation import Estimate

Held = dict[str, tuple[float, tuple[float, float]]]


def held_by(truth: float, estimate: Estimate) -> tuple[float, tuple[float, float]]:
    return truth, estimate.interval()


class TruthComesBack:
    """Inherit, and say in `attempt` how one truth is made, read and solved for."""

    trials = 2000
    seed = 20

    def attempt(self, rng: np.random.Generator) -> Held:
        raise NotImplementedError

    def test_the_95_percent_interval_holds_the_truth_in_93_to_97_percent(self) -> None:
        held: Counter[str] = Counter()
        made: Counter[str] = Counter()
        for trial in range(self.trials):
            rng = np.random.default_rng([self.seed, trial])
            for name, (truth, (low, high)) in self.attempt(rng).items():
                made[name] += 1
                held[name] += low <= truth <= high
        assert made, "the attempt solved for nothing"
        shares = {name: held[name] / made[name] for name in made}
        assert all(made[name] >= 0.9 * self.trials for name in made), made
        assert all(0.93 <= share <= 0.97 for share in shares.values()), shares
