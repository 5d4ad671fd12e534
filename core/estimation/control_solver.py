"""Adjust, check, re-check: the one solver that learns what a control does.

It serves counterweight, pillar, slide, twist, tilt, dial and speed screw. It knows nothing of
them: trials go in, a verdict and the next move come out.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum

from core.estimation.control_belief import (
    Belief,
    ControlModel,
    ControlMove,
    ControlTrial,
    PriorGain,
    believe,
    interval_of,
    plain_uncertainty,
)
from core.estimation.estimate import (
    CONFIDENCE,
    Decision,
    Estimate,
    decide,
    readings_needed,
)
from core.estimation.further_readings import worth_reading
from core.estimation.move_choice import (
    ReadingLimits,
    clipped,
    on_step,
    safe,
    wanted_move,
)
from core.estimation.quantiles import two_sided_factor

__all__ = [
    "ControlModel",
    "ControlMove",
    "ControlState",
    "ControlTrial",
    "ControlVerdict",
    "ReadingLimits",
    "solve_control",
]

MOVES_BEFORE_DOUBT = 3
"""After so many moves a control must have shown that it acts."""
MOVES_BEFORE_DESPAIR = 6
"""After so many, even a control whose stated gain would hardly show."""
_CERTAINTY = 0.99
_NO_MOVE = 1e-6
"""Less than this, in any control's units, no hand can move: as good as not moved."""

_TRUST = 0.9
_LIE_SPREAD = 2.0


class ControlVerdict(Enum):
    """What to do next about a control."""

    READ = "read"
    DONE = "done"
    MOVE = "move"
    READ_AGAIN = "read again"
    NO_RESPONSE = "does not respond"
    RUNS_BACKWARD = "runs backward"
    END_OF_TRAVEL = "end of travel"
    STEP_TOO_COARSE = "step too coarse"


