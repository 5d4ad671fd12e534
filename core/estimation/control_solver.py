"""Adjust, check, re-check: the solver that learns a control's gain.

It serves counterweight, pillar, slide, twist, tilt, dial and speed screw. It takes trials and
returns a verdict and the next move.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum

from core.estimation.control_response import ControlResponse, control_response
from core.estimation.estimate import (
    CONFIDENCE,
    COVERAGE_FACTOR,
    Decision,
    Estimate,
    decide,
)
from core.estimation.gain_filter import (
    ControlModel,
    ControlMove,
    ControlPosterior,
    ControlTrial,
    PriorGain,
    equivalent_sd,
    mixture_cdf,
    mixture_quantile,
    posterior,
    slack_taken_up,
)
from core.estimation.move_rule import Prospect, hand_spread, readings_until, settle
from core.estimation.quantiles import normal_cdf

_GAIN_CONFIDENCE = 0.99
_NO_MOVE = 1e-6
"""A move smaller than this, in any control's units, counts as none."""

_STATED_GAIN_WEIGHT = 0.9
"""Prior probability that the stated gain is right within its uncertainty."""
_WRONG_GAIN_SPREAD = 2.0
"""Standard deviation of the gain where it is wrong, in units of the stated gain."""

_BOLDEST = 3.0
"""Largest ratio of a move to the longest earlier move, or to the move by the stated gain."""
_DOUBTFUL_GAIN = 0.4
"""Above this relative uncertainty of the gain a shorter move is tried too."""

_MOST_LEFT = 0.5
"""A move that is worth making leaves no more than this share of what is off."""

_GOOD = Decision.GOOD
_TAIL = 0.5 * (1.0 - CONFIDENCE)
_ONE_ABOVE = normal_cdf(1.0)


class ControlVerdict(Enum):
    """What to do next about a control."""

    READ = "read"
    DONE = "done"
    MOVE = "move"
    READ_AGAIN = "read again"
    CHECK_CONTROL = "check the control"
    NO_RESPONSE = "does not respond"
    RUNS_BACKWARD = "runs backward"
    END_OF_TRAVEL = "end of travel"
    STEP_TOO_COARSE = "step too coarse"


@dataclass(frozen=True, slots=True)
class ReadingLimits:
    """Readings that no move may be predicted to pass, same unit as the readings.

    Above ``maximum`` no move is ordered that would raise the reading with the stated gain, unless
    the person said that the control runs the other way.
    """

    lowest: float = -math.inf
    highest: float = math.inf
    maximum: float = math.inf


@dataclass(frozen=True, slots=True)
class ControlState:
    """Where a control stands and what to do next.

    Parameters
    ----------
    verdict : ControlVerdict
        READ: no reading yet, or none since the last move. CHECK_CONTROL: the last move showed
        nothing, or went the other way, and the questions come before any other; NO_RESPONSE: they
        were answered, and one more move showed nothing either. RUNS_BACKWARD comes with a move in
        the direction that really helps; END_OF_TRAVEL with the last move there is, if any.
    now : Estimate or None
        The quantity read as it stands now, from all trials together; calibration error included.
    deviation, half_width : float or None
        `now` less target, and half of its 95 % interval.
    gain : Estimate or None
        Reading units per control unit; None as long as nothing is known of it.
    gain_learned : bool
        Whether the trials alone tell the gain apart from zero.
    move : float or None
        Next move in control units, within travel and on the control's steps.
    predicted : Estimate or None
        Reading after that move (after the last one made, when the verdict is READ).
    predicted_interval : (float, float) or None
        Its 95 % interval.
    limited_by : str or None
        "travel" or "safety" when the move is shorter than wanted; "unseen" when moves that have
        not shown leave no more room.
    readings_needed : int or None
        With READ_AGAIN: how many readings would settle it; None if no reasonable number would.
    backward : bool
        The control acts against its stated direction, whatever the verdict: by two clean moves,
        or one and the person's word.
    against : bool
        With CHECK_CONTROL: the last move did not show nothing, but went the other way.
    beyond : bool
        With CHECK_CONTROL: the last reading is farther off than the move explains. `now` is what
        was foretold, as nothing is combined with that reading before the questions are answered.
    did : str
        With CHECK_CONTROL: "nothing", or "part" where the last move did act, but less than it
        should.
    unanswered, checked : bool
        Something was moved since the last reading that answered; the questions were since then.
    moves_made : int
    """

    verdict: ControlVerdict
    now: Estimate | None = None
    deviation: float | None = None
    half_width: float | None = None
    gain: Estimate | None = None
    gain_learned: bool = False
    move: float | None = None
    predicted: Estimate | None = None
    predicted_interval: tuple[float, float] | None = None
    limited_by: str | None = None
    readings_needed: int | None = None
    backward: bool = False
    against: bool = False
    beyond: bool = False
    did: str = "nothing"
    unanswered: bool = False
    checked: bool = False
    moves_made: int = 0


