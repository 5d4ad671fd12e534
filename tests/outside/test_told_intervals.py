"""Every way of reading, one reading each: its figures and how well they are known, by hand.

Instruments are those pinned in :mod:`tests.outside.told`. Independent parts add as squares, and
1.96 times the root is half of 95 % (JCGM 100:2008, 5.1.2 and 6.3). The arithmetic stands beside.
"""

from __future__ import annotations

import math

import pytest

from tests.examples import cartridge
from tests.outside.test_told_tilt import gaps
from tests.outside.told import pinned, told
from tests.worked import Read, bubble, strobe

BENT = 239.296
"""The example's effective length, mm."""


def root(*parts: float) -> float:
    return 1.96 * math.sqrt(sum(part * part for part in parts))


SHOWS: dict[str, tuple[str, list[Read], dict[str, tuple[float, float | None]]]] = {
    # 60 of 6,000 bars: 1 %; half a bar is 0.0083 %, 0.15 s of a minute a 400th of the drift, and
    # the lamp is known to 0.05 %.
    "bars with": (
        "speed",
        [{**strobe(60.0), "direction": "with"}],
        {"speed_error_33": (1.0, root(0.00833, 0.0025, 0.05))},
    ),
    "bars against": (
        "speed",
        [{**strobe(30.0), "direction": "against", "seconds": 30.0}],
        {"speed_error_33": (-1.0, root(0.01667, 0.005, 0.05))},
    ),
    # 100 turns in 181 s: 33.149 rpm, 0.5525 % slow; 0.15 s of 181 are 0.0829 %.
    "turns": (
        "speed",
        [{"way": "timed turns", "turns": 100, "seconds": 181.0}],
        {"speed_error_33": (-0.55249, root(0.08288 * 0.99448))},
    ),
    # 33.40 shown: 0.2 % fast; a hundredth of a rpm rounds to 0.00289, 0.0087 %, the meter to 0.05.
    "readout": (
        "speed",
        [{"way": "readout", "rpm": 33.4}],
        {"speed_error_33": (0.2, root(0.00866, 0.0501))},
    ),
    # An eighth of a division of 1 mm/m, and half a one of the vial's own.
    "bubble": (
        "level",
        [bubble("front-back", 3.0), bubble("left-right", -2.0)],
        {
            "slope_right": (-2.0, root(0.125, 0.5)),
            "slope_back": (3.0, root(0.125, 0.5)),
            "tilt": (math.hypot(2.0, 3.0), None),
            "tilt_deg": (0.20658, None),  # atan 0.0036056
            "high_bearing": (326.31, None),  # 2 to the left, 3 to the back: 360 - atan(2 / 3)
        },
    ),
    # tan 0.3° = 5.236 and tan 0.1° = 1.745 mm/m; 0.05° are 0.873.
    "inclinometer": (
        "level",
        [
            {"way": "inclinometer", "direction": "front-back", "angle_deg": 0.3},
            {"way": "inclinometer", "direction": "left-right", "angle_deg": -0.1},
        ],
        {
            "slope_right": (-1.74533, root(0.87266, 0.5)),
            "slope_back": (5.23604, root(0.87266, 0.5)),
        },
    ),
    # 3 mm over 180, each ruler read to 0.25; at the pivot 239.296 / 180 of it.
    "rulers": (
        "arm_height",
        [{"way": "two heights", "front_mm": 24.0, "rear_mm": 27.0, "spacing_mm": 180.0}],
        {
            "height": (3.0, root(0.25, 0.25)),
            "pitch": (0.95484, root(0.25 / 180.0 * 57.2958, 0.25 / 180.0 * 57.2958)),
            "pillar": (-3.98827, root(0.33236, 0.33236)),
            "tracking_angle": (20.95484, root(0.07958, 0.07958)),
            "angle_per_mm": (0.23943, None),  # atan(1 / 239.296)
            "reach": (0.03323, None),  # 239.296 (1 - cos 0.95484°)
            "tilt_added": (0.37287, None),  # 0.95484 sin 22.986°
        },
    ),
    "low rear": (
        "arm_height",
        [{"way": "two heights", "front_mm": 25.0, "rear_mm": 23.5, "spacing_mm": 150.0}],
        {
            "height": (-1.5, root(0.25, 0.25)),
            "pitch": (-0.57294, root(0.09549, 0.09549)),
            "pillar": (2.39296, root(0.39883, 0.39883)),
            "tracking_angle": (19.42706, root(0.09549, 0.09549)),
            "tilt_added": (-0.22374, None),
        },
    ),
    # 239.296 tan 0.6° = 2.506; 0.05° are 0.2088.
    "tube angle": (
        "arm_height",
        [{"way": "tube angle", "pitch_deg": 0.6}],
        {
            "pitch": (0.6, root(0.05)),
            "height": (2.50599, root(0.20884)),
            "pillar": (-2.50599, root(0.20884)),
            "tilt_added": (0.2343, None),
        },
    ),
    # atan(1 / 17); gaps to 0.05 each: 0.0707 / 17 = 0.2383°, times cos² 3.37°.
    "gaps": ("tilt", [gaps(3.0, 2.0)], {"tilt": (3.36646, root(0.23750))}),
    "gaps the other way": ("tilt", [gaps(1.5, 2.0)], {"tilt": (-1.68469, root(0.23810))}),
    "mirror": (
        "tilt",
        [{"way": "mirror", "lean": "left high", "angle_deg": 2.0}],
        {"tilt": (2.0, root(0.5))},
    ),
    "mirror right": (
        "tilt",
        [{"way": "mirror", "lean": "right high", "angle_deg": 1.5}],
        {"tilt": (-1.5, root(0.5))},
    ),
}


