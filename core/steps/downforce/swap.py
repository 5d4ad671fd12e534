"""The counterweight for another cartridge: moments about the pivot before and after."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from core.estimation import COVERAGE_FACTOR, MOVE_SHARE, Estimate
from core.fitting import Context, Control, MovePart
from core.language import Message, Quantity, message
from core.physics.statics import (
    counterweight_place_mm,
    downforce_change_of_height_gf,
    downforce_change_of_slide_gf,
    downforce_per_mm_gf,
)
from core.records import Balance, Deck, Mounting
from core.steps.downforce.control import (
    DownforceControl,
    downforce_control_of,
    known_downforce_control,
)
from core.steps.downforce.doubts import counted
from core.steps.downforce.move import trials_of
from core.steps.downforce.weighings import (
    FINAL,
    ROUGH,
    STOP_FACTOR,
    Shifted,
    events_of,
    scale_worth,
)
from core.steps.shared import LEARNED
from core.steps.shared.gain_samples import (
    LEAST_MADE,
    GainSource,
    Sample,
    narrowed,
    samples_from,
    samples_of,
)
from core.steps.shared.swap_part import (
    MASS_LEAST_G,
    Need,
    Past,
    PlanPiece,
    RunsOut,
    StepForecast,
    SwapCase,
    agree,
    head_of,
    known,
    net_of,
    new_head,
    parts_of,
    start,
)

BALANCED_U_GF: Final = 0.1
"""Error of balancing an arm at 0 by eye, one standard uncertainty: our own allowance."""

_BY_HAND: Final = {"turns": 0.02, "mm": 0.15, "gf": 0.02}
_LOOSE_U_GF: Final = 0.03
"""Effects that are not modelled: leads, friction. One standard uncertainty, our own allowance."""

_PITCHED_U_MM: Final = 1.0
_BELOW_PIVOT_MM: Final = 5.0
_SLID_U_MM: Final = 0.5
"""Errors of the tip's height and position before their steps, and of how far below the pivot an arm
is balanced: one standard uncertainty each, our own allowances."""

_OWN_LEVER_SHARE: Final = 0.2
"""Distance between two bodies' centres of mass, as a share of holes to tip: our own allowance."""

_SHELL_BACK_MM: Final = 20.0
_SHELL_BACK_U_MM: Final = 9.0
_SHELL_APART_U_MM: Final = 5.0
"""Distance of a headshell's own mass behind the tip, its error, and the difference between two of
them: one standard uncertainty, our own allowances.
"""

_ANY_WEIGHT_G: Final = 100.0
_LOWEST_AIM: Final = 0.5


_AS_HEAVY: Final = ("swap.downforce.as_heavy", "swap.downforce.headshell_as_heavy")
_HEAVIER: Final = ("swap.downforce.heavier", "swap.downforce.headshell_heavier")
_LIGHTER: Final = ("swap.downforce.lighter", "swap.downforce.headshell_lighter")
"""Reasons for moving the counterweight: another cartridge, and another headshell."""


def _downforce_of(past: Past) -> Estimate | None:
    """Return the last weighed downforce of a fitting."""
    found = (known(past, step, "downforce", 0.2) for step in (FINAL, ROUGH))
    return next((estimate for estimate in found if estimate is not None), None)


def rough_forecast(case: SwapCase) -> PlanPiece:
    """Predict the counterweight's move and the next weighing."""
    old_head, fitted = head_of(case.old), new_head(case)
    stands = _downforce_of(case.old)
    target = case.new.downforce_target_gf
    change_g = fitted.value - old_head.value + _heavier_headshell_g(case)
    mass = Quantity(abs(change_g), "g", 1)
    head = "same" if not round(change_g, 1) else "heavier" if change_g > 0.0 else "lighter"
    if stands is None:
        reason = message("swap.downforce.never_weighed", head=head, mass=mass)
        return PlanPiece(ROUGH, Need.SET, reason, runs_out=_range(case, fitted))
    reason = message(
        "swap.downforce.wanted",
        head=head,
        mass=mass,
        was=Quantity(stands.value, "gf"),
        wanted=Quantity(target, "gf"),
    )
    foreseen = _dialled(case, stands) if _has_dial(case) else _moved(case, stands, fitted)
    settled, told = _as_it_was(case, foreseen)
    warnings = [told] if told else []
    predicted = settled.start.predicted
    limit = STOP_FACTOR * case.new.downforce_max_gf
    upper = 0.0 if predicted is None else predicted + (settled.start.half_width or 0.0)
    if upper > limit:
        warnings.append(message("swap.downforce.may_show", most=Quantity(upper, "gf")))
    return PlanPiece(ROUGH, Need.SET, reason, (settled,), _range(case, fitted), tuple(warnings))


