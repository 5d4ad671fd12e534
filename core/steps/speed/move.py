"""The next move of the speed trim, by its stated or learned gain."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from core.estimation import (
    CHECKED,
    MOVE_SHARE,
    ControlState,
    Estimate,
    newest_trials,
    solve_control,
)
from core.estimation import ControlModel as TrimControl
from core.estimation import ControlMove as TrimMove
from core.estimation import ControlTrial as TrimTrial
from core.fitting import Context, Control, Move, MovePart
from core.language import Expectation, Message, Turns, message
from core.records import Deck, SpeedTrim
from core.steps.shared import Prior, amount, directed, stated_or_learned
from core.steps.speed.readings import (
    FAST_OR_SLOW,
    Event,
    Taken,
    TrimChecked,
    Trimmed,
    pooled,
    speed_key,
    speed_name,
    speed_named,
)

_FASTER_OR_SLOWER: Final = message("speed.off.faster"), message("speed.off.slower")
_AIM: Final = 0.2
"""The share of the tolerance within which a move must land, so that it aims at the target."""

_LEAST_GAIN: Final = 1e-4
"""A stated change smaller than this, in rpm, counts as unstated."""

_PROBE_TURNS: Final = (0.25, 0.5)
"""First move of a screw with unknown gain: for an error up to half a percent, and above."""

_PROBE_STEP_PERCENT: Final = 0.1
"""Assumed effect of one press until it is known: our own guess, tried with 2 to 10 presses."""

_LEAST_PERCENT: Final = {"turns": 0.4, "steps": 0.02}
"""Least assumed effect of one turn of a screw, or one press: our own allowance."""

_FARTHEST_TURNS: Final = 3.0
_FARTHEST_STEPS: Final = 100.0
_BREAK: Final = 1e6
STATED_GAIN_SHARE: Final = 0.25
"""Relative error of a stated gain, one standard uncertainty: our own allowance."""

_NOTHING: Final = 1e-6
"""Smaller moves, in turns or steps, count as none."""

_MOST_TRIALS: Final = 12


def trim_control(context: Context, rpm: float, error_percent: float) -> TrimControl:
    """Describe the speed trim of one speed to the solver, in percent for one turn or step."""
    screw = context.deck.platter.trim is SpeedTrim.SCREW
    prior = _prior(context, rpm)
    probe = _probe(abs(error_percent), screw=screw)
    return TrimControl(
        unit="turns" if screw else "steps",
        stated_gain=prior.value,
        gain_relative_uncertainty=prior.share,
        smallest_step=0.01 if screw else 1.0,
        execution_relative=MOVE_SHARE if screw else 0.0,
        execution_absolute=0.01 if screw else 0.0,
        probe=-probe if error_percent > 0 else probe,
        least_gain=_LEAST_PERCENT["turns" if screw else "steps"],
    )


def _prior(context: Context, rpm: float) -> Prior:
    place = trim_place(context.deck, rpm)
    gains = [
        gain.model_copy(update={"where": place})
        for gain in context.gains
        if gain.where == place or (place and speed_named(gain.where, (rpm,)) is not None)
    ]
    return stated_or_learned(
        gains,
        Control.SPEED,
        place,
        gain_unit(context.deck),
        stated_percent(context.deck, rpm),
        STATED_GAIN_SHARE,
    )


def stated_percent(deck: Deck, rpm: float) -> float | None:
    """Return the stated effect of one turn or step, percent; None if unstated."""
    platter = deck.platter
    stated = platter.rpm_per_turn if platter.trim is SpeedTrim.SCREW else platter.rpm_per_step
    return None if stated is None or abs(stated) < _LEAST_GAIN else 100.0 * stated / rpm


def trim_place(deck: Deck, rpm: float) -> str:
    """Return the trim that serves a speed, as moves name it; empty for one that serves all."""
    several = len(deck.platter.speeds_rpm) > 1
    return speed_key(rpm) if several and not deck.platter.one_trim_for_all else ""


def gain_unit(deck: Deck) -> str:
    """Return the unit of the trim's gain, as gains are kept."""
    return "%/turn" if deck.platter.trim is SpeedTrim.SCREW else "%/step"


def _probe(off_percent: float, *, screw: bool) -> float:
    if screw:
        return _PROBE_TURNS[0] if off_percent <= 0.5 else _PROBE_TURNS[1]
    return float(min(max(round(off_percent / _PROBE_STEP_PERCENT), 2), 10))


def trim_of(
    context: Context, events: Sequence[Event], speed: int, aim_percent: float, error_percent: float
) -> ControlState:
    """Learn the trim's gain from the readings of one speed, and propose a move."""
    platter = context.deck.platter
    control = trim_control(context, platter.speeds_rpm[speed], error_percent)
    return solve_control(
        newest_trials(trials_of(events, speed), control, _MOST_TRIALS),
        aim_percent,
        _AIM * context.deck.tolerances.speed_percent,
        control,
        decided=True,
    )


