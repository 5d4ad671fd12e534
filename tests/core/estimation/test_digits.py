"""The posterior after any log is right to a millionth: the filter in sixty digits beside it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal, localcontext

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from core.estimation import ControlModel, ControlMove, ControlTrial, Estimate
from core.estimation.gain_filter import PriorGain, equivalent_sd, posterior, slack_taken_up

SIXTY_DIGITS = 60
PASSES = 3


def in_sixty_digits(
    trials: Sequence[ControlTrial], control: ControlModel, prior: PriorGain, drift: float
) -> dict[str, float]:
    """Return mean and uncertainty of reading and gain by Kalman's own formula, as in textbooks.

    Derived: x = F x, P = F P F' + Q after a move; k = P H' / (H P H' + r), x = x + k (z - H x) and
    P = P - k H P after a reading. It loses twice the digits that lie between the prior's variance
    and a reading's, which sixty have to spare.
    """
    with localcontext() as digits:
        digits.prec = SIXTY_DIGITS
        acting = Decimal(prior.gain)
        for _ in range(PASSES):
            x, p = _filtered(trials, control, prior, Decimal(drift) ** 2, acting)
            acting = x[1]
        return {
            "value": float(x[0]),
            "value_u": float(p[0][0].sqrt()),
            "gain": float(x[1]),
            "gain_u": float(p[1][1].sqrt()),
        }


def _filtered(
    trials: Sequence[ControlTrial],
    control: ControlModel,
    prior: PriorGain,
    drift: Decimal,
    acting: Decimal,
) -> tuple[list[Decimal], list[list[Decimal]]]:
    zero, slack = Decimal(0), abs(acting) * Decimal(control.slack)
    x = [zero, Decimal(prior.gain), (slack / 2).copy_sign(acting)]
    p = [[zero] * 3 for _ in range(3)]
    p[1][1], p[2][2] = Decimal(prior.standard_uncertainty) ** 2, slack**2 / 12
    begun, direction = False, 0.0
    for trial in trials:
        if isinstance(trial, ControlMove):
            share, spread = map(Decimal, slack_taken_up(trial.amount, direction))
            direction = math.copysign(1.0, trial.amount) if trial.amount else direction
            if not begun:
                continue
            added = (acting * Decimal(control.execution(trial))) ** 2 + (x[2] * spread) ** 2
            row = [Decimal(1), Decimal(trial.amount), -share]
            x[0] = sum((row[i] * x[i] for i in range(3)), zero)
            p[0] = [sum((row[i] * p[i][j] for i in range(3)), zero) for j in range(3)]
            for line in p:
                line[0] = sum((row[j] * line[j] for j in range(3)), zero)
            p[0][0] += added + drift
            continue
        noise = Decimal(equivalent_sd(trial) ** 2)
        if not begun:
            x[0], p[0][0], begun = Decimal(trial.value), noise, True
            continue
        p[0][0] += drift
        of_y = [line[0] for line in p]
        k = [c / (of_y[0] + noise) for c in of_y]
        surprise = Decimal(trial.value) - x[0]
        x = [x[i] + k[i] * surprise for i in range(3)]
        p = [[p[i][j] - k[i] * of_y[j] for j in range(3)] for i in range(3)]
    return x, p


readings = st.builds(
    Estimate,
    st.integers(-3000, 3000).map(lambda hundredths: hundredths / 100),
    st.sampled_from([0.001, 0.01, 0.05, 0.3]),
    st.sampled_from([math.inf, 2.0, 5.0]),
)
moves = st.builds(
    ControlMove,
    st.integers(-400, 400).map(lambda hundredths: hundredths / 100),
    st.sampled_from([None, None, 0.02]),
)
controls = st.builds(
    ControlModel,
    unit=st.just("turn"),
    stated_gain=st.just(1.0),
    execution_relative=st.sampled_from([0.0, 0.06]),
    execution_absolute=st.sampled_from([0.0, 0.02]),
    slack=st.sampled_from([0.0, 0.2]),
)
priors = st.builds(
    PriorGain,
    st.just(1.0),
    st.sampled_from([0.0, 0.4, -2.0]),
    # Beside readings to a thousandth, a flat one: a hundred times the widest span a short move made
    st.sampled_from([0.1, 2.0, 1e3, 1e6, 1e8]),
)


@given(
    first=readings,
    later=st.lists(readings | moves, max_size=9),
    control=controls,
    prior=priors,
    drift=st.sampled_from([0.0, 0.01]),
)
@example(
    first=Estimate(4.0, 0.01),
    later=[ControlMove(1.0), Estimate(3.0, 0.01), ControlMove(-2.0), Estimate(5.1, 0.01)],
    control=ControlModel("turn", stated_gain=1.0),
    prior=PriorGain(1.0, 0.0, 1e6),
    drift=0.0,
)
@settings(max_examples=300)
def test_after_any_log_mean_and_uncertainty_are_right_to_a_millionth(
    first: Estimate,
    later: list[ControlTrial],
    control: ControlModel,
    prior: PriorGain,
    drift: float,
) -> None:
    trials = [first, *later]
    found = posterior(trials, control, [prior], drift)
    exact = in_sixty_digits(trials, control, prior, drift)
    for name, estimate in (("value", found.value), ("gain", found.gain)):
        known = exact[f"{name}_u"]
        assert estimate.standard_uncertainty == pytest.approx(known, rel=1e-6)
        assert estimate.value == pytest.approx(exact[name], rel=1e-6, abs=1e-6 * known)
