"""Where another cartridge goes in the head: slots and angle, and how upright it will stand."""

from __future__ import annotations

import math
from typing import Final

from core.estimation import Estimate
from core.fitting import Control, MovePart
from core.records import Mounting, TiltControl
from core.steps import alignment as alignment_step
from core.steps import tilt as tilt_step
from core.steps.alignment import head_slides
from core.steps.shared.swap_part import (
    TIP_U_MM,
    Need,
    PlanPiece,
    RunsOut,
    StepForecast,
    SwapCase,
    figure_of,
    known,
    net_of,
    parts_of,
    start,
)
from core.steps.tilt import rolled_by

ALIGNMENT: Final = "alignment"
TILT: Final = "tilt"

HOLES_TO_TIP_MM: Final = 9.5
"""Mounting-hole centre to stylus, to which slots are made: IEC 98:1987, 9.5 mm (second-hand)."""

_UNREAD_U: Final = 0.5
_BY_HAND_MM: Final = 0.4
"""How exactly a cartridge is put where another was: one standard uncertainty, our estimate."""

_BY_EYE_DEG: Final = 1.2
_BUILT_DEG: Final = 0.5
"""How exactly a body is squared in its head by eye, and how true a tip stands in its body as seen
from above: one standard uncertainty each, our estimates."""

_LEAN_DEG: Final = 1.2
"""How far a body leans on its own mounting face: one standard uncertainty, our estimate."""

_FINEST_MM: Final = 0.1


def alignment(case: SwapCase) -> PlanPiece:
    """Foretell how far the cartridge is slid, and where its tip then stands."""
    applies = alignment_step.applies(case.deck, case.new)
    slides = head_slides(case.deck, case.new)
    key = "effective_length" if case.deck.arm.is_pivoted else "slide"
    ahead = _further_ahead_mm(case)
    stands = known(case.old, ALIGNMENT, key, _UNREAD_U)
    words = _ahead_words(case, ahead)
    angle = _angle(case, slides=slides)
    if slides:
        piece = _slid(case, key, stands, ahead)
        return PlanPiece(ALIGNMENT, Need.SET, words, (*piece.starts, *angle), piece.runs_out)
    if stands is None:
        need = Need.SET if applies.adjusts else Need.CONFIRM
        return PlanPiece(ALIGNMENT, need, f"{words} How it stood before is not on record.", angle)
    return _held(case, key, stands.shifted(ahead), words, angle)


def _further_ahead_mm(case: SwapCase) -> float:
    """Return how much further its tip lies ahead of its holes than the old one's, mm."""
    if Mounting.PLUG_IN in (case.new.mounting, case.old.cartridge.mounting):
        return 0.0
    return case.new.tip_to_holes_mm - case.old.cartridge.tip_to_holes_mm


def _ahead_words(case: SwapCase, ahead: float) -> str:
    if case.new.mounting is Mounting.PLUG_IN:
        return "Plug-in cartridges are made to bring the tip to the same place: read it."
    if abs(ahead) < 0.05:
        return "Its tip lies as far ahead of the holes as the old one's; read both nulls."
    size = case.numbers.unit(abs(ahead), "mm", 1)
    return f"Its tip lies {size} {'further' if ahead > 0 else 'less far'} ahead of its holes."


def _target(case: SwapCase, key: str) -> float | None:
    """Return what the old cartridge was aligned to; what was chosen then goes on."""
    figure = figure_of(case.back or case.old, ALIGNMENT, key)
    if figure is not None and case.back is not None:
        return figure.value
    return None if figure is None else figure.target


