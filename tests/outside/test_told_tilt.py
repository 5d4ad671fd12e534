"""Tilt, from what is read to what is told, worked by hand and with turned vectors. All derived.

A gap wider under the left side means that this side is high, seen from the front; the head is then
turned until its right side rises. Left side higher is plus.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from core.drawing.chart import MarkRole, Shape, Tag
from core.fitting import Control, MovePart, Verdict
from tests.outside.told import Person, moved, orders, pinned, said, says, told
from tests.worked import Read


def gaps(left: float, right: float, width: float | None = None) -> Read:
    read = {"way": "gaps", "left_mm": left, "right_mm": right}
    return read if width is None else {**read, "width_mm": width}


def mirror(lean: str, degrees: float) -> Read:
    return {"way": "mirror", "lean": lean, "angle_deg": degrees}


LEFT_HIGH = [
    # The rise over the run as a vector: (17, 0.9) stands at 3.03 degrees.
    (gaps(2.9, 2.0), 3.03),
    (gaps(3.2, 2.0), 4.04),  # (17, 1.2)
    (gaps(2.6, 2.0, 10.0), 3.43),  # (10, 0.6)
    (mirror("left high", 3.0), 3.0),
]
RIGHT_HIGH = [
    (gaps(2.0, 2.9), -3.03),
    (gaps(1.0, 2.2), -4.04),
    (gaps(2.0, 2.6, 10.0), -3.43),
    (mirror("right high", 3.0), -3.0),
]


@pytest.mark.parametrize(("reading", "tilt"), [*LEFT_HIGH, *RIGHT_HIGH])
@pytest.mark.parametrize("control", ["head", "collar"])
def test_the_low_side_is_turned_up(control: str, reading: Read, tilt: float) -> None:
    answer = told("tilt", reading, on=pinned(tilt={"control": control}))
    assert answer.verdict is Verdict.MOVE
    assert moved(answer) == orders((Control.TILT, "", -tilt, "°"), within=0.051)
    up, down = ("right", "left") if tilt > 0 else ("left", "right")
    says(answer, f"{up} side rises", f"{down} side rises")
    says(answer, "the head" if control == "head" else "in its collar")
    figure = answer.figure("tilt")
    assert figure is not None
    assert figure.value == pytest.approx(tilt, abs=0.01)
    # Seen from the front, the left side goes up when the head turns like the hands of a clock.
    assert answer.next_move is not None
    reason = said(answer.next_move.reason)
    assert (" clockwise" in reason) == (up == "left")


@pytest.mark.parametrize(("reading", "tilt"), [*LEFT_HIGH, *RIGHT_HIGH])
def test_a_shim_goes_to_the_high_side_and_presses_it_down(reading: Read, tilt: float) -> None:
    # Screws half an inch apart: 12.7 mm, of which the tilt's own rise over run is the shim.
    # 12.7 x 0.9 / 17 = 0.672; 12.7 x 1.2 / 17 = 0.896; 12.7 x 0.06 = 0.762; 12.7 x 0.0524 = 0.666.
    thick = {3.03: 0.672, 4.04: 0.896, 3.43: 0.762, 3.0: 0.666}[abs(tilt)]
    answer = told("tilt", reading, on=pinned(tilt={"control": "shim"}))
    assert answer.verdict is Verdict.MOVE
    shim = math.copysign(thick, tilt), "mm"
    assert moved(answer) == orders((Control.TILT_SHIM, "", *shim), within=0.026)  # stock of 0.05
    high, low = ("left", "right") if tilt > 0 else ("right", "left")
    says(answer, f"{high} screw", f"{low} screw")


@pytest.mark.parametrize(("left", "right"), [(2.0, 2.0), (2.1, 2.0), (2.0, 2.1)])
def test_even_gaps_are_upright(left: float, right: float) -> None:
    # 0.1 mm over 17 is 0.34 degrees; two gaps each read to 0.05 mm leave 0.24, doubled 0.47:
    # 0.81 of the 1 degree allowed.
    assert told("tilt", gaps(left, right)).verdict is Verdict.GOOD


def test_it_is_upright_after_what_was_ordered() -> None:
    person = Person("tilt", pinned())
    assert person.reads(gaps(2.9, 2.0)).verdict is Verdict.MOVE
    after = person.obeys()
    assert after.verdict is Verdict.READ_AGAIN
    foretold = after.figure("predicted_tilt")
    assert foretold is not None
    assert foretold.value == pytest.approx(0.0, abs=0.1)
    assert person.reads(gaps(2.0, 2.0)).verdict is Verdict.GOOD


@pytest.mark.parametrize(("reading", "side"), [(gaps(2.9, 2.0), "left"), (gaps(2.0, 2.9), "right")])
def test_a_head_that_does_not_turn_is_left_as_found(reading: Read, side: str) -> None:
    answer = told("tilt", reading, on=pinned(tilt={"control": "none"}))
    assert answer.verdict is Verdict.LEFT_AS_FOUND
    assert answer.next_move is None
    says(answer, f"{side} side high")


def test_gaps_that_contradict_each_other_order_nothing() -> None:
    answer = told("tilt", gaps(2.9, 2.0), gaps(2.0, 2.9))
    assert answer.verdict is Verdict.READ_AGAIN
    assert answer.next_move is None


def heard(tilt_deg: float, setting_deg: float) -> Read:
    """Levels of turned generator axes that have a leak of their own a quarter of a cycle late."""
    left, right = (
        np.array([math.sin(a), math.cos(a)])
        for a in np.radians(np.array([45.0, -45.0]) + tilt_deg + setting_deg)
    )
    walls = np.array([1.0, 1.0]) / math.sqrt(2), np.array([-1.0, 1.0]) / math.sqrt(2)
    level: dict[str, float] = {}
    for name, wall in zip(("left", "right"), walls, strict=True):
        for channel, axis in (("left", left), ("right", right)):
            own = 0.0 if channel == name else 0.03j
            level[f"{name}_band_{channel}_db"] = 20 * math.log10(abs(wall @ axis + own))
    return {"way": "test bands", "setting_deg": setting_deg, **level}


@pytest.mark.parametrize("tilt", [1.5, -1.5])
def test_test_bands_send_the_head_where_the_least_leaks(tilt: float) -> None:
    # Heard 2 degrees either way of where it began and there, where it stands last: -tilt is best.
    answer = told("tilt", *(heard(tilt, setting) for setting in (2.0, -2.0, 0.0)))
    assert answer.verdict is Verdict.MOVE
    assert moved(answer) == orders((Control.TILT, "", -tilt, "°"), within=0.051)
    says(answer, "right side rises" if tilt > 0 else "left side rises")
    # Upright, nothing leaks but the generator's own 0.03: 20 lg 0.03 = -30.5 dB, both ways. Rolled
    # the wrong way it were 3 degrees: the tangent, 0.052, joins the 0.03 to 0.060, -24.4 dB.
    assert answer.next_move is not None
    assert said(answer.next_move.predicted).count("\u221230.5\u00a0dB") == 2


@pytest.mark.parametrize("turn", [1.0, -1.0])
def test_gaps_read_before_the_arm_was_raised_still_count(turn: float) -> None:
    # Raised by 10 mm at 239.296 mm, the arm pitches by 2.394 degrees about an axis square to the
    # tube. The head stands 22.986 degrees to that, turned in: 2.394 x 0.3905 = 0.935 degrees of
    # roll. Seen from the front its left side is the one nearer to the pivot, so that it rises.
    # The gaps say 0.607 degrees before and after. Both gaps to 0.05 mm are 0.238 degrees; what was
    # read before gets a tenth of the roll as well, 0.256 together. By these the first weighs 0.464:
    # 0.464 x 0.935 = 0.434. Both together are known to 0.174, doubled 0.34.
    person = Person("tilt", pinned(arm={"lift_axis_square_to_head": False}))
    person.reads(gaps(2.18, 2.0))
    lift = MovePart(control=Control.PILLAR, amount=10.0 * turn, unit="mm")
    person.moves(lift, step="arm_height")
    figure = person.reads(gaps(2.18, 2.0)).figure("tilt")
    assert figure is not None
    assert figure.value == pytest.approx(0.607 + 0.434 * turn, abs=0.01)
    assert figure.half_width == pytest.approx(0.34, abs=0.01)


@pytest.mark.parametrize(("reading", "tilt"), [*LEFT_HIGH, *RIGHT_HIGH])
def test_the_body_is_drawn_with_its_high_side_high(reading: Read, tilt: float) -> None:
    picture = told("tilt", reading).picture
    tags = {said(item.text): item.x for item in picture.items if isinstance(item, Tag)}
    (left, right) = tags.values()
    assert left < 0.0 < right, "the front is looked at: left is left"
    assert "left" in min(tags, key=tags.__getitem__).lower()
    (now,) = (
        item for item in picture.items if isinstance(item, Shape) and item.role is MarkRole.NOW
    )
    up = now.y[now.x < 0.0].max() - now.y[now.x > 0.0].max()
    assert math.copysign(1.0, up) == math.copysign(1.0, tilt)


@pytest.mark.parametrize(
    ("louder_db", "told_so"), [(1.5, False), (2.75, False), (2.9, True), (6.0, True)]
)
@pytest.mark.parametrize("left", [1.0, -1.0])
def test_channels_are_lopsided_where_they_surely_differ_by_2_db(
    louder_db: float, told_so: bool, left: float
) -> None:
    # Each level is read to 0.3 dB, a difference to 0.3 x 1.414 x 1.96 = 0.83 dB; DIN 45500 asks
    # for 2 dB (second-hand).
    answer = told(
        "tilt",
        {
            "way": "test bands",
            "left_band_left_db": left * louder_db,
            "left_band_right_db": -30.0,
            "right_band_right_db": 0.0,
            "right_band_left_db": -30.0,
            "setting_deg": 0.0,
        },
    )
    notes = said(*answer.notes)
    assert ("is louder by" in notes) is told_so
    if told_so:
        assert ("left channel" in notes) is (left > 0.0)
