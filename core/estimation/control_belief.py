"""The belief behind a trim: what a control's moves do, learned from readings.

Each branch is one normal belief over reading, gain and slack
(`core.estimation.gain_filter`); several with
different prior gains are weighed by how well each foretold the readings.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from core.estimation.estimate import CONFIDENCE, Estimate
from core.estimation.gain_filter import Branch
from core.estimation.quantiles import normal_cdf, two_sided_factor

_PASSES = 3


@dataclass(frozen=True, slots=True)
class ControlMove:
    """A move of the control as it was made.

    Parameters
    ----------
    amount : float
        In control units, with sign.
    standard_uncertainty : float or None
        How exactly it was made; None: as the control says. An amount of 0 with a large one says
        that something unknown was moved between, and only the gain carries over.
    """

    amount: float
    standard_uncertainty: float | None = None


ControlTrial = Estimate | ControlMove
"""A reading, or a move made, in the order in which they happened."""


@dataclass(frozen=True, slots=True)
class ControlModel:
    """What is known of a control before it is tried.

    Parameters
    ----------
    unit : str
        What one unit of a move is called: "turn", "mm", "mark".
    stated_gain : float or None
        Change of the reading per unit, with sign, as the deck's maker or statics say.
    gain_relative_uncertainty : float
        Standard uncertainty of the stated gain, as a share of it.
    smallest_step : float
        Finest move that can be made; 0 for a stepless control.
    travel : (float, float) or None
        Travel left down (negative or 0) and up at the first trial; None when unknown.
    execution_relative : float
        Standard uncertainty of a move, as a share of it: a quarter turn is not exactly a quarter.
    execution_absolute : float
        The same in control units, whatever the size of the move.
    slack : float
        Largest slack (backlash) to expect on reversal, control units; 0 to leave it out.
    probe : float or None
        First careful move, with sign, for a control without a stated gain.
    """

    unit: str
    stated_gain: float | None = None
    gain_relative_uncertainty: float = 0.25
    smallest_step: float = 0.0
    travel: tuple[float, float] | None = None
    execution_relative: float = 0.06
    execution_absolute: float = 0.0
    slack: float = 0.0
    probe: float | None = None

    def __post_init__(self) -> None:
        if self.stated_gain is not None and not (
            math.isfinite(self.stated_gain) and self.stated_gain != 0.0
        ):
            raise ValueError("A stated gain can't be zero: leave it out if it is not known.")
        if self.stated_gain is None and not self.probe:
            raise ValueError(
                "Without a stated gain the control needs a first careful move to try it with."
            )
        if min(self.smallest_step, self.slack, self.execution_relative) < 0.0:
            raise ValueError("Steps, slack and execution errors can't be negative.")
        if self.travel is not None and not self.travel[0] <= 0.0 <= self.travel[1]:
            raise ValueError(
                "Travel is given as what is left down (0 or below) and up (0 or more)."
            )

    def execution(self, move: ControlMove) -> float:
        """Return the standard uncertainty of a move, in control units."""
        if move.standard_uncertainty is not None:
            return move.standard_uncertainty
        return math.hypot(self.execution_relative * move.amount, self.execution_absolute)


@dataclass(frozen=True)
class Belief:
    """What is believed after all trials.

    Parameters
    ----------
    branches : tuple of Branch
        Weights sum to one.
    last_direction : float
        Sign of the last move that was not nil; 0 before any.
    control : Control
    """

    branches: tuple[Branch, ...]
    last_direction: float
    control: ControlModel

    @property
    def value(self) -> Estimate:
        """The thing read, as it stands now."""
        return self._mixed([(branch.reading, branch.yy) for branch in self.branches])

    @property
    def gain(self) -> Estimate:
        """Reading units per control unit."""
        return self._mixed([(branch.gain, branch.gg) for branch in self.branches])

    def likely(self) -> Branch:
        """Return the branch of most weight."""
        return max(self.branches, key=lambda branch: branch.log_weight)

    def after(self, amount: float, extra_variance: float = 0.0) -> list[tuple[float, float, float]]:
        """(weight, mean, standard deviation) of y after a move, one for each branch."""
        share, spread = slack_share(amount, self.last_direction)
        execution = self.control.execution(ControlMove(amount))
        found: list[tuple[float, float, float]] = []
        for branch in self.branches:
            gain_square = branch.gain**2 + branch.gg
            slack_square = branch.slack**2 + branch.hh
            added = gain_square * execution**2 + slack_square * spread**2 + extra_variance
            then = branch.moved(amount, share, added)
            found.append((math.exp(branch.log_weight), then.reading, math.sqrt(then.yy)))
        return found

    def _mixed(self, parts: Sequence[tuple[float, float]]) -> Estimate:
        """Return mean and spread of what is believed, from mean and variance in each branch."""
        weights = [math.exp(branch.log_weight) for branch in self.branches]
        mean = sum(w * m for w, (m, _) in zip(weights, parts, strict=True))
        variance = sum(w * (v + (m - mean) ** 2) for w, (m, v) in zip(weights, parts, strict=True))
        return Estimate(mean, math.sqrt(max(variance, 0.0)))


def slack_share(amount: float, last_direction: float) -> tuple[float, float]:
    """How much of the slack a move takes up (signed), and the standard deviation of that.

    All of it on reversal, none when going on; before the first move nobody knows which side the
    slack lies, so half of it, give or take half.
    """
    if amount == 0.0:
        return 0.0, 0.0
    sign = math.copysign(1.0, amount)
    if last_direction == 0.0:
        return 0.5 * sign, 0.5
    return (sign, 0.0) if sign != last_direction else (0.0, 0.0)


def share_below(parts: Sequence[tuple[float, float, float]], value: float) -> float:
    """Return how much of a mixture of normals, given as in `quantile_of`, lies below a value."""
    return sum(
        weight * (normal_cdf((value - mean) / sd) if sd > 0.0 else float(mean <= value))
        for weight, mean, sd in parts
    )


def quantile_of(parts: Sequence[tuple[float, float, float]], probability: float) -> float:
    """Quantile of a mixture of normals given as (weight, mean, standard deviation)."""
    low = min(mean - 9.0 * sd for _, mean, sd in parts)
    high = max(mean + 9.0 * sd for _, mean, sd in parts)
    for _ in range(42):
        middle = 0.5 * (low + high)
        if share_below(parts, middle) < probability:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def interval_of(
    parts: Sequence[tuple[float, float, float]], confidence: float = CONFIDENCE
) -> tuple[float, float]:
    """Central interval of such a mixture."""
    tail = 0.5 * (1.0 - confidence)
    return quantile_of(parts, tail), quantile_of(parts, 1.0 - tail)


def plain_uncertainty(reading: Estimate) -> float:
    """Return the normal standard deviation that gives the reading's own 95 % interval."""
    return reading.half_width() / two_sided_factor(CONFIDENCE)