def _slid(case: SwapCase, key: str, stands: Estimate | None, ahead: float) -> PlanPiece:
    numbers, deck = case.numbers, case.deck
    target = _target(case, key)
    tips = math.sqrt(2.0) * TIP_U_MM
    if stands is None or target is None:
        amount = _handy(-ahead)
        reason = "By the difference of both distances from holes to tip; where it was is not known."
        return PlanPiece(
            ALIGNMENT,
            Need.SET,
            "",
            (StepForecast(start(ALIGNMENT, key, "mm", None, reason, _slide(amount)), 1.0),),
        )
    wanted = -ahead + target - stands.value
    middle = deck.arm.effective_length_mm if deck.arm.is_pivoted else 0.0
    # Where the holes must come, from the middle of the slots.
    place = target - case.new.tip_to_holes_mm - (middle - HOLES_TO_TIP_MM)
    inside = min(max(place, -deck.head.slot_back_mm), deck.head.slot_forward_mm)
    over = place - inside
    amount = _handy(wanted - over)
    predicted = Estimate(
        stands.value + ahead + amount, math.hypot(stands.standard_uncertainty, tips, _BY_HAND_MM)
    )
    if case.back is not None:
        reason = "Back to where its tip stood, reckoned from where the old cartridge's holes are."
    else:
        reason = (
            "By the difference of both distances from holes to tip, and what the old one was off: "
            "the tip comes to the length chosen before."
        )
    foreseen = StepForecast(start(ALIGNMENT, key, "mm", predicted, reason, _slide(amount)), 1.0)
    runs_out: tuple[RunsOut, ...] = ()
    if abs(over) > deck.tolerances.landing_mm:
        size = numbers.unit(abs(over), "mm", 1)
        way = "forward" if over > 0 else "back"
        cure = "A headshell with longer slots, or another place of its holes"
        if deck.head.base_slides:
            cure = f"The arm base slides: move it, and the target with it. {cure}"
        runs_out = (
            RunsOut(
                ALIGNMENT,
                Control.SLIDE,
                f"The slots end {size} short of where its holes must go, {way}.",
                f"{cure}. The step offers the best within reach.",
            ),
        )
    return PlanPiece(ALIGNMENT, Need.SET, "", (foreseen,), runs_out)


def _handy(amount: float) -> float:
    return round(round(amount / _FINEST_MM) * _FINEST_MM, 3) + 0.0


def _slide(amount: float) -> MovePart | None:
    return MovePart(control=Control.SLIDE, amount=amount, unit="mm") if amount else None


def _held(
    case: SwapCase, key: str, tip: Estimate, words: str, angle: tuple[StepForecast, ...]
) -> PlanPiece:
    """Foretell a cartridge that sits where its holes put it."""
    deck, numbers = case.deck, case.numbers
    predicted = Estimate(tip.value, math.hypot(tip.standard_uncertainty, math.sqrt(2.0) * TIP_U_MM))
    old = figure_of(case.old, ALIGNMENT, key)
    target = old.target if old is not None else None
    part = _base_move(case, tip.value) if deck.head.base_slides else None
    reason = "Nothing slides in this head: the tip comes to where the body puts it."
    if part is not None:
        reason += " The arm base makes up for it."
    foreseen = StepForecast(start(ALIGNMENT, key, "mm", predicted, reason, part))
    runs_out: tuple[RunsOut, ...] = ()
    off = 0.0 if target is None else tip.value - target
    if abs(off) > deck.tolerances.landing_mm and part is None:
        size = numbers.unit(abs(off), "mm", 1)
        runs_out = (
            RunsOut(
                ALIGNMENT,
                Control.SLIDE,
                f"The tip will stand {size} too far {'forward' if off > 0 else 'back'}, and "
                "nothing slides in this head.",
                "A headshell with slots, if this arm takes one, or a cartridge whose tip lies as "
                "far ahead of its holes as the old one's.",
            ),
        )
    adjusts = part is not None
    return PlanPiece(
        ALIGNMENT, Need.SET if adjusts else Need.CONFIRM, words, (foreseen, *angle), runs_out
    )


