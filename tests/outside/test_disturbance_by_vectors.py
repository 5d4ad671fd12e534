"""What tilt and height do to alignment, against an arm turned as a rigid body.

The practice deck's arm is built of vectors and set down by closing in on a root; none of the
formulas that predict a disturbance is used there (an import contract keeps it so).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from core.fitting import Control, MovePart
from core.practice.tonearm import Build, pose_of
from core.records import Cartridge, Deck
from core.steps import effects_of

SEEDS = range(40)


def build(rng: np.random.Generator, control: str, *, square: bool) -> Build:
    return Build(
        middle_mm=rng.uniform(215, 310),
        middle_deg=rng.uniform(15, 26),
        slide_mm=0.0,
        twist_deg=0.0,
        holes_to_tip_mm=9.5,
        body_height_mm=rng.uniform(13, 22),
        body_width_mm=17.0,
        head_shim_mm=0.0,
        side_shim_mm=0.0,
        roll_deg=0.0,
        roll_about_tube=control == "collar",
        body_roll_deg=0.0,
        lift_square_to_head=square,
        bearing_mm=0.0,
        gives_um_per_mn=0.0,
        head_g=12.0,
        arm_g=20.0,
        arm_forward_mm=80.0,
        weight_g=90.0,
        weight_behind_mm=45.0,
        weight_below_mm=0.0,
        spring_gf=0.0,
    )


def records(arm: Build, control: str) -> tuple[Deck, Cartridge]:
    """What a person would have typed of that arm; the bearing's height is known."""
    deck = Deck.model_validate(
        {
            "name": "Example deck, random arm",
            "plinth": {
                "feet": [
                    {"name": "left", "x_mm": -200, "y_mm": 0},
                    {"name": "right", "x_mm": 200, "y_mm": 0},
                    {"name": "rear", "x_mm": 0, "y_mm": 150},
                ]
            },
            "arm": {
                "kind": "pivoted offset",
                "pivot_to_spindle_mm": arm.middle_mm - 16,
                "effective_length_mm": arm.middle_mm,
                "offset_deg": arm.middle_deg,
                "effective_mass_g": 11,
                "pivot_above_record_mm": arm.body_height_mm + arm.bearing_mm,
                "lift_axis_square_to_head": arm.lift_square_to_head,
            },
            "head": {"kind": "slots"},
            "height": {"control": "pillar"},
            "tilt": {"control": control},
            "skating": {"control": "none"},
            "platter": {"trim": "none"},
        }
    )
    cartridge = Cartridge.model_validate(
        {
            "name": "Example cartridge",
            "mounting": "tapped",
            "mass_g": 6.0,
            "downforce_min_gf": 1.8,
            "downforce_max_gf": 2.2,
            "stylus": "elliptical",
            "body_height_mm": arm.body_height_mm,
        }
    )
    return deck, cartridge


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("square", [False, True])
@pytest.mark.parametrize("moved", ["pillar", "head shim", "head", "collar", "side shim"])
def test_every_control_moves_the_stylus_as_foretold(moved: str, square: bool, seed: int) -> None:
    rng = np.random.default_rng(seed)
    control = {"collar": "collar", "side shim": "shim"}.get(moved, "head")
    before = build(rng, control, square=square)
    degrees, thick, lift = rng.uniform(-3, 3), rng.uniform(-0.6, 0.6), rng.uniform(-4, 4)
    after, part = {
        "pillar": (
            replace(before, bearing_mm=lift),
            MovePart(control=Control.PILLAR, amount=lift, unit="mm"),
        ),
        "head shim": (
            replace(before, head_shim_mm=abs(lift)),
            MovePart(control=Control.HEAD_SHIM, amount=abs(lift), unit="mm"),
        ),
        "side shim": (
            replace(before, side_shim_mm=thick),
            MovePart(control=Control.TILT_SHIM, amount=thick, unit="mm"),
        ),
    }.get(
        moved,
        (
            replace(before, roll_deg=degrees),
            MovePart(control=Control.TILT, amount=degrees, unit="°"),
        ),
    )
    deck, cartridge = records(before, control)
    was, now = pose_of(before), pose_of(after)
    told = {"slide": 0.0, "twist": 0.0, "tilt": 0.0}
    for effect in effects_of(part, deck, cartridge):
        if effect.step in ("alignment", "tilt"):
            assert effect.change is not None
            told[effect.key] += effect.change
    # Second order, and what a shim's own thickness adds to its lever: hundredths.
    assert told["slide"] == pytest.approx(now.reach_mm - was.reach_mm, abs=0.05)
    assert told["twist"] == pytest.approx(now.offset_deg - was.offset_deg, abs=0.05)
    if moved in ("pillar", "head shim"):  # the others are tilt's own controls
        assert told["tilt"] == pytest.approx(now.tilt_deg - was.tilt_deg, abs=0.1)
