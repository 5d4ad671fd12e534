"""Each figure that lies to one side of nothing is written with that side, as it stands. Derived.

What is read is set up by hand so that the side is plain; the words are those a person reads.
"""

from __future__ import annotations

from typing import Any

import pytest

from core.language import Numbers
from core.records import Deck
from core.workflow.descriptions import figure_value
from tests.outside.test_told_skating import bands, dial
from tests.outside.test_told_tilt import gaps, heard
from tests.outside.told import Person, pinned, told
from tests.worked import Read, bubble, protractor


def written(step: str, key: str, *readings: Read, on: Deck | None = None, **more: Any) -> str:
    figure = told(step, *readings, on=on, **more).figure(key)
    assert figure is not None, key
    return Numbers().value(figure_value(figure)).replace("\u00a0", " ")


def both_ways(end: str, divisions: float, turned: float) -> list[Read]:
    return [bubble(end, divisions), {**bubble(end, turned), "turned": True}]


@pytest.mark.parametrize(
    ("right", "back", "to_right", "to_back"),
    [(3.0, 2.0, "right", "rear"), (-3.0, -2.0, "left", "front")],
)
def test_level_names_the_high_end_of_each_line(
    right: float, back: float, to_right: str, to_back: str
) -> None:
    # The marked end points right and back as a rule: the bubble stands there, so there it is high.
    read = bubble("front-back", back), bubble("left-right", right)
    assert written("level", "slope_right", *read).endswith(f"high at the {to_right}")
    assert written("level", "slope_back", *read).endswith(f"high at the {to_back}")
    assert written("level", "slope_along", read[0]).endswith(f"high at the {to_back}")


@pytest.mark.parametrize(("own", "end"), [(1.5, "marked"), (-1.5, "other")])
def test_level_names_the_end_its_own_error_stands_at(own: float, end: str) -> None:
    # On a level plinth the bubble stands at the same end of the vial, however it is laid.
    read = [*both_ways("front-back", own, own), *both_ways("left-right", own, own)]
    assert written("level", "zero_error", *read).endswith(f"toward its {end} end")


@pytest.mark.parametrize(
    ("front", "rear", "side", "pillar", "high"),
    [(24.0, 27.0, "high", "down", "left"), (27.0, 24.0, "low", "up", "right")],
)
def test_arm_height_names_where_the_rear_lies_and_where_the_pillar_goes(
    front: float, rear: float, side: str, pillar: str, high: str
) -> None:
    read = {"way": "two heights", "front_mm": front, "rear_mm": rear, "spacing_mm": 180.0}
    on = pinned(arm={"lift_axis_square_to_head": False})
    assert written("arm_height", "height", read, on=on).endswith(f" {side}")
    assert written("arm_height", "pitch", read, on=on).endswith(f"rear {side}")
    assert written("arm_height", "pillar", read, on=on).endswith(f" {pillar}")
    # Seen from the front the spindle is on the left, and the head points there by its offset: its
    # left side lies further back. Nose down about an axis square to the tube, that side comes up.
    assert written("arm_height", "tilt_added", read, on=on).endswith(f"{high} side high")


@pytest.mark.parametrize(
    ("slide", "twist", "length", "turned", "head"),
    [(1.5, 2.0, "too long", "in", "in"), (-1.5, -2.0, "too short", "out", "out")],
)
def test_alignment_names_the_length_and_the_turn(
    slide: float, twist: float, length: str, turned: str, head: str
) -> None:
    read = [protractor(slide, twist)] * 3
    assert written("alignment", "slide", *read).endswith(length)
    assert written("alignment", "twist", *read).endswith(f"turned {turned} too far")
    # Turned in about its stylus by 2 degrees it stands turned in over the outer grid too.
    assert written("alignment", "error_outer", *read).endswith(f"turned {head}")


@pytest.mark.parametrize(("left", "right", "high"), [(3.0, 2.0, "left"), (2.0, 3.0, "right")])
def test_tilt_names_the_high_side(left: float, right: float, high: str) -> None:
    assert written("tilt", "tilt", *[gaps(left, right)] * 3).endswith(f"{high} side high")


@pytest.mark.parametrize(("tilt", "up"), [(2.0, "right"), (-2.0, "left")])
def test_tilt_names_the_side_that_wants_to_be_higher(tilt: float, up: str) -> None:
    # The left side high by 2 degrees where the head began: least leaks with the right side raised.
    read = [heard(tilt, at) for at in (-4.0, -2.0, 0.0, 2.0, 4.0)]
    assert written("tilt", "best_setting", *read).endswith(f"{up} side higher")


@pytest.mark.parametrize(("louder", "by"), [("right", 4.0), ("left", -4.0)])
def test_tilt_names_the_louder_channel(louder: str, by: float) -> None:
    read = heard(0.0, 0.0)
    read["right_band_right_db"] += by
    read["left_band_right_db"] += by
    assert written("tilt", "balance", read).endswith(f"{louder} louder")


def test_a_record_pulls_the_stylus_toward_the_spindle() -> None:
    # Friction drags along the groove; the offset makes a part of it inward (Gilson 1981 and others:
    # from memory).
    assert written("skating", "side_force", bands(2.0, "neither"), on=dial()).endswith(
        "toward the spindle"
    )


@pytest.mark.parametrize(("rpm", "side"), [(33.6667, "fast"), (33.0, "slow")])
def test_speed_names_fast_and_slow(rpm: float, side: str) -> None:
    read = {"way": "readout", "rpm": rpm, "minutes_running": 20.0}
    on = pinned(platter={"speeds_rpm": (33.333333,)})
    answer = told("speed", read, on=on)
    words = [Numbers().value(figure_value(one)) for one in answer.figures if one.ways]
    assert words
    assert all(one.endswith(side) for one in words), words


def test_downforce_names_the_way_of_more() -> None:
    # Half a turn toward the pivot gave 0.2 gf more.
    person = Person("rough_downforce")
    person.reads({"way": "scale", "downforce_gf": 1.4})
    person.obeys()
    answer = person.reads({"way": "scale", "downforce_gf": 1.75})
    figure = answer.figure("gain")
    assert figure is not None
    assert Numbers().value(figure_value(figure)).endswith("more toward the pivot")
