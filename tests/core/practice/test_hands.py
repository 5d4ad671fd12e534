"""Hands obey every move that a step can give, nearly."""

from __future__ import annotations

import math

import numpy as np
import pytest

from core.fitting import Control, MovePart
from core.practice import hand_precision
from core.practice.hands import obey
from core.practice.invented_decks import starter_decks
from core.practice.knob import Knob
from core.practice.rehearsal import new_rehearsal
from core.practice.world import World
from core.steps.speed import speed_key
from tests.core.practice.worlds import plain_world


def part(control: Control, amount: float, unit: str = "mm", where: str = "") -> MovePart:
    return MovePart(control=control, amount=amount, unit=unit, where=where)


def done(world: World, *parts: MovePart, seed: int = 1) -> World:
    obey(world, np.random.default_rng(seed), parts)
    return world


def test_a_longer_foot_raises_its_side() -> None:
    world = done(plain_world(), part(Control.FOOT, 1.0, "turns", "rear"))
    assert world.slope()[1] > 1.0
    world = done(plain_world(), part(Control.FOOT_SHIM, 1.0, where="front left"))
    assert world.slope()[0] < -1.0


@pytest.mark.parametrize(
    ("moved", "more"),
    [
        (part(Control.COUNTERWEIGHT, 1.0), lambda w: w.downforce_gf),
        (part(Control.CARTRIDGE, 1.0, "g"), lambda w: w.downforce_gf),
        (part(Control.PILLAR, 2.0), lambda w: w.pose().pitch_deg),
        (part(Control.BASE_SHIM, 2.0), lambda w: w.pose().pitch_deg),
        (part(Control.HEAD_SHIM, 2.0), lambda w: -w.pose().pitch_deg),
        (part(Control.RECORD, 1.0), lambda w: -w.pose().pitch_deg),
        (part(Control.SLIDE, 2.0), lambda w: w.pose().reach_mm),
        (part(Control.TWIST, 2.0, "°"), lambda w: w.pose().offset_deg),
        (part(Control.ARM_BASE, 2.0), lambda w: w.swing().pivot_mm),
        (part(Control.TILT, 2.0, "°"), lambda w: w.pose().tilt_deg),
        (part(Control.TILT_SHIM, 0.5), lambda w: -w.pose().tilt_deg),
        (part(Control.SKATING, 1.0, "gf"), lambda w: w.compensation_gf()),
    ],
    ids=lambda value: value.control.value if isinstance(value, MovePart) else "",
)
def test_every_control_acts_in_its_positive_direction(moved: MovePart, more: object) -> None:
    assert callable(more)
    before = more(plain_world())
    after = more(done(plain_world(), moved))
    assert after - before > 0.05


def test_every_control_of_the_list_is_obeyed_or_is_no_move_of_the_hand() -> None:
    for control in Control:
        obey(plain_world(), np.random.default_rng(1), [part(control, 1.0)])  # and never raises


def test_moves_disturb_other_steps_as_mechanics_do() -> None:
    slid = done(plain_world(), part(Control.SLIDE, 3.0))
    change = slid.downforce_gf - plain_world().downforce_gf
    # 7 g by about 3 mm along the head, felt at 239 mm, less what the longer lever takes (moments)
    assert 0.03 < change < 0.1
    raised = done(plain_world(), part(Control.PILLAR, 4.0))
    assert raised.pose().tilt_deg > 0.3
    assert raised.pose().reach_mm < plain_world().pose().reach_mm + 1e-3
    heavier = done(plain_world(), part(Control.COUNTERWEIGHT, 1.0))
    assert heavier.mean_side_force_gf() > 1.1 * plain_world().mean_side_force_gf()


def test_tightening_shifts_the_cartridge_a_little() -> None:
    places = []
    for seed in range(200):
        world = done(plain_world(), part(Control.SCREWS, 1.0, ""), seed=seed)
        places.append(world.slide.place)
    assert 0.03 < np.std(places) < 0.2


def test_the_speed_trim_named_is_the_one_that_turns() -> None:
    deck = next(
        d for d in starter_decks() if d.platter.trim == "screw" and not d.platter.one_trim_for_all
    )
    rehearsal = new_rehearsal(1, deck=deck)
    world, labels = rehearsal.world, [speed_key(rpm) for rpm in deck.platter.speeds_rpm]
    before = [world.rpm(label) for label in labels]
    rehearsal.obey([part(Control.SPEED, 1.0, "turns", labels[1])])
    after = [world.rpm(label) for label in labels]
    assert after[0] == before[0]
    assert after[1] != before[1]


def test_a_hand_is_off_by_its_share() -> None:
    rng = np.random.default_rng(3)
    moves = [Knob().move(2.0, rng) for _ in range(2000)]
    assert np.mean(moves) == pytest.approx(2.0, abs=0.02)
    assert np.std(moves) == pytest.approx(2.0 * hand_precision.SHARE, rel=0.1)


def test_play_is_taken_up_on_reversal_only() -> None:
    rng = np.random.default_rng(4)
    knob = Knob(hand_share=0.0, play=0.2)
    assert knob.move(1.0, rng) == pytest.approx(0.8)
    assert knob.move(1.0, rng) == pytest.approx(1.0)
    assert knob.move(-1.0, rng) == pytest.approx(-0.8)
    assert knob.move(-0.5, rng) == pytest.approx(-0.5)


def test_travel_ends_and_a_screw_can_turn_backward() -> None:
    rng = np.random.default_rng(5)
    knob = Knob(effect=-1.0, hand_share=0.0, low=-1.5)
    assert knob.move(1.0, rng) == pytest.approx(-1.0)
    assert knob.move(1.0, rng) == pytest.approx(-0.5)
    assert knob.move(0.0, rng) == 0.0
    assert math.isclose(knob.place, -1.5)