def _base_move(case: SwapCase, length_mm: float) -> MovePart | None:
    """Return how far the arm base goes for another length: D^2 = L^2 - r1 r2 (derived)."""
    length = figure_of(case.old, ALIGNMENT, "wanted_length")
    beyond = figure_of(case.old, ALIGNMENT, "wanted_overhang")
    if length is None or beyond is None:
        return None
    pivot = length.value - beyond.value
    squared = length_mm**2 - (length.value**2 - pivot**2)
    if squared <= 0.0:
        return None
    amount = _handy(math.sqrt(squared) - pivot)
    return MovePart(control=Control.ARM_BASE, amount=amount, unit="mm") if amount else None


def _angle(case: SwapCase, *, slides: bool) -> tuple[StepForecast, ...]:
    """Foretell the angle of the head: squared by eye in slots, as built elsewhere."""
    key = "offset" if case.deck.arm.is_pivoted else "twist"
    stood = known(case.back or case.old, ALIGNMENT, key, _UNREAD_U)
    if stood is None:
        return ()
    by_eye = _BY_EYE_DEG if slides else 0.0
    spread = math.hypot(stood.standard_uncertainty, by_eye, math.sqrt(2.0) * _BUILT_DEG)
    reason = (
        "Square the body in the head as the old one stood; the grids tell the rest."
        if slides
        else "The head gives the angle: as before, but for how the tip stands in its body."
    )
    return (StepForecast(start(ALIGNMENT, key, "°", Estimate(stood.value, spread), reason)),)


def tilt(case: SwapCase) -> PlanPiece:
    """Foretell how upright it stands before anything is turned for it."""
    applies = tilt_step.applies(case.deck, case.new)
    need = Need.SET if applies.adjusts else Need.CONFIRM
    reason = "Bodies lean on their own mounting faces, each by its own: read it anew."
    if not applies.adjusts:
        reason = f"{reason} {applies.reason}"
    back = case.back
    stood = known(back or case.old, TILT, "tilt", _UNREAD_U)
    if stood is None:
        return PlanPiece(TILT, need, reason)
    shimmed = case.deck.tilt.control is TiltControl.SHIM
    if back is not None:
        return PlanPiece(TILT, need, "It leaned so before: confirm it.", (_tilt_back(case, stood),))
    value, why = stood.value, "The head stays as it is; what the new body leans by is not known."
    if shimmed:
        shims = tuple(parts_of([case.old], Control.TILT_SHIM))
        value -= rolled_by(shims)
        if shims:
            why = "The shims under the old cartridge come out; how the new body leans is not known."
    spread = math.hypot(stood.standard_uncertainty, math.sqrt(2.0) * _LEAN_DEG)
    return PlanPiece(
        TILT, need, reason, (StepForecast(start(TILT, "tilt", "°", Estimate(value, spread), why)),)
    )


def _tilt_back(case: SwapCase, stood: Estimate) -> StepForecast:
    """Turn the head back to where it stood with this cartridge, or shim it as it was."""
    why = "It stood so with this cartridge."
    if case.deck.tilt.control is TiltControl.SHIM:
        was = parts_of([case.back] if case.back else [], Control.TILT_SHIM)
        net = net_of(was, lambda part: part.amount, 0.0)
        thickness = round(net.value, 3) if net is not None else 0.0
        part = (
            MovePart(control=Control.TILT_SHIM, amount=thickness, unit="mm") if thickness else None
        )
        spread = math.hypot(stood.standard_uncertainty, 0.3)
        return StepForecast(start(TILT, "tilt", "°", Estimate(stood.value, spread), why, part))
    net = net_of(parts_of(case.since_back, Control.TILT), lambda part: part.amount, 0.1)
    turned = net if net is not None else Estimate(0.0, 2.0)
    amount = round(-turned.value, 2)
    part = MovePart(control=Control.TILT, amount=amount, unit="°") if amount else None
    spread = math.hypot(stood.standard_uncertainty, turned.standard_uncertainty, 0.3)
    return StepForecast(start(TILT, "tilt", "°", Estimate(stood.value, spread), why, part))
