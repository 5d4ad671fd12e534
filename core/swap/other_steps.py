"""What a swap means for level, mount, skating and speed."""

from __future__ import annotations

import math
from typing import Final

from core.estimation import Estimate
from core.fitting import (
    Context,
    Control,
    Figure,
    MovePart,
)
from core.physics.resonance import GOOD_HIGH_HZ, GOOD_LOW_HZ
from core.records import HeadKind, Mounting
from core.steps import level as level_step
from core.steps import skating as skating_step
from core.steps import speed as speed_step
from core.steps.mount import Advice
from core.steps.skating import (
    DIALS,
    RisingBands,
    Settings,
    SideForce,
    said_of,
    settings_of,
    side_force_of,
)
from core.swap.downforce import new_head
from core.swap.model import (
    Need,
    Past,
    RunsOut,
)
from core.swap.settings import (
    PlanPiece,
    StepForecast,
    SwapCase,
    figure_of,
    known,
    start,
)

_SETTLED_MM_PER_M: Final = 0.3
_DRIFTED_PERCENT: Final = 0.1
"""How much a deck's level and speed wander while it stands: one standard uncertainty, our own
estimates."""

_OF_A_LENGTH: Final = 1.25
"""Two slopes at once: 95 % of a circle reaches 2.45 standard uncertainties, of a line 1.96."""

_SHAPES_SHARE: Final = 0.25
_RULE_SHARE: Final = 0.4
"""How far what truly balances may lie from the rule, and from another stylus's proportion, as a
share of the downforce: friction spans 0.2 to 0.5 (practice). One standard uncertainty, ours."""

_UNREAD: Final = 0.5


def cannot_fit(case: SwapCase) -> str:
    """Return why the cartridge can't be held by this head, empty if it can."""
    plug_in = case.new.mounting is Mounting.PLUG_IN
    if plug_in == (case.deck.head.kind is HeadKind.PLUG_IN):
        return ""
    has, wants = ("half-inch", "plug-in") if plug_in else ("plug-in", "half-inch")
    return (
        f"This cartridge does not fit: the head is {has}, the cartridge {wants}. Take another, or "
        "correct the deck's head if an adapter is on."
    )


def level(case: SwapCase) -> PlanPiece:
    """Say that the level is confirmed, not set."""
    reads = level_step.applies(case.deck, case.new)
    if not reads.reads:
        return PlanPiece("level", Need.NOTHING, case.numbers.text(reads.reason))
    stood = known(case.old, "level", "tilt", _UNREAD)
    if stood is None:
        return PlanPiece("level", Need.SET, "The level of this deck was never read.")
    spread = math.hypot(_OF_A_LENGTH * stood.standard_uncertainty, _SETTLED_MM_PER_M)
    why = "Another cartridge does not move the plinth."
    foreseen = StepForecast(start("level", "tilt", "mm/m", Estimate(stood.value, spread), why))
    left = case.numbers.unit(stood.value, "mm/m", 1)
    reason = f"{why} It was left at {left}: one reading confirms it."
    return PlanPiece("level", Need.CONFIRM, reason, (foreseen,))


def speed(case: SwapCase) -> PlanPiece:
    """Say that the speed is confirmed, not set."""
    reads = speed_step.applies(case.deck, case.new)
    if not reads.reads:
        return PlanPiece("speed", Need.NOTHING, case.numbers.text(reads.reason))
    key = f"speed_error_{int(case.deck.platter.speeds_rpm[0])}"
    stood = known(case.old, "speed", key, _UNREAD)
    if stood is None:
        return PlanPiece("speed", Need.SET, "The speed of this deck was never read.")
    spread = math.hypot(stood.standard_uncertainty, _DRIFTED_PERCENT)
    why = "Another cartridge hardly drags on the platter."
    foreseen = StepForecast(start("speed", key, "%", Estimate(stood.value, spread), why))
    left = case.numbers.signed_unit(stood.value, "%")
    reason = f"{why} It was left at {left}: one reading confirms it, once warm."
    return PlanPiece("speed", Need.CONFIRM, reason, (foreseen,))


def mount(case: SwapCase) -> PlanPiece:
    """Foretell the mass at the head."""
    head = new_head(case)
    why = "As the maker states it, hardware in; weigh it if there is any doubt."
    if case.back is not None:
        why = "As it was when this cartridge was last fitted."
    foreseen = StepForecast(start("mount", "head_mass", "g", head, why))
    mass = case.numbers.within(head.value, head.half_width(), "g", 1)
    reason = f"Screws, leads and guard are a matter of every mounting. Expect {mass} at the head."
    return PlanPiece("mount", Need.SET, reason, (foreseen,))


