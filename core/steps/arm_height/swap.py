"""The pillar for another cartridge: the height of its body changes the head's height."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from core.estimation import COVERAGE_FACTOR, MOVE_SHARE, Estimate
from core.fitting import Context, Control, MovePart
from core.language import Message, Quantity, message
from core.records import Cartridge, Deck, HeightControl, Mounting
from core.steps.arm_height.doubts import counted
from core.steps.arm_height.effects import disturbed_by_downforce
from core.steps.arm_height.judge import THICKEST_MAT_MM, applies
from core.steps.arm_height.readings import NAME
from core.steps.arm_height.state import (
    FINEST_MM,
    THICKEST_HEAD_SHIM_MM,
    HeightEstimator,
    known_gain,
)
from core.steps.shared.gain_samples import (
    LEAST_MADE,
    GainSource,
    Sample,
    narrowed,
    samples_from,
    samples_of,
)
from core.steps.shared.swap_part import (
    HEIGHT_U_MM,
    Need,
    Past,
    PlanPiece,
    RunsOut,
    StepForecast,
    SwapCase,
    agree,
    known,
    lift_of,
    net_of,
    parts_of,
    shim_in,
    start,
)

KEY: Final = "pillar"
"""The rise still needed at the pillar: the same wherever along the tube it is read."""

_UNREAD_U_MM: Final = 0.5
_SEATED_U_MM: Final = 0.15
"""Difference in seating of two cartridges, and deflection of an unknown suspension: one standard
uncertainty, our own allowance.
"""

_HEADSHELL_U_MM: Final = 1.0
"""Difference in height of the faces of two headshells: one standard uncertainty, our own allowance.
"""

_BY_HAND_MM: Final = 0.1


def forecast(case: SwapCase) -> PlanPiece:
    """Predict the height control and the pitch of the tube."""
    adjusts = applies(case.deck, case.new).adjusts
    taller = _taller_mm(case)
    words = _compared(case, taller)
    stands = known(case.old, NAME, KEY, _UNREAD_U_MM)
    if stands is None:
        reason = message("swap.height.unrecorded", compared=words)
        return PlanPiece(NAME, Need.SET if adjusts else Need.CONFIRM, reason)
    spread = math.hypot(
        stands.standard_uncertainty,
        math.sqrt(2.0) * HEIGHT_U_MM,
        _SEATED_U_MM,
        _HEADSHELL_U_MM if case.is_other_headshell else 0.0,
    )
    still = Estimate(stands.value + taller, spread)
    if not adjusts:
        return _fixed(case, still, words)
    return _adjusted(case, still, words)


def _taller_mm(case: SwapCase) -> float:
    """Return how much further the new tip hangs below the head than the old one did, mm."""
    return _height_mm(case.new) - _height_mm(case.old.cartridge) - shim_in(case, case.old)


def _height_mm(cartridge: Cartridge) -> float:
    """Return the body's height less the deflection by its downforce, if known."""
    sinks = (
        effect.change
        for effect in disturbed_by_downforce(cartridge.downforce_target_gf, cartridge)
        if effect.change is not None
    )
    return cartridge.body_height_mm - math.fsum(sinks)


def _compared(case: SwapCase, taller: float) -> Message:
    shim = "shim" if shim_in(case, case.old) and case.headshell is None else "none"
    if abs(taller) < 0.05:
        return message("swap.height.as_tall", shim=shim)
    size = Quantity(abs(taller), "mm", 1)
    if taller > 0:
        return message("swap.height.taller", shim=shim, size=size)
    return message("swap.height.lower", shim=shim, size=size)


def _fixed(case: SwapCase, still: Estimate, words: Message) -> PlanPiece:
    reason = message("swap.height.fixed", compared=words)
    numberless = "swap.height.follows"
    foreseen = StepForecast(start(NAME, KEY, "mm", still, numberless))
    runs_out: tuple[RunsOut, ...] = ()
    if abs(still.value) > _tolerance_mm(case):
        runs_out = (_given(case, still.value),)
    return PlanPiece(NAME, Need.CONFIRM, reason, (foreseen,), runs_out)


def _tolerance_mm(case: SwapCase) -> float:
    return case.deck.tolerances.height_mm


