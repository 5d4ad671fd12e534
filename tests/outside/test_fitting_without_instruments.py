"""A whole fitting with a glass of water, a ruler, printed paper and a watch, typed into a log.

The arm has no dial and the house no scale, level, gauge, lamp or test record. Every reading is
what a deck shows on which all is right; the intervals are worked by hand beside the checks.
"""

from __future__ import annotations

import math
from typing import Any

import pytest

from core.fitting import Assessment, Control, MovePart, ReadingTaken, StepAccepted, Verdict
from core.records import BenchKit, Deck
from core.steps import STEP_NAMES
from core.workflow.replay import StepState
from core.workflow.summary import outcomes_of
from tests.examples import cartridge
from tests.outside.told import Person, pinned, said
from tests.worked import CHECKED, Bench, Read, protractor

NOT_THERE = {name: False for name in BenchKit.model_fields if name.startswith("has_")}
WIDE = cartridge(downforce_min_gf=1.5, downforce_max_gf=2.5)
WEIGHT_G, REACH_MM = 100.0, 239.296

READS: dict[str, list[Read]] = {
    "level": [
        {"way": "water", "direction": way, "marked_mm": 40.0, "other_mm": 40.0, "width_mm": 300.0}
        for way in ("left-right", "front-back")
    ],
    "mount": [CHECKED],
    # 2 gf by moments: 100 g moved by 2 x 239.296 / 100 = 4.8 mm.
    "rough_downforce": [{"way": "float and slide", "slid_mm": 4.8, "floated": True, "sinks": True}],
    "arm_height": [{"way": "two heights", "front_mm": 27.0, "rear_mm": 27.0, "spacing_mm": 180.0}],
    "alignment": [protractor(0.0, 0.0)],
    "tilt": [{"way": "mirror", "lean": "upright", "angle_deg": 0.0}],
    "skating": [{"way": "setting", "setting": 2.0}],
    "final_downforce": [{"way": "float and slide", "slid_mm": 4.8, "floated": True, "sinks": True}],
    # 100 turns at 33 1/3 take three minutes.
    "speed": [
        {
            "way": "timed turns",
            "speed_rpm": 33.333333,
            "turns": 200,
            "seconds": 360.0,
            "minutes_running": 15.0,
        }
    ],
}


def at_home(**changes: Any) -> Deck:
    arm = {
        "gf_per_turn": None,
        "counterweight_mm_per_turn": None,
        "counterweight_g": WEIGHT_G,
        "effective_length_mm": REACH_MM,
    }
    return pinned(arm=arm, bench=NOT_THERE, **changes)


def fitted() -> Bench:
    """Go through all steps, reading as often as asked, and accept what passes."""
    bench = Bench(at_home(), WIDE)
    for step in STEP_NAMES:
        for count in range(14):
            answer = bench.journey.status(step).assessment
            if answer.verdict.passes and count >= len(READS[step]):
                break
            assert answer.next_move is None, (step, said(answer.headline))
            asked = answer.next_reading
            ways = bench.journey.status(step).applicability.ways
            reading = READS[step][min(count, len(READS[step]) - 1)]
            assert reading["way"] in ways
            if step in ("rough_downforce", "final_downforce"):
                assert asked is not None
                assert asked.way == reading["way"], "no scale is asked for"
                assert asked.values == {"slid_mm": 4.8}
            if step == "level" and asked is not None and count >= len(READS[step]):
                reading = {**reading, **asked.values}
            bench.keep(ReadingTaken(step=step, reading=reading))
        answer = bench.journey.status(step).assessment
        assert answer.verdict.passes, (step, said(answer.headline))
        bench.keep(StepAccepted(step=step, verdict=answer.verdict))
    return bench


def told(bench: Bench, step: str) -> Assessment:
    return bench.journey.status(step).assessment


def test_it_comes_to_an_end_with_the_stylus_allowed_down() -> None:
    bench = fitted()
    assert bench.journey.due is None
    assert bench.journey.gate.is_open
    assert {status.state for status in bench.journey.statuses} == {StepState.DONE}
    assert told(bench, "final_downforce").verdict is Verdict.LEFT_AS_FOUND  # not to 0.05 gf


def test_the_summary_says_how_sure_each_figure_is() -> None:
    outcomes = {outcome.step: outcome for outcome in outcomes_of(fitted().journey)}
    assert list(outcomes) == list(STEP_NAMES)
    for step, outcome in outcomes.items():
        after = [pair.after for pair in outcome.figures if pair.after and pair.after.tolerance]
        if step not in ("mount", "skating"):  # a checklist, and a mark on a dial
            assert after, step
        for figure in after:
            if step not in ("mount", "skating"):
                assert figure.half_width is not None, (step, figure.key)
    # Two ruler readings of 0.25 mm move 100 g by so much; floating is seen to 0.05 gf, the mass
    # known to 2 % of 2 gf; 95 % (derived).
    ruler = math.sqrt(2.0) * 0.25 * WEIGHT_G / REACH_MM
    half = 1.96 * math.sqrt(ruler**2 + 0.05**2 + (0.02 * 2.0) ** 2)
    for step in ("rough_downforce", "final_downforce"):
        pair = next(p for p in outcomes[step].figures if p.after and p.after.key == "downforce")
        assert pair.after is not None
        assert pair.after.half_width == pytest.approx(half, rel=0.02)
        assert pair.after.value - half > 1.5
        assert pair.after.value + half < 2.5
    doubt = said(*outcomes["final_downforce"].doubts).replace("\xa0", " ")
    assert "0.32 gf" in doubt  # how sure
    assert "0.05 gf" in doubt  # what was asked for


def test_a_ring_on_a_bare_thread_is_no_way_to_put_the_weight_where_it_belongs() -> None:
    """Turned after it was put on, nobody knows by how much: it is floated again."""
    person = Person("final_downforce", at_home(), fitted=WIDE)
    person.reads(READS["final_downforce"][0])
    assert person.journey.gate.is_open
    person.moves(MovePart(control=Control.COUNTERWEIGHT, amount=1.0, unit="mm"))
    assert not person.journey.gate.is_open
    assert person.told.next_reading is not None
    assert person.told.next_reading.way == "float and slide"
