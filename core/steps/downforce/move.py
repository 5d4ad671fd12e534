"""The next move for downforce, from the stated and the learned gain of the control.

The control is described from the deck; :mod:`core.estimation.control_solver` learns from the
moves and weighings of both downforce steps, and proposes. Amounts are rounded to what a hand can
do, and the sentence and what the log keeps say the same amount.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

from core.estimation import (
    CERTAIN_FACTOR,
    CHECKED,
    COVERAGE_FACTOR,
    DOUBTED_SHARE,
    ControlState,
    ControlVerdict,
    Estimate,
    ReadingLimits,
    newest_trials,
    solve_control,
    steepest_likely,
)
from core.estimation import ControlModel as TrimControl
from core.estimation import ControlMove as TrimMove
from core.estimation import ControlTrial as TrimTrial
from core.fitting import Context, Control, Move, MovePart
from core.language import Expectation, Message, Quantity, Turns, message
from core.steps.downforce.control import DownforceControl, known_downforce_control
from core.steps.downforce.floating import (
    SHOWS_GF,
    Place,
    Places,
    between,
    floats_where_it_bore,
    given_up,
    next_in_vain,
    no_room_ahead,
    places_of,
)
from core.steps.downforce.weighings import (
    STOP_FACTOR,
    Checked,
    Event,
    ScaleWorth,
    Shifted,
    Unsettled,
    Weighing,
)
from core.steps.shared.gain_samples import samples_of
from core.steps.shared.sentences import sentences

_STEP: Final = {"turns": 0.01, "mm": 0.05, "gf": 0.01}
"""The finest amount shown, in units of the control."""

_BY_HAND: Final = {"turns": 0.02, "mm": 0.15, "gf": 0.02}
"""Error of a small move, one standard uncertainty: our own allowance."""

_STEEPEST_GF_PER_MM: Final = 1.25
"""A counterweight of 250 g on an arm of 200 mm: the largest usual gain."""

_MODEST_GF_PER_MM: Final = 0.45
"""A counterweight of about 100 g on a 9-inch arm."""

_LEAST_GF_PER_MM: Final = 0.15
"""A counterweight of 40 g on an arm of 260 mm: the smallest usual gain."""

_LONGEST_THREAD_MM: Final = 1.5
"""Millimetres per turn of an unknown thread: on the safe side."""

_FINEST_THREAD_MM: Final = 0.5

_FARTHEST: Final = {"turns": 20.0, "mm": 30.0, "gf": 5.0}
"""Longest single move: beyond it the arm should be balanced again."""

_AIM: Final = 0.2
"""The share of the tolerance within which a move must land, so that it aims at the target."""

_LITTLE: Final = 0.25
"""The share of a stated move that is tried if the thread may be four times as steep."""

_OF_THE_WAY: Final = 0.5
"""The share of the target that a move aims at after the arm was floated again."""

_NOTHING_LEFT: Final = 1e6
"""A zero move with this uncertainty tells the solver that only the gain carries over."""

_NOTHING: Final = 1e-6
"""Smaller moves, in any unit, count as none."""

_STEEPER: Final = 1.5
"""How much larger than seen so far an unstated gain may be: our own."""

_MOST_TRIALS: Final = 12
"""So many of the newest trials teach: older ones tell of a thread that may have changed since."""

MOST_ANEW: Final = 3
"""After floating it this often an arm above the maximum is left, the stylus up."""


def hand_gf(context: Context, gain: Estimate | None) -> float:
    """Return the execution error of this control in downforce, one standard uncertainty, gf.

    ``gain`` is the effect of one unit; 0 if unknown.
    """
    handle, _ = known_downforce_control(context)
    return 0.0 if gain is None else abs(gain.value) * _BY_HAND[handle.unit]


@dataclass(frozen=True, slots=True)
class Proposal:
    """The result of the trials, and the move that follows.

    ``asks``: the questions about the control come before any move, because it showed ``nothing``
    or went ``against`` what was entered, or ``beyond`` what the move explains, or both, or was
    entered ``away`` from the target without an order, or the arm is to be floated ``anew``, or
    because moves are ``unseen`` that may still act; empty if not.
    ``gave_up``: they were answered, and it still does nothing.
    """

    trim: ControlState
    move: Move | None
    """None without a valid weighing, or if no move is certain to stay below the limit."""

    predicted: Estimate | None
    """Downforce after that move; None if it can't be predicted, or there is none."""

    notes: tuple[Message, ...]
    gain_label: Message
    asks: str = ""
    gave_up: bool = False
    dial: bool = False
    parallel: bool = False
    """Whether the arm has no pivot."""
    anew: int = 0
    """How often the arm was floated again."""


