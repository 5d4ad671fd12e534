"""What disturbs what, against statics and geometry worked out another way."""

from __future__ import annotations

import math

import numpy as np
import pytest

from core.fitting import Control, MovePart
from core.records import Cartridge, Deck, TiltControl
from core.workflow.effects import downforce_effects, effects_of


@pytest.fixture
def deck() -> Deck:
    return Deck.model_validate(
        {
            "name": "Example deck, 9-inch arm",
            "plinth": {
                "feet": [
                    {"name": "left", "x_mm": -200, "y_mm": 0},
                    {"name": "right", "x_mm": 200, "y_mm": 0},
                    {"name": "rear", "x_mm": 0, "y_mm": 150},
                ]
            },
            "arm": {
                "kind": "pivoted offset",
                "pivot_to_spindle_mm": 212,
                "effective_length_mm": 230,
                "offset_deg": 23,
                "effective_mass_g": 11,
            },
            "head": {"kind": "slots"},
            "height": {"control": "pillar"},
            "tilt": {"control": "head"},
            "skating": {"control": "dial"},
            "platter": {"trim": "screw"},
        }
    )


@pytest.fixture
def cartridge() -> Cartridge:
    return Cartridge.model_validate(
        {
            "name": "Example cartridge",
            "mounting": "tapped",
            "mass_g": 6.0,
            "hardware_g": 1.0,
            "downforce_min_gf": 1.8,
            "downforce_max_gf": 2.2,
            "stylus": "elliptical",
            "compliance": 15,
            "body_height_mm": 17,
        }
    )


def change(part: MovePart, step: str, key: str, deck: Deck, cartridge: Cartridge) -> float:
    (effect,) = [e for e in effects_of(part, deck, cartridge) if (e.step, e.key) == (step, key)]
    assert effect.change is not None
    return effect.change


def test_sliding_seven_grams_by_a_millimetre_and_a_half(deck: Deck, cartridge: Cartridge) -> None:
    # Moments about the lift axis, worked by hand: the slots lie along a head turned in by
    # 23 degrees, and 1.5 mm along them are 1.3808 mm ahead (a table gives 0.9205 as the cosine,
    # memory). 2 gf at 230 mm and 7 g further by so much turn with 469.665 g mm. The stylus that
    # bears goes forward too: 231.381 mm divide that into 2.0298 gf. 0.046 gf would be right for a
    # straight head that bears nothing.
    part = MovePart(control=Control.SLIDE, amount=1.5, unit="mm")
    assert change(part, "final_downforce", "downforce", deck, cartridge) == pytest.approx(
        0.0298, abs=0.0005
    )
    assert change(part, "rough_downforce", "downforce", deck, cartridge) > 0


def test_raising_an_offset_arm_tilts_its_head(deck: Deck, cartridge: Cartridge) -> None:
    # Rotate the head's side axis about the arm's lift axis by the pitch and measure its slope.
    part = MovePart(control=Control.PILLAR, amount=4.0, unit="mm")
    pitch, offset = math.atan(4.0 / 230), math.radians(23)
    side = np.array([math.cos(offset), math.sin(offset), 0.0])  # square to the cantilever
    # the tube runs along y; lifting its rear turns about x
    turn = np.array(
        [
            [1, 0, 0],
            [0, math.cos(pitch), -math.sin(pitch)],
            [0, math.sin(pitch), math.cos(pitch)],
        ]
    )
    slope = math.degrees(math.asin((turn @ side)[2]))
    assert change(part, "tilt", "tilt", deck, cartridge) == pytest.approx(slope, rel=1e-3)
    # '4 mm is about one degree' of pitch (common practice), of which sin 23 deg becomes tilt
    assert slope == pytest.approx(0.39, abs=0.01)


def test_no_tilt_is_added_where_the_arm_rises_square_to_its_head(
    deck: Deck, cartridge: Cartridge
) -> None:
    arm = deck.arm.model_copy(update={"lift_axis_square_to_head": True})
    square = deck.model_copy(update={"arm": arm})
    part = MovePart(control=Control.PILLAR, amount=4.0, unit="mm")
    assert all(effect.step != "tilt" for effect in effects_of(part, square, cartridge))


def test_raising_the_arm_draws_the_stylus_toward_the_pivot(
    deck: Deck, cartridge: Cartridge
) -> None:
    # The distance bearing to stylus is kept: 20 mm above the record and 4 mm up, -0.38 mm (derived)
    arm = deck.arm.model_copy(update={"pivot_above_record_mm": 20.0})
    part = MovePart(control=Control.PILLAR, amount=4.0, unit="mm")
    told = change(part, "alignment", "slide", deck.model_copy(update={"arm": arm}), cartridge)
    assert told == pytest.approx(-0.38, abs=0.01)


