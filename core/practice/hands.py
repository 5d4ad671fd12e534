"""Moves made by hand on a practice deck, with the errors of a hand."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from core.fitting import Control, MovePart
from core.practice import hand_precision
from core.practice.knob import Knob
from core.practice.world import World
from core.steps.speed import speed_key


def obey(world: World, rng: np.random.Generator, parts: Iterable[MovePart]) -> None:
    """Make every part of a move on the deck; a part it has no control for changes nothing."""
    for part in parts:
        _one(world, rng, part)


def _one(world: World, rng: np.random.Generator, part: MovePart) -> None:
    if part.control is Control.SCREWS:
        _tighten(world, rng)
        return
    knob = _knob_of(world, part)
    if knob is None:
        return
    before = knob.place
    knob.move(part.amount, rng)
    if part.control is Control.SLIDE:
        # Both screws are loose: what slides also turns a little, and the reverse.
        _nudge(world.twist, hand_precision.SLIDE_TURNS_DEG * float(rng.standard_normal()))
    elif part.control is Control.TWIST:
        _nudge(world.slide, hand_precision.TWIST_SLIDES_MM * float(rng.standard_normal()))
    elif part.control is Control.CARTRIDGE and knob.place != before:
        _nudge(world.slide, hand_precision.REFITTED_MM * float(rng.standard_normal()))
        _nudge(world.twist, hand_precision.REFITTED_DEG * float(rng.standard_normal()))


def _tighten(world: World, rng: np.random.Generator) -> None:
    """Tighten the cartridge's screws, which shifts it a little."""
    _nudge(world.slide, hand_precision.TIGHTENING_MM * float(rng.standard_normal()))
    _nudge(world.twist, hand_precision.TIGHTENING_DEG * float(rng.standard_normal()))


def _nudge(knob: Knob, amount: float) -> None:
    if knob.low < knob.high and not knob.held:
        knob.place = min(max(knob.place + amount, knob.low), knob.high)


def _knob_of(world: World, part: MovePart) -> Knob | None:
    first = speed_key(world.deck.platter.speeds_rpm[0])
    speed = world.speed_at(part.where or ("" if "" in world.trims else first))
    found: dict[Control, Knob | None] = {
        Control.FOOT: world.feet.get(part.where),
        Control.FOOT_SHIM: world.foot_shims.get(part.where),
        Control.CARTRIDGE: world.added_g if part.unit == "g" else None,
        Control.COUNTERWEIGHT: world.weight,
        Control.PILLAR: world.pillar,
        Control.BASE_SHIM: world.pillar,
        Control.HEAD_SHIM: world.head_shim,
        Control.SLIDE: world.slide,
        Control.TWIST: world.twist,
        Control.ARM_BASE: world.arm_base,
        Control.TILT: world.roll,
        Control.TILT_SHIM: world.side_shim,
        Control.SKATING: world.skating,
        Control.SPEED: world.trims.get(speed),
        Control.RECORD: world.record_mm,
    }
    return found.get(part.control)
