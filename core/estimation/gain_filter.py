"""Learn a control's gain from moves and readings: a Kalman filter over a Gaussian mixture.

State: the quantity read (y), the control's gain (g, reading units per control unit) and the effect
of its backlash (h). A move m changes y by g m, less h after a reversal, when the move first takes
up the backlash. That is linear in the state, so for normal errors the Kalman filter is exact.
Several priors for the gain make a mixture: each component is weighted by the likelihood of the
readings. The arithmetic uses plain floats: an answer takes a hundred filter steps, and 3 by 3
arrays cost ten times as much.

The covariance is kept in U-D factors. The variance of a flat prior exceeds the posterior's by many
powers of ten; subtracting one from the other would lose every digit. With e, a and s independent,
of variances ``own``, ``gg_own`` and ``hh``::

    h = s        g = a + gh_part s        y = e + yg_part a + yh_part s    (all about their means)

A move changes the factors and adds its own variance to e alone; a reading multiplies the variances
by shares between 0 and 1 (Bierman, "Factorization Methods for Discrete Sequential Estimation",
1977, the U-D update; from memory, compared with arithmetic in sixty digits in the tests).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from core.estimation.estimate import COVERAGE_FACTOR, Estimate
from core.estimation.quantiles import normal_cdf

MOVE_SHARE = 0.06
"""Standard uncertainty of a move made by hand, as a share of it: a quarter turn is not exactly a
quarter. Our own allowance, no source."""

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
    checked : bool
        Nothing was moved: the person answered the questions whether the control does move.
    uses_travel : bool
        Whether it used the control's travel; False for a shim that did the same beside it.
    """

    amount: float
    standard_uncertainty: float | None = None
    checked: bool = False
    uses_travel: bool = True