def solve_control(
    trials: Sequence[ControlTrial],
    target: float,
    tolerance: float,
    control: ControlModel,
    *,
    limits: ReadingLimits | None = None,
    calibration_standard_uncertainty: float = 0.0,
    drift_standard_uncertainty: float = 0.0,
    decided: bool = False,
) -> ControlState:
    """Learn from the trials, and say where the control stands and what to do next.

    Parameters
    ----------
    trials : sequence of ControlTrial
        Readings and moves in order. May be empty.
    target, tolerance : float
        Wanted reading, and how far from it is good enough (above zero).
    control : ControlModel
        What is known of the control beforehand. Its stated gain is believed until the readings
        speak against it, the sign included.
    limits : ReadingLimits or None
        No move is proposed whose predicted reading passes them, the far end of its 95 % interval
        included; nor one that would pass them if it and all moves since the last reading that
        answered acted at once, at the most that is likely of the gain, either way round. Where the
        reading is past a limit already, only the way back is proposed. A first probe of a control
        without a stated gain can't be predicted: the caller answers for its size.
    calibration_standard_uncertainty : float
        Of the instrument, common to all readings: it widens the decision and no trial reduces it.
    drift_standard_uncertainty : float
        By how much the quantity read wanders between trials on its own.
    decided : bool
        The caller has decided that a move is wanted: neither done nor read again is answered.

    Returns
    -------
    ControlState

    Raises
    ------
    ValueError
        If the tolerance is not above zero.

    Notes
    -----
    Prior: a mixture of nine parts in ten that the stated gain is right within its uncertainty and
    one in ten that it is wrong by twice its size either way; the readings' likelihood decides
    between the two (`core.estimation.gain_filter`). One move between two readings all but fixes
    the gain. Of the moves that each component would make, the one most likely to land inside the
    tolerance is proposed.
    """
    if not tolerance > 0.0:
        raise ValueError("A tolerance must be above zero.")
    trials = [t for t in trials if isinstance(t, Estimate) or t.checked or not _is_no_move(t)]
    response = control_response(trials, control, drift_standard_uncertainty)
    moves_made = sum(1 for t in trials if isinstance(t, ControlMove) and t.amount != 0.0)
    readings = [t for t in trials if isinstance(t, Estimate)]
    if not readings:
        return ControlState(ControlVerdict.READ, moves_made=moves_made)
    learned = _learn(trials, response, target, control, drift_standard_uncertainty)
    now = learned.posterior.value.widened(calibration_standard_uncertainty)
    noise = equivalent_sd(readings[-1])
    state = ControlState(
        ControlVerdict.READ,
        now=now,
        deviation=now.value - target,
        half_width=now.half_width(),
        gain=learned.gain,
        gain_learned=learned.gain_certain,
        backward=response.backward,
        unanswered=response.pending != 0.0,
        checked=response.checked,
        moves_made=moves_made,
    )
    last = next(t for t in reversed(trials) if isinstance(t, Estimate) or not t.checked)
    if isinstance(last, ControlMove) and last.amount != 0.0:
        if learned.gain is None:
            return replace(state, now=None, deviation=None, half_width=None)
        return _with_prediction(state, learned.posterior, 0.0, noise)
    limits = limits or ReadingLimits()
    calibration = calibration_standard_uncertainty
    if decided or _doubtful(state, learned, limits):
        if (
            not decided
            and not (response.asks and (response.against or response.beyond))
            and decide(state.deviation or 0.0, state.half_width or 0.0, tolerance) is _GOOD
        ):
            return replace(state, verdict=ControlVerdict.DONE)
        return _ordered(state, learned, target, tolerance, limits, noise)
    return _judge(state, now, learned, target, tolerance, limits, calibration, noise)