def final_forecast(case: SwapCase) -> PlanPiece:
    """Return why the final weighing is due."""
    tolerance = Quantity(case.deck.tolerances.downforce_gf, "gf")
    return PlanPiece(FINAL, Need.SET, message("swap.downforce.weigh_again", tolerance=tolerance))


def _has_dial(case: SwapCase) -> bool:
    return case.deck.arm.balance is Balance.DYNAMIC


def handle_in(case: SwapCase) -> tuple[DownforceControl, float]:
    """Return the control of downforce, its best known gain, and the gain's error."""
    handle, share = known_downforce_control(Context(ROUGH, case.deck, case.new, gains=case.gains))
    if handle.source == LEARNED:
        return handle, share
    gain, share = narrowed(
        handle.gf_per_unit,
        share,
        samples_from(gain_sources(case.deck), Control.COUNTERWEIGHT, case.deck, case.pasts),
    )
    return replace(handle, gf_per_unit=gain), share


def new_length_mm(case: SwapCase) -> float:
    """Return the new tip's distance from the pivot: unchanged if it is slid there."""
    length = case.deck.arm.effective_length_mm
    holes = Mounting.PLUG_IN not in (case.new.mounting, case.old.cartridge.mounting)
    if case.deck.head.kind == "fixed" and holes:
        length += case.new.tip_to_holes_mm - case.old.cartridge.tip_to_holes_mm
    return max(length, 10.0)


def downforce_change_gf(case: SwapCase, stands_gf: float, old_g: float, new_g: float) -> float:
    """Return the change of downforce that the counterweight must make for the new target.

    Moments about the pivot before and after, the head's mass counted at the stylus
    (:func:`core.physics.statics.counterweight_place_mm`, derived): the counterweight slides by the
    difference of its two places, and every millimetre changes downforce by W / L. W itself drops
    out. With one length this is target - stands - (new - old): what W (dm) L asks of the slide.
    """
    then_mm, now_mm = case.deck.arm.effective_length_mm, new_length_mm(case)
    place = counterweight_place_mm(old_g, stands_gf, _ANY_WEIGHT_G, then_mm)
    wanted = counterweight_place_mm(new_g, case.new.downforce_target_gf, _ANY_WEIGHT_G, now_mm)
    return (place - wanted) * downforce_per_mm_gf(_ANY_WEIGHT_G, now_mm)


def _moved(case: SwapCase, stands: Estimate, fitted: Estimate) -> StepForecast:
    """Predict a counterweight moved along the arm."""
    old_head = head_of(case.old)
    target = case.new.downforce_target_gf
    shell = headshell_change(case)
    change = downforce_change_gf(case, stands.value, old_head.value, fitted.value + shell.value)
    spread = math.hypot(
        stands.standard_uncertainty,
        old_head.standard_uncertainty,
        fitted.standard_uncertainty,
        shell.standard_uncertainty,
        _lever_gf(case, old_head.value, fitted.value),
        _unsettled_gf(case, fitted.value),
    )
    handle, share = handle_in(case)
    if not handle.gf_per_unit:
        left = target - change
        stays = Estimate(left, spread) if left > 0.0 else None
        reason = "swap.downforce.unknown_weight" if stays else "swap.downforce.floats"
        return StepForecast(start(ROUGH, "downforce", "gf", stays, reason))
    aim = _harmless(case, change, spread, share)
    amount = _handy(case, (change - (target - aim)) / handle.gf_per_unit, handle)
    made = amount * handle.gf_per_unit
    by_hand = math.hypot(MOVE_SHARE * made, _BY_HAND[handle.unit] * handle.gf_per_unit)
    predicted = Estimate(target - change + made, math.hypot(spread, share * made, by_hand))
    return StepForecast(
        start(
            ROUGH,
            "downforce",
            "gf",
            predicted,
            _why(case, short=aim < target),
            _part(amount, handle),
        ),
        handle.gf_per_unit,
        gain_u=abs(handle.gf_per_unit) * math.hypot(share, MOVE_SHARE),
        limit=case.new.downforce_max_gf,
    )