@dataclass(frozen=True, slots=True)
class ControlState:
    """Where a control stands and what to do next.

    Parameters
    ----------
    verdict : TrimVerdict
        READ: no reading yet, or none since the last move. RUNS_BACKWARD comes with a move in the
        direction that really helps; END_OF_TRAVEL with the last move there is, if any.
    now : Estimate or None
        The thing read as it stands now, from all trials together; calibration error included.
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
        "travel" or "safety" when the move is shorter than wanted.
    readings_needed : int or None
        With READ_AGAIN: how many readings would settle it; None if no reasonable number would.
    backward : bool
        The control acts against its stated direction, whatever the verdict.
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
) -> ControlState:
    """Learn from the trials, and say where the control stands and what to do next.

    Parameters
    ----------
    trials : sequence of Trial
        Readings and moves in order. May be empty.
    target, tolerance : float
        Wanted reading, and how far from it is good enough (above zero).
    control : Control
        What is known of the control beforehand. Its stated gain is believed until the readings
        speak against it, the sign included.
    limits : Limits or None
        No move is proposed whose predicted reading passes them, the far end of its 95 % interval
        included. Where the reading is past a limit already, only the way back is proposed. A
        first probe of a control without a stated gain can't be foretold: the caller answers for
        its size.
    calibration_standard_uncertainty : float
        Of the instrument, common to all readings: it widens the decision and no trial reduces it.
    drift_standard_uncertainty : float
        By how much the thing read wanders between trials on its own.

    Returns
    -------
    Trim

    Notes
    -----
    Belief: nine parts in ten that the stated gain is right within its uncertainty, one in ten
    that it is wrong by twice its size either way; the readings then decide between the two
    (`core.estimation.control_belief`). One move between two readings all but fixes the gain.
    Of the moves that
    each belief would make, the one most likely to land inside the tolerance is proposed.
    """
    if not tolerance > 0.0:
        raise ValueError("A tolerance must be above zero.")
    limits = limits or ReadingLimits()
    trials = [t for t in trials if isinstance(t, Estimate) or not _is_no_move(t)]
    moves_made = sum(1 for t in trials if isinstance(t, ControlMove) and t.amount != 0.0)
    readings = [t for t in trials if isinstance(t, Estimate)]
    if not readings:
        return ControlState(ControlVerdict.READ, moves_made=moves_made)
    situation = _Situation.of(trials, readings, target, control, drift_standard_uncertainty)
    now = situation.belief.value.widened(calibration_standard_uncertainty)
    noise = plain_uncertainty(readings[-1])
    known = ControlState(
        ControlVerdict.READ,
        now=now,
        deviation=now.value - target,
        half_width=now.half_width(),
        gain=situation.gain,
        gain_learned=situation.learned,
        backward=situation.backward,
        moves_made=moves_made,
    )
    if isinstance(trials[-1], ControlMove) and trials[-1].amount != 0.0:
        if situation.gain is None:
            return replace(known, now=None, deviation=None, half_width=None)
        return _foretell(known, situation.belief, 0.0, noise)
    return _judge(
        known, situation, target, tolerance, limits, calibration_standard_uncertainty, noise
    )


def _judge(
    known: ControlState,
    situation: "_Situation",
    target: float,
    tolerance: float,
    limits: ReadingLimits,
    calibration: float,
    noise: float,
) -> ControlState:
    """Decide on a reading that no move has overtaken."""
    if known.deviation is None or known.half_width is None:
        raise ValueError("Judging needs a reading.")
    step = situation.control.smallest_step
    smallest_effect = step * abs(situation.gain.value) if situation.gain else 0.0
    decision = decide(known.deviation, known.half_width, tolerance, smallest_effect=smallest_effect)
    if decision is Decision.GOOD:
        return replace(known, verdict=ControlVerdict.DONE)
    if situation.unresponsive(known.moves_made, abs(known.deviation), known.half_width):
        return replace(known, verdict=ControlVerdict.NO_RESPONSE)
    if decision is Decision.READ_AGAIN:
        return _read_again(known, tolerance, noise, calibration)
    if decision is Decision.STEP_TOO_COARSE:
        return replace(known, verdict=ControlVerdict.STEP_TOO_COARSE)
    more = worth_reading(
        known.deviation,
        tolerance,
        noise,
        _counted(known, noise, calibration),
        calibration_standard_uncertainty=calibration,
    )
    if more is not None:
        return replace(known, verdict=ControlVerdict.READ_AGAIN, readings_needed=more)
    return _propose(known, situation, target, tolerance, limits, noise)


def _is_no_move(move: ControlMove) -> bool:
    # Nothing moved, but with an uncertainty of its own, says that something unknown was.
    return abs(move.amount) <= _NO_MOVE and move.standard_uncertainty is None


@dataclass(frozen=True)
class _Situation:
    """What the trials have taught, and what the control still allows."""

    control: ControlModel
    belief: Belief
    trials_only: Estimate | None
    gain: Estimate | None
    remaining: tuple[float, float]
    largest_move: float

    @classmethod
    def of(
        cls,
        trials: Sequence[ControlTrial],
        readings: Sequence[Estimate],
        target: float,
        control: ControlModel,
        drift: float,
    ) -> "_Situation":
        amounts = [t.amount for t in trials if isinstance(t, ControlMove)]
        sizes = [abs(amount) for amount in amounts if amount != 0.0]
        position = sum(amounts)
        remaining = (-math.inf, math.inf)
        if control.travel is not None:
            remaining = (
                min(control.travel[0] - position, 0.0),
                max(control.travel[1] - position, 0.0),
            )

        def taught() -> Belief:
            flat = PriorGain(1.0, 0.0, _widest_gain(readings, target, sizes, control))
            return believe(trials, control, [flat], drift)

        across = _read_across_a_move(trials)
        stated = control.stated_gain
        if stated is None:
            belief = taught()
            gain = trials_only = belief.gain if across else None
        else:
            trials_only = taught().gain if across else None
            spread = control.gain_relative_uncertainty * abs(stated)
            belief = believe(
                trials,
                control,
                [
                    PriorGain(_TRUST, stated, spread),
                    PriorGain(1.0 - _TRUST, stated, max(_LIE_SPREAD * abs(stated), spread)),
                ],
                drift,
            )
            gain = belief.gain
        return cls(control, belief, trials_only, gain, remaining, max(sizes, default=0.0))

    @property
    def learned(self) -> bool:
        """Whether the trials alone tell the gain apart from zero."""
        return self.trials_only is not None and not self.trials_only.contains(0.0, _CERTAINTY)

    @property
    def backward(self) -> bool:
        """Whether they tell that its sign is not the stated one."""
        stated = self.control.stated_gain
        return (
            stated is not None
            and self.learned
            and self.trials_only is not None
            and self.trials_only.value * stated < 0.0
        )

    def unresponsive(self, moves_made: int, deviation: float, half_width: float) -> bool:
        """Whether enough moves were made and the readings show nothing of them.

        Moves too small to show anything at the stated gain don't count against the control at
        once: only when what the readings do show is at odds with that gain, or after many moves.
        """
        if moves_made < MOVES_BEFORE_DOUBT or self.learned or self.trials_only is None:
            return False
        if deviation <= half_width:
            return False
        stated = self.control.stated_gain
        at_odds = stated is None or not self.trials_only.contains(stated)
        return at_odds or moves_made >= MOVES_BEFORE_DESPAIR


def _widest_gain(
    readings: Sequence[Estimate], target: float, sizes: Sequence[float], control: ControlModel
) -> float:
    """Return a spread of gains so wide that the prior says nothing beside the readings."""
    values = [reading.value for reading in readings]
    span = max(values) - min(values) + max(plain_uncertainty(reading) for reading in readings)
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


def _read_again(
    known: ControlState, tolerance: float, noise: float, calibration: float
) -> ControlState:
    if known.now is None or known.deviation is None:
        raise ValueError("Reading again needs a first reading.")
    needed = readings_needed(
        known.deviation,
        tolerance,
        noise,
        _counted(known, noise, calibration),
        calibration_standard_uncertainty=calibration,
    )
    return replace(known, verdict=ControlVerdict.READ_AGAIN, readings_needed=needed)


def _counted(known: ControlState, noise: float, calibration: float) -> float:
    """Return how many readings like the last what is known is worth."""
    if known.now is None:
        return 1.0
    free = math.sqrt(max(known.now.standard_uncertainty**2 - calibration**2, 0.0))
    return max((noise / free) ** 2, 1.0) if free > 0.0 else 1.0


def _propose(
    known: ControlState,
    situation: _Situation,
    target: float,
    tolerance: float,
    limits: ReadingLimits,
    noise: float,
) -> ControlState:
    control = situation.control
    belief = situation.belief
    verdict = ControlVerdict.RUNS_BACKWARD if situation.backward else ControlVerdict.MOVE
    if situation.gain is None:
        probe = on_step(clipped(control.probe or 0.0, situation.remaining), control)
        if probe == 0.0:
            return replace(known, verdict=ControlVerdict.END_OF_TRAVEL, limited_by="travel")
        return replace(known, verdict=verdict, move=probe)
    wanted = wanted_move(belief, situation.largest_move, target, tolerance)
    reachable = on_step(clipped(wanted, situation.remaining), control)
    short = abs(wanted - clipped(wanted, situation.remaining)) > 0.5 * control.smallest_step
    harmless = safe(belief, reachable, limits, noise)
    if abs(harmless) < abs(reachable):
        move = on_step(harmless, control, towards_zero=True)
        if move == 0.0:
            return replace(known, verdict=ControlVerdict.READ_AGAIN, limited_by="safety")
        return _foretell(
            replace(known, verdict=verdict, move=move, limited_by="safety"), belief, move, noise
        )
    if not short:
        return _foretell(replace(known, verdict=verdict, move=reachable), belief, reachable, noise)
    known = _foretell(
        replace(known, move=reachable or None, limited_by="travel"), belief, reachable, noise
    )
    if known.predicted is not None and abs(known.predicted.value - target) > tolerance:
        verdict = ControlVerdict.END_OF_TRAVEL
    return replace(known, verdict=verdict if reachable else ControlVerdict.END_OF_TRAVEL)


def _foretell(known: ControlState, belief: Belief, move: float, noise: float) -> ControlState:
    parts = belief.after(move, noise**2)
    mean = sum(weight * centre for weight, centre, _ in parts)
    low, high = interval_of(parts)
    sd = 0.5 * (high - low) / two_sided_factor(CONFIDENCE)
    return replace(known, predicted=Estimate(mean, sd), predicted_interval=(low, high))