def _doubtful(state: ControlState, learned: _Learned, limits: ReadingLimits) -> bool:
    """Whether all that is known of the control is that it must be checked."""
    response, now = learned.response, learned.posterior.value.value
    above = state.backward and not response.word and now > limits.maximum
    return response.gave_up or response.asks or above


def _ordered(
    state: ControlState,
    learned: _Learned,
    target: float,
    tolerance: float,
    limits: ReadingLimits,
    noise: float,
) -> ControlState:
    """Propose a move, unless the control must be checked first or does not respond."""
    if learned.response.gave_up:
        return replace(state, verdict=ControlVerdict.NO_RESPONSE)
    if _doubtful(state, learned, limits):
        against = learned.response.against or not learned.response.asks
        return replace(
            state,
            verdict=ControlVerdict.CHECK_CONTROL,
            against=against,
            beyond=learned.response.beyond,
            did=learned.response.did,
        )
    return _propose(state, learned, target, tolerance, limits, noise)


def _is_no_move(move: ControlMove) -> bool:
    # A move of 0 with an uncertainty of its own means that something unknown was moved.
    return abs(move.amount) <= _NO_MOVE and move.standard_uncertainty is None


@dataclass(frozen=True)
class _Learned:
    """What the trials have taught, and what moves are still possible."""

    control: ControlModel
    response: ControlResponse
    posterior: ControlPosterior
    gain: Estimate | None
    gain_by_trials: Estimate | None
    """From a flat prior, so that it does not depend on the stated gain."""
    remaining: tuple[float, float]
    largest_move: float

    @property
    def gain_certain(self) -> bool:
        """Whether the trials alone tell the gain apart from zero."""
        gain = self.gain_by_trials
        return gain is not None and not gain.contains(0.0, _GAIN_CONFIDENCE)


def _learn(
    trials: Sequence[ControlTrial],
    response: ControlResponse,
    target: float,
    control: ControlModel,
    drift: float,
) -> _Learned:
    moves = [t for t in trials if isinstance(t, ControlMove)]
    sizes = [abs(move.amount) for move in moves if move.amount != 0.0]
    position = sum(move.amount for move in moves if move.uses_travel)
    remaining = (-math.inf, math.inf)
    if control.travel is not None:
        down, up = control.travel
        remaining = (min(down - position, 0.0), max(up - position, 0.0))
    trials = response.trials
    readings = [t for t in trials if isinstance(t, Estimate)]
    across = _read_across_a_move(trials)
    stated = control.stated_gain

    def by_trials_alone() -> ControlPosterior:
        flat = PriorGain(1.0, 0.0, _flat_spread(readings, target, sizes, control))
        return posterior(trials, control, [flat], drift)

    if stated is None:
        known = by_trials_alone()
        gain = gain_by_trials = known.gain if across else None
    else:
        gain_by_trials = by_trials_alone().gain if across else None
        known = posterior(trials, control, _stated_priors(control), drift)
        gain = known.gain
    largest = max(sizes, default=0.0)
    return _Learned(control, response, known, gain, gain_by_trials, remaining, largest)


def _flat_spread(
    readings: Sequence[Estimate], target: float, sizes: Sequence[float], control: ControlModel
) -> float:
    """Return a prior spread of the gain so wide that only the readings count."""
    values = [reading.value for reading in readings]
    span = max(values) - min(values) + max(equivalent_sd(reading) for reading in readings)
    span = max(span, abs(target - values[0]), 1e-12)
    move = min(sizes) if sizes else abs(control.probe or 1.0)
    return max(100.0 * span / move, 10.0 * abs(control.stated_gain or 0.0))


