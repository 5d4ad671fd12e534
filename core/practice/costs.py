"""The consequences of an error that was not corrected.

Amounts are derived, with the derivation beside them. Their effect on a record or on the sound is
common practice without a source, unless one is named.
"""

from __future__ import annotations

import math
from typing import Final

from core.language import Message, Quantity, message
from core.practice.grooves import simple, wanted_for, worst_percent
from core.practice.truth import Truth
from core.practice.world import World
from core.records import ArmKind
from core.steps import (
    ALIGNMENT,
    ARM_HEIGHT,
    FINAL_DOWNFORCE,
    LEVEL,
    MOUNT,
    ROUGH_DOWNFORCE,
    SKATING,
    SPEED,
    TILT,
)

_SIDE_S: Final = 20.0 * 60.0
"""How long a side of a record plays, roughly: common practice, no source."""

_CENTS: Final = 1200.0
"""Cents an octave, by their definition (A. J. Ellis, 1885; from memory)."""


def cost_of(world: World, truth: Truth | None) -> Message | None:
    """Return the consequences of a step's true error; None if it is small enough.

    Parameters
    ----------
    world
        The deck as it was left.
    truth
        The step's truth then; None where there is nothing to be right or wrong.
    """
    if truth is None or truth.is_inside:
        return None
    told = {
        LEVEL: _level,
        MOUNT: _mass,
        ROUGH_DOWNFORCE: _downforce,
        ARM_HEIGHT: _height,
        ALIGNMENT: _alignment,
        TILT: _tilt,
        SKATING: _skating,
        FINAL_DOWNFORCE: _downforce,
        SPEED: _speed,
    }[truth.step]
    return told(world, truth)


def _off(truth: Truth, decimals: int = 2) -> Quantity:
    return Quantity(abs(truth.value - truth.target), truth.unit, decimals)


def _level(_world: World, truth: Truth) -> Message:
    # Common practice, no source: an arm is drawn to the low side.
    return message("practice.cost.level", off=_off(truth, 1))


def _mass(_world: World, truth: Truth) -> Message:
    # Statics: what the counterweight can't balance has no downforce set (derived).
    side = "heavy" if truth.value > truth.target else "light"
    return message("practice.cost.mass", side=side, mass=Quantity(truth.value, "g", 1))


def _downforce(world: World, truth: Truth) -> Message:
    # Common practice, no source: too little loses the groove, too much wears and bends.
    cartridge = world.cartridge
    low, high = cartridge.downforce_min_gf, cartridge.downforce_max_gf
    side = "low" if truth.value < truth.target else "high"
    inside = low <= truth.value <= high
    return message(
        "practice.cost.downforce",
        side=f"{side}, in the range" if inside else side,
        off=_off(truth),
        low=Quantity(low, "gf", 2),
        high=Quantity(high, "gf", 2),
    )


def _height(world: World, truth: Truth) -> Message:
    # The tube leans about the stylus tip: atan of the slope (derived). What is heard of it:
    # common practice, no source.
    lean = Quantity(abs(world.pose().pitch_deg), "°", 1)
    side = "high" if truth.value > truth.target else "low"
    return message("practice.cost.height", side=side, off=_off(truth, 1), lean=lean)


def _alignment(world: World, truth: Truth) -> Message:
    if world.is_parallel:
        # Second harmonic goes with the angle over the radius (published; in core/practice/grooves).
        return message("practice.cost.path", off=_off(truth))
    swing = world.swing()
    straight = world.deck.arm.kind is ArmKind.PIVOTED_STRAIGHT
    wanted = wanted_for(round(swing.pivot_mm, 6), straight=straight)
    best = worst_percent(simple(swing.pivot_mm, wanted.reach_mm, wanted.offset_deg))
    worst = worst_percent(swing)
    return message(
        "practice.cost.alignment", worst=Quantity(worst, "%", 2), best=Quantity(best, "%", 2)
    )


def _tilt(_world: World, truth: Truth) -> Message:
    # On walls at 45 degrees a tilt t alone leaks tan t of one channel into the other (derived).
    lean = abs(truth.value - truth.target)
    leak = 20.0 * math.log10(max(math.tan(math.radians(min(lean, 44.0))), 1e-4))
    return message("practice.cost.tilt", off=_off(truth, 1), leak=Quantity(leak, "dB", 0))


def _skating(world: World, _truth: Truth) -> Message:
    # Each wall bears the downforce and what is left of the side force; the lighter one gives way
    # first: the outer wall carries the right channel (IEC 60098; second-hand).
    left = world.mean_side_force_gf() - world.compensation_gf()
    return message(
        "practice.cost.skating",
        side="inner" if left > 0.0 else "outer",
        force=Quantity(abs(left), "gf", 2),
    )


def _speed(_world: World, truth: Truth) -> Message:
    # Pitch goes with the speed; a side is over by so much sooner or later (derived).
    share = truth.value / 100.0
    cents = abs(_CENTS * math.log2(max(1.0 + share, 1e-3)))
    seconds = abs(_SIDE_S * share / (1.0 + share))
    return message(
        "practice.cost.speed",
        way="fast" if share > 0.0 else "slow",
        off=Quantity(abs(truth.value), "%", 2),
        cents=Quantity(cents, "", 0),
        seconds=Quantity(seconds, "s", 0),
    )