@dataclass(frozen=True, slots=True)
class PriorGain:
    """A gain believed before the trials, with the weight of that belief."""

    weight: float
    gain: float
    standard_uncertainty: float


def believe(
    trials: Sequence[ControlTrial],
    control: ControlModel,
    priors: Sequence[PriorGain],
    drift_standard_uncertainty: float,
) -> Belief:
    """Belief after the trials, of which at least one is a reading.

    Parameters
    ----------
    trials : sequence of Trial
        Moves before the first reading are passed over, as nothing was read before them.
    control : Control
    priors : sequence of PriorGain
        One for each branch.
    drift_standard_uncertainty : float
        By how much the thing read wanders between trials on its own.
    """
    events = _events_of(trials, control)
    branches = [_run(events, control, prior, drift_standard_uncertainty) for prior in priors]
    top = max(branch.log_weight for branch in branches)
    total = top + math.log(sum(math.exp(branch.log_weight - top) for branch in branches))
    return Belief(
        tuple(replace(branch, log_weight=branch.log_weight - total) for branch in branches),
        last_direction(trials),
        control,
    )


def last_direction(trials: Sequence[ControlTrial]) -> float:
    """Sign of the last move that was not nil; 0 before any."""
    for trial in reversed(trials):
        if isinstance(trial, ControlMove) and trial.amount != 0.0:
            return math.copysign(1.0, trial.amount)
    return 0.0


@dataclass(frozen=True, slots=True)
class _Moved:
    """A move as the filter needs it: how exactly it was made, and what slack it took up."""

    amount: float
    execution: float
    share: float
    share_spread: float


@dataclass(frozen=True, slots=True)
class _Read:
    """A reading as the filter needs it."""

    value: float
    variance: float


def _events_of(
    trials: Sequence[ControlTrial], control: ControlModel
) -> tuple[_Read, list[_Moved | _Read]]:
    """Return the first reading, and what came after it; the same for all branches and passes."""
    first: _Read | None = None
    later: list[_Moved | _Read] = []
    direction = 0.0
    for trial in trials:
        if isinstance(trial, ControlMove):
            if first is not None:
                share = slack_share(trial.amount, direction)
                later.append(_Moved(trial.amount, control.execution(trial), *share))
            if trial.amount != 0.0:
                direction = math.copysign(1.0, trial.amount)
            continue
        reading = _Read(trial.value, plain_uncertainty(trial) ** 2)
        if first is None:
            first = reading
        else:
            later.append(reading)
    if first is None:
        raise ValueError("A belief needs a reading.")
    return first, later


def _run(
    events: tuple[_Read, list[_Moved | _Read]],
    control: ControlModel,
    prior: PriorGain,
    drift: float,
) -> Branch:
    """Filter the trials; errors in making a move act through the gain, hence the passes."""
    branch = _pass(events, control, prior, drift**2, prior.gain)
    acted = prior.gain
    for _ in range(_PASSES - 1):
        if branch.gain == acted:
            break  # nothing was learned of it: one more pass would be the same
        acted = branch.gain
        branch = _pass(events, control, prior, drift**2, acted)
    return branch


def _pass(
    events: tuple[_Read, list[_Moved | _Read]],
    control: ControlModel,
    prior: PriorGain,
    drift_variance: float,
    acting_gain: float,
) -> Branch:
    first, later = events
    # Slack is spread evenly from none to the largest, and acts through the gain.
    slack = abs(acting_gain) * control.slack
    branch = Branch(
        log_weight=math.log(prior.weight),
        reading=first.value,
        gain=prior.gain,
        slack=math.copysign(0.5 * slack, acting_gain),
        own=first.variance,
        gg_own=prior.standard_uncertainty**2,
        hh=slack**2 / 12.0,
    )
    for event in later:
        if isinstance(event, _Moved):
            made = (acting_gain * event.execution) ** 2
            taken_up = (branch.slack * event.share_spread) ** 2
            branch = branch.moved(event.amount, event.share, made + taken_up + drift_variance)
        else:
            branch = branch.having_read(event.value, event.variance, drift_variance)
    return branch