def _read_across_a_move(trials: Sequence[ControlTrial]) -> bool:
    seen_reading = moved = False
    for trial in trials:
        if isinstance(trial, ControlMove):
            moved = moved or (seen_reading and trial.amount != 0.0)
        elif moved:
            return True
        else:
            seen_reading = True
    return False


def _judge(
    state: ControlState,
    now: Estimate,
    learned: _Learned,
    target: float,
    tolerance: float,
    limits: ReadingLimits,
    calibration: float,
    noise: float,
) -> ControlState:
    """Decide on a reading that is newer than the last move."""
    prospect = _prospect(learned, now, target, tolerance, calibration, noise)
    decision = settle(now, target, tolerance, prospect)
    if decision is Decision.GOOD:
        return replace(state, verdict=ControlVerdict.DONE)
    if decision is Decision.STEP_TOO_COARSE:
        return replace(state, verdict=ControlVerdict.STEP_TOO_COARSE)
    if decision is Decision.READ_AGAIN:
        more = readings_until(now, target, tolerance, prospect)
        return replace(state, verdict=ControlVerdict.READ_AGAIN, readings_needed=more)
    return _propose(state, learned, target, tolerance, limits, noise)


def _prospect(
    learned: _Learned,
    now: Estimate,
    target: float,
    tolerance: float,
    calibration: float,
    noise: float,
) -> Prospect:
    """Return how much a move to the target adds to the uncertainty, and how much a reading removes.

    Uses the middle two thirds of the predicted distribution: the small chance that the stated gain
    is far off does not describe the hand.
    """
    gain = learned.gain
    if gain is None:
        return Prospect(noise, hand_spread(None, now.value - target, 0.0), calibration)
    parts = learned.posterior.after(_best_move(learned, target, tolerance))
    spread = 0.5 * (mixture_quantile(parts, _ONE_ABOVE) - mixture_quantile(parts, 1.0 - _ONE_ABOVE))
    free = now.standard_uncertainty**2 - calibration**2
    hand = math.sqrt(max(spread**2 - free, 0.0))
    return Prospect(noise, hand, calibration, learned.control.smallest_step * abs(gain.value))


def _propose(
    state: ControlState,
    learned: _Learned,
    target: float,
    tolerance: float,
    limits: ReadingLimits,
    noise: float,
) -> ControlState:
    control, known = learned.control, learned.posterior
    down, up = learned.remaining
    if learned.gain is None:
        return _probe(state, learned, target, tolerance, limits)
    verdict = ControlVerdict.RUNS_BACKWARD if state.backward else ControlVerdict.MOVE
    wanted = _best_move(learned, target, tolerance)
    clipped = max(down, min(up, wanted))
    reachable = _on_step(clipped, control)
    safe = _safe_part(known, reachable, limits, noise)
    room, bound = _room(learned, reachable, target, tolerance, limits)
    if abs(safe) > room:
        safe = math.copysign(room, safe)
    else:
        bound = "safety"
    if abs(safe) < abs(reachable):
        move = _on_step(safe, control, towards_zero=True)
        if move == 0.0:
            return _no_room(state, learned, bound)
        state = replace(state, verdict=verdict, move=move, limited_by=bound)
        return _with_prediction(state, known, move, noise)
    state = _with_prediction(
        replace(state, verdict=verdict, move=reachable), known, reachable, noise
    )
    if not abs(wanted - clipped) > 0.5 * control.smallest_step:
        return state
    state = replace(state, move=reachable or None, limited_by="travel")
    misses = state.predicted is not None and abs(state.predicted.value - target) > tolerance
    if learned.response.pending and not reachable:
        return _no_room(state, learned, "safety")
    if misses or not reachable:
        state = replace(state, verdict=ControlVerdict.END_OF_TRAVEL)
    return state