@pytest.mark.parametrize(
    ("control", "twist", "slide"), [("head", -0.131, -0.232), ("collar", -0.155, 0.0)]
)
def test_rolling_the_head_by_two_degrees(
    control: str, twist: float, slide: float, deck: Deck, cartridge: Cartridge
) -> None:
    # Derived by rotating vectors: p = 17, L = 239.3, b = 23 degrees, left side 2 degrees up. About
    # the tube the stylus swings by 0.142 degrees; seen from above the head, turned in, also loses
    # 1 - cos 2 degrees of what it lies across: 0.013 degrees more.
    arm = deck.arm.model_copy(update={"effective_length_mm": 239.3})
    tilt = deck.tilt.model_copy(update={"control": TiltControl(control)})
    longer = deck.model_copy(update={"arm": arm, "tilt": tilt})
    part = MovePart(control=Control.TILT, amount=2.0, unit="°")
    assert change(part, "alignment", "twist", longer, cartridge) == pytest.approx(twist, abs=0.001)
    along = [
        effect.change or 0.0
        for effect in effects_of(part, longer, cartridge)
        if (effect.step, effect.key) == ("alignment", "slide")
    ]
    assert sum(along) == pytest.approx(slide, abs=0.001)
    # 17 mm less 17 mm x cos 2 degrees is 0.01 mm: a fiftieth of the tolerance is not spoken of.
    assert all(effect.step != "arm_height" for effect in effects_of(part, longer, cartridge))


def test_more_downforce_asks_for_more_skating_and_sinks_the_head(cartridge: Cartridge) -> None:
    effects = {(e.step, e.key): e.change for e in downforce_effects(0.2, cartridge)}
    assert effects[("skating", "setting")] == pytest.approx(0.2)
    # 15 um/mN dynamic, half of it static (common practice), 0.2 gf = 1.961 mN: 14.7 um
    assert effects[("arm_height", "height")] == pytest.approx(0.0147, abs=1e-4)


def test_tightening_and_exchanging_can_only_be_told_by_reading(
    deck: Deck, cartridge: Cartridge
) -> None:
    screws = MovePart(control=Control.SCREWS, amount=1, unit="turns")
    assert [(e.step, e.change) for e in effects_of(screws, deck, cartridge)] == [
        ("alignment", None)
    ]
    exchange = MovePart(control=Control.CARTRIDGE, amount=1, unit="mm")
    steps = {effect.step for effect in effects_of(exchange, deck, cartridge)}
    # everything but level and speed
    assert steps == {
        "mount",
        "rough_downforce",
        "arm_height",
        "alignment",
        "tilt",
        "skating",
        "final_downforce",
    }


def test_turning_a_foot_disturbs_nothing_later(deck: Deck, cartridge: Cartridge) -> None:
    part = MovePart(control=Control.FOOT, amount=0.5, unit="turns", where="left")
    assert effects_of(part, deck, cartridge) == ()


@pytest.mark.parametrize("thickness", [0.2, -0.2])
def test_a_shim_on_one_side_rolls_away_from_it_and_lowers_the_stylus(
    thickness: float, deck: Deck, cartridge: Cartridge
) -> None:
    # Two screws 12.7 mm apart; a wedge of t under one drops that side by t and the middle by t/2.
    part = MovePart(control=Control.TILT_SHIM, amount=thickness, unit="mm")
    tip = 17 * thickness / math.hypot(thickness, 12.7)  # away from the spindle
    swung = np.array([tip * math.sin(math.radians(23)), tip * math.cos(math.radians(23))])
    turned_in = math.degrees(math.atan2(swung[1], 230 + swung[0]))
    # The stylus keeps its distance from a bearing 17 mm up, from which it now hangs t/2 lower.
    swung[0] += math.hypot(230, 17 + abs(thickness) / 2) - math.hypot(230, 17)
    told = [change(part, "alignment", key, deck, cartridge) for key in ("twist", "slide")]
    assert told == pytest.approx([turned_in, swung[0]], rel=0.01)
    lowered = [
        effect.change
        for effect in effects_of(part, deck, cartridge)
        if effect.key == "height" and effect.change is not None
    ]
    lifted = 17 - 17 * math.cos(math.atan(abs(thickness) / 12.7))  # by the roll
    assert min(lowered) == pytest.approx(lifted - 0.1, abs=1e-4)


def test_an_absurd_roll_on_a_short_arm_is_still_an_answer(cartridge: Cartridge, deck: Deck) -> None:
    short = deck.model_copy(
        update={"arm": deck.arm.model_copy(update={"effective_length_mm": 20.0})}
    )
    tall = cartridge.model_copy(update={"body_height_mm": 40.0})
    part = MovePart(control=Control.TILT, amount=90.0, unit="°")
    assert abs(change(part, "alignment", "twist", short, tall)) <= 180.0