CHECKED = ControlMove(0.0, checked=True)
"""The questions about the control were answered."""


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
        Standard uncertainty of a move, as a share of it.
    execution_absolute : float
        The same in control units, whatever the size of the move.
    slack : float
        Largest slack (backlash) to expect on reversal, control units; 0 to leave it out.
    probe : float or None
        First careful move, with sign, for a control without a stated gain.
    least_gain, steepest_gain : float
        The least that such controls do, either way, and the most, with its sign; they count where
        nothing is stated. 0 where nothing is known of them; without the most not even the sign is.

    Raises
    ------
    ValueError
        If the stated gain is zero, neither it nor a probe is given, a size is negative, or the
        travel doesn't contain 0.
    """

    unit: str
    stated_gain: float | None = None
    gain_relative_uncertainty: float = 0.25
    smallest_step: float = 0.0
    travel: tuple[float, float] | None = None
    execution_relative: float = MOVE_SHARE
    execution_absolute: float = 0.0
    slack: float = 0.0
    probe: float | None = None
    least_gain: float = 0.0
    steepest_gain: float = 0.0

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


@dataclass(frozen=True, slots=True)
class PriorGain:
    """A normal prior of the gain, with its weight in the mixture."""

    weight: float
    gain: float
    standard_uncertainty: float


@dataclass(frozen=True, slots=True)
class MixtureComponent:
    """A normal distribution over (y, g, h): means, U-D factors and the weight's logarithm."""

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

    def predict(self, amount: float, share: float, added_variance: float) -> "MixtureComponent":
        """Time update: a move that takes up a share of the slack."""
        return MixtureComponent(
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

    def update(
        self, value: float, noise_variance: float, drift_variance: float
    ) -> "MixtureComponent":
        """Measurement update; the weight is multiplied by the reading's likelihood."""
        own = self.own + drift_variance
        by_a, by_s = self.gg_own * self.yg_part, self.hh * self.yh_part
        # The reading's variance if only e, only e and a, or all three were unknown.
        first = noise_variance + own
        second = first + by_a * self.yg_part
        variance = second + by_s * self.yh_part
        if variance <= 0.0:
            return self
        innovation = value - self.reading
        chance = innovation**2 / variance + math.log(2.0 * math.pi * variance)
        step = innovation / variance
        with_y = own + by_a * self.yg_part + by_s * self.yh_part
        with_g = by_a + by_s * self.gh_part
        taken = self.yh_part * by_a / second if second > 0.0 else 0.0
        return MixtureComponent(
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
    return part / whole if whole > 0.0 else 1.0


NormalParts = Sequence[tuple[float, float, float]]
"""A mixture of normal distributions: (weight, mean, standard deviation) of each."""


@dataclass(frozen=True)
class ControlPosterior:
    """The posterior after all trials; the weights of the components sum to one.

    `last_direction` is the sign of the last non-zero move, 0 before any.
    """

    components: tuple[MixtureComponent, ...]
    last_direction: float
    control: ControlModel

    @property
    def value(self) -> Estimate:
        """The quantity read, at its present value."""
        return self._mixed([(one.reading, one.yy) for one in self.components])

    @property
    def gain(self) -> Estimate:
        """Reading units per control unit."""
        return self._mixed([(one.gain, one.gg) for one in self.components])

    def after(self, amount: float, extra_variance: float = 0.0) -> NormalParts:
        """Return the predictive mixture of y after a move."""
        share, spread = slack_taken_up(amount, self.last_direction)
        execution = self.control.execution(ControlMove(amount))
        found: list[tuple[float, float, float]] = []
        for one in self.components:
            gain_square = one.gain**2 + one.gg
            slack_square = one.slack**2 + one.hh
            added = gain_square * execution**2 + slack_square * spread**2 + extra_variance
            then = one.predict(amount, share, added)
            found.append((math.exp(one.log_weight), then.reading, math.sqrt(then.yy)))
        return found

    def _mixed(self, parts: Sequence[tuple[float, float]]) -> Estimate:
        """Return mean and spread of the mixture, from each component's mean and variance."""
        weights = [math.exp(one.log_weight) for one in self.components]
        mean = sum(w * m for w, (m, _) in zip(weights, parts, strict=True))
        variance = sum(w * (v + (m - mean) ** 2) for w, (m, v) in zip(weights, parts, strict=True))
        return Estimate(mean, math.sqrt(max(variance, 0.0)))


def slack_taken_up(amount: float, last_direction: float) -> tuple[float, float]:
    """Return the share of the backlash that a move takes up (signed), and its standard deviation.

    All of it on reversal, none when going on; before the first move its side is unknown, so half of
    it, plus or minus half.
    """
    if amount == 0.0:
        return 0.0, 0.0
    sign = math.copysign(1.0, amount)
    if last_direction == 0.0:
        return 0.5 * sign, 0.5
    return (sign, 0.0) if sign != last_direction else (0.0, 0.0)


def mixture_cdf(parts: NormalParts, value: float) -> float:
    """Return the probability that a mixture lies below a value."""
    return sum(
        weight * (normal_cdf((value - mean) / sd) if sd > 0.0 else float(mean <= value))
        for weight, mean, sd in parts
    )


def mixture_quantile(parts: NormalParts, probability: float) -> float:
    """Return the value that a mixture stays below with the given probability, by bisection."""
    low = min(mean - 9.0 * sd for _, mean, sd in parts)
    high = max(mean + 9.0 * sd for _, mean, sd in parts)
    for _ in range(42):
        middle = 0.5 * (low + high)
        if mixture_cdf(parts, middle) < probability:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def equivalent_sd(reading: Estimate) -> float:
    """Return the normal standard deviation that gives the reading's own 95 % interval."""
    return reading.half_width() / COVERAGE_FACTOR


def posterior(
    trials: Sequence[ControlTrial],
    control: ControlModel,
    priors: Sequence[PriorGain],
    drift_standard_uncertainty: float,
) -> ControlPosterior:
    """Filter the trials, at least one of them a reading; one mixture component per prior.

    Moves before the first reading carry no information. The drift is how far the quantity wanders
    between trials by itself.
    """
    events = _events_of(trials, control)
    components = [_filtered(events, control, prior, drift_standard_uncertainty) for prior in priors]
    top = max(one.log_weight for one in components)
    total = top + math.log(sum(math.exp(one.log_weight - top) for one in components))
    direction = next(
        (
            math.copysign(1.0, trial.amount)
            for trial in reversed(trials)
            if isinstance(trial, ControlMove) and trial.amount != 0.0
        ),
        0.0,
    )
    return ControlPosterior(
        tuple(replace(one, log_weight=one.log_weight - total) for one in components),
        direction,
        control,
    )


@dataclass(frozen=True, slots=True)
class _MoveEvent:
    """A move, its execution error, and the backlash it took up."""

    amount: float
    execution: float
    share: float
    share_spread: float


@dataclass(frozen=True, slots=True)
class _ReadingEvent:
    value: float
    variance: float


_Events = tuple[_ReadingEvent, list[_MoveEvent | _ReadingEvent]]
"""The first reading, and the events after it; the same for all components and passes."""


def _events_of(trials: Sequence[ControlTrial], control: ControlModel) -> _Events:
    first: _ReadingEvent | None = None
    later: list[_MoveEvent | _ReadingEvent] = []
    direction = 0.0
    for trial in trials:
        if isinstance(trial, ControlMove):
            if first is not None:
                share = slack_taken_up(trial.amount, direction)
                later.append(_MoveEvent(trial.amount, control.execution(trial), *share))
            if trial.amount != 0.0:
                direction = math.copysign(1.0, trial.amount)
            continue
        reading = _ReadingEvent(trial.value, equivalent_sd(trial) ** 2)
        if first is None:
            first = reading
        else:
            later.append(reading)
    if first is None:
        raise ValueError("A posterior needs a reading.")
    return first, later


def _filtered(
    events: _Events, control: ControlModel, prior: PriorGain, drift: float
) -> MixtureComponent:
    """Run the filter; execution errors act through the gain, so it is repeated with the new one."""
    acting = prior.gain
    for _ in range(_PASSES):
        component = _one_pass(events, control, prior, drift**2, acting)
        if component.gain == acting:
            break  # the gain has not changed, so another pass would not either
        acting = component.gain
    return component


def _one_pass(
    events: _Events,
    control: ControlModel,
    prior: PriorGain,
    drift_variance: float,
    acting_gain: float,
) -> MixtureComponent:
    first, later = events
    # Uniform between none and the largest backlash, acting through the gain.
    slack = abs(acting_gain) * control.slack
    component = MixtureComponent(
        log_weight=math.log(prior.weight),
        reading=first.value,
        gain=prior.gain,
        slack=math.copysign(0.5 * slack, acting_gain),
        own=first.variance,
        gg_own=prior.standard_uncertainty**2,
        hh=slack**2 / 12.0,
    )
    for event in later:
        if isinstance(event, _MoveEvent):
            made = (acting_gain * event.execution) ** 2
            taken_up = (component.slack * event.share_spread) ** 2
            added = made + taken_up + drift_variance
            component = component.predict(event.amount, event.share, added)
        else:
            component = component.update(event.value, event.variance, drift_variance)
    return component