def _probe(
    state: ControlState,
    learned: _Learned,
    target: float,
    tolerance: float,
    limits: ReadingLimits,
) -> ControlState:
    """Propose the first careful move of a control with unknown gain."""
    down, up = learned.remaining
    probe = _on_step(max(down, min(up, learned.control.probe or 0.0)), learned.control)
    if probe == 0.0:
        return replace(state, verdict=ControlVerdict.END_OF_TRAVEL, limited_by="travel")
    room, bound = _room(learned, probe, target, tolerance, limits)
    if abs(probe) > room:
        probe = _on_step(math.copysign(room, probe), learned.control, towards_zero=True)
        state = replace(state, limited_by=bound)
    if probe == 0.0:
        return _no_room(state, learned, bound)
    return replace(state, verdict=ControlVerdict.MOVE, move=probe)


def _no_room(state: ControlState, learned: _Learned, bound: str) -> ControlState:
    """Return the answer where unanswered moves leave no room for another."""
    verdict = ControlVerdict.READ_AGAIN
    if learned.response.pending:
        checked = learned.response.checked
        verdict = ControlVerdict.NO_RESPONSE if checked else ControlVerdict.CHECK_CONTROL
    return replace(state, verdict=verdict, move=None, limited_by=bound)


def _room(
    learned: _Learned, move: float, target: float, tolerance: float, limits: ReadingLimits
) -> tuple[float, str]:
    """Return the largest safe move in a direction if all moves act at once, and what bounds it.

    All moves means those since the last reading that responded. A first move is bounded by the
    stated gain, a move on top of moves without effect by the worst likely gain. Without a stated
    gain the steepest gain of such controls is assumed until a reading has responded.
    """
    control, response = learned.control, learned.response
    now, pending = learned.posterior.value.value, response.pending
    since = now if response.since is None else response.since.value
    way, room = math.copysign(1.0, move), math.inf
    if control.stated_gain is not None:
        gain = control.stated_gain
        if pending:
            far = _BOLDEST * max(abs(target - since), tolerance) / abs(control.stated_gain)
            room = max(far - way * pending, 0.0)
    elif pending or not learned.gain_certain:
        gain = control.steepest_gain
        if pending and control.probe:
            room = max((1.0 + _BOLDEST) * abs(control.probe) - way * pending, 0.0)
    else:
        return room, "safety"
    gain = -gain if response.backward else gain
    if pending:
        unseen = _room_unseen(learned, way, limits)
        return min((room, "safety"), (unseen, "unseen"))
    slope = gain * way
    left = limits.highest - now if slope > 0.0 else now - limits.lowest
    return (min(room, max(left, 0.0) / abs(slope)) if slope else room), "safety"


def _room_unseen(learned: _Learned, way: float, limits: ReadingLimits) -> float:
    """Return the largest safe move on top of moves without effect, whatever they may do.

    If the instrument holds its last value, no reading would show that the gain is larger or
    reversed. So every case counts: the largest gain that is likely by the prior, either sign, and
    no effect at all.
    """
    response, now = learned.response, learned.posterior.value.value
    since = now if response.since is None else response.since.value
    steepest, room = steepest_likely(learned.control), math.inf
    for slope in (steepest, -steepest) if steepest else ():
        at = since + slope * way * response.pending
        left = limits.highest - max(now, at) if slope > 0.0 else min(now, at) - limits.lowest
        room = min(room, max(left, 0.0) / steepest)
    return room


def steepest_likely(control: ControlModel) -> float:
    """Return the largest effect of one unit of a control by prior knowledge.

    In reading units, always positive: the upper end of the prior interval of a stated gain, or
    the steepest of such controls, on a thread that may be steeper than it is said to be.
    """
    if control.stated_gain is None:
        off = COVERAGE_FACTOR * control.gain_relative_uncertainty
        return abs(control.steepest_gain) * (1.0 + off)
    priors = _stated_priors(control)
    parts = [(one.weight, abs(one.gain), one.standard_uncertainty) for one in priors]
    return mixture_quantile(parts, 1.0 - _TAIL)


def _stated_priors(control: ControlModel) -> list[PriorGain]:
    """Return the priors of a stated gain."""
    stated = control.stated_gain or 0.0
    spread = control.gain_relative_uncertainty * abs(stated)
    wrong = max(_WRONG_GAIN_SPREAD * abs(stated), spread)
    return [
        PriorGain(_STATED_GAIN_WEIGHT, stated, spread),
        PriorGain(1.0 - _STATED_GAIN_WEIGHT, stated, wrong),
    ]