def _heavier_headshell_g(case: SwapCase) -> float:
    """Return how much heavier the headshell is than the one that comes off, g."""
    if not case.is_other_headshell:
        return 0.0
    return case.deck.arm.headshell_mass_g - case.old.deck.arm.headshell_mass_g


def headshell_change(case: SwapCase) -> Estimate:
    """Return the other headshell's extra mass at the stylus, g.

    Its mass lies behind the tip, so that its moment about the pivot is smaller by that share of the
    arm's length (derived, moments about the pivot).
    """
    if not case.is_other_headshell:
        return Estimate(0.0, 0.0)
    length = case.deck.arm.effective_length_mm
    more = _heavier_headshell_g(case)
    off, on = case.old.deck.arm.headshell_mass_g, case.deck.arm.headshell_mass_g
    spread = math.hypot(
        math.sqrt(2.0) * MASS_LEAST_G,
        more * _SHELL_BACK_U_MM / length,
        math.hypot(off, on) * _SHELL_APART_U_MM / length,
    )
    return Estimate(more * (1.0 - _SHELL_BACK_MM / length), spread)


def _harmless(case: SwapCase, change: float, spread: float, share: float) -> float:
    """Return the aim: the target, or less if the interval's end could hurt the stylus."""
    target = case.new.downforce_target_gf
    limit = STOP_FACTOR * case.new.downforce_max_gf
    aim = target
    for _ in range(4):
        made = change - (target - aim)
        half = COVERAGE_FACTOR * math.hypot(spread, share * made, MOVE_SHARE * made)
        aim = min(target, max(limit - half, _LOWEST_AIM * target))
    return aim


def _lever_gf(case: SwapCase, old_g: float, new_g: float) -> float:
    """Return the effect of a body's mass behind its tip: gf, one standard deviation.

    The centre of mass lies anywhere from the tip back to the holes; both bodies alike but for a
    share of their own (derived from that, our own allowance).
    """
    back_mm = case.new.tip_to_holes_mm if case.new.mounting is not Mounting.PLUG_IN else 9.5
    alike = (new_g - old_g) / math.sqrt(3.0)
    apart = _OWN_LEVER_SHARE * math.hypot(old_g, new_g)
    return abs(back_mm) * math.hypot(alike, apart) / case.deck.arm.effective_length_mm


def _unsettled_gf(case: SwapCase, head_g: float) -> float:
    """Return the effect on downforce of height and slide before they are set: gf, one deviation."""
    arm = case.deck.arm
    whole_g = arm.effective_mass_g + head_g + (arm.counterweight_g or _ANY_WEIGHT_G)
    length = arm.effective_length_mm
    pitched = downforce_change_of_height_gf(_PITCHED_U_MM, whole_g, _BELOW_PIVOT_MM, length)
    slid = downforce_change_of_slide_gf(_SLID_U_MM, head_g, length)
    return math.hypot(pitched, slid, _LOOSE_U_GF)


def _dialled(case: SwapCase, stands: Estimate) -> StepForecast:
    """Predict a downforce dial, on an arm that is first balanced at 0 again."""
    handle, share = handle_in(case)
    gain = handle.gf_per_unit or 1.0
    change = case.new.downforce_target_gf - stands.value
    amount = round(change / gain, 2)
    spread = math.hypot(
        stands.standard_uncertainty,
        math.sqrt(2.0) * BALANCED_U_GF,
        share * change,
        _BY_HAND["gf"],
    )
    predicted = Estimate(stands.value + gain * amount, spread)
    reason = "swap.downforce.dial"
    part = _part(amount, handle)
    there = start(ROUGH, "downforce", "gf", predicted, reason, part)
    return StepForecast(there, gain, gain_u=abs(gain) * share, set_anyway=True)


