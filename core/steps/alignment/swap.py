"""The position of another cartridge in the head: slots and angle."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from core.estimation import Estimate
from core.fitting import Control, MovePart
from core.language import Message, Quantity, message
from core.records import Deck, Mounting
from core.steps.alignment.judge import applies
from core.steps.alignment.readings import NAME
from core.steps.alignment.target import head_slides
from core.steps.shared.gain_samples import GainSource
from core.steps.shared.swap_part import (
    TIP_U_MM,
    UNREAD_U,
    Need,
    PlanPiece,
    RunsOut,
    StepForecast,
    SwapCase,
    figure_of,
    known,
    start,
)

HOLES_TO_TIP_MM: Final = 9.5
"""Mounting-hole centre to stylus, to which slots are made: IEC 98:1987, 9.5 mm (second-hand)."""

_BY_HAND_MM: Final = 0.4
"""Error of placing a cartridge where another was: one standard uncertainty, our estimate."""

_BY_EYE_DEG: Final = 1.2
_BUILT_DEG: Final = 0.5
"""Error of squaring a body in its head by eye, and of the stylus in its body seen from above: one
standard uncertainty each, our estimates."""

_FINEST_MM: Final = 0.1


def forecast(case: SwapCase) -> PlanPiece:
    """Predict how far the cartridge is slid, and the position of its tip."""
    applied = applies(case.deck, case.new)
    slides = head_slides(case.deck, case.new)
    key = "effective_length" if case.deck.arm.is_pivoted else "slide"
    ahead = _further_ahead_mm(case)
    stands = known(case.old, NAME, key, UNREAD_U)
    words = _ahead_words(case, ahead)
    angle = _angle(case, slides=slides)
    if slides:
        piece = _slid(case, key, stands, ahead)
        return PlanPiece(NAME, Need.SET, words, (*piece.starts, *angle), piece.runs_out)
    if stands is None:
        need = Need.SET if applied.adjusts else Need.CONFIRM
        return PlanPiece(NAME, need, message("swap.alignment.unrecorded", ahead=words), angle)
    return _held(case, key, stands.shifted(ahead), words, angle)


def _further_ahead_mm(case: SwapCase) -> float:
    """Return how much further its tip lies ahead of its holes than the old one's, mm."""
    if Mounting.PLUG_IN in (case.new.mounting, case.old.cartridge.mounting):
        return 0.0
    return case.new.tip_to_holes_mm - case.old.cartridge.tip_to_holes_mm


def _ahead_words(case: SwapCase, ahead: float) -> Message:
    if case.new.mounting is Mounting.PLUG_IN:
        return message("swap.alignment.plug_in")
    if abs(ahead) < 0.05:
        return message("swap.alignment.as_far")
    size = Quantity(abs(ahead), "mm", 1)
    way = "further" if ahead > 0 else "less far"
    return message("swap.alignment.ahead", size=size, way=way)


def _target(case: SwapCase, key: str) -> float | None:
    """Return the target of the old cartridge; its choices stay in force."""
    figure = figure_of(case.back or case.old, NAME, key)
    if figure is not None and case.back is not None:
        return figure.value
    return None if figure is None else figure.target


def _slid(case: SwapCase, key: str, stands: Estimate | None, ahead: float) -> PlanPiece:
    deck = case.deck
    target = _target(case, key)
    tips = math.sqrt(2.0) * TIP_U_MM
    if stands is None or target is None:
        amount = _handy(-ahead)
        reason = "swap.alignment.by_difference_alone"
        return PlanPiece(
            NAME,
            Need.SET,
            None,
            (StepForecast(start(NAME, key, "mm", None, reason, _slide(amount)), 1.0),),
        )
    wanted = -ahead + target - stands.value
    middle = deck.arm.effective_length_mm if deck.arm.is_pivoted else 0.0
    # The wanted place of the holes, from the middle of the slots.
    place = target - case.new.tip_to_holes_mm - (middle - HOLES_TO_TIP_MM)
    inside = min(max(place, -deck.head.slot_back_mm), deck.head.slot_forward_mm)
    over = place - inside
    amount = _handy(wanted - over)
    predicted = Estimate(
        stands.value + ahead + amount, math.hypot(stands.standard_uncertainty, tips, _BY_HAND_MM)
    )
    reason = "swap.alignment.by_difference" if case.back is None else "swap.alignment.back"
    foreseen = StepForecast(start(NAME, key, "mm", predicted, reason, _slide(amount)), 1.0)
    runs_out: tuple[RunsOut, ...] = ()
    if abs(over) > deck.tolerances.landing_mm:
        size = Quantity(abs(over), "mm", 1)
        cure = message("swap.alignment.longer_slots")
        if deck.head.base_slides:
            cure = message("swap.alignment.base_or_slots")
        runs_out = (
            RunsOut(
                NAME,
                Control.SLIDE,
                message(
                    "swap.alignment.slots_end", size=size, way="forward" if over > 0 else "back"
                ),
                cure,
            ),
        )
    return PlanPiece(NAME, Need.SET, None, (foreseen,), runs_out)


