"""A glass of water on the plinth, from what is read at its walls to what is told.

The plinth is turned as vectors; the water's surface stays square to the plumb line. Feet and turns
are those of `test_told_level`: 3 mm/m with the back high is 0.696 turn of both front feet. Derived.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from core.fitting import Assessment, Verdict
from tests.kit import figure_of
from tests.outside.test_told_level import FL, FR, REAR, foot
from tests.outside.told import Person, moved, orders, pinned, said, told
from tests.worked import Read

WIDE_MM = 200.0
POINTS = {"front-back": (0.0, 1.0), "left-right": (1.0, 0.0)}


def depths(
    right: float, back: float, along: tuple[float, float], floor: float = 0.0
) -> tuple[float, float]:
    """Return how high water stands at the marked and the other wall of a dish, mm over the plinth.

    `right` and `back` are the plinth's slopes, mm/m; `floor` how much the dish's own floor rises
    toward its marked end, mm/m.
    """
    up = np.array([-right / 1000.0, -back / 1000.0, 1.0])
    up /= np.linalg.norm(up)  # the plinth's normal, plumb is z
    flat = np.array([along[0], along[1], 0.0])
    wall = flat - (flat @ up) * up  # along the plinth
    wall /= np.linalg.norm(wall)
    # The dish leans on the plinth by its floor: its walls are read from its floor's own foot.
    lean = math.atan(floor / 1000.0)
    wall, up = (
        wall * math.cos(lean) + up * math.sin(lean),
        up * math.cos(lean) - wall * math.sin(lean),
    )
    surface = 40.0  # the height of the water, plumb, over the middle of the floor
    found = []
    for side in (1.0, -1.0):
        at = 0.5 * WIDE_MM * side * wall
        found.append(float((surface - at[2]) / up[2]))  # up the wall until the surface is met
    return found[0], found[1]


def water(
    line: str, right: float, back: float, *, turned: bool = False, floor: float = 0.0
) -> Read:
    x, y = POINTS[line]
    sign = -1.0 if turned else 1.0
    marked, other = depths(right, back, (sign * x, sign * y), floor)
    return {
        "way": "water",
        "direction": line,
        "turned": turned,
        "marked_mm": marked,
        "other_mm": other,
        "width_mm": WIDE_MM,
    }


def fine(right: float, back: float, floor: float = 0.0) -> Assessment:
    """Return what is told after both lines, both ways, with a ruler read to a hundredth."""
    on = pinned(bench={"ruler_read_mm": 0.01, "has_level": False, "has_inclinometer": False})
    rounds = [(line, turned) for turned in (False, True) for line in POINTS]
    readings = [water(line, right, back, turned=turned, floor=floor) for line, turned in rounds]
    return told("level", *readings, on=on)


@pytest.mark.parametrize("floor", [0.0, 2.5, -2.5])
def test_water_is_shallow_where_the_plinth_is_high(floor: float) -> None:
    back = fine(0.0, 3.0, floor)
    assert moved(back) == orders(foot(FL, 0.696), foot(FR, 0.696), within=0.07)
    front = fine(0.0, -3.0, floor)
    assert moved(front) == orders(foot(REAR, 0.696), within=0.07)
    right = fine(3.0, 0.0, floor)
    assert moved(right) == orders(foot(FL, 0.864), foot(REAR, 0.432), within=0.09)


def test_level_water_is_level() -> None:
    answer = fine(0.0, 0.0)
    assert answer.verdict is Verdict.GOOD
    assert figure_of(answer, "tilt").value == pytest.approx(0.0, abs=1e-6)


def test_a_ruler_on_a_small_glass_settles_nothing_and_more_is_asked_for() -> None:
    # 0.25 mm at either wall is 0.354 mm of their difference: over 200 mm 1.77 mm/m, over 60 mm 5.9.
    # Turned and read again, a line is known to 1.25 mm/m, and 1.96 times that is 2.45.
    person = Person("level", pinned(bench={"has_level": False, "has_inclinometer": False}))
    for line in POINTS:
        for turned in (False, True):
            person.reads(water(line, 0.0, 0.3, turned=turned))
    answer = person.told
    assert answer.verdict is Verdict.READ_AGAIN
    half = figure_of(answer, "slope_back").half_width
    assert half == pytest.approx(2.45, rel=0.05)


def test_with_no_level_in_the_house_water_is_the_way_offered_first() -> None:
    person = Person("level", pinned(bench={"has_level": False, "has_inclinometer": False}))
    ways = person.journey.status("level").applicability.ways
    assert ways[0] == "water"
    assert set(ways[1:]) == {
        "bubble",
        "bubble at its end",
        "inclinometer",
        "ruler",
    }  # still within reach


def test_after_twelve_readings_that_settle_nothing_it_is_left_at_what_water_tells() -> None:
    person = Person("level", pinned(bench={"has_level": False, "has_inclinometer": False}))
    asked_on = []
    for _ in range(3):
        for line in POINTS:
            for turned in (False, True):
                asked_on.append(person.told.verdict)
                person.reads(water(line, 0.8, 0.8, turned=turned))
    assert asked_on == [Verdict.NO_READING, *[Verdict.READ_AGAIN] * 11]
    # 1.13 mm/m, good to 1.96 x 1.77 / root 6 = 1.41: together past 2.
    assert person.told.verdict is Verdict.LEFT_AS_FOUND
    assert "glass of water" in said(person.told.headline)
    tilt = figure_of(person.told, "tilt")
    assert (tilt.value, tilt.half_width) == pytest.approx((1.13, 1.41), abs=0.03)
