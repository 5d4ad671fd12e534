"""Where readings disagree, they are named: by the time each was taken, and by what was typed."""

from __future__ import annotations

from typing import Any

import pytest

from core.language import Numbers
from core.steps import STEP_NAMES
from tests.core.workflow.test_replay import Bench
from tests.outside.told import pinned

CASES: tuple[tuple[str, tuple[dict[str, Any], ...], str, tuple[str, ...]], ...] = (
    (
        "rough_downforce",
        ({"way": "scale", "downforce_gf": 1.83}, {"way": "scale", "downforce_gf": 2.12}),
        "disagree",
        ("Scale shows 1.83 gf", "Scale shows 2.12 gf"),
    ),
    (
        "arm_height",
        tuple(
            {"way": "two heights", "front_mm": 23.5, "rear_mm": rear, "spacing_mm": 180.0}
            for rear in (23.5, 26.0)
        ),
        "disagree",
        ("23.50 mm", "26.00 mm"),
    ),
    (
        "tilt",
        (
            {"way": "gaps", "left_mm": 2.4, "right_mm": 2.0, "width_mm": 17.0},
            {"way": "gaps", "left_mm": 2.0, "right_mm": 2.4, "width_mm": 17.0},
        ),
        "disagree",
        ("2.40 mm", "2.00 mm"),
    ),
    (
        "speed",
        (
            {"way": "readout", "speed_rpm": 33.333333, "rpm": 33.4, "minutes_running": 30.0},
            {"way": "readout", "speed_rpm": 33.333333, "rpm": 33.2, "minutes_running": 30.0},
        ),
        "disagree",
        ("33.40 rpm", "33.20 rpm"),
    ),
    (
        "alignment",
        (
            {"way": "landing", "landing_mm": 1.2},
            {"way": "landing", "landing_mm": -1.2},
        ),
        "differ by 2.4 mm",
        ("1.20 mm beyond the mark", "1.20 mm short of the mark"),
    ),
)


@pytest.mark.parametrize(("step", "readings", "said", "named"), CASES, ids=lambda one: str(one)[:9])
def test_readings_that_disagree_are_named_by_time_and_value(
    step: str, readings: tuple[dict[str, Any], ...], said: str, named: tuple[str, ...]
) -> None:
    bench = Bench(pinned())
    bench.through(STEP_NAMES[STEP_NAMES.index(step) - 1])
    for reading in readings:
        bench.read(step, **reading)
    answer = bench.journey.status(step).assessment
    say = Numbers().text
    assert said in say(answer.headline).replace("\u00a0", " ")
    note = say(answer.notes[0]).replace("\u00a0", " ")
    assert note.startswith("Compare ")
    for entry, value in zip(bench.fitting.entries[-2:], named, strict=True):
        assert f"{entry.at.astimezone():%H:%M}: " in note
        assert value in note
