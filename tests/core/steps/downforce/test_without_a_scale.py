"""Whoever floats the arm instead of weighing is told beforehand how far to move its weight.

Moments about the pivot (statics, derived): a counterweight of mass M moved by d toward the pivot
puts M d / L on a stylus at the effective length L.
"""

from __future__ import annotations

from typing import Any

import pytest

from core.language import Numbers
from tests.core.workflow.test_replay import Bench
from tests.examples import deck

TARGET_GF = 2.0
LENGTH_MM = 239.3
MASS_G = 100.0
SLIDE_MM = TARGET_GF / MASS_G * LENGTH_MM  # 4.8 mm


def told(*, has_scale: bool, **arm: Any) -> tuple[str, list[str]]:
    bench = Bench(
        deck(
            arm={"gf_per_turn": None, "counterweight_g": MASS_G, **arm},
            bench={"has_scale": has_scale},
        )
    )
    bench.through("mount")
    answer = bench.journey.status("rough_downforce").assessment
    say = Numbers().text
    notes = [say(note).replace("\u00a0", " ") for note in answer.notes]
    return say(answer.headline).replace("\u00a0", " "), notes


@pytest.mark.parametrize("has_scale", [True, False])
def test_the_distance_stands_there_before_anything_is_read(has_scale: bool) -> None:
    headline, notes = told(has_scale=has_scale, counterweight_mm_per_turn=None)
    order = f"Float the arm level, then move the counterweight {SLIDE_MM:.1f} mm toward the pivot."
    if has_scale:
        assert headline == "Put the stylus on the scale, not on a record."
        assert f"No scale? {order}" in notes
    else:
        assert headline == order
        assert not any("No scale?" in note for note in notes)


def test_a_thread_tells_how_far_to_turn() -> None:
    # 4.8 mm on a thread of 1.6 mm are 3 turns.
    headline, _ = told(has_scale=False, counterweight_mm_per_turn=1.6)
    assert headline.endswith("turn the counterweight 4.8 mm toward the pivot: 3 turns.")


def test_an_arm_with_a_dial_names_its_mark() -> None:
    _, notes = told(has_scale=True, gf_per_turn=2.0)
    assert "No scale? Float the arm level, then set its dial to 2.00 gf." in notes


def test_an_arm_that_cannot_be_set_so_says_nothing_of_it() -> None:
    _, notes = told(has_scale=True, counterweight_g=None)
    assert not any("No scale?" in note for note in notes)
