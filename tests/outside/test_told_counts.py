"""How many more readings are asked for: as many as told settle it, should they all show the same.

Nothing else is known of a count beforehand; here it is simply kept (derived).
"""

from __future__ import annotations

import pytest

from core.fitting import Verdict
from tests.outside.told import Person, pinned, said
from tests.worked import Read, protractor


def gaps(left: float, right: float) -> list[Read]:
    return [{"way": "gaps", "left_mm": left, "right_mm": right}]


def tube(front: float, rear: float) -> list[Read]:
    read = {"way": "two heights", "front_mm": front, "rear_mm": rear, "spacing_mm": 180.0}
    return [read]


def scale(shown: float) -> list[Read]:
    return [{"way": "scale", "downforce_gf": shown}]


def turns(seconds: float) -> list[Read]:
    return [{"way": "timed turns", "speed_rpm": 33.333333, "turns": 100, "seconds": seconds}]


CLOSE: list[tuple[str, list[Read]]] = [
    ("rough_downforce", scale(2.18)),
    ("rough_downforce", scale(1.81)),
    ("arm_height", tube(27.0, 27.0)),
    ("arm_height", tube(27.0, 27.25)),
    ("alignment", [protractor(0.2, 0.4)]),
    ("alignment", [protractor(0.3, 0.0)]),
    ("alignment", [protractor(0.35, 0.5)]),
    ("alignment", [protractor(0.4, 0.5)]),
    ("alignment", [protractor(0.5, 0.0)]),
    ("alignment", [protractor(0.6, -0.2)]),
    ("alignment", [protractor(0.0, 0.5)]),
    ("tilt", gaps(2.2, 2.0)),
    ("tilt", gaps(2.0, 2.2)),
    ("final_downforce", scale(2.0)),
    ("final_downforce", scale(2.02)),
    ("speed", turns(179.5)),
    ("speed", turns(180.4)),
]


@pytest.mark.parametrize(("step", "readings"), CLOSE)
def test_as_many_readings_as_are_asked_for_settle_it(step: str, readings: list[Read]) -> None:
    person = Person(step, pinned(platter={"speeds_rpm": (33.333333,)}))
    answer = person.reads(*readings)
    if answer.verdict is not Verdict.READ_AGAIN or answer.next_reading is None:
        return  # it is settled already
    asked = answer.next_reading.count
    if asked is None:
        return  # nobody can tell how many
    for more in range(asked):
        assert answer.verdict is Verdict.READ_AGAIN, f"settled after {more} of {asked}"
        assert answer.next_reading is not None
        still = answer.next_reading.count
        assert still is None or still <= asked - more, said(answer.headline)
        answer = person.reads(*readings)
    assert answer.verdict is not Verdict.READ_AGAIN, said(answer.headline)
