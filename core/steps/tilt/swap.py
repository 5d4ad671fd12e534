"""The predicted tilt of another cartridge before anything is turned for it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from core.estimation import MOVE_SHARE, Estimate
from core.fitting import Control, MovePart
from core.language import Message, message
from core.records import Deck, TiltControl
from core.steps.shared.gain_samples import LEAST_MADE, GainSource, Sample, samples_of
from core.steps.shared.swap_part import (
    UNREAD_U,
    Need,
    Past,
    PlanPiece,
    StepForecast,
    SwapCase,
    known,
    net_of,
    parts_of,
    start,
)
from core.steps.tilt.control import rolled_by
from core.steps.tilt.doubts import counted
from core.steps.tilt.judge import applies
from core.steps.tilt.judge_by_gaps import GapJudge
from core.steps.tilt.readings import NAME

_LEAN_DEG: Final = 1.2
"""Lean of a body on its own mounting face: one standard uncertainty, our estimate."""


def gain_sources(deck: Deck) -> Iterator[GainSource]:
    """Yield the effect of the head when it was rolled."""
    if deck.tilt.control in (TiltControl.HEAD, TiltControl.COLLAR):
        same = _same_control
        yield GainSource(NAME, Control.TILT, "", "°/°", 1.0, same, _rolled)


def _same_control(deck: Deck) -> TiltControl:
    return deck.tilt.control


def _rolled(past: Past) -> Iterator[Sample]:
    looks = GapJudge(counted(past.journey.context(NAME)))
    yield from samples_of((*looks.history, *(tilt for _, tilt in looks.since)), LEAST_MADE["°/°"])


def forecast(case: SwapCase) -> PlanPiece:
    """Predict the tilt before anything is turned for it."""
    applied = applies(case.deck, case.new)
    need = Need.SET if applied.adjusts else Need.CONFIRM
    reason: Message = message("swap.tilt.read_anew")
    if applied.reason is not None:
        reason = message("swap.tilt.read_anew_fixed", why=applied.reason)
    back = case.back
    stood = known(back or case.old, NAME, "tilt", UNREAD_U)
    if stood is None:
        return PlanPiece(NAME, need, reason)
    shimmed = case.deck.tilt.control is TiltControl.SHIM
    if back is not None:
        return PlanPiece(NAME, need, message("swap.tilt.leaned_so"), (_tilt_back(case, stood),))
    value, why = stood.value, "swap.tilt.head_stays"
    if shimmed:
        shims = tuple(parts_of([case.old], Control.TILT_SHIM))
        value -= rolled_by(shims)
        if shims:
            why = "swap.tilt.shims_out"
    spread = math.hypot(stood.standard_uncertainty, math.sqrt(2.0) * _LEAN_DEG)
    return PlanPiece(
        NAME, need, reason, (StepForecast(start(NAME, "tilt", "°", Estimate(value, spread), why)),)
    )


def _tilt_back(case: SwapCase, stood: Estimate) -> StepForecast:
    """Turn the head back to its position with this cartridge, or shim it as it was."""
    why = "swap.tilt.stood_so"
    if case.deck.tilt.control is TiltControl.SHIM:
        was = parts_of([case.back] if case.back else [], Control.TILT_SHIM)
        net = net_of(was, lambda part: part.amount, 0.0)
        thickness = round(net.value, 3) if net is not None else 0.0
        part = (
            MovePart(control=Control.TILT_SHIM, amount=thickness, unit="mm") if thickness else None
        )
        spread = math.hypot(stood.standard_uncertainty, 0.3)
        return StepForecast(start(NAME, "tilt", "°", Estimate(stood.value, spread), why, part))
    net = net_of(parts_of(case.since_back, Control.TILT), lambda part: part.amount, 0.1)
    turned = net if net is not None else Estimate(0.0, 2.0)
    amount = round(-turned.value, 2)
    part = MovePart(control=Control.TILT, amount=amount, unit="°") if amount else None
    spread = math.hypot(stood.standard_uncertainty, turned.standard_uncertainty, 0.3)
    there = start(NAME, "tilt", "°", Estimate(stood.value, spread), why, part)
    return StepForecast(there) if part is None else StepForecast(there, 1.0, gain_u=MOVE_SHARE)
