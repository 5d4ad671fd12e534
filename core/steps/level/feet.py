"""The feet of the deck: travel left, lifts made, and orders."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from core.fitting import Control, Move, MovePart
from core.language import Eighths, Message, Name, Quantity, Series, message
from core.physics.feet import FootPlan, FootTravel, plan_shims, slope_after_lifts, turns_of_lift
from core.records import Deck

_LEAST_LIFT_MM: Final = 0.005
_SHIM_STEP_MM: Final = 0.05
"""Shim stock comes in steps of about this: common practice, no source."""
_FINEST_TURN: Final = 1 / 16
"""The smallest turn made on purpose: our assumption."""


def feet_of(deck: Deck, lifts: Sequence[tuple[float, ...] | None]) -> list[FootTravel]:
    """Return the feet for the formulas, with the travel that is left.

    ``lifts`` are millimetres per foot for each set of moves made, None where not known.
    """
    feet: list[FootTravel] = []
    for place, foot in enumerate(deck.plinth.feet):
        used = sum(lift[place] for lift in lifts if lift is not None) if foot.can_be_turned else 0.0
        feet.append(
            FootTravel(
                foot.x_mm,
                foot.y_mm,
                foot.can_be_turned,
                max(foot.travel_up_mm - used, 0.0),
                max(foot.travel_down_mm + used, 0.0),
            )
        )
    return feet


def lifts_of(parts: Sequence[MovePart], deck: Deck) -> tuple[float, ...] | None:
    """Return millimetres per foot of moves made; None if a part can't be converted."""
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
    """Return the change of slope by the finest turn of one foot, mm/m; 0 if unknown."""
    pitch = deck.plinth.pitch_mm_per_turn
    if pitch is None:
        return 0.0
    places = [(foot.x_mm, foot.y_mm) for foot in deck.plinth.feet]
    widest = max(math.dist(one, other) for one in places for other in places)
    return 1000.0 * _FINEST_TURN * pitch / widest


def move_of(
    plan: FootPlan, deck: Deck, gains: Sequence[float]
) -> tuple[Move, Message, dict[str, Message]]:
    """Return the move for a plan, its headline, and the label of each foot.

    ``gains`` is each foot's real share of an ordered lift; the move compensates it.
    """
    pitch = deck.plinth.pitch_mm_per_turn
    parts: list[MovePart] = []
    changes: dict[str, Message] = {}
    orders: list[Message] = []
    bare: list[Message] = []
    made: list[float] = []
    said = ""
    for foot, real, gain in zip(deck.plinth.feet, plan.lifts_mm, gains, strict=True):
        lift = real / gain
        made.append(real)
        if abs(lift) < _LEAST_LIFT_MM:
            if foot.adjustable:
                changes[foot.name] = message("level.feet.stays")
            continue
        way = "longer" if lift > 0 else "shorter"
        length = Quantity(abs(lift), "mm")
        if pitch is None:
            part = MovePart(control=Control.FOOT, amount=round(lift, 3), unit="mm", where=foot.name)
            changes[foot.name] = message("level.feet.by_length", way=way, length=length)
            orders.append(_by_length(way, foot.name, length, said=said))
        else:
            turns = turns_of_lift(lift, pitch)
            told = _told(turns) * pitch
            length = Quantity(abs(told), "mm")
            made[-1] = told * gain
            part = MovePart(
                control=Control.FOOT,
                amount=round(turns, 4),
                unit="turns",
                where=foot.name,
                equivalent_mm=round(lift, 4),
            )
            changes[foot.name] = message(
                "level.feet.by_turns",
                way=way,
                turns=Eighths(turns),
                length=length,
            )
            orders.append(_by_turns(way, foot.name, Eighths(turns), length, said=said))
            bare.append(_by_turns(way, foot.name, Eighths(turns), None, said=said))
        said = way
        parts.append(part)
    order = message("level.feet.all_moves", orders=Series(tuple(orders)))
    stays = sum(foot.adjustable for foot in deck.plinth.feet) > len(parts)
    rests = [told - real for told, real in zip(made, plan.lifts_mm, strict=True)]
    slope = slope_after_lifts(plan.remaining_mm_per_m, rests, feet_of(deck, ()))
    left = Quantity(math.hypot(*slope), "mm/m", 1)
    move = Move(
        sentence=order,
        parts=tuple(parts),
        predicted=message("level.feet.predicted", size=left),
        reason=message("level.feet.why", ways=_ways(parts, stays=stays)),
    )
    shortest = message("level.turn_feet", count=len(parts))
    if bare:
        shortest = replace(
            message("level.feet.all_moves", orders=Series(tuple(bare))), short=shortest
        )
    headline = replace(order, short=shortest)
    return move, headline, changes


def _ways(parts: Sequence[MovePart], *, stays: bool) -> str:
    """Return which way an order turns its feet, and whether some that can be turned stay."""
    ups = {part.amount > 0.0 for part in parts}
    if len(ups) > 1:
        return "both"
    return f"{'some' if stays else 'all'} {'raised' if True in ups else 'lowered'}"


def _by_length(way: str, foot: str, length: Quantity, *, said: str) -> Message:
    """Return the order for one foot; ``said`` is the way of the order before it, if any."""
    called = called_in_words(foot)
    if not said:
        return message("level.feet.first_by_length", way=way, foot=called, length=length)
    if said == way:
        return message("level.feet.also_by_length", foot=called, length=length)
    return message("level.feet.then_by_length", way=way, foot=called, length=length)


def _by_turns(
    way: str, foot: str, turns: Eighths, length: Quantity | None, *, said: str
) -> Message:
    """Return the same in turns, with the length beside it if there is one."""
    called = called_in_words(foot)
    amount: Message | Eighths = turns
    if length is not None:
        amount = message("level.feet.turns_and_length", turns=turns, length=length)
    if not said:
        return message("level.feet.first_by_turns", way=way, foot=called, amount=amount)
    if said == way:
        return message("level.feet.also_by_turns", foot=called, amount=amount)
    return message("level.feet.then_by_turns", way=way, foot=called, amount=amount)


def called_in_words(foot: str) -> Name | Message:
    """Return what a foot is called in a sentence: its name may say already that it is one."""
    said = Name(foot)
    return said if "foot" in foot.lower() else message("level.feet.named", foot=said)


def _told(turns: float) -> float:
    """Return the turns rounded to eighths; smaller turns unchanged."""
    return round(turns * 8.0) / 8.0 or turns


def shims_of(slope_mm_per_m: tuple[float, float], deck: Deck) -> Move | None:
    """Return shims under the feet that would level the deck, or None if none are needed."""
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
    orders = [
        message(
            "level.feet.shim_under",
            thickness=Quantity(part.amount, "mm"),
            foot=called_in_words(part.where),
        )
        for part in parts
    ]
    return Move(
        sentence=message("level.feet.shims", orders=Series(tuple(orders))),
        parts=tuple(parts),
        predicted=message("level.feet.shims_predicted"),
        reason=message("level.feet.shims_why"),
    )
