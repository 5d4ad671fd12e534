"""What people get wrong: typed the wrong way round, in another unit, turned on another control.

Drawn from a random stream of their own, so that everything else of a deck stays as it is without
them. The person notices a slip only where the program asks about it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from core.fitting import Control, MovePart
from core.practice.faults import HELD
from core.practice.world import World
from core.records import Balance, Choice, Deck

WRONG_DIRECTION: Final = 0.03
LEFT_FOR_RIGHT: Final = 0.02
WRONG_UNIT: Final = 0.01
WRONG_CONTROL: Final = 0.01
ANSWERS_TRUTHFULLY: Final = 0.95
HELD_FAST: Final = 0.1
"""Share of decks with one control held fast, or a scale that holds its last value."""
SHORT_VIALS: Final = 0.5
"""Share of decks whose level has a vial that ends within `VIAL_DIV` divisions."""
VIAL_DIV: Final = (5.0, 10.0)

_INCH_MM: Final = 25.4
_MN_PER_GF: Final = 9.80665

_SIGNED: Final = (
    "divisions",
    "angle_deg",
    "pitch_deg",
    "landing_mm",
    "inner_landing_mm",
    "outer_landing_mm",
    "inner_deg",
    "outer_deg",
    "head_deg",
)
_TURNED_WORDS: Final = {
    "direction": {"with": "against", "against": "with"},
    "toward": {"marked": "other", "other": "marked"},
}
_SIDES: Final = {
    "broke_first": {"left": "right", "right": "left"},
    "lean": {"left high": "right high", "right high": "left high"},
}
_SWAPPED: Final = (
    ("left_mm", "right_mm"),
    ("left_band_left_db", "right_band_right_db"),
    ("left_band_right_db", "right_band_left_db"),
)
_INSTEAD: Final = {
    Control.COUNTERWEIGHT: Control.SKATING,
    Control.SKATING: Control.COUNTERWEIGHT,
    Control.SLIDE: Control.TWIST,
    Control.TWIST: Control.SLIDE,
    Control.PILLAR: Control.TILT,
    Control.TILT: Control.TWIST,
}


class SlipKind(Choice):
    """What can be got wrong."""

    DIRECTION = "direction", "The other way than entered"
    SIDE = "side", "Left for right"
    UNIT = "unit", "Another unit"
    CONTROL = "control", "Another control"


@dataclass(slots=True)
class Slip:
    """One thing got wrong: in which entry, whether it was put right, and what the hand did."""

    kind: SlipKind
    step: str
    words: str
    entry: str = ""
    caught: bool = False
    done: tuple[MovePart, ...] = ()
    turned_round: bool = False
    """The hand went the other way than the entry says."""


@dataclass(slots=True)
class Slips:
    """What one person gets wrong, and what they answer when they are asked."""

    rng: np.random.Generator
    made: list[Slip] = field(default_factory=list)

    def chance(self, share: float) -> bool:
        """Draw whether something with this chance happens."""
        return float(self.rng.uniform()) < share

    def typed(self, step: str, values: Mapping[str, Any]) -> tuple[dict[str, Any], Slip | None]:
        """Return a reading as it is typed, and what is wrong with it."""
        first, second, third = (self.chance(p) for p in (_D, _S, _U))
        found = dict(values)
        if first and (turned := _turned_round(found)):
            return turned, self._note(SlipKind.DIRECTION, step, found, turned)
        if second and (swapped := _sides_swapped(found)):
            return swapped, self._note(SlipKind.SIDE, step, found, swapped)
        if third and (other := _in_another_unit(found)):
            return other, self._note(SlipKind.UNIT, step, found, other)
        return found, None

    def moved(
        self, step: str, parts: tuple[MovePart, ...], deck: Deck, world: World
    ) -> tuple[tuple[MovePart, ...], tuple[MovePart, ...], Slip | None]:
        """Return a move as it is entered and as the hand makes it, and what is wrong."""
        first, second, third, in_entry = (self.chance(p) for p in (_D, _S, _C, 0.5))
        if any(part.control in (Control.SCREWS, Control.CARTRIDGE) for part in parts):
            return parts, parts, None
        at = int(self.rng.integers(len(parts)))
        part = parts[at]
        if first:
            back = replace_at(parts, at, part.turned_round())
            slip = Slip(SlipKind.DIRECTION, step, f"{part.control} the other way than entered")
            slip.turned_round = True
            self.made.append(slip)
            return (back, parts, slip) if in_entry else (parts, back, slip)
        other = _beside(part, deck) if second else None
        kind = SlipKind.SIDE
        if other is None and third:
            other, kind = _on_another(part, deck, world), SlipKind.CONTROL
        if other is None:
            return parts, parts, None
        slip = Slip(kind, step, f"{other.control} {other.where} for {part.control} {part.where}")
        self.made.append(slip)
        slip.done = (other,)
        return parts, replace_at(parts, at, other), slip

    def open_in(self, step: str, entry: str = "") -> list[Slip]:
        """Return what is still wrong in a step's entries and in the one named, the latest first."""
        left = [slip for slip in self.made[::-1] if not slip.caught]
        return [slip for slip in left if step == slip.step or (entry and slip.entry == entry)]

    def _note(
        self, kind: SlipKind, step: str, right: Mapping[str, Any], wrong: Mapping[str, Any]
    ) -> Slip:
        changed = [f"{k} {wrong[k]} for {right[k]}" for k in wrong if wrong[k] != right[k]]
        slip = Slip(kind, step, ", ".join(changed))
        self.made.append(slip)
        return slip