def resonance(case: SwapCase) -> tuple[Figure | None, str]:
    """Return the new resonance and a sentence on it."""
    head = new_head(case)
    figure = Advice(case.deck, case.new, head, case.numbers).figures
    found = next((one for one in figure if one.key == "resonance"), None)
    if found is None:
        return None, "Its compliance is not known, so its resonance can't be worked out."
    numbers = case.numbers
    said = numbers.within(found.value, found.half_width or 0.0, "Hz", 1)
    low, high = GOOD_LOW_HZ, GOOD_HIGH_HZ
    band = f"{numbers.short(low)} to {numbers.unit(high, 'Hz', 0)}"
    old = figure_of(case.old, "mount", "resonance")
    before = f", before {numbers.unit(old.value, 'Hz', 1)}" if old is not None else ""
    if low <= found.value <= high:
        return found, f"Resonance about {said}{before}: inside {band} (common practice)."
    to_add = next((one.value for one in figure if one.key == "mass_to_add"), 0.0)
    amount = numbers.unit(abs(to_add), "g", 1)
    more = f"{amount} {'more' if to_add > 0 else 'less'} at the head would bring it to the middle"
    return found, (
        f"Resonance about {said}{before}: outside {band} (common practice). {more}. It is advice "
        "and stops nothing."
    )


def skating(case: SwapCase) -> PlanPiece:
    """Foretell the skating setting: by downforce, as the old one was found, or by rule."""
    applies = skating_step.applies(case.deck, case.new)
    if not applies.reads:
        return PlanPiece("skating", Need.NOTHING, case.numbers.text(applies.reason))
    there = _settings(case)
    if there is None:
        return PlanPiece("skating", Need.SET, "Set it by rule, then by ear.")
    force, settings = there
    here = _mark_of(case.old, settings)
    place, spread, why, reason = _wanted(case, force, settings)
    value = settings.answers_gf(place, force)
    predicted = Estimate(value, math.hypot(spread, _coarseness(settings, force, place)))
    amount = 0.0 if here is None else round(settings.marks[place] - here, 6)
    part = MovePart(control=Control.SKATING, amount=amount, unit=settings.unit) if amount else None
    foreseen = StepForecast(start("skating", "setting", "gf", predicted, why, part))
    said = case.numbers.value(said_of(settings, place))
    return PlanPiece(
        "skating",
        Need.SET,
        f"{reason} Begin with {said}.",
        (foreseen,),
        _past_the_last(case, force, settings),
    )


def _settings(case: SwapCase) -> tuple[SideForce, Settings] | None:
    found = {"alignment": case.old.journey.status("alignment").assessment}
    context = Context("skating", case.deck, case.new, case.numbers, found=found)
    force = side_force_of(context)
    settings = settings_of(case.deck, force) if force is not None else None
    return None if force is None or settings is None else (force, settings)


def _mark_of(past: Past, settings: Settings) -> float | None:
    """Return the mark or notch that a fitting left."""
    key = "setting" if settings.control in DIALS else "notch"
    figure = figure_of(past, "skating", key)
    return None if figure is None else figure.value


def _wanted(case: SwapCase, force: SideForce, settings: Settings) -> tuple[int, float, str, str]:
    """Return the place, its uncertainty in gf of downforce answered, and why, twice."""
    new_gf, old_gf = case.new.downforce_target_gf, case.old.cartridge.downforce_target_gf
    if case.back is not None:
        mark = _mark_of(case.back, settings)
        place = settings.place_of(mark) if mark is not None else None
        if place is not None:
            why = "It was found so with this cartridge."
            return place, 0.05 * new_gf, why, why
    shape = case.new.stylus is not case.old.cartridge.stylus
    own = "Take the scale for its stylus shape where the dial has one." if shape else ""
    setting = figure_of(case.old, "skating", "setting")
    trials = case.old.journey.status("skating").trials
    by_ear = any(isinstance(trial.reading, RisingBands) for trial in trials)
    if setting is None or not by_ear:
        why = f"By rule of practice, for the new downforce. {own}".strip()
        reason = "Side force goes with downforce, and with the shape of the stylus."
        return settings.by_rule, _RULE_SHARE * new_gf, why, reason
    wanted = setting.value * new_gf / old_gf
    places = range(len(settings.marks))
    place = min(places, key=lambda i: abs(settings.answers_gf(i, force) - wanted))
    why = f"In proportion to downforce, from what was found by ear with the old one. {own}"
    reason = "Side force goes with downforce; the old setting was found by ear."
    share = math.hypot(0.1, _SHAPES_SHARE if shape else 0.1)
    return place, share * new_gf, why.strip(), reason


def _coarseness(settings: Settings, force: SideForce, place: int) -> float:
    """Return what the distance to the next setting leaves open, one standard uncertainty, gf."""
    here = settings.answers_gf(place, force)
    beside = [p for p in (place - 1, place + 1) if 0 <= p <= settings.last]
    gap = max((abs(settings.answers_gf(p, force) - here) for p in beside), default=0.0)
    return gap / math.sqrt(12.0)


def _past_the_last(case: SwapCase, force: SideForce, settings: Settings) -> tuple[RunsOut, ...]:
    wanted = case.new.downforce_target_gf
    last = settings.answers_gf(settings.last, force)
    if settings.by_rule == 0 or last >= 0.9 * wanted:
        return ()
    numbers = case.numbers
    weight = settings.control not in DIALS
    cure = (
        "A heavier weight on the thread, in proportion."
        if weight
        else "Leave it at the last mark; downforce at the upper end of the range helps most."
    )
    return (
        RunsOut(
            "skating",
            Control.SKATING,
            f"The last setting answers {numbers.unit(last, 'gf')} of downforce, and "
            f"{numbers.unit(wanted, 'gf')} is wanted.",
            cure,
        ),
    )
