"""The solver knows no units, no zero and no side: the same control in others is ordered the same.

What is turned in degrees instead of turns, read in inches instead of millimetres, from another
zero, or toward the other side, is one and the same thing. So a length of the control divided where
it is to be multiplied, or a sign taken for the other, shows whatever the rule may be.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import pytest

from core.estimation import (
    CHECKED,
    ControlModel,
    ControlMove,
    ControlState,
    ControlTrial,
    ControlVerdict,
    Estimate,
    ReadingLimits,
    solve_control,
)


@dataclass(frozen=True)
class Case:
    """A control, what was read and moved, and what is wanted."""

    trials: tuple[ControlTrial, ...]
    target: float
    tolerance: float
    control: ControlModel
    limits: ReadingLimits
    calibration: float
    drift: float

    def solved(self) -> ControlState:
        return solve_control(
            self.trials,
            self.target,
            self.tolerance,
            self.control,
            limits=self.limits,
            calibration_standard_uncertainty=self.calibration,
            drift_standard_uncertainty=self.drift,
        )

    def with_trial(self, trial: ControlTrial) -> Case:
        return replace(self, trials=(*self.trials, trial))


def moved(trial: ControlTrial, k: float) -> ControlTrial:
    if not isinstance(trial, ControlMove):
        return trial
    spread = trial.standard_uncertainty
    spread = None if spread is None else spread * abs(k)
    return replace(trial, amount=trial.amount * k, standard_uncertainty=spread)


def read(trial: ControlTrial, r: float, zero: float) -> ControlTrial:
    return trial.scaled(r).shifted(zero) if isinstance(trial, Estimate) else trial


def in_other_units(case: Case, *, k: float = 1.0, r: float = 1.0, zero: float = 0.0) -> Case:
    """Return the same with moves counted ``k`` times as large, readings ``r`` times, from a zero.

    Negative: to the other side.
    """
    control, limits = case.control, case.limits
    travel = control.travel
    if travel is not None:
        down, up = sorted((travel[0] * k, travel[1] * k))
        travel = down, up
    ends = sorted((limits.lowest * r + zero, limits.highest * r + zero))
    stated = control.stated_gain
    return Case(
        tuple(read(moved(one, k), r, zero) for one in case.trials),
        case.target * r + zero,
        case.tolerance * abs(r),
        replace(
            control,
            stated_gain=None if stated is None else stated * r / k,
            smallest_step=control.smallest_step * abs(k),
            travel=travel,
            execution_absolute=control.execution_absolute * abs(k),
            slack=control.slack * abs(k),
            probe=None if control.probe is None else control.probe * k,
            least_gain=control.least_gain * abs(r / k),
            steepest_gain=control.steepest_gain * r / k,
        ),
        ReadingLimits(ends[0], ends[1]),
        case.calibration * abs(r),
        case.drift * abs(r),
    )


def begun(rng: np.random.Generator) -> tuple[Case, float]:
    """Return a control nobody has read yet, and what it really does."""
    gain = float(rng.choice([0.4, -1.5, 3.0]))
    states = rng.random() < 0.7
    target = float(rng.normal(0.0, 2.0))
    control = ControlModel(
        "",
        stated_gain=gain if states else None,
        gain_relative_uncertainty=float(rng.choice([0.05, 0.25])),
        smallest_step=float(rng.choice([0.0, 0.05])),
        travel=(-4.0, 3.0) if rng.random() < 0.5 else None,
        execution_absolute=float(rng.choice([0.0, 0.02])),
        slack=float(rng.choice([0.0, 0.1])),
        probe=math.copysign(0.25, gain) if not states else None,
        least_gain=0.1 * abs(gain) if not states else 0.0,
        steepest_gain=2.0 * gain if not states else 0.0,
    )
    near = rng.random() < 0.5
    limits = ReadingLimits(target - 1.5, target + 1.0) if near else ReadingLimits()
    case = Case((), target, 0.3, control, limits, float(rng.choice([0.0, 0.1])), 0.02)
    return case, gain * float(rng.choice([1.0, 1.0, 1.3, 0.0, -1.0, 2.5]))


def played(seed: int) -> list[Case]:
    """Return a control after each of some rounds of reading and of moving as ordered."""
    rng = np.random.default_rng([20270001, seed])
    case, does = begun(rng)
    stands = case.target + float(rng.normal(0.0, 1.2))
    seen = []
    for _ in range(6):
        shown = stands + float(rng.normal(0.0, 0.08))
        case = case.with_trial(Estimate(shown, 0.08))
        seen.append(case)
        said = case.solved()
        if said.verdict is ControlVerdict.CHECK_CONTROL:
            case = case.with_trial(CHECKED)
            seen.append(case)
            said = case.solved()
        if said.move:
            case = case.with_trial(ControlMove(said.move))
            seen.append(case)
            stands += does * said.move
    return seen


OTHERS: dict[str, tuple[float, float, float]] = {
    "turns in degrees": (360.0, 1.0, 0.0),
    "millimetres in metres": (0.001, 1.0, 0.0),
    "read in thousandths": (1.0, 1000.0, 0.0),
    "read in inches": (1.0, 1.0 / 25.4, 0.0),
    "read from another zero": (1.0, 1.0, 50.0),
    "read to the other side": (1.0, -1.0, 0.0),
    "turned the other way": (-1.0, 1.0, 0.0),
}


def same(found: Estimate | None, wanted: Estimate | None, by: float, zero: float = 0.0) -> bool:
    if found is None or wanted is None:
        return found is wanted
    return (found.value, found.standard_uncertainty) == pytest.approx(
        (wanted.value * by + zero, wanted.standard_uncertainty * abs(by)),
        rel=1e-4,
        abs=1e-4 * abs(by),
    )


@pytest.mark.parametrize("seed", range(24))
def test_the_same_control_in_other_units_is_ordered_the_same(seed: int) -> None:
    for case in played(seed):
        wanted = case.solved()
        for name, (k, r, zero) in OTHERS.items():
            found = in_other_units(case, k=k, r=r, zero=zero).solved()
            assert found.verdict is wanted.verdict, name
            assert (found.move is None) is (wanted.move is None), name
            if found.move is not None and wanted.move is not None:
                tolerance = 1e-3 * abs(k)
                assert found.move == pytest.approx(wanted.move * k, rel=1e-3, abs=tolerance), name
            assert same(found.now, wanted.now, r, zero), name
            assert same(found.predicted, wanted.predicted, r, zero), name
            assert same(found.gain, wanted.gain, r / k), name
            for what in ("limited_by", "gain_learned", "backward", "against", "unanswered"):
                assert getattr(found, what) == getattr(wanted, what), (name, what)
            assert found.readings_needed == wanted.readings_needed, name


def test_what_is_played_meets_every_verdict() -> None:
    met = {case.solved().verdict for seed in range(24) for case in played(seed)}
    assert met >= set(ControlVerdict) - {ControlVerdict.STEP_TOO_COARSE}