def propose(
    context: Context,
    events: tuple[Event, ...],
    worth: ScaleWorth,
    now: Estimate | None,
    tolerance_gf: float,
) -> Proposal:
    """Learn from both downforce steps and propose the next move.

    The context's step decides which weighings are the latest. ``now`` is the present downforce;
    None after a move, to predict only.
    """
    handle, share = known_downforce_control(context)
    target = context.cartridge.downforce_target_gf
    limit = STOP_FACTOR * context.cartridge.downforce_max_gf
    events, left_out = _believed(events, handle, worth, target)
    control = TrimControl(
        unit=handle.unit,
        stated_gain=handle.gf_per_unit,
        gain_relative_uncertainty=share,
        smallest_step=_STEP[handle.unit],
        execution_absolute=_BY_HAND[handle.unit],
        probe=_probe(handle, now, target, limit),
        least_gain=_LEAST_GF_PER_MM * _mm_per_unit(handle, _FINEST_THREAD_MM),
        steepest_gain=_STEEPEST_GF_PER_MM * _mm_per_unit(handle, _LONGEST_THREAD_MM),
    )
    trials = newest_trials(_all_trials(context, events, handle, worth), control, _MOST_TRIALS)
    floats = now is not None and not _last_reads(trials)
    if floats and now is not None:
        # A floating arm shows 0 however light it is: it teaches no gain.
        bears = Estimate(max(now.value, 0.0), worth.read_gf)
        trials = (*trials, TrimMove(0.0, _NOTHING_LEFT), bears)
    trim = solve_control(
        trials,
        target,
        _AIM * tolerance_gf,
        control,
        limits=ReadingLimits(highest=limit, maximum=context.cartridge.downforce_max_gf),
        calibration_standard_uncertainty=worth.calibration_gf(target),
        decided=True,
    )
    label = message("downforce.figure.gain", unit=handle.unit)
    none = Proposal(
        trim, None, None, (), label, dial=handle.kind == "dial", parallel=handle.parallel
    )
    if now is None:
        return none
    places = _places(events, handle, worth)
    none = replace(none, anew=places.anew)
    if _entered_away(context, events, worth, tolerance_gf):
        return replace(none, asks="away")
    asks, gave_up, amount = _wanted(trim, places, now, control, context, floats=floats)
    if asks or gave_up:
        # Nothing is ordered, so nothing was limited.
        notes = (*left_out, *_notes(handle, replace(trim, limited_by=None), ordered=False))
        return replace(none, notes=notes, asks=asks, gave_up=gave_up)
    amount, trim = _bounded(amount, trim, now, target, handle)
    is_short = trim.limited_by in ("safety", "unseen")
    notes = (*left_out, *_notes(handle, trim, ordered=True))
    if floats and len(places.vain) > 1:
        notes = (
            message("downforce.note.still_floats"),
            message("downforce.note.watch_the_head"),
            *notes,
        )
    elif not floats and now.value < target:
        wanted = amount
        possible = _steepest_possible(trials, handle, control.steepest_gain)
        amount = _up_safely(amount, trim, places, now, limit, handle, share, possible)
        amount = _no_further_than_seen(amount, trim, trials, target - now.value)
        is_short = is_short or abs(amount) < abs(wanted)
    if not amount:
        notes = (*left_out, *_notes(handle, trim, ordered=False))
        if trim.unanswered and not floats:
            # There is no room left for a move that would show.
            return replace(none, notes=notes, asks="nothing", gave_up=trim.checked)
        return replace(none, notes=notes)
    predicted = None
    if places.slope is None or not floats:
        predicted = trim.predicted if amount == trim.move else _foretold(trim, amount, now)
    move = _move(handle, tolerance_gf, trim, amount, predicted, is_short=is_short)
    return replace(none, move=move, predicted=predicted, notes=notes)


