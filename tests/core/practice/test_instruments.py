"""What the instruments show: readings that steps take, with the bench kit's own spread."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from core.language import Numbers
from core.practice import new_rehearsal
from core.practice.instruments import INSTRUMENTS
from core.practice.invented_decks import starter_decks
from core.practice.plinth import rise_along
from core.steps import STEPS, ways_of
from tests.core.practice.worlds import plain_world

EVERY_WAY = [(step.NAME, way) for step in STEPS for way in ways_of(step)]


@pytest.mark.parametrize(("step", "way"), EVERY_WAY)
def test_every_way_of_reading_of_every_step_has_its_instrument(step: str, way: str) -> None:
    deck = next(
        d for d in starter_decks() if (d.arm.kind == "parallel tracking") == (way == "path")
    )
    for seed in range(8):
        for difficulty in ("gentle", "ordinary", "bad day"):
            shown = new_rehearsal(seed, difficulty, deck).instrument(step, way)
            assert shown.reading.way == way
            drawing = shown.drawn(Numbers())
            assert drawing.marks
            assert drawing.title
            assert drawing.summary.endswith(".")


SPREADS: list[tuple[str, str, str, str, float]] = [
    ("level", "bubble", "divisions", "bubble_read_div", 1.0),
    ("level", "inclinometer", "angle_deg", "inclinometer_read_deg", 1.0),
    ("level", "ruler", "gap_mm", "ruler_read_mm", 1.0),
    ("rough_downforce", "scale", "downforce_gf", "scale_read_gf", 1.0),
    ("final_downforce", "check weight", "shown_gf", "scale_read_gf", 1.0),
    ("arm_height", "two heights", "front_mm", "ruler_read_mm", 1.0),
    ("arm_height", "tube angle", "pitch_deg", "inclinometer_read_deg", 1.0),
    ("alignment", "landing", "landing_mm", "protractor_read_mm", 1.0),
    ("alignment", "angles", "inner_deg", "protractor_read_deg", 1.0),
    ("alignment", "pivot distance", "distance_mm", "ruler_read_mm", 1.0),
    ("tilt", "gaps", "left_mm", "gap_read_mm", 1.0),
    ("tilt", "test bands", "left_band_left_db", "test_level_db", 1.0),
    ("speed", "timed turns", "seconds", "stopwatch_s", 1.0),
]


@pytest.mark.parametrize(("step", "way", "field", "kit", "times"), SPREADS)
def test_readings_scatter_as_the_bench_kit_says(
    step: str, way: str, field: str, kit: str, times: float
) -> None:
    world, rng = plain_world(), np.random.default_rng(2)
    instrument = INSTRUMENTS[step, way]
    values = [instrument(world, rng, step=step).values[field] for _ in range(600)]
    spread = times * getattr(world.deck.bench, kit)
    assert np.std(values) == pytest.approx(spread, rel=0.15)  # 5 standard deviations of a spread


@pytest.mark.parametrize(
    ("step", "way", "field", "true"),
    [
        ("level", "bubble", "divisions", None),
        ("rough_downforce", "scale", "downforce_gf", None),
        ("arm_height", "tube angle", "pitch_deg", 0.0),
        ("alignment", "landing", "landing_mm", 0.0),
        ("alignment", "angles", "outer_deg", 0.0),
        ("alignment", "pivot distance", "distance_mm", 222.0),
        ("tilt", "gaps", "left_mm", 2.0),
        ("speed", "timed turns", "seconds", None),
    ],
)
def test_readings_tell_the_truth_on_the_whole(
    step: str, way: str, field: str, true: float | None
) -> None:
    world, rng = plain_world(), np.random.default_rng(3)
    if step == "speed":
        true = 60.0 * 100 / world.rpm("33⅓")
    elif step == "level":
        true = rise_along(world.surface(), 0.0) / world.deck.bench.bubble_mm_per_m_per_div
    elif true is None:
        true = world.downforce_gf
    values = [INSTRUMENTS[step, way](world, rng, step=step).values[field] for _ in range(400)]
    assert np.mean(values) == pytest.approx(true, abs=5 * np.std(values) / math.sqrt(400) + 2e-3)


def test_a_level_turned_end_for_end_shows_its_own_error_and_the_slope_reversed() -> None:
    world, rng = plain_world(shelf=(0.0, 2.0)), np.random.default_rng(4)
    world.tools.level_zero_mm_per_m = 0.5

    def mean(**choices: Any) -> float:
        looks = [INSTRUMENTS["level", "bubble"](world, rng, **choices) for _ in range(300)]
        return float(np.mean([look.values["divisions"] for look in looks]))

    one, other = mean(direction="front-back"), mean(direction="front-back", turned=True)
    per_division = world.deck.bench.bubble_mm_per_m_per_div
    assert 0.5 * (one + other) * per_division == pytest.approx(0.5, abs=0.05)
    slope = rise_along(world.surface(), 0.0)
    assert slope == pytest.approx(2.0, abs=0.6)  # the feet are pressed in unevenly
    assert 0.5 * (one - other) * per_division == pytest.approx(slope, abs=0.05)


def test_a_floating_arm_shows_nothing() -> None:
    world, rng = plain_world(), np.random.default_rng(5)
    world.weight.place = -10.0
    assert world.downforce_gf < 0
    shown = INSTRUMENTS["rough_downforce", "scale"](world, rng, step="rough_downforce")
    assert shown.values["downforce_gf"] == 0.0


def test_too_much_compensation_breaks_up_the_left_and_too_little_the_right() -> None:
    world, rng = plain_world(), np.random.default_rng(6)
    balance = world.mean_side_force_gf() / world.skating_gf_per_mark
    for place, heard in ((0.5 * balance, "right"), (balance, "together"), (1.6 * balance, "left")):
        world.skating.place = place
        shown = INSTRUMENTS["skating", "test bands"](world, rng)
        assert shown.values["broke_first"] == heard


def test_a_drawing_writes_numbers_as_the_country_does() -> None:
    shown = new_rehearsal(8).instrument("rough_downforce", "check weight")
    assert "," in shown.drawn(Numbers(",")).summary.removeprefix("Scale, check")
