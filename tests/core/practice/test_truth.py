"""What counts as truly right for skating, against closed forms that practice never uses."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from core.language import Numbers
from core.practice.truth import (
    FRICTION_SPREAD,
    Truth,
    _heard_beside,
    _span_gf,
    height_truth,
    skating_truth,
    speed_truth,
    tilt_truth,
)
from core.practice.world import World
from tests.core.practice.worlds import plain_build, plain_world
from tests.examples import deck

L_MM, R1_MM, R2_MM = 239.296, 65.998, 120.891


def dial(place: float, **changes: object) -> World:
    """Return the example deck with its dial at a mark; a mark pushes what 1 gf pulls at 0.3."""
    world = plain_world(friction=0.3, **changes)
    world.skating.place = place
    world.skating_gf_per_mark = world.mean_side_force_gf() / world.downforce_gf
    return world


def test_the_pull_covers_15_percent_either_way_of_its_mean_on_a_common_arm() -> None:
    # mu F (r + r1 r2 / r) / 2L (derived), and friction of 0.25 to 0.3 (published, second-hand).
    world = dial(2.0)
    radius = np.linspace(60.325, 146.05, 13)
    pull = 0.3 * world.downforce_gf * (radius + R1_MM * R2_MM / radius) / (2.0 * L_MM)
    assert world.mean_side_force_gf() == pytest.approx(pull.mean(), rel=2e-3)
    assert max(FRICTION_SPREAD) / min(FRICTION_SPREAD) == pytest.approx(0.30 / 0.25)
    expected = 0.5 * (pull.max() * 12 / 11 - pull.min() * 10 / 11)
    assert _span_gf(world) == pytest.approx(expected, rel=5e-3)
    assert _span_gf(world) / pull.mean() == pytest.approx(0.15, abs=0.005)


def test_by_ear_the_balance_counts_and_by_rule_the_mark_that_the_rule_asks_for() -> None:
    world = dial(0.0)
    world.friction = 0.45  # half as much again as the dial was marked for
    world.skating.place = 1.5 * world.downforce_gf
    by_ear, by_rule = skating_truth(world, by_ear=True), skating_truth(world)
    assert by_ear is not None
    assert by_rule is not None
    assert by_ear.value == pytest.approx(by_ear.target, rel=1e-6)
    assert by_rule.target == pytest.approx(2.0)
    assert by_ear.is_inside
    assert not by_rule.is_inside


@pytest.mark.parametrize("off", [-0.4, -0.2, 0.2, 0.4])
def test_by_ear_a_dial_is_near_enough_within_a_step_or_what_the_pull_covers(off: float) -> None:
    world = dial(0.0)
    world.skating.place = world.downforce_gf + off
    found = skating_truth(world, by_ear=True)
    assert found is not None
    step = world.deck.skating.step_gf
    assert found.tolerance == pytest.approx(max(step, 0.15 * world.downforce_gf), rel=0.04)
    assert found.is_inside is (abs(off) < found.tolerance)


def test_an_underhung_arm_is_left_off_by_rule_and_by_ear_its_whole_pull_counts() -> None:
    straight = {"kind": "pivoted straight", "effective_length_mm": 207.0, "offset_deg": 0.0}
    world = dial(0.0)
    world.deck = deck(arm=straight)
    world.build = plain_build(middle_mm=207.0, middle_deg=0.0, gives_um_per_mn=0.0)
    by_rule = skating_truth(world)
    assert by_rule is not None
    assert by_rule.target == 0.0
    pulls = [world.side_force_gf(radius) for radius in (60.325, 146.05)]
    assert pulls[0] < 0.0 < pulls[1]  # it changes sign (derived)
    by_ear = skating_truth(world, by_ear=True)
    assert by_ear is not None
    assert by_ear.tolerance * world.skating_gf_per_mark >= 0.5 * (pulls[1] - pulls[0])


def test_without_a_pull_nothing_is_spanned() -> None:
    world = dial(0.0)
    world.friction = 0.0
    assert _span_gf(world) == 0.0


@pytest.mark.parametrize(
    ("ahead", "head", "right"),
    [
        (0.0, 0.0, True),
        (0.4, 0.3, True),  # both within half a millimetre and half a degree
        (0.77, -0.475, True),  # 0.26 and -0.17 degrees at the limits: the record hears little
        (0.77, 0.475, False),  # 1.2 degrees at the inner grooves
        (-0.77, 0.475, True),
        (1.7, -1.1, False),  # 0.52 degrees at the inner grooves
    ],
)
def test_a_parallel_arm_is_right_by_its_numbers_or_by_what_the_record_hears(
    ahead: float, head: float, right: bool
) -> None:
    # The groove turns by asin(ahead / r) (derived); distortion is as the error over r (Löfgren).
    inner, outer = (math.degrees(math.asin(ahead / r)) + head for r in (60.325, 146.05))
    alone = math.degrees(math.asin(0.5 / 60.325))
    heard = max(
        max(abs(inner), abs(outer)) / 0.5,
        max(abs(inner) / 60.325, abs(outer) / 146.05) / (alone / 60.325),
    )
    expected = min(heard, max(abs(ahead) / 0.5, abs(head) / 0.5))
    numbers = max(abs(ahead) / 0.5, abs(head) / 0.5)
    found = min(numbers, _heard_beside(ahead, head, 0.5, 0.5))
    assert found == pytest.approx(expected, abs=0.01)
    assert (found <= 1.0) is right


def said(truth: Truth) -> str:
    """Return what a truth is called, and its value, as the last page writes them."""
    numbers = Numbers()
    return f"{numbers.text(truth.label)}: {numbers.value(truth.told(2))}".replace("\u00a0", " ")


def test_a_truth_has_its_direction_in_words_and_no_sign() -> None:
    world = plain_world()
    world.pillar.place = -2.0
    lower = height_truth(world)
    assert lower.value < 0.0
    assert said(lower) == f"Rear of the tube: {-lower.value:.2f} mm low"
    world.pillar.place = 2.0
    assert said(height_truth(world)).endswith("mm high")
    world.roll.place = -1.0
    assert tilt_truth(world).value < 0.0
    assert said(tilt_truth(world)).endswith("right side high")


def test_a_truth_of_nothing_has_no_direction() -> None:
    fast = speed_truth(plain_world())
    for off, words in ((-0.002, "Speed error: 0.00 %"), (-0.3, "Speed error: 0.30 % slow")):
        assert said(replace(fast, value=off)) == words
