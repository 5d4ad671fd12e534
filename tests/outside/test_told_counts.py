"""How many more readings are asked for: as many as told settle it, should they all show the same.

Nothing else is known of a count beforehand; here it is simply kept (derived).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from core.fitting import Assessment, Verdict
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


def number_told(answer: Assessment) -> int | None:
    """Return how many more readings an answer tells in words, None if it tells no number."""
    if answer.verdict is not Verdict.READ_AGAIN or answer.next_reading is None:
        return None
    values = answer.headline.values
    told = any(note.key.endswith(".more_readings") for note in answer.notes)
    if "times" in values:
        told = "a few times" not in said(answer.headline)
    elif "count" in values:
        told = values["count"] != "unknown"
    return answer.next_reading.count if told else None


EYES: dict[str, Callable[[np.random.Generator], Read]] = {
    "alignment": lambda rng: protractor(
        0.35 + 0.25 * rng.standard_normal(), 0.3 * rng.standard_normal()
    ),
    "tilt": lambda rng: gaps(2.2, round(2.0 + 0.05 * rng.standard_normal(), 2))[0],
    "final_downforce": lambda rng: scale(round(2.03 + 0.015 * rng.standard_normal(), 2))[0],
    "speed": lambda rng: turns(round(179.5 + 0.15 * rng.standard_normal(), 2))[0],
}
"""Readings near a limit, with the scatter of a usual eye."""


@pytest.mark.parametrize("step", EYES)
def test_two_more_is_never_followed_by_three_more(step: str) -> None:
    """Each reading takes one off what was told, whatever it shows; or no number is told."""
    numbers = 0
    for seed in range(20):
        rng = np.random.default_rng(seed)
        person = Person(step, pinned(platter={"speeds_rpm": (33.333333,)}))
        left: int | None = None
        for _ in range(7):
            answer = person.reads(EYES[step](rng))
            if answer.verdict is not Verdict.READ_AGAIN:
                break
            left = None if left is None else left - 1
            number = number_told(answer)
            if number is not None:
                assert left is None or number <= left, (seed, said(answer.headline))
                left, numbers = number, numbers + 1
    assert numbers > 3  # it is not kept by telling none
