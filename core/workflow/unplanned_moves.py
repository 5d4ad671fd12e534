"""Moves that nobody proposed: what a hand can move on a deck, in which unit, and where it is kept.

A person who moved something else than a step asked for says so, and every solver sees it in the
log like any other move.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from core.fitting import (
    WITHOUT_AMOUNT,
    Control,
    Journey,
    MovePart,
)
from core.records import (
    ArmKind,
    Cartridge,
    Deck,
    FeetControl,
    HeightControl,
    Mounting,
    SkatingControl,
    SpeedTrim,
    TiltControl,
)
from core.steps import STEP_NAMES
from core.steps.alignment import head_slides
from core.steps.downforce import downforce_control_of
from core.steps.skating import DIALS
from core.steps.speed import trim_place
from core.workflow.descriptions import place_words

_DOWNFORCE: Final = ("rough_downforce", "final_downforce")
_WAYS: Final[dict[Control, tuple[str, str]]] = {
    Control.FOOT: ("longer", "shorter"),
    Control.FOOT_SHIM: ("thicker", "thinner"),
    Control.COUNTERWEIGHT: ("toward the pivot", "away from the pivot"),
    Control.PILLAR: ("up", "down"),
    Control.BASE_SHIM: ("thicker", "thinner"),
    Control.HEAD_SHIM: ("thicker", "thinner"),
    Control.SLIDE: ("away from the pivot", "toward the pivot"),
    Control.TWIST: ("turned in toward the spindle", "turned out from the spindle"),
    Control.ARM_BASE: ("away from the spindle", "toward the spindle"),
    Control.TILT: ("left side up seen from the front", "right side up seen from the front"),
    Control.TILT_SHIM: ("thicker", "thinner"),
    Control.SKATING: ("more", "less"),
    Control.SPEED: ("clockwise or up", "anticlockwise or down"),
    Control.RECORD: ("thicker", "thinner"),
}
"""Both directions of a control in words, the positive one first, as its label has it."""

_FARTHEST: Final[dict[str, float]] = {"turns": 100.0, "mm": 100.0, "°": 90.0, "gf": 10.0, "": 200.0}


@dataclass(frozen=True, slots=True)
class Movable:
    """One thing a hand can move on a deck.

    Parameters
    ----------
    control, where
        The control, and which of several alike.
    name
        As a person calls it, without the direction.
    ways
        The two directions in words, the positive one first; empty where there is no amount to it.
    unit
        In which its moves are told: a symbol of :data:`core.records.quantities.UNITS`, or empty.
    homes
        The steps it belongs to.
    mm_per_unit
        Length for one unit, where that is known and the unit is none itself.
    """

    control: Control
    name: str
    ways: tuple[str, str] | tuple[()]
    unit: str
    homes: tuple[str, ...]
    where: str = ""
    mm_per_unit: float | None = None

    @property
    def label(self) -> str:
        """The name, with the place where there are several."""
        return f"{self.name}, {place_words(self.control, self.where)}" if self.where else self.name

    @property
    def farthest(self) -> float:
        """The largest amount that is taken."""
        return _FARTHEST[self.unit]

    def part(self, amount: float) -> MovePart:
        """Return the move as the log keeps it; ``amount`` is along the positive direction."""
        if not self.ways:
            return MovePart(control=self.control, amount=1.0, unit="", where=self.where)
        also = None if self.mm_per_unit is None else amount * self.mm_per_unit
        return MovePart(
            control=self.control,
            amount=amount,
            unit=self.unit,
            where=self.where,
            equivalent_mm=also,
        )


def movables(deck: Deck, cartridge: Cartridge, step: str) -> tuple[Movable, ...]:
    """Return all that can be moved on a deck, what belongs to ``step`` first."""
    found = [
        *_feet(deck),
        *_weight(deck),
        *_height(deck, cartridge),
        *_head(deck, cartridge),
        *_tilt(deck, cartridge),
        *_skating(deck),
        *_speed(deck),
        _made(Control.CARTRIDGE, "", "mount"),
        _made(Control.RECORD, "mm", "arm_height"),
    ]
    return tuple(sorted(found, key=lambda one: step not in one.homes))  # the order stays else


def home_of(movable: Movable, journey: Journey, step: str) -> str:
    """Return the step that a move is kept in: one it belongs to, else the one it was told in.

    Of several the one on show, else the latest that has entries, else the first that is open.
    """
    if step in movable.homes:
        return step
    open_ones = [name for name in movable.homes if journey.status(name).is_open]
    begun = [name for name in open_ones if journey.status(name).trials]
    if begun:
        return max(begun, key=STEP_NAMES.index)
    return open_ones[0] if open_ones else step


def _made(
    control: Control,
    unit: str,
    *homes: str,
    where: str = "",
    mm_per_unit: float | None = None,
    name: str = "",
    ways: tuple[str, str] | None = None,
) -> Movable:
    none: tuple[str, str] | tuple[()] = ()
    known = none if control in WITHOUT_AMOUNT else (ways or _WAYS[control])
    return Movable(
        control=control,
        name=name or control.label.split(",", maxsplit=1)[0],
        ways=known,
        unit=unit,
        homes=homes,
        where=where,
        mm_per_unit=mm_per_unit,
    )


def _feet(deck: Deck) -> list[Movable]:
    pitch = deck.plinth.pitch_mm_per_turn
    found = []
    for foot in deck.plinth.feet:
        if foot.adjustable and deck.plinth.control is not FeetControl.NONE:
            unit = "mm" if pitch is None else "turns"
            found.append(_made(Control.FOOT, unit, "level", where=foot.name, mm_per_unit=pitch))
    found += [_made(Control.FOOT_SHIM, "mm", "level", where=foot.name) for foot in deck.plinth.feet]
    return found


def _weight(deck: Deck) -> list[Movable]:
    handle = downforce_control_of(deck)
    dial = handle.unit == "gf"
    return [
        _made(
            Control.COUNTERWEIGHT,
            handle.unit,
            *_DOWNFORCE,
            mm_per_unit=None if handle.unit == "mm" else handle.mm_per_unit,
            name="Downforce dial" if dial else "",
            ways=("up", "down") if dial else None,
        )
    ]


def _height(deck: Deck, cartridge: Cartridge) -> list[Movable]:
    height, found = deck.height, []
    if height.control is HeightControl.COLLAR:
        pitch = height.mm_per_turn
        found.append(_made(Control.PILLAR, "turns", "arm_height", mm_per_unit=pitch))
    elif height.control is HeightControl.PILLAR:
        found.append(_made(Control.PILLAR, "mm", "arm_height"))
    elif height.control is HeightControl.SHIMS:
        found.append(_made(Control.BASE_SHIM, "mm", "arm_height"))
    if cartridge.mounting is not Mounting.PLUG_IN:
        found.append(_made(Control.HEAD_SHIM, "mm", "arm_height"))
    return found


def _head(deck: Deck, cartridge: Cartridge) -> list[Movable]:
    found = []
    if head_slides(deck, cartridge):
        found += [
            _made(Control.SLIDE, "mm", "alignment"),
            _made(Control.TWIST, "°", "alignment"),
        ]
    if cartridge.mounting is not Mounting.PLUG_IN:
        found.append(_made(Control.SCREWS, "", "alignment"))
    if deck.arm.kind is not ArmKind.PARALLEL:
        found.append(_made(Control.ARM_BASE, "mm", "alignment"))
    return found


def _tilt(deck: Deck, cartridge: Cartridge) -> list[Movable]:
    control = deck.tilt.control
    if control in (TiltControl.HEAD, TiltControl.COLLAR):
        return [_made(Control.TILT, "°", "tilt")]
    if control is TiltControl.SHIM and cartridge.mounting is not Mounting.PLUG_IN:
        return [_made(Control.TILT_SHIM, "mm", "tilt")]
    return []


def _skating(deck: Deck) -> list[Movable]:
    if deck.skating.control in (SkatingControl.NONE, SkatingControl.FLUID):
        return []
    return [_made(Control.SKATING, "gf" if deck.skating.control in DIALS else "", "skating")]


def _speed(deck: Deck) -> list[Movable]:
    trim = deck.platter.trim
    if trim is SpeedTrim.NONE:
        return []
    unit = "turns" if trim is SpeedTrim.SCREW else ""
    places = dict.fromkeys(trim_place(deck, rpm) for rpm in deck.platter.speeds_rpm)
    return [_made(Control.SPEED, unit, "speed", where=place) for place in places]
