"""Invented decks and cartridges: the starters, with some of their features missing."""

from __future__ import annotations

import json
from functools import cache
from typing import Any, Final

import numpy as np
from pydantic import ValidationError

from core.practice.grooves import wanted_for
from core.records import ArmKind, Cartridge, Deck, HeadKind, Mounting
from profiles import starter_documents

_TRIES: Final = 50

VIAL_DIV: Final = 20.0
"""How far the bubble of an invented deck goes from the middle; the proof tries shorter ones."""


@cache
def starter_decks() -> tuple[Deck, ...]:
    """Return the decks a new library begins with."""
    return tuple(Deck.model_validate(thing) for thing in _things("decks"))


@cache
def starter_cartridges() -> tuple[Cartridge, ...]:
    """Return the cartridges a new library begins with."""
    return tuple(Cartridge.model_validate(thing) for thing in _things("cartridges"))


def _things(kind: str) -> list[dict[str, Any]]:
    found = []
    for content, _ in starter_documents():
        document = json.loads(content)
        found += [shelf["revisions"][-1]["thing"] for shelf in document.get(kind, ())]
    return found


class _Inventor:
    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng

    def one_of(self, *values: Any) -> Any:
        return values[int(self.rng.integers(len(values)))]

    def chance(self, share: float) -> bool:
        return float(self.rng.uniform()) < share

    def between(self, low: float, high: float, decimals: int = 2) -> float:
        return round(float(self.rng.uniform(low, high)), decimals)

    def deck(self) -> Deck:
        base = self.one_of(*starter_decks()).model_dump(mode="json")
        base["name"] = f"Practice deck {int(self.rng.integers(1000, 9999))}"
        base["owner_reference"] = ""
        base["notes"] = "Invented for a rehearsal."
        self._plinth(base["plinth"])
        self._arm(base["arm"])
        self._head(base["head"])
        self._rest(base)
        self._bench(base["bench"])
        return Deck.model_validate(base)

    def _plinth(self, plinth: dict[str, Any]) -> None:
        if self.chance(0.15):
            plinth["pitch_mm_per_turn"] = None
        elif self.chance(0.5):
            plinth["pitch_mm_per_turn"] = self.one_of(0.75, 1.0, 1.25, 1.5)
        how = self.rng.uniform()
        for place, foot in enumerate(plinth["feet"]):
            if how < 0.08:
                foot["adjustable"] = False
            elif how < 0.2:
                foot["adjustable"] = place < 2
            elif how < 0.85:
                foot["adjustable"] = True
            foot["adjustable"] &= foot["travel_up_mm"] + foot["travel_down_mm"] > 0.0

    def _arm(self, arm: dict[str, Any]) -> None:
        kind = ArmKind(arm["kind"])
        if kind is ArmKind.PIVOTED_OFFSET and self.chance(0.8):
            pivot = self.between(200.0, 300.0, 1)
            wanted = wanted_for(pivot)
            arm["pivot_to_spindle_mm"] = pivot
            arm["effective_length_mm"] = round(wanted.reach_mm + self.between(-0.6, 0.6), 1)
            arm["offset_deg"] = round(wanted.offset_deg + self.between(-0.5, 0.5), 1)
            arm["pivot_to_spindle_error_mm"] = self.one_of(0.3, 0.5, 0.5, 0.8)
        arm["balance"] = "dynamic" if self.chance(0.15) else "static"
        known = self.rng.uniform()
        arm["counterweight_g"] = self.between(70, 140, 0) if known < 0.75 else None
        thread = self.between(0.6, 1.5) if self.chance(0.7) else None
        arm["counterweight_mm_per_turn"] = thread
        arm["gf_per_turn"] = self.one_of(1.0, 2.0, 3.0) if self.chance(0.15) else None
        arm["lift_axis_square_to_head"] = self.chance(0.5)

    def _head(self, head: dict[str, Any]) -> None:
        if self.chance(0.8):
            head["kind"] = self.one_of("slots", "slots", "slots", "slots", "fixed", "plug-in")
        head["slot_forward_mm"] = self.between(3.0, 7.0, 1)
        head["slot_back_mm"] = self.between(3.0, 7.0, 1)
        head["twist_deg"] = self.between(2.5, 6.0, 1)
        head["base_slides"] = self.chance(0.1)

    def _rest(self, deck: dict[str, Any]) -> None:
        height, tilt, skating = deck["height"], deck["tilt"], deck["skating"]
        if self.chance(0.6):
            height["control"] = self.one_of("pillar", "pillar", "collar", "shims", "none")
            height["mm_per_turn"] = self.one_of(0.75, 1.0, 1.5)
            height["travel_up_mm"] = self.between(4.0, 9.0, 1)
            height["travel_down_mm"] = self.between(3.0, 7.0, 1)
        if self.chance(0.6):
            tilt["control"] = self.one_of("head", "head", "collar", "shim", "none")
            tilt["smallest_step_deg"] = self.one_of(0.1, 0.1, 0.25, 0.5)
        if self.chance(0.6):
            skating["control"] = self.one_of(
                "dial", "dial", "thread weight", "spring", "magnet", "fluid", "none"
            )
            skating["step_gf"] = self.one_of(0.1, 0.25, 0.5)
        platter = deck["platter"]
        if self.chance(0.7):
            platter["trim"] = self.one_of("screw", "screw", "electronic", "none")
            rate = self.between(0.2, 2.5)
            platter["rpm_per_turn"] = self.one_of(rate, rate, -rate, None)
            platter["rpm_per_step"] = self.one_of(0.01, 0.02, 0.03, None)
            platter["one_trim_for_all"] = self.chance(0.4)
            platter["speeds_rpm"] = self.one_of((33.333333, 45.0), (33.333333,))

    def _bench(self, bench: dict[str, Any]) -> None:
        bench["bubble_mm_per_m_per_div"] = self.one_of(0.3, 0.5, 0.5, 1.0)
        bench["bubble_range_div"] = VIAL_DIV
        bench["scale_read_gf"] = self.one_of(0.005, 0.01, 0.01, 0.02)
        bench["scale_gain_error"] = self.one_of(0.3, 0.5, 0.5, 1.0)
        bench["lamp_flashes_per_s"] = self.one_of(100.0, 100.0, 120.0, 300.0)
        bench["protractor_read_mm"] = self.one_of(0.15, 0.2, 0.25)

    def cartridge(self, deck: Deck) -> Cartridge:
        plug_in = deck.head.kind is HeadKind.PLUG_IN
        fitting = [
            one for one in starter_cartridges() if (one.mounting is Mounting.PLUG_IN) == plug_in
        ]
        base = self.one_of(*fitting).model_dump(mode="json")
        base["name"] = f"Practice cartridge {int(self.rng.integers(100, 999))}"
        arm = deck.arm
        low, high = arm.lightest_cartridge_g, arm.heaviest_cartridge_g
        if self.chance(0.95) and not low <= base["mass_g"] + base["hardware_g"] <= high:
            base["mass_g"] = round(max((low + high) / 2.0 - base["hardware_g"], 0.5), 1)
        base["body_height_mm"] = self.between(14.0, 20.0, 1)
        return Cartridge.model_validate(base)


def invent(rng: np.random.Generator) -> tuple[Deck, Cartridge]:
    """Invent a deck around one of the starters, and a cartridge that goes into its head."""
    inventor = _Inventor(rng)
    for _ in range(_TRIES):
        try:
            deck = inventor.deck()
            return deck, inventor.cartridge(deck)
        except ValidationError:
            continue
    raise ValueError("No deck could be invented from this seed: take another seed.")


def invent_cartridge(rng: np.random.Generator, deck: Deck) -> Cartridge:
    """Invent a cartridge that goes into the head of this deck."""
    return _Inventor(rng).cartridge(deck)