def _believed(
    events: tuple[Event, ...], handle: DownforceControl, worth: ScaleWorth, target_gf: float
) -> tuple[tuple[Event, ...], tuple[Message, ...]]:
    """Return the log after the last weighing that those after it show to be wrong, and a note."""
    wrong = _places(events, handle, worth).contradicted(target_gf)
    if wrong is None:
        return events, ()
    shown = Quantity(max(wrong.gf or 0.0, 0.0), "gf")
    return events[wrong.event + 1 :], (message("downforce.note.outweighed", value=shown),)


def _places(events: tuple[Event, ...], handle: DownforceControl, worth: ScaleWorth) -> Places:
    return places_of(
        events,
        handle.amount_of,
        worth.true_of,
        worth.floats,
        handle.gf_per_unit,
        _BY_HAND[handle.unit],
    )


def _entered_away(
    context: Context, events: tuple[Event, ...], worth: ScaleWorth, tolerance_gf: float
) -> bool:
    """Whether the last move was entered away from the target, and neither ordered nor asked about.

    Whoever was told to lower the downforce and enters that it was raised may have turned as told
    and entered it wrongly. What such a move seems to teach of the control's direction could then
    order the downforce up when it is too high.
    """
    end = len(events)
    while end and isinstance(events[end - 1], Weighing):
        end -= 1
    start = end
    while start and isinstance(events[start - 1], Shifted):
        start -= 1
    before = events[:start]
    shown: list[float] = []
    for event in reversed(before):
        if isinstance(event, Weighing):
            shown.append(event.shown_gf)
        elif not isinstance(event, Checked):
            break
    handle, _ = known_downforce_control(context)
    made = [one for one in events[start:end] if isinstance(one, Shifted)]
    if not shown or not made or any(one.put_right for one in made):
        return False
    moved = sum(handle.amount_of(one) or 0.0 for one in made)
    now = worth.mean(shown)
    missing = context.cartridge.downforce_target_gf - now.value
    if moved * missing >= 0.0 or abs(missing) <= tolerance_gf:
        return False
    move = propose(context, before, worth, now, tolerance_gf).move
    return move is None or move.parts[0].amount * moved < 0.0


def _wanted(
    trim: ControlState,
    places: Places,
    now: Estimate,
    control: TrimControl,
    context: Context,
    *,
    floats: bool,
) -> tuple[str, bool, float]:
    """Return the question to ask first, whether to leave the control, or the move."""
    target = context.cartridge.downforce_target_gf
    limit = STOP_FACTOR * context.cartridge.downforce_max_gf
    asks = _asks(trim, places, floats=floats)
    if _unseen(trim, places, control, asks, target, limit, floats=floats):
        return "unseen", places.unseen and not floats, 0.0
    amount = 0.0
    if not asks and not (trim.verdict is ControlVerdict.NO_RESPONSE and not floats):
        found = _where_to(trim, places, now, target, limit, control, floats=floats)
        if found is None:
            asks = "nothing"
        amount = found or 0.0
    asks, gave_up = _in_vain(trim, places, control, asks, amount, floats=floats)
    asks, gave_up = _above(trim, places, asks, amount, now, context) or (asks, gave_up)
    return asks, gave_up, amount


def _unseen(
    trim: ControlState,
    places: Places,
    control: TrimControl,
    asks: str,
    target: float,
    limit: float,
    *,
    floats: bool,
) -> bool:
    """Whether moves without effect leave no room for another that would show.

    The questions were answered, but a scale that holds its last value hides what was turned, which
    may act more than stated, or the other way.
    """
    if floats:
        step = _floating_step(trim, places, control, target)
        room = limit / steepest_likely(control)
        untried = places.bearing is None and not places.anew
        return not asks and untried and no_room_ahead(places.vain, step, room)
    if asks == "nothing" or places.holds:
        return places.holds or (places.unseen and places.silent)
    if asks or not (trim.unanswered and trim.checked and trim.limited_by == "unseen"):
        return False
    gain = abs(control.stated_gain or control.steepest_gain)
    return trim.move is None or abs(trim.move) * gain < SHOWS_GF


