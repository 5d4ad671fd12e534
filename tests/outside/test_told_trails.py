"""What was read before the last moves stays in the picture, as it was, each once and in order."""

from __future__ import annotations

import pytest

from core.drawing.chart import Curve, MarkRole, Points
from core.fitting import Control, MovePart
from tests.outside.told import Person, pinned
from tests.worked import bubble


def foot(turns: float) -> MovePart:
    return MovePart(control=Control.FOOT, amount=turns, unit="turns", where="front left")


def test_the_trail_of_a_level_is_every_slope_but_the_last() -> None:
    person = Person("level", pinned(bench={"level_zero_error_mm_per_m": 0.05}))
    slopes = [(6.0, -4.0), (4.0, -2.5), (1.0, -1.0)]
    for place, (right, back) in enumerate(slopes):
        if place:
            person.moves(foot(-1.0))
        answer = person.reads(bubble("left-right", right), bubble("front-back", back))
    picture = answer.picture
    (dots,) = [i for i in picture.items if isinstance(i, Points) and i.role == MarkRole.BEFORE]
    found = list(zip(dots.x.tolist(), dots.y.tolist(), strict=True))
    assert found == [pytest.approx(slope, abs=0.3) for slope in slopes[:-1]]
    (trail,) = [i for i in picture.items if isinstance(i, Curve) and i.role == MarkRole.BEFORE]
    assert len(trail.x) == 3
    (now,) = [i for i in picture.items if isinstance(i, Points) and i.role == MarkRole.NOW]
    assert (now.x[0], now.y[0]) == pytest.approx(slopes[-1], abs=0.3)


def test_the_trail_of_a_tilt_is_every_lean_but_the_last() -> None:
    person = Person("tilt")
    for place, (left, right) in enumerate(((4.0, 2.0), (3.0, 2.0), (2.0, 2.0))):
        if place:
            person.obeys()
        answer = person.reads({"way": "gaps", "left_mm": left, "right_mm": right})
    bodies = [i for i in answer.picture.items if getattr(i, "role", None) == MarkRole.BEFORE]
    assert len(bodies) == 2


def test_the_trail_of_an_arm_is_its_last_four_heights_and_the_last_is_now() -> None:
    person = Person("arm_height")
    highs = (9.0, 6.0, 4.0, 3.0, 2.0, 1.0)
    for place, high in enumerate(highs):
        if place:
            person.moves(MovePart(control=Control.PILLAR, amount=-1.0, unit="mm"))
        answer = person.reads(
            {"way": "two heights", "front_mm": 20.0, "rear_mm": 20.0 + high, "spacing_mm": 180.0}
        )
    before = [i for i in answer.picture.items if isinstance(i, Curve) and i.role == MarkRole.BEFORE]
    (now,) = [i for i in answer.picture.items if isinstance(i, Curve) and i.role == MarkRole.NOW]
    rises = [float(one.y[1] - one.y[0]) for one in (*before, now)]
    assert len(before) == 4
    assert rises == sorted(rises, reverse=True)