_D, _S, _U, _C = WRONG_DIRECTION, LEFT_FOR_RIGHT, WRONG_UNIT, WRONG_CONTROL


def with_a_vial(rng: np.random.Generator, deck: Deck) -> Deck:
    """Return the deck with a level whose vial may end early."""
    short, reach = float(rng.uniform()), round(float(rng.uniform(*VIAL_DIV)), 0)
    if short >= SHORT_VIALS:
        return deck
    return deck.model_copy(
        update={"bench": deck.bench.model_copy(update={"bubble_range_div": reach})}
    )


def drawn_held(rng: np.random.Generator) -> str:
    """Return what is held fast on a deck, of :data:`HELD`; mostly nothing."""
    held, which = float(rng.uniform()), int(rng.integers(len(HELD)))
    return tuple(HELD)[which] if held < HELD_FAST else ""


def replace_at(parts: tuple[MovePart, ...], at: int, part: MovePart) -> tuple[MovePart, ...]:
    """Return the move with one part in another's place."""
    return (*parts[:at], part, *parts[at + 1 :])


def _turned_round(values: dict[str, Any]) -> dict[str, Any] | None:
    """Return the reading with one of its directions the other way, None if it has none."""
    turned = {key: -values[key] for key in _SIGNED if _number(values, key)}
    if values.get("way") == "mirror":
        turned = {}
    if "inner_deg" in turned and "landing_mm" in turned:
        turned = {"landing_mm": turned["landing_mm"]}
    for key, words in _TURNED_WORDS.items():
        if values.get(key) in words:
            turned[key] = words[values[key]]
    if "front_mm" in values:
        turned |= {"front_mm": values["rear_mm"], "rear_mm": values["front_mm"]}
    return {**values, **turned} if turned else None


def _sides_swapped(values: dict[str, Any]) -> dict[str, Any] | None:
    swapped: dict[str, Any] = {}
    for one, other in _SWAPPED:
        if one in values:
            swapped |= {one: values[other], other: values[one]}
    for key, words in _SIDES.items():
        if values.get(key) in words:
            swapped[key] = words[values[key]]
    if values.get("direction") == "left-right" and _number(values, "divisions"):
        swapped["divisions"] = -values["divisions"]
    return {**values, **swapped} if any(values[k] != v for k, v in swapped.items()) else None


def _in_another_unit(values: dict[str, Any]) -> dict[str, Any] | None:
    """Return the reading with its lengths in inches, or its downforce in mN."""
    if _number(values, "downforce_gf"):
        return {**values, "downforce_gf": round(values["downforce_gf"] * _MN_PER_GF, 2)}
    kept = ("inner_mm", "outer_mm", "front_diameter_mm", "rear_diameter_mm")
    inches = {
        key: round(values[key] / _INCH_MM, 2)
        for key in values
        if key.endswith("_mm") and key not in kept and _number(values, key)
    }
    return {**values, **inches} if inches else None


def _number(values: Mapping[str, Any], key: str) -> bool:
    value = values.get(key)
    return isinstance(value, int | float) and not isinstance(value, bool) and value != 0.0


def _beside(part: MovePart, deck: Deck) -> MovePart | None:
    """Return the move on the foot at the other side; no other control has a twin there."""
    if part.control not in (Control.FOOT, Control.FOOT_SHIM):
        return None
    feet = {foot.name: foot for foot in deck.plinth.feet}
    here = feet[part.where]
    others = [f for f in feet.values() if f.name != part.where and f.x_mm * here.x_mm < 0.0]
    if not others:
        return None
    return replace_where(part, min(others, key=lambda f: abs(f.y_mm - here.y_mm)).name)


def _on_another(part: MovePart, deck: Deck, world: World) -> MovePart | None:
    """Return the move made on another control, None where there is none to mistake for it."""
    if part.control in (Control.FOOT, Control.FOOT_SHIM):
        others = [foot.name for foot in deck.plinth.feet if foot.name != part.where]
        return replace_where(part, others[0])
    if part.control is Control.SPEED:
        others = [key for key in world.trims if key and key != world.speed_at(part.where)]
        return replace_where(part, others[0]) if others else None
    control = _INSTEAD.get(part.control)
    if control is None:
        return None
    amount = part.amount
    if control is Control.COUNTERWEIGHT and deck.arm.balance is not Balance.DYNAMIC:
        amount /= deck.arm.gf_per_turn or 1.0
    return part.model_copy(update={"control": control, "amount": amount, "where": ""})


def replace_where(part: MovePart, where: str) -> MovePart:
    """Return the move at another place."""
    return part.model_copy(update={"where": where})
