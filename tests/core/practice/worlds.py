"""Practice decks with nothing wrong, to be changed where a test needs it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from core.practice import Rehearsal, Truth
from core.practice.faults import Difficulty, draw_world
from core.practice.knob import Knob
from core.practice.tonearm import Build
from core.practice.world import InstrumentErrors, SignalGenerator, World
from core.steps import STEP_NAMES
from tests.examples import cartridge, deck


def plain_build(**changes: Any) -> Build:
    """Return an arm that is right, bearing about 2 gf."""
    build = Build(
        middle_mm=239.296,
        middle_deg=22.986,
        slide_mm=0.0,
        twist_deg=0.0,
        holes_to_tip_mm=9.5,
        body_height_mm=17.0,
        body_width_mm=17.0,
        head_shim_mm=0.0,
        side_shim_mm=0.0,
        roll_deg=0.0,
        roll_about_tube=False,
        body_roll_deg=0.0,
        lift_square_to_head=False,
        bearing_mm=0.0,
        gives_um_per_mn=7.5,
        head_g=7.0,
        arm_g=8.0,
        arm_forward_mm=0.0,
        weight_g=100.0,
        weight_behind_mm=11.965,
        weight_below_mm=0.0,
        spring_gf=0.0,
    )
    return replace(build, **changes)


def plain_world(**changes: Any) -> World:
    """Return the example deck with every knob where it belongs and every tool right."""
    world, _ = draw_world(np.random.default_rng(1), deck(), cartridge(), Difficulty.GENTLE)
    world.build = plain_build(gives_um_per_mn=0.0)
    world.pivot_mm = 222.0
    world.shelf = (0.0, 0.0)
    world.generator, world.tools = SignalGenerator(), InstrumentErrors()
    for name in ("weight", "pillar", "slide", "twist", "roll", "skating"):
        setattr(world, name, Knob(hand_share=0.0))
    for name in world.feet:
        world.feet[name] = Knob(hand_share=0.0)
    for name, value in changes.items():
        setattr(world, name, value)
    return world


def truths_of(rehearsal: Rehearsal) -> list[Truth]:
    """Return the hidden truth of every step that has one, in the order of the steps."""
    found = (rehearsal.truth_of(step) for step in STEP_NAMES)
    return [truth for truth in found if truth is not None]
