"""The deck's feet between the log and the formulas: travel left, lifts made, orders in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from core.fitting import (
    Control,
    Move,
    MovePart,
)
from core.language import Numbers, listed
from core.physics.feet import FootPlan, FootTravel, plan_shims, turns_of_lift
from core.records import Deck

_LEAST_LIFT_MM: Final = 0.005
_SHIM_STEP_MM: Final = 0.05
"""Shim stock comes in steps of about this: common practice, no source."""
_FINEST_TURN: Final = 1 / 16
"""What a hand still turns on purpose: our assumption."""


def feet_of(deck: Deck, lifts: Sequence[tuple[float, ...] | None]) -> list[FootTravel]:
    """Return the feet for the formulas, their travel less what was turned already.

    ``lifts`` are millimetres per foot for each set of moves made, None where not known.
    """
    feet: list[FootTravel] = []
    for place, foot in enumerate(deck.plinth.feet):
        used = sum(lift[place] for lift in lifts if lift is not None) if foot.adjustable else 0.0
        feet.append(
            FootTravel(
                foot.x_mm,
                foot.y_mm,
                foot.adjustable,
                max(foot.travel_up_mm - used, 0.0),
                max(foot.travel_down_mm + used, 0.0),
            )
        )
    return feet


def lifts_of(parts: Sequence[MovePart], deck: Deck) -> tuple[float, ...] | None:
    """Return millimetres per foot of moves made; None when some part can't be put in mm."""
    lifts = {foot.name: 0.0 for foot in deck.plinth.feet}
    for part in parts:
        if part.control not in (Control.FOOT, Control.FOOT_SHIM) or part.where not in lifts:
            continue
        length = part.equivalent_mm
        if length is None and part.unit == "mm":
            length = part.amount
        if length is None and deck.plinth.pitch_mm_per_turn is not None:
            length = part.amount * deck.plinth.pitch_mm_per_turn
        if length is None or not math.isfinite(length):
            return None
        lifts[part.where] += max(-1000.0, min(1000.0, length))
    return tuple(lifts.values())


def smallest_slope(deck: Deck) -> float:
    """Return what the finest turn of one foot changes the slope by, mm/m; 0 if not known."""
    pitch = deck.plinth.pitch_mm_per_turn
    if pitch is None:
        return 0.0
    places = [(foot.x_mm, foot.y_mm) for foot in deck.plinth.feet]
    widest = max(math.dist(one, other) for one in places for other in places)
    return 1000.0 * _FINEST_TURN * pitch / widest


def move_of(
    plan: FootPlan, deck: Deck, numbers: Numbers, gains: Sequence[float]
) -> tuple[Move, dict[str, str]]:
    """Return the order for a plan, and what to write at each foot.

    ``gains`` is what share of a lift asked for each foot really makes; the order makes up for it.
    """
    pitch = deck.plinth.pitch_mm_per_turn
    parts: list[MovePart] = []
    words: dict[str, str] = {}
    for foot, real, gain in zip(deck.plinth.feet, plan.lifts_mm, gains, strict=True):
        lift = real / gain
        if abs(lift) < _LEAST_LIFT_MM:
            if foot.adjustable:
                words[foot.name] = "stays"
            continue
        longer = "longer" if lift > 0 else "shorter"
        length = numbers.unit(abs(lift), "mm")
        if pitch is None:
            part = MovePart(control=Control.FOOT, amount=round(lift, 3), unit="mm", where=foot.name)
            words[foot.name] = f"{length} {longer}"
        else:
            turns = turns_of_lift(lift, pitch)
            part = MovePart(
                control=Control.FOOT,
                amount=round(turns, 4),
                unit="turns",
                where=foot.name,
                equivalent_mm=round(lift, 4),
            )
            words[foot.name] = f"{numbers.turns(turns)} {longer} ({length})"
        parts.append(part)
    orders = [f"{part.where} {words[part.where]}" for part in parts]
    left = numbers.unit(plan.remaining_tilt_mm_per_m, "mm/m", 1)
    move = Move(
        sentence=_sentence(orders),
        parts=tuple(parts),
        predicted=f"Tilt about {left}.",
        reason="The highest foot that can be turned stays; the others come up to it. Seen from "
        "above, an ordinary thread gets longer clockwise.",
    )
    return move, words


def shims_of(slope_mm_per_m: tuple[float, float], deck: Deck, numbers: Numbers) -> Move | None:
    """Return shims under the feet that would level the deck, or None if none would be needed."""
    plan = plan_shims(slope_mm_per_m, feet_of(deck, ()))
    parts = []
    for foot, lift in zip(deck.plinth.feet, plan.lifts_mm, strict=True):
        thickness = round(round(lift / _SHIM_STEP_MM) * _SHIM_STEP_MM, 2)
        if thickness > 0:
            parts.append(
                MovePart(control=Control.FOOT_SHIM, amount=thickness, unit="mm", where=foot.name)
            )
    if not parts:
        return None
    orders = [f"{numbers.unit(part.amount, 'mm')} under {part.where}" for part in parts]
    return Move(
        sentence=f"Lay shims: {listed(orders)}.",
        parts=tuple(parts),
        predicted="Tilt near zero.",
        reason="A shim can also go under the matching spike of the shelf or rack.",
    )


def _sentence(orders: Sequence[str]) -> str:
    text = listed(list(orders))
    return f"{text[:1].upper()}{text[1:]}."
