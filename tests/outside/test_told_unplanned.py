"""A move of one's own: what a hand can move, which way, in which unit, and what is foretold of it.

Chosen as in the window: a control of the list, one of its two directions by its words, an amount.
What the next reading should be is worked by hand. All derived.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import pytest

from core.fitting import Assessment, Control, MoveMade
from core.records import Deck
from core.steps.shared import Movable
from core.workflow.unplanned_moves import home_of, movables
from tests.examples import cartridge
from tests.outside.told import Person, pinned, said
from tests.worked import Read, bubble, protractor


def choose(on: Deck, step: str, control: Control, where: str = "") -> Movable:
    (one,) = (
        m for m in movables(on, cartridge(), step) if m.control is control and m.where == where
    )
    return one


# The control, what is special about the deck, the words of its positive and its negative direction,
# its unit, and the millimetres that one unit is.
CONTROLS: list[tuple[Control, dict[str, Any], str, str, str, float | None]] = [
    (Control.FOOT, {}, "longer (up)", "shorter (down)", "turns", 1.25),
    (
        Control.FOOT,
        {"plinth": {"pitch_mm_per_turn": None}},
        "longer (up)",
        "shorter (down)",
        "mm",
        None,
    ),
    (Control.FOOT_SHIM, {}, "thicker", "thinner", "mm", None),
    (Control.COUNTERWEIGHT, {}, "toward the pivot", "away from the pivot", "turns", 1.0),
    (
        Control.COUNTERWEIGHT,
        {"arm": {"counterweight_mm_per_turn": None}},
        "toward the pivot",
        "away from the pivot",
        "mm",
        None,
    ),
    (Control.COUNTERWEIGHT, {"arm": {"balance": "dynamic"}}, "up", "down", "gf", None),
    (Control.PILLAR, {}, "up", "down", "mm", None),
    (
        Control.PILLAR,
        {"height": {"control": "collar", "mm_per_turn": 0.75}},
        "up",
        "down",
        "turns",
        0.75,
    ),
    (Control.BASE_SHIM, {"height": {"control": "shims"}}, "thicker", "thinner", "mm", None),
    (Control.HEAD_SHIM, {}, "thicker", "thinner", "mm", None),
    (Control.RECORD, {}, "thicker", "thinner", "mm", None),
    (Control.SLIDE, {}, "away from the pivot", "toward the pivot", "mm", None),
    (Control.TWIST, {}, "in toward the spindle", "out from the spindle", "°", None),
    (Control.ARM_BASE, {}, "away from the spindle", "toward the spindle", "mm", None),
    (Control.TILT, {}, "left side rises", "right side rises", "°", None),
    (
        Control.TILT,
        {"tilt": {"control": "collar"}},
        "left side rises",
        "right side rises",
        "°",
        None,
    ),
    (Control.TILT_SHIM, {"tilt": {"control": "shim"}}, "thicker", "thinner", "mm", None),
    (Control.SKATING, {}, "more", "less", "gf", None),
    (Control.SKATING, {"skating": {"control": "thread weight"}}, "more", "less", "", None),
    (Control.SPEED, {}, "clockwise or up", "anticlockwise or down", "turns", None),
    (
        Control.SPEED,
        {"platter": {"trim": "electronic", "rpm_per_turn": None}},
        "clockwise or up",
        "anticlockwise or down",
        "",
        None,
    ),
]  # fmt: skip # rows of a table


@pytest.mark.parametrize(("control", "changes", "more", "less", "unit", "mm"), CONTROLS)
def test_every_control_has_its_directions_and_its_unit(
    control: Control, changes: dict[str, Any], more: str, less: str, unit: str, mm: float | None
) -> None:
    on = pinned(**changes)
    found = [m for m in movables(on, cartridge(), "level") if m.control is control]
    assert found
    for one in found:
        first, second = (said(way) for way in one.ways)
        assert (more in first, less in second) == (True, True), (first, second)
        for sign in (1.0, -1.0):
            part = one.part(2.0 * sign)
            assert (part.amount, part.unit) == (2.0 * sign, unit)
            length = None if mm is None else 2.0 * sign * mm
            assert part.equivalent_mm == (length if length is None else pytest.approx(length))


@dataclass(frozen=True)
class Case:
    step: str
    read: list[Read]
    control: Control
    amount: float
    foretold: float
    key: str
    changes: dict[str, Any] = field(default_factory=dict)
    where: str = ""
    within: float = 0.02


def gaps(left: float, right: float) -> Read:
    return {"way": "gaps", "left_mm": left, "right_mm": right}


HIGH_BACK = [bubble("front-back", 3.0), bubble("left-right", 0.0)]
"""3 mm/m; the rear foot stands 0.29 m behind the front ones."""
REAR_HIGH: list[Read] = [
    {"way": "two heights", "front_mm": 24.0, "rear_mm": 27.0, "spacing_mm": 180.0}
]
"""3.988 mm at the pillar; a millimetre there is 180 / 239.296 = 0.752 over the places read."""
SLOW: list[Read] = [{"way": "readout", "rpm": 33.0, "speed_rpm": 33.333333}]
"""1 %; 0.4 rpm a turn are 1.2 %."""

CASES = [
    # 1.25 mm more under the rear over 0.29 m are 4.310 mm/m; half a turn less is 2.155 off.
    Case("level", HIGH_BACK, Control.FOOT, 1.0, 7.310, "predicted_tilt", where="rear"),
    Case("level", HIGH_BACK, Control.FOOT, -0.5, 0.845, "predicted_tilt", where="rear"),
    # 0.5 mm of shim: 1.724.
    Case("level", HIGH_BACK, Control.FOOT_SHIM, 0.5, 4.724, "predicted_tilt", where="rear"),
    Case("arm_height", REAR_HIGH, Control.PILLAR, -2.0, 1.496, "height"),
    Case("arm_height", REAR_HIGH, Control.PILLAR, 1.0, 3.752, "height"),
    # Two turns of 0.75 mm: 1.5 at the pillar, 1.128 over the places.
    Case(
        "arm_height",
        REAR_HIGH,
        Control.PILLAR,
        -2.0,
        1.872,
        "height",
        {"height": {"control": "collar", "mm_per_turn": 0.75}},
    ),
    Case("arm_height", REAR_HIGH, Control.HEAD_SHIM, 2.0, 1.496, "height"),
    # A record 1 mm thicker lifts the front.
    Case("arm_height", REAR_HIGH, Control.RECORD, 1.0, 2.248, "height"),
    Case("alignment", [protractor(2.0, 0.0)], Control.SLIDE, -1.0, 240.296, "effective_length",
         within=0.15),
    Case("alignment", [protractor(2.0, 0.0)], Control.SLIDE, 1.0, 242.296, "effective_length",
         within=0.15),
    Case("alignment", [protractor(0.0, 3.0)], Control.TWIST, -2.0, 23.986, "offset", within=0.15),
    Case("alignment", [protractor(0.0, 3.0)], Control.TWIST, 1.0, 26.986, "offset", within=0.15),
    # 0.9 mm over 17: 3.03 degrees, left high.
    Case("tilt", [gaps(2.9, 2.0)], Control.TILT, -2.0, 1.03, "predicted_tilt"),
    Case("tilt", [gaps(2.9, 2.0)], Control.TILT, 1.0, 4.03, "predicted_tilt"),
    # 0.3 mm at the left screw, 12.7 mm from the right one, press the left down by 1.353 degrees.
    Case(
        "tilt",
        [gaps(2.9, 2.0)],
        Control.TILT_SHIM,
        0.3,
        1.677,
        "predicted_tilt",
        {"tilt": {"control": "shim"}},
    ),
    Case("speed", SLOW, Control.SPEED, 0.5, -0.4, "predicted_error"),
    Case("speed", SLOW, Control.SPEED, -0.25, -1.3, "predicted_error"),
    # Two presses of 0.08 rpm are 0.48 %.
    Case(
        "speed",
        SLOW,
        Control.SPEED,
        2.0,
        -0.52,
        "predicted_error",
        {"platter": {"trim": "electronic", "rpm_per_turn": None, "rpm_per_step": 0.08}},
    ),
]  # fmt: skip # rows of a table


def after(case: Case) -> Assessment:
    changes = dict(case.changes)
    if case.step == "speed":
        platter = {"speeds_rpm": (33.333333,), **changes.pop("platter", {})}
        changes["platter"] = platter
    person = Person(case.step, pinned(**changes))
    person.reads(*case.read)
    one = choose(person.deck, case.step, case.control, case.where)
    home = home_of(one, person.journey, case.step)
    assert home == case.step
    person.keep(MoveMade(step=home, parts=(one.part(case.amount),)))
    return person.told


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c.step} {c.control.value} {c.amount:+g}")
def test_what_is_foretold_is_what_the_move_does(case: Case) -> None:
    figure = after(case).figure(case.key)
    assert figure is not None
    assert figure.value == pytest.approx(case.foretold, abs=case.within)


@pytest.mark.parametrize(("amount", "foretold"), [(0.5, 2.209), (-0.75, 1.687)])
@pytest.mark.parametrize("step", ["rough_downforce", "final_downforce"])
def test_the_scale_is_foretold_what_the_counterweight_does(
    step: str, amount: float, foretold: float
) -> None:
    # 100 g x 1 mm / 239.296 mm = 0.4179 gf a turn, from 2.00.
    person = Person(step)
    person.reads(*[{"way": "scale", "downforce_gf": 2.0}] * 3)
    one = choose(person.deck, step, Control.COUNTERWEIGHT)
    person.keep(MoveMade(step=step, parts=(one.part(amount),)))
    figure = person.told.figure("predicted_downforce")
    assert figure is not None
    assert figure.value == pytest.approx(foretold, abs=0.01)