def _above(
    trim: ControlState,
    places: Places,
    asks: str,
    amount: float,
    now: Estimate,
    context: Context,
) -> tuple[str, bool] | None:
    """Return the question, and whether to leave it, if a move may raise too high a downforce.

    This applies above the maximum, by the stated and by the learned gain; None if the move may be
    ordered. The positive direction of every control is stated to press more. If a control seems to
    run the other way, neither direction is certain, whoever says so.
    """
    here = places.here
    shown = now.value if here is None or here.gf is None else here.gf
    gave_up = not asks and trim.verdict is ControlVerdict.NO_RESPONSE
    if asks or gave_up or max(now.value, shown) <= context.cartridge.downforce_max_gf:
        return None
    slope, gain = places.slope, trim.gain
    backward = trim.backward or (slope is not None and slope < 0.0)
    backward = backward or (trim.gain_learned and gain is not None and gain.value < 0.0)
    return ("anew", places.anew >= MOST_ANEW) if amount > 0.0 or backward else None


def _in_vain(
    trim: ControlState,
    places: Places,
    control: TrimControl,
    asks: str,
    amount: float,
    *,
    floats: bool,
) -> tuple[str, bool]:
    """Return the question about a control, and whether to leave it as one without effect.

    A floating arm that needs a move too small to make on purpose has no room left.
    """
    if not floats:
        return asks, trim.verdict is ControlVerdict.NO_RESPONSE
    gave_up = given_up(places.vain)
    if asks or abs(amount) >= 0.5 * control.smallest_step:
        return asks, gave_up
    return "nothing", gave_up or places.checked


def _last_reads(trials: tuple[TrimTrial, ...]) -> bool:
    """Whether the last event is a weighing that taught something."""
    last = next((t for t in reversed(trials) if isinstance(t, Estimate) or not t.checked), None)
    return isinstance(last, Estimate)


def _asks(trim: ControlState, places: Places, *, floats: bool) -> str:
    """Return the subject of the questions about the control, empty if there are none."""
    if trim.verdict is ControlVerdict.CHECK_CONTROL and not floats:
        if trim.beyond:
            return "beyond against" if trim.against else "beyond"
        return "against" if trim.against else "nothing"
    slope = places.slope
    against = slope is not None and slope < 0.0  # every control states which direction is more
    return "against" if against and not (places.checked or trim.backward) else ""


def _where_to(
    trim: ControlState,
    places: Places,
    now: Estimate,
    target: float,
    limit: float,
    control: TrimControl,
    *,
    floats: bool,
) -> float | None:
    """Return the move in units of the control; None if the questions come first.

    Between a floating and a bearing position the move never goes further than is certain to be
    safe; elsewhere it is the solver's.
    """
    here, slope = places.here, places.slope
    if here is None:
        return trim.move or 0.0
    if floats:
        return _while_floating(trim, places, here, target, limit, control)
    floating = places.floating
    if slope is not None and floating is not None and now.value > target:
        back = between(floating, here, target, limit) - here.at
        # The gain may be known better; but never back to a floating position, or beyond.
        wanted = trim.move if trim.gain_learned and trim.move is not None else back
        return wanted if abs(wanted) < abs(back) and wanted * back > 0.0 else back
    learned = trim.gain_learned and (trim.move or 0.0) * (target - now.value) * (slope or 0.0) > 0.0
    if slope is not None and not learned:
        # The least gain may be far below the true one: half of the way, and no further than stated.
        steepest = max(abs(slope), abs(control.stated_gain or control.steepest_gain))
        return 0.5 * (target - now.value) / math.copysign(steepest, slope)
    return trim.move or 0.0


def _while_floating(
    trim: ControlState,
    places: Places,
    here: Place,
    target: float,
    limit: float,
    control: TrimControl,
) -> float | None:
    """Return the move of a floating arm; None if the questions come first."""
    gain = abs(control.stated_gain or control.steepest_gain)
    bears = places.bearing
    if bears is None or bears.gf is None:
        step = _floating_step(trim, places, control, target)
        return next_in_vain(places.vain, step, limit / steepest_likely(control))
    if floats_where_it_bore(places.vain):
        return None
    if places.floated < 2 or bears.gf >= target or not gain:
        steepest = _steepest(trim, control, places.slope or 0.0)
        return between(here, bears, target, limit, steepest) - here.at
    # Nothing between is enough: go beyond the bearing position, a little if it may be steep.
    little = _LITTLE * (target - bears.gf) / gain
    return bears.at + math.copysign(little, bears.at - here.at) - here.at