@pytest.mark.parametrize(("step", "readings", "figures"), SHOWS.values(), ids=SHOWS)
def test_one_reading_tells_so_much(
    step: str, readings: list[Read], figures: dict[str, tuple[float, float | None]]
) -> None:
    answer = told(step, *readings)
    for key, (value, half) in figures.items():
        figure = answer.figure(key)
        assert figure is not None, key
        assert figure.value == pytest.approx(value, rel=2e-4, abs=2e-5), key
        if half is not None:
            assert figure.half_width == pytest.approx(half, rel=3e-3), key


@pytest.mark.parametrize(
    ("step", "readings", "tolerances"),
    [
        # 0.5 mm over 180: 0.15915°; over the arm's own 239.296: 0.11972°.
        ("arm_height", SHOWS["rulers"][1], {"height": (0.0, 0.5), "pitch": (0.0, 0.15915)}),
        ("arm_height", SHOWS["tube angle"][1], {"height": (0.0, 0.5), "pitch": (0.0, 0.11972)}),
        ("tilt", SHOWS["gaps"][1], {"tilt": (0.0, 1.0)}),
        ("speed", SHOWS["turns"][1], {"speed_error_33": (0.0, 0.3)}),
        ("level", SHOWS["bubble"][1], {"tilt": (0.0, 2.0)}),
    ],
)
def test_what_is_wanted_stands_beside_the_figure(
    step: str, readings: list[Read], tolerances: dict[str, tuple[float, float]]
) -> None:
    answer = told(step, *readings)
    for key, wanted in tolerances.items():
        figure = answer.figure(key)
        assert figure is not None
        assert (figure.target, figure.tolerance) == pytest.approx(wanted, rel=1e-3)


@pytest.mark.parametrize(
    ("step", "reading", "key", "one"),
    [
        # What is free from reading to reading is halved by four, what they share is not.
        ("speed", {**strobe(60.0), "direction": "with"}, "speed_error_33", (0.0087, 0.05)),
        ("speed", {"way": "timed turns", "turns": 100, "seconds": 181.0}, "speed_error_33",
         (0.08242, 0.0)),
        ("arm_height", SHOWS["tube angle"][1][0], "pitch", (0.05, 0.0)),
        ("tilt", gaps(3.0, 2.0), "tilt", (0.2375, 0.0)),
    ],
)  # fmt: skip # a table
def test_four_alike_are_known_twice_as_well_but_for_what_they_share(
    step: str, reading: Read, key: str, one: tuple[float, float]
) -> None:
    free, shared = one
    first = told(step, reading).figure(key)
    last = told(step, *[reading] * 4).figure(key)
    assert first is not None
    assert last is not None
    assert first.half_width == pytest.approx(root(free, shared), rel=0.01)
    assert last.half_width is not None
    # Rounded readings that agree to the last digit may all be off by it: no better than that.
    assert root(0.5 * free, shared) * 0.99 < last.half_width < root(free, shared)
    assert last.value == pytest.approx(first.value, rel=1e-6)


@pytest.mark.parametrize("width", [10.0, 17.0, 30.0])
def test_gaps_tell_more_of_a_wider_body(width: float) -> None:
    answer = told("tilt", gaps(2.5, 2.0), on=pinned(), fitted=cartridge(body_width_mm=width))
    figure = answer.figure("tilt")
    assert figure is not None
    lean = math.degrees(math.atan2(0.5, width))
    assert figure.value == pytest.approx(lean, rel=1e-6)
    swing = math.degrees(math.atan2(0.5 + 0.001, width)) - lean
    assert figure.half_width == pytest.approx(root(50.0 * swing, 50.0 * swing), rel=3e-3)