def _adjusted(case: SwapCase, still: Estimate, words: Message) -> PlanPiece:
    gain, share = _gain(case)
    low, high = _travel_left(case)
    room = _head_room(case)
    wanted = _on_step(case, still.value / gain)
    lift = min(max(wanted, low - room), high)
    left = still.value - gain * lift
    exec_u = math.hypot(MOVE_SHARE * lift, _BY_HAND_MM if lift else 0.0)
    after = Estimate(
        left, math.hypot(still.standard_uncertainty, share * gain * lift, gain * exec_u)
    )
    runs_out: tuple[RunsOut, ...] = ()
    if abs(lift - wanted) > 1e-9 and abs(left) > _tolerance_mm(case):
        runs_out = (_ends(case, left),)
    part, effect = _part(case, lift, low, gain)
    of_gain = 0.0 if effect is None else abs(effect) * math.hypot(share, MOVE_SHARE)
    moved_so = StepForecast(
        start(NAME, KEY, "mm", after, _why(case, lift), part), effect, gain_u=of_gain
    )
    foreseen, told = _as_it_was(case, moved_so, gain)
    starts = (*_shim_back(case), foreseen)
    moved = foreseen.start.part is not None
    reason = words if moved else message("swap.height.stays", compared=words)
    return PlanPiece(
        NAME,
        Need.SET if moved else Need.CONFIRM,
        reason,
        starts,
        runs_out,
        (told,) if told else (),
    )


def _gain(case: SwapCase) -> tuple[float, float]:
    """Return the control's millimetres per millimetre ordered, and its relative error."""
    context = Context(NAME, case.deck, case.new, gains=case.gains)
    gain, share = known_gain(context)
    if case.deck.height.control is not HeightControl.COLLAR:
        return gain, share
    if any(one.control is Control.PILLAR for one in case.gains):
        return gain, share
    thread = case.deck.height.mm_per_turn
    samples = samples_from(gain_sources(case.deck), Control.PILLAR, case.deck, case.pasts)
    found, share = narrowed(gain * thread, share, samples)
    return (found or thread) / thread, share


def _travel_left(case: SwapCase) -> tuple[float, float]:
    """Return how far the control goes down and up from where it stands, mm.

    The deck's record gives it for the day it was written; recorded moves since then have used some.
    """
    height = case.deck.height
    since = [past for past in case.pasts if past.deck.height == height]
    used = net_of(
        parts_of(since, Control.PILLAR, Control.BASE_SHIM), lift_of(height.mm_per_turn), 0.0
    )
    gone = used.value if used is not None else 0.0
    return min(-height.travel_down_mm - gone, 0.0), max(height.travel_up_mm - gone, 0.0)


def _head_room(case: SwapCase) -> float:
    """Return the room between head and cartridge if shims set the height, mm."""
    shims = case.deck.height.control is HeightControl.SHIMS
    return THICKEST_HEAD_SHIM_MM if shims and case.new.mounting is not Mounting.PLUG_IN else 0.0


def _on_step(case: SwapCase, lift: float) -> float:
    height = case.deck.height
    step = height.mm_per_turn / 8 if height.control is HeightControl.COLLAR else FINEST_MM
    return round(lift / step) * step


def _part(
    case: SwapCase, lift: float, low: float, gain: float
) -> tuple[MovePart | None, float | None]:
    """Return the part, and its effect per unit on the remaining rise."""
    height = case.deck.height
    if abs(lift) < 1e-9:
        return None, None
    if height.control is HeightControl.COLLAR:
        turns = lift / height.mm_per_turn
        part = MovePart(control=Control.PILLAR, amount=turns, unit="turns", equivalent_mm=lift)
        return part, -height.mm_per_turn * gain
    lift = round(lift, 3)
    if height.control is HeightControl.PILLAR:
        return MovePart(control=Control.PILLAR, amount=lift, unit="mm"), -1.0
    if lift >= low - 1e-9:
        return MovePart(control=Control.BASE_SHIM, amount=lift, unit="mm"), -1.0
    return MovePart(control=Control.HEAD_SHIM, amount=-lift, unit="mm"), 1.0


def _as_it_was(
    case: SwapCase, foreseen: StepForecast, gain: float
) -> tuple[StepForecast, Message | None]:
    """Return to the pillar's position with this cartridge, if that agrees with the bodies."""
    if case.back is None:
        return foreseen, None
    left = known(case.back, NAME, KEY, _UNREAD_U_MM)
    height = case.deck.height
    net = net_of(
        parts_of(case.since_back, Control.PILLAR, Control.BASE_SHIM),
        lift_of(height.mm_per_turn),
        _BY_HAND_MM,
    )
    if left is None or net is None:
        return foreseen, None
    lift = -net.value
    planned = foreseen.start.part
    made = 0.0
    if planned is not None:
        of = lift_of(height.mm_per_turn)(planned) or 0.0
        made = -of if planned.control is Control.HEAD_SHIM else of
    shim = shim_in(case, case.back)
    as_left = Estimate(
        left.value,
        math.hypot(left.standard_uncertainty, gain * net.standard_uncertainty, _SEATED_U_MM),
    )
    predicted = foreseen.start.predicted or 0.0
    reckoned = Estimate(
        predicted - gain * (lift - made) + shim,
        (foreseen.start.half_width or 0.0) / COVERAGE_FACTOR,
    )
    if not agree(as_left, reckoned):
        return foreseen, message("swap.height.moves_missing")
    part, effect = _part(case, lift, -math.inf, gain)
    reason = "swap.height.back"
    return replace(foreseen, start=start(NAME, KEY, "mm", as_left, reason, part), gain=effect), None