def _floating_step(
    trim: ControlState, places: Places, control: TrimControl, target: float
) -> float:
    """Return the step for a floating arm while no bearing position is known."""
    if places.known_slope:
        # From a floating position this step is certain to stay below the limit, and to show.
        return _OF_THE_WAY * target / places.known_slope
    return trim.move or control.probe or control.smallest_step


def _steepest(trim: ControlState, control: TrimControl, least: float) -> float:
    """Return the largest gain of the control, from what is stated and was read.

    ``least`` is the least gain, from a floating and a bearing position.
    """
    if trim.gain_learned and trim.gain is not None:
        return max(abs(trim.gain.value) + trim.gain.half_width(), abs(least))
    if control.stated_gain is None:
        return max(abs(control.steepest_gain), abs(least))
    stated = abs(control.stated_gain) * (1.0 + COVERAGE_FACTOR * control.gain_relative_uncertainty)
    return max(stated, abs(least))


def _bounded(
    amount: float, trim: ControlState, now: Estimate, target: float, handle: DownforceControl
) -> tuple[float, ControlState]:
    """Return a move of at most the longest, which lets no arm float by the stated gain.

    Where that cuts a move down short, the state says so.

    A small change after a long move, which may have slipped or been made otherwise, teaches a gain
    near zero, and with it a move that would carry the weight to the end of its stub.
    """
    farthest = _FARTHEST[handle.unit]
    amount = max(-farthest, min(farthest, amount))
    if handle.gf_per_unit is None or trim.backward or now.value <= target:
        return amount, trim
    step = _STEP[handle.unit]
    room = math.floor(max(now.value, 0.0) / abs(handle.gf_per_unit) / step) * step
    return (amount, trim) if amount >= -room else (-room, replace(trim, limited_by="safety"))


def _up_safely(
    amount: float,
    trim: ControlState,
    places: Places,
    now: Estimate,
    limit: float,
    handle: DownforceControl,
    share: float,
    possible: float,
) -> float:
    """Return a move up no longer than is safe by the stated gain, else by the gain seen.

    ``possible`` is the steepest gain that what was seen leaves open.
    """
    if not trim.gain_learned and places.slope is None:
        amount = _kept_short(amount, now, limit, handle, share)
    if handle.gf_per_unit is None:
        steepest = max(_STEEPER * abs(places.steepest), possible)
        amount = _as_steep_as_seen(amount, now, limit, steepest, _STEP[handle.unit])
    return amount


def _kept_short(
    amount: float, now: Estimate, limit: float, handle: DownforceControl, share: float
) -> float:
    """Return a move up that is safe even if the control responds as stated after all.

    Moves without effect, because something was locked or slipping, teach the solver a gain near
    zero, and it would order ever longer ones. 0 if not even the finest is safe.
    """
    if handle.gf_per_unit is None:
        return amount
    steepest = abs(handle.gf_per_unit) * (1.0 + COVERAGE_FACTOR * share)
    room = max(limit - now.interval()[1], 0.0) / steepest
    if abs(amount) <= room:
        return amount
    step = _STEP[handle.unit]
    return math.copysign(math.floor(room / step) * step, amount)


def _as_steep_as_seen(
    amount: float, now: Estimate, limit: float, steepest: float, step: float
) -> float:
    """Return a safe move up for a control without a stated gain.

    The learned gain may rest on a move that was made otherwise than entered: 1.5 times the largest
    gain between any two positions is assumed, or what a short move leaves open if that is more.
    """
    room = max(limit - now.interval()[1], 0.0)
    if not steepest or abs(amount) * steepest <= room:
        return amount
    return math.copysign(math.floor(room / steepest / step) * step, amount)