def _as_it_was(case: SwapCase, foreseen: StepForecast) -> tuple[StepForecast, Message | None]:
    """Return to the weight's position with this cartridge, if that agrees with the moments."""
    if case.back is None or foreseen.gain is None or foreseen.start.part is None:
        return foreseen, None
    left = _downforce_of(case.back)
    handle, share = handle_in(case)
    net = net_of(
        parts_of(case.since_back, Control.COUNTERWEIGHT),
        lambda part: handle.amount_of(Shifted(ROUGH, part.amount, part.unit, part.equivalent_mm)),
        _BY_HAND[handle.unit],
    )
    if left is None or net is None:
        return foreseen, None
    amount = -net.value
    spread = math.hypot(
        left.standard_uncertainty, foreseen.gain * net.standard_uncertainty, _LOOSE_U_GF
    )
    if _has_dial(case):
        spread = math.hypot(spread, math.sqrt(2.0) * BALANCED_U_GF)
    as_left = Estimate(left.value, spread)
    half = foreseen.start.half_width or 0.0
    # The weight at its old place, as expected by the moments.
    apart = amount - foreseen.start.part.amount
    reckoned = Estimate(
        (foreseen.start.predicted or 0.0) + foreseen.gain * apart,
        math.hypot(half / COVERAGE_FACTOR, share * foreseen.gain * apart),
    )
    if not agree(as_left, reckoned):
        return foreseen, message("swap.downforce.moves_missing")
    reason = "swap.downforce.back"
    part = _part(_handy(case, amount, handle), handle)
    return replace(foreseen, start=start(ROUGH, "downforce", "gf", as_left, reason, part)), None


def _handy(case: SwapCase, amount: float, handle: DownforceControl) -> float:
    """Round to eighths of a turn if that makes no relevant difference."""
    if handle.unit != "turns" or not handle.gf_per_unit:
        return round(amount, 2)
    eighth = round(amount * 8.0) / 8.0
    slight = abs(eighth - amount) * abs(handle.gf_per_unit) <= case.deck.tolerances.downforce_gf
    return eighth if slight else round(amount, 2)


def _part(amount: float, handle: DownforceControl) -> MovePart | None:
    if amount == 0.0:
        return None
    mm = handle.mm_per_unit
    return MovePart(
        control=Control.COUNTERWEIGHT,
        amount=amount,
        unit=handle.unit,
        equivalent_mm=amount * mm if mm and handle.unit == "turns" else None,
    )


def _why(case: SwapCase, *, short: bool) -> str:
    change = new_head(case).value - head_of(case.old).value + _heavier_headshell_g(case)
    if abs(change) < 0.05:
        reason = _AS_HEAVY[case.is_other_headshell]
    elif change > 0.0:
        reason = _HEAVIER[case.is_other_headshell]
    else:
        reason = _LIGHTER[case.is_other_headshell]
    if short:
        reason += " swap.downforce.kept_short"
    return f"{reason} swap.downforce.in_its_rest"


def _range(case: SwapCase, head: Estimate) -> tuple[RunsOut, ...]:
    """Report if the counterweight can't balance the new mass."""
    arm, weighs = case.deck.arm, Quantity(head.value, "g", 1)
    low, high = arm.lightest_cartridge_g, arm.heaviest_cartridge_g
    if head.value > high:
        ends = message("swap.downforce.too_heavy", weighs=weighs, most=Quantity(high, "g", 1))
        cure = message("swap.downforce.take_off", amount=Quantity(head.value - high, "g", 1))
        return (RunsOut(ROUGH, Control.COUNTERWEIGHT, ends, cure),)
    if head.value < low:
        ends = message("swap.downforce.too_light", weighs=weighs, least=Quantity(low, "g", 1))
        cure = message("swap.downforce.add", amount=Quantity(low - head.value, "g", 1))
        return (RunsOut(ROUGH, Control.COUNTERWEIGHT, ends, cure),)
    return ()


def gain_sources(deck: Deck) -> Iterator[GainSource]:
    """Yield the effect of the counterweight or dial when it was moved."""
    control = downforce_control_of(deck)
    yield GainSource(
        FINAL,
        Control.COUNTERWEIGHT,
        "",
        control.gain_unit,
        control.gf_per_unit,
        _same_arm,
        _weighed,
    )


def _same_arm(deck: Deck) -> tuple[object, ...]:
    arm = deck.arm
    return (
        arm.balance,
        arm.counterweight_g,
        arm.counterweight_mm_per_turn,
        arm.gf_per_turn,
        arm.effective_length_mm,
    )


def _weighed(past: Past) -> Iterator[Sample]:
    context, control = past.journey.context(FINAL), downforce_control_of(past.deck)
    trials = trials_of(context, events_of(counted(context)), control, scale_worth(context))
    yield from samples_of(trials, LEAST_MADE[control.gain_unit])