def _handy(amount: float) -> float:
    return round(round(amount / _FINEST_MM) * _FINEST_MM, 3) + 0.0


def _slide(amount: float) -> MovePart | None:
    return MovePart(control=Control.SLIDE, amount=amount, unit="mm") if amount else None


def _held(
    case: SwapCase, key: str, tip: Estimate, words: Message, angle: tuple[StepForecast, ...]
) -> PlanPiece:
    """Predict a cartridge whose place is fixed by its holes."""
    deck = case.deck
    predicted = Estimate(tip.value, math.hypot(tip.standard_uncertainty, math.sqrt(2.0) * TIP_U_MM))
    old = figure_of(case.old, NAME, key)
    target = old.target if old is not None else None
    part = _base_move(case, tip.value) if deck.head.base_slides else None
    reason = "swap.alignment.nothing_slides"
    if part is not None:
        reason += " swap.alignment.base_makes_up"
    foreseen = StepForecast(start(NAME, key, "mm", predicted, reason, part))
    runs_out: tuple[RunsOut, ...] = ()
    off = 0.0 if target is None else tip.value - target
    if abs(off) > deck.tolerances.landing_mm and part is None:
        size = Quantity(abs(off), "mm", 1)
        runs_out = (
            RunsOut(
                NAME,
                Control.SLIDE,
                message("swap.alignment.tip_off", size=size, way="forward" if off > 0 else "back"),
                message("swap.alignment.slotted_head"),
                is_fixed=True,
            ),
        )
    adjusts = part is not None
    return PlanPiece(
        NAME, Need.SET if adjusts else Need.CONFIRM, words, (foreseen, *angle), runs_out
    )


def _base_move(case: SwapCase, length_mm: float) -> MovePart | None:
    """Return the move of the arm base for another length: D^2 = L^2 - r1 r2 (derived)."""
    length = figure_of(case.old, NAME, "wanted_length")
    beyond = figure_of(case.old, NAME, "wanted_overhang")
    if length is None or beyond is None:
        return None
    pivot = length.value - beyond.value
    squared = length_mm**2 - (length.value**2 - pivot**2)
    if squared <= 0.0:
        return None
    amount = _handy(math.sqrt(squared) - pivot)
    return MovePart(control=Control.ARM_BASE, amount=amount, unit="mm") if amount else None


def _angle(case: SwapCase, *, slides: bool) -> tuple[StepForecast, ...]:
    """Predict the head's angle: squared by eye in slots, as built elsewhere."""
    key = "offset" if case.deck.arm.is_pivoted else "twist"
    stood = known(case.back or case.old, NAME, key, UNREAD_U)
    if stood is None:
        return ()
    by_eye = _BY_EYE_DEG if slides else 0.0
    spread = math.hypot(stood.standard_uncertainty, by_eye, math.sqrt(2.0) * _BUILT_DEG)
    reason = "swap.alignment.square" if slides else "swap.alignment.angle_of_head"
    return (StepForecast(start(NAME, key, "°", Estimate(stood.value, spread), reason)),)


def gain_sources(deck: Deck) -> Iterator[GainSource]:
    """Yield nothing: a slide and a twist have a known gain."""
    del deck
    return iter(())