def _steepest_possible(
    trials: tuple[TrimTrial, ...], handle: DownforceControl, most: float
) -> float:
    """Return the largest gain that readings and hand leave open, at most ``most``; 0 if none told.

    Of a short move the hand may have made half. The move that leaves least open counts.
    """
    possible = []
    for one in samples_of(trials, _BY_HAND[handle.unit]):
        made = abs(one.asked) - COVERAGE_FACTOR * one.made
        changed = abs(one.found) + COVERAGE_FACTOR * one.standard_uncertainty
        possible.append(min(changed / made, most) if made > 0.0 else most)
    return min(possible, default=0.0)


def _no_further_than_seen(
    amount: float, trim: ControlState, trials: tuple[TrimTrial, ...], missing_gf: float
) -> float:
    """Return a move up that the steepest gain seen does not carry past the target.

    Two moves that contradict each other, for one was made the other way than entered, teach a gain
    near zero, and with it moves without end. How far the weighings moved shows how steep it is.
    """
    steep = _steepest_seen(trials)
    gain = trim.gain
    if gain is None or abs(gain.value) + gain.half_width() >= DOUBTED_SHARE * steep:
        return amount
    return math.copysign(min(abs(amount), missing_gf / steep), amount)


def _steepest_seen(trials: tuple[TrimTrial, ...]) -> float:
    """Return the largest gain between two weighings that surely differ, 0 if there are none."""
    seen = (
        abs(one.found / one.asked)
        for one in samples_of(trials, 0.0)
        if abs(one.found) > CERTAIN_FACTOR * one.standard_uncertainty
    )
    return max(seen, default=0.0)


def _foretold(trim: ControlState, amount: float, now: Estimate) -> Estimate | None:
    """Return the prediction for a move that is not the solver's own; None if unknown."""
    if trim.gain is None:
        return None
    spread = math.hypot(now.standard_uncertainty, trim.gain.standard_uncertainty * amount)
    return Estimate(now.value + trim.gain.value * amount, spread)


def _mm_per_unit(handle: DownforceControl, unknown: float) -> float:
    """Return the weight's millimetres per unit; a safe default for an unknown thread."""
    return handle.mm_per_unit or unknown


def _probe(handle: DownforceControl, now: Estimate | None, target: float, limit: float) -> float:
    """Return a first careful move for a control of unknown gain, in units of the control.

    Down, so short that the heaviest usual counterweight does not let the arm float; up, so short
    that it stays well below the limit; either way no longer than a common one needs.
    """
    value = now.value if now is not None else target
    if value > target:
        most = (value - 0.3 * target) / _STEEPEST_GF_PER_MM
        length = -min(most, (value - target) / _MODEST_GF_PER_MM)
    else:
        most = 0.8 * max(limit - value, 0.0) / _STEEPEST_GF_PER_MM
        length = min(most, (target - value) / _MODEST_GF_PER_MM)
    per_unit = handle.mm_per_unit or _LONGEST_THREAD_MM
    step = 0.25 if handle.unit == "turns" else 0.1
    return round(length / per_unit / step) * step or math.copysign(step, length)


def _all_trials(
    context: Context, events: tuple[Event, ...], handle: DownforceControl, worth: ScaleWorth
) -> tuple[TrimTrial, ...]:
    """Return the log as trials that end with the step's own latest weighings.

    Parts of the log that share only the gain are separated by a zero move with a very large
    uncertainty.
    """
    stretches = _stretches(context.step, events)
    trials: list[TrimTrial] = []
    for stretch in stretches:
        if trials:
            trials.append(TrimMove(0.0, _NOTHING_LEFT))
        shown: list[float] = []
        for event in (*stretch, None):
            if isinstance(event, Weighing):
                if not worth.floats(event.shown_gf):
                    shown.append(event.shown_gf)
                continue
            if shown:
                mean = sum(shown) / len(shown)
                spread = worth.read_gf / math.sqrt(len(shown))
                trials.append(Estimate(worth.true_of(mean), spread))
                shown = []
            if isinstance(event, Checked):
                trials.append(CHECKED)
            elif isinstance(event, Shifted):
                amount = handle.amount_of(event)
                if amount is not None and abs(amount) < _NOTHING:
                    continue
                trials.append(TrimMove(0.0, _NOTHING_LEFT) if amount is None else TrimMove(amount))
    return tuple(trials)