def _best_move(learned: _Learned, target: float, tolerance: float) -> float:
    """Return the component's move that is most likely to land in tolerance.

    None goes against the known direction until it is learned that the control does. Little is off
    where a move is ordered from inside the tolerance: then the shortest move of all would be the
    likeliest to end there, so a move also has to take most of it away.
    """
    known, control = learned.posterior, learned.control
    tolerance = min(tolerance, _MOST_LEFT * abs(target - known.value.value))
    bold = _BOLDEST * learned.largest_move
    acts = control.steepest_gain if control.stated_gain is None else control.stated_gain
    if learned.response.backward:
        acts = -acts
    if control.stated_gain is not None:
        deviation = abs(known.value.value - target)
        bold = max(bold, _BOLDEST * deviation / abs(control.stated_gain))
    best, best_chance = 0.0, -1.0
    for component in sorted(known.components, key=lambda one: -one.log_weight):
        gain = component.gain
        gap = target - component.reading
        factors = [gain]
        if component.gg > (_DOUBTFUL_GAIN * gain) ** 2:
            # The move of least expected square error is shorter where the gain is uncertain.
            factors.append(gain + component.gg / gain if gain else math.inf)
        for factor in factors:
            if factor == 0.0 or factor * acts < 0.0:
                continue
            move = gap / factor
            share, _ = slack_taken_up(move, known.last_direction)
            move = max(-bold, min(bold, move + component.slack * share / factor))
            chance = sum(
                weight
                * (
                    normal_cdf((target + tolerance - mean) / sd)
                    - normal_cdf((target - tolerance - mean) / sd)
                )
                for weight, mean, sd in known.after(move)
                if sd > 0.0
            )
            if chance > best_chance:
                best, best_chance = move, chance
    return best


def _safe_part(known: ControlPosterior, move: float, limits: ReadingLimits, noise: float) -> float:
    """Return the longest part of a move that is not predicted to exceed a limit.

    Past a limit already, the way back is safe as long as the mean prediction goes back.
    """
    if limits == ReadingLimits():
        return move

    def ends_past(amount: float) -> tuple[bool, bool]:
        parts = known.after(amount, noise**2)
        above = 1.0 - mixture_cdf(parts, limits.highest) if limits.highest < math.inf else 0.0
        below = mixture_cdf(parts, limits.lowest) if limits.lowest > -math.inf else 0.0
        return below > _TAIL, above > _TAIL

    low_now, high_now = ends_past(0.0)
    mean_now = known.value.value
    mean_then = sum(weight * mean for weight, mean, _ in known.after(move))

    def passes(amount: float) -> bool:
        too_low, too_high = ends_past(amount)
        back_down, back_up = high_now and mean_then < mean_now, low_now and mean_then > mean_now
        return (too_high and not back_down) or (too_low and not back_up)

    if not passes(move):
        return move
    inside, outside = 0.0, 1.0
    for _ in range(20):
        middle = 0.5 * (inside + outside)
        if passes(middle * move):
            outside = middle
        else:
            inside = middle
    return inside * move


def _on_step(move: float, control: ControlModel, *, towards_zero: bool = False) -> float:
    """Round a move to the control's steps, or cut it to them."""
    if control.smallest_step <= 0.0:
        return move
    steps = move / control.smallest_step
    whole = math.trunc(steps + math.copysign(1e-9, steps)) if towards_zero else round(steps)
    return whole * control.smallest_step


def _with_prediction(
    state: ControlState, known: ControlPosterior, move: float, noise: float
) -> ControlState:
    parts = known.after(move, noise**2)
    mean = sum(weight * centre for weight, centre, _ in parts)
    low, high = mixture_quantile(parts, _TAIL), mixture_quantile(parts, 1.0 - _TAIL)
    sd = 0.5 * (high - low) / COVERAGE_FACTOR
    return replace(state, predicted=Estimate(mean, sd), predicted_interval=(low, high))
