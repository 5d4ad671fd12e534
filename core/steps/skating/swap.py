"""Skating with another cartridge: by downforce, as found before, or by rule."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from core.estimation import Estimate
from core.fitting import Context, Control, MovePart
from core.language import Quantity, message
from core.records import Deck
from core.steps.shared import ALIGNMENT
from core.steps.shared.gain_samples import GainSource
from core.steps.shared.swap_part import (
    Need,
    Past,
    PlanPiece,
    RunsOut,
    StepForecast,
    SwapCase,
    figure_of,
    start,
)
from core.steps.skating.force import DIALS, Settings, SideForce, said_of, settings_of, side_force_of
from core.steps.skating.judge import applies
from core.steps.skating.readings import NAME, RisingBands

_SHAPES_SHARE: Final = 0.25
_RULE_SHARE: Final = 0.4
"""Relative error of the rule, and of scaling from another stylus: friction spans 0.2 to 0.5
(practice). One standard uncertainty, ours.
"""


def forecast(case: SwapCase) -> PlanPiece:
    """Predict the skating setting: by downforce, as the old one was found, or by rule."""
    applied = applies(case.deck, case.new)
    if not applied.reads:
        return PlanPiece(NAME, Need.NOTHING, applied.reason)
    there = _settings(case)
    if there is None:
        return PlanPiece(NAME, Need.SET, message("swap.skating.by_rule_then_ear"))
    force, settings = there
    here = _mark_of(case.old, settings)
    place, spread, why, basis = _wanted(case, force, settings)
    value = settings.answers_gf(place, force)
    predicted = Estimate(value, math.hypot(spread, _coarseness(settings, force, place)))
    amount = 0.0 if here is None else round(settings.marks[place] - here, 6)
    part = MovePart(control=Control.SKATING, amount=amount, unit=settings.unit) if amount else None
    foreseen = StepForecast(start(NAME, "setting", "gf", predicted, why, part))
    reason = message("swap.skating.begin", basis=basis, setting=said_of(settings, place))
    return PlanPiece(NAME, Need.SET, reason, (foreseen,), _past_the_last(case, force, settings))


def gain_sources(deck: Deck) -> Iterator[GainSource]:
    """Yield nothing: what a dial does is searched for by ear, not learned."""
    del deck
    return iter(())


def _settings(case: SwapCase) -> tuple[SideForce, Settings] | None:
    found = {ALIGNMENT: case.old.journey.status(ALIGNMENT).assessment}
    context = Context(NAME, case.deck, case.new, found=found)
    force = side_force_of(context)
    settings = settings_of(case.deck, force) if force is not None else None
    return None if force is None or settings is None else (force, settings)


def _mark_of(past: Past, settings: Settings) -> float | None:
    """Return the mark or notch that a fitting left."""
    key = "setting" if settings.control in DIALS else "notch"
    figure = figure_of(past, NAME, key)
    return None if figure is None else figure.value


def _wanted(case: SwapCase, force: SideForce, settings: Settings) -> tuple[int, float, str, str]:
    """Return the setting, its uncertainty in gf of downforce, the reason, and the basis."""
    new_gf, old_gf = case.new.downforce_target_gf, case.old.cartridge.downforce_target_gf
    if case.back is not None:
        mark = _mark_of(case.back, settings)
        place = settings.place_of(mark) if mark is not None else None
        if place is not None:
            return place, 0.05 * new_gf, "swap.skating.found_so", "found"
    shape = case.new.stylus is not case.old.cartridge.stylus
    own = " swap.skating.own_scale" if shape else ""
    setting = figure_of(case.old, NAME, "setting")
    trials = case.old.journey.status(NAME).trials
    by_ear = any(isinstance(trial.reading, RisingBands) for trial in trials)
    if setting is None or not by_ear:
        return settings.by_rule, _RULE_SHARE * new_gf, f"swap.skating.by_rule{own}", "rule"
    wanted = setting.value * new_gf / old_gf
    places = range(len(settings.marks))
    place = min(places, key=lambda i: abs(settings.answers_gf(i, force) - wanted))
    share = math.hypot(0.1, _SHAPES_SHARE if shape else 0.1)
    return place, share * new_gf, f"swap.skating.in_proportion{own}", "ear"


def _coarseness(settings: Settings, force: SideForce, place: int) -> float:
    """Return the uncertainty from the distance to the next setting, one deviation, gf."""
    here = settings.answers_gf(place, force)
    beside = [p for p in (place - 1, place + 1) if 0 <= p <= settings.last]
    gap = max((abs(settings.answers_gf(p, force) - here) for p in beside), default=0.0)
    return gap / math.sqrt(12.0)


def _past_the_last(case: SwapCase, force: SideForce, settings: Settings) -> tuple[RunsOut, ...]:
    wanted = case.new.downforce_target_gf
    last = settings.answers_gf(settings.last, force)
    if settings.by_rule == 0 or last >= 0.9 * wanted:
        return ()
    weight = settings.control not in DIALS
    cure = message("swap.skating.heavier") if weight else message("swap.skating.last_mark")
    return (
        RunsOut(
            NAME,
            Control.SKATING,
            message("swap.skating.ends", last=Quantity(last, "gf"), wanted=Quantity(wanted, "gf")),
            cure,
        ),
    )