def trials_of(
    context: Context, events: tuple[Event, ...], handle: DownforceControl, worth: ScaleWorth
) -> tuple[TrimTrial, ...]:
    """Return the newest trials of the log, which end with the step's own latest weighings."""
    return _all_trials(context, events, handle, worth)[-_MOST_TRIALS:]


def _stretches(step: str, events: tuple[Event, ...]) -> list[list[Event]]:
    stretches: list[list[Event]] = [[]]
    at = ""
    for event in events:
        if isinstance(event, Unsettled) or (at and event.step != at):
            stretches.append([])
        at = event.step
        if not isinstance(event, Unsettled):
            stretches[-1].append(event)
    stretches = [stretch for stretch in stretches if stretch]
    own = [i for i, stretch in enumerate(stretches) if stretch[0].step == step]
    if own:
        stretches.append(stretches.pop(own[-1]))
    return stretches


def _move(
    handle: DownforceControl,
    tolerance_gf: float,
    trim: ControlState,
    amount: float,
    predicted: Estimate | None,
    *,
    is_short: bool,
) -> Move:
    """Return the order; ``is_short``: it goes only part of the way."""
    gain = trim.gain.value if trim.gain else None
    if handle.unit == "turns" and gain is not None and trim.limited_by is None:
        amount = _handy(amount, gain, tolerance_gf)
    amount = round(amount, 4)
    reason = _reason(handle, trim, gain)
    mm = handle.mm_per_unit
    part = MovePart(
        control=Control.COUNTERWEIGHT,
        amount=amount,
        unit=handle.unit,
        equivalent_mm=amount * mm if mm and handle.unit == "turns" else None,
    )
    return Move(
        sentence=_order(handle, amount),
        parts=(part,),
        predicted=_foretold_message(predicted, tolerance_gf),
        reason=sentences(message("downforce.kept_short"), reason) if is_short else reason,
    )


def _handy(turns: float, gain: float, tolerance_gf: float) -> float:
    """Round to an eighth of a turn if that makes no relevant difference."""
    eighth = round(turns * 8.0) / 8.0
    slight = abs(eighth - turns) * abs(gain) <= 0.1 * tolerance_gf
    return eighth if eighth and slight else turns


def _order(handle: DownforceControl, amount: float) -> Message:
    size = abs(amount)
    if handle.unit == "gf":
        way = "up" if amount > 0 else "down"
        return message("downforce.turn_dial", way=way, size=Quantity(size, "gf"))
    way = "toward" if amount > 0 else "away"
    if handle.parallel:
        way = "toward the head" if amount > 0 else "from the head"
    if handle.unit == "mm":
        return message("downforce.move_weight", way=way, size=Quantity(size, "mm"))
    return message("downforce.turn_weight", way=way, size=Turns(size))


def _foretold_message(predicted: Estimate | None, tolerance_gf: float) -> Message | None:
    if predicted is None:
        return None
    value, half_width = max(predicted.value, 0.0), predicted.half_width()
    if half_width < 0.005:
        return message("downforce.foretold_nearly", value=Quantity(value, "gf"))
    then = Expectation(value, half_width, "gf", tolerance=tolerance_gf)
    return message("downforce.foretold", value=then)


def _reason(handle: DownforceControl, trim: ControlState, gain: float | None) -> Message:
    if gain is None:
        return message("downforce.finds_out", unit=handle.unit)
    known = gain if trim.gain_learned else handle.gf_per_unit or gain
    rate = Quantity(abs(known), "gf")
    if trim.gain_learned:
        return message("downforce.gain_learned", unit=handle.unit, rate=rate)
    source = message("downforce.source", source=handle.source)
    return message("downforce.gain_known", unit=handle.unit, rate=rate, source=source)


def _notes(handle: DownforceControl, trim: ControlState, *, ordered: bool) -> tuple[Message, ...]:
    """Return the notes on what the control did; ``ordered``: a move stands beside them."""
    notes = []
    if trim.backward and ordered:
        notes.append(message("downforce.note.backward", control=handle.kind))
    elif trim.backward:
        notes.append(message("downforce.note.seen_backward", control=handle.kind))
    return tuple(notes)