def trials_of(events: Sequence[Event], speed: int) -> list[TrimTrial]:
    """Return what was read of one speed, in percent, and trimmed between, in turns or steps."""
    trials: list[TrimTrial] = []
    batch: list[Taken] = []
    for event in (*events, None):
        if isinstance(event, Taken):
            if event.speed == speed and event.warm:
                batch.append(event)
            continue
        if isinstance(event, Trimmed | TrimChecked) and event.speed not in (None, speed):
            continue
        together = pooled(batch)
        if together is not None:
            trials.append(together.free)
            batch = []
        if isinstance(event, TrimChecked):
            trials.append(CHECKED)
        if isinstance(event, Trimmed) and not _is_nothing(event):
            trials.append(TrimMove(0.0, _BREAK) if event.amount is None else TrimMove(event.amount))
    return trials


def _is_nothing(event: Trimmed) -> bool:
    return event.amount is not None and abs(event.amount) < _NOTHING


def next_move(
    context: Context, trim: ControlState, speed: int, now: Estimate, aim_percent: float
) -> Move | None:
    """Return the order for the speed trim; None if no possible move comes nearer."""
    deck = context.deck
    screw = deck.platter.trim is SpeedTrim.SCREW
    rpm = deck.platter.speeds_rpm[speed]
    gain = trim.gain.value if trim.gain else None
    amount = _amount(context, trim, gain, rpm, now.value - aim_percent)
    if not amount:
        return None
    place = trim_place(deck, rpm)
    part = MovePart(
        control=Control.SPEED, amount=amount, unit="turns" if screw else "", where=place
    )
    return Move(
        sentence=_order(amount, speed_name(rpm) if place else None, screw=screw),
        parts=(part,),
        predicted=_foretold(trim, gain, now, amount, deck.tolerances.speed_percent),
        reason=_reason(trim, gain, screw=screw, known=_prior(context, rpm).learned),
    )


def _amount(
    context: Context, trim: ControlState, gain: float | None, rpm: float, off_percent: float
) -> float:
    control = trim_control(context, rpm, off_percent)
    amount = trim.move or 0.0
    if not amount and gain and _goes_as_known(control, trim, gain):
        # By all trials together less than half a step is left; by the last reading it is more.
        steps = round(-off_percent / gain / control.smallest_step)
        amount = steps * control.smallest_step
    farthest = _FARTHEST_TURNS if control.unit == "turns" else _FARTHEST_STEPS
    amount = round(max(-farthest, min(farthest, amount)), 4)
    eighth = round(amount * 8.0) / 8.0
    slight = gain is not None and (
        abs((eighth - amount) * gain) < 0.1 * context.deck.tolerances.speed_percent
    )
    return eighth if control.unit == "turns" and eighth and slight else amount


def _goes_as_known(control: TrimControl, trim: ControlState, gain: float) -> bool:
    """Whether a learned gain has the stated direction, or was shown to be reversed."""
    stated = control.stated_gain or 0.0
    return gain * (-stated if trim.backward else stated) >= 0.0


def _order(amount: float, at: Message | None, *, screw: bool) -> Message:
    if screw:
        way, turns = "clockwise" if amount > 0 else "anticlockwise", Turns(amount)
        if at is None:
            return message("speed.turn", way=way, turns=turns)
        return message("speed.turn_at", way=way, turns=turns, speed=at)
    steps = round(abs(amount))
    if at is None:
        if amount > 0:
            return message("speed.set_up", steps=steps)
        return message("speed.set_down", steps=steps)
    if amount > 0:
        return message("speed.set_up_at", steps=steps, speed=at)
    return message("speed.set_down_at", steps=steps, speed=at)


def _foretold(
    trim: ControlState,
    gain: float | None,
    now: Estimate,
    turned: float,
    tolerance_percent: float,
) -> Message | None:
    if gain is None:
        return None
    then = trim.predicted
    if then is None:
        return message(
            "speed.foretold", error=amount(now.value + gain * turned, "%", 2, FAST_OR_SLOW)
        )
    size = Expectation(abs(then.value), then.half_width(), "%", tolerance=tolerance_percent)
    return message("speed.foretold", error=directed(size, then.value, FAST_OR_SLOW, 2))


def _reason(trim: ControlState, gain: float | None, *, screw: bool, known: bool) -> Message:
    unit = "turn" if screw else "step"
    if gain is None:
        return message("speed.finds_out", unit=unit)
    rate = amount(gain, "%", 2, _FASTER_OR_SLOWER)
    if trim.gain_learned:
        return message("speed.gain_learned", unit=unit, rate=rate)
    if known:
        return message("speed.gain_of_earlier_fittings", unit=unit, rate=rate)
    return message("speed.gain_stated", unit=unit, rate=rate)