def _shim_back(case: SwapCase) -> tuple[StepForecast, ...]:
    shim = round(shim_in(case, case.back), 3) if case.back is not None else 0.0
    if not shim or case.headshell is not None:  # it stayed in its headshell
        return ()
    part = MovePart(control=Control.HEAD_SHIM, amount=shim, unit="mm")
    reason = "swap.height.shim_again"
    return (StepForecast(start(NAME, KEY, "mm", None, reason, part)),)


def _why(case: SwapCase, lift: float) -> str:
    taller = _taller_mm(case)
    if abs(lift) < 1e-9:
        reason = "swap.height.why_stays"
    elif lift * taller <= 0.0:
        reason = "swap.height.why_off"
    elif lift > 0:
        reason = "swap.height.why_taller"
    else:
        reason = "swap.height.why_lower"
    if shim_in(case, case.old) and case.headshell is None:
        reason += " swap.height.shim_out"
    return reason


def _ends(case: SwapCase, still: float) -> RunsOut:
    """Say that the height control ends, and what would make up for the rest."""
    size = Quantity(abs(still), "mm", 1)
    ends = message("swap.height.ends", size=size, side="low" if still > 0 else "high")
    with_mat = abs(still) <= THICKEST_MAT_MM
    with_shim = _takes_spacer(case, still)
    if still > 0:
        cure = message("swap.height.cure_low", size=size, mat="mat" if with_mat else "none")
    elif with_shim:
        cure = message("swap.height.cure_shim", size=size, mat="mat" if with_mat else "none")
    else:
        cure = message("swap.height.cure_high", size=size, mat="mat" if with_mat else "none")
    return RunsOut(NAME, Control.PILLAR, ends, cure)


def _takes_spacer(case: SwapCase, still: float) -> bool:
    """Whether a rear this much too high can be corrected between head and cartridge."""
    screwed = case.new.mounting is not Mounting.PLUG_IN
    return screwed and 0 < -still <= THICKEST_HEAD_SHIM_MM


def _given(case: SwapCase, still: float) -> RunsOut:
    """Say how an arm without height control will lie, and what to do instead.

    A spacer is as thick as what is wanting: below the arm it lifts the rear, in the head the
    front. Left as it is, the tube leans about the stylus tip, and the stylus with it (derived).
    """
    size = Quantity(abs(still), "mm", 1)
    side = "low" if still > 0 else "high"
    lean = math.degrees(math.atan2(abs(still), case.deck.arm.effective_length_mm))
    spacer = "none"
    if still > 0:
        spacer = "base"
    elif _takes_spacer(case, still):
        spacer = "head"
    body = "lower" if still > 0 else "taller"
    mat = body if abs(still) <= THICKEST_MAT_MM else f"{body}, no mat"
    return RunsOut(
        NAME,
        Control.PILLAR,
        message("swap.height.ends_fixed", size=size, side=side),
        message(
            "swap.height.instead",
            spacer=spacer,
            size=size,
            other=message("swap.height.other_body", mat=mat, size=size),
            lean=Quantity(lean, "°", 1),
        ),
        is_fixed=True,
    )


def gain_sources(deck: Deck) -> Iterator[GainSource]:
    """Yield the effect of the pillar's collar when it was turned."""
    if deck.height.control is HeightControl.COLLAR:
        stated = deck.height.mm_per_turn
        yield GainSource(NAME, Control.PILLAR, "", "mm/turn", stated, _same_collar, _lifted)


def _same_collar(deck: Deck) -> tuple[HeightControl, float]:
    return deck.height.control, deck.height.mm_per_turn


def _lifted(past: Past) -> Iterator[Sample]:
    told = HeightEstimator(counted(past.journey.context(NAME)), 0.0).told()
    yield from samples_of(told.trials, LEAST_MADE["mm/turn"], 1.0 / past.deck.height.mm_per_turn)
