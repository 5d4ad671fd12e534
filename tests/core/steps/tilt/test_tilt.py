"""Tilt: gaps, mirror and test bands; every control, and none."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.fitting import Control, ControlChecked, MovePart, Reading, Verdict
from core.steps import tilt
from core.steps.tilt import Gaps, Lean, Mirror
from tests.core.steps.tilt.kit import TURNED, gaps_of, judged, on_control, roll_of, value
from tests.examples import cartridge, deck
from tests.worded import worded

# --- gaps and mirror --------------------------------------------------------------------------


def test_without_a_reading_nothing_is_claimed() -> None:
    answer = judged([])
    assert answer.verdict is Verdict.NO_READING
    assert answer.picture.fixed_aspect


@given(st.floats(-8.0, 8.0))
@settings(max_examples=40)
def test_gaps_give_the_lean_back(tilt_deg: float) -> None:
    assert value(judged([gaps_of(tilt_deg)])) == pytest.approx(tilt_deg, abs=1e-6)


def test_a_width_of_its_own_takes_the_place_of_the_bodys() -> None:
    # derived: 0.3 mm over 10 mm is 1.718 degrees
    answer = judged([Gaps(left_mm=2.3, right_mm=2.0, width_mm=10.0)])
    assert value(answer) == pytest.approx(1.718, abs=1e-3)


def test_upright_by_gaps_is_good_with_the_interval_said() -> None:
    answer = judged([gaps_of(0.0)])
    assert answer.verdict is Verdict.GOOD
    # 1.96 x sqrt 2 x 0.05 mm over 17 mm is 0.467 degrees
    assert "0.5°" in answer.headline


def test_an_even_lean_of_half_a_degree_with_a_coarse_gauge_is_read_again() -> None:
    coarse = deck(bench={"gap_read_mm": 0.2})
    answer = judged([gaps_of(0.6)], coarse)
    assert answer.verdict is Verdict.READ_AGAIN
    assert any("settle" in note for note in answer.notes)


def test_a_mirror_settles_what_its_eye_can_and_no_more() -> None:
    kinked = Mirror(lean=Lean.RIGHT_HIGH, angle_deg=3.0)
    answer = judged([kinked])
    assert answer.verdict is Verdict.MOVE
    assert value(answer) == pytest.approx(-3.0)
    assert answer.next_move is not None
    assert answer.next_move.parts[0].amount > 0
    assert "left side rises" in answer.headline
    blurred = deck(bench={"mirror_read_deg": 1.5})
    assert judged([Mirror(lean=Lean.UPRIGHT)], blurred).verdict is Verdict.READ_AGAIN


def test_an_upright_judgement_ignores_the_angle_left_in_its_field() -> None:
    assert value(judged([Mirror(lean=Lean.UPRIGHT, angle_deg=5.0)])) == 0.0


def test_a_reading_that_disagrees_is_read_again_and_then_gives_way() -> None:
    first: list[Reading | MovePart] = [gaps_of(3.0), gaps_of(0.1)]
    answer = judged(first)
    assert answer.verdict is Verdict.READ_AGAIN
    assert "gaps" in answer.headline
    settled = judged([*first, gaps_of(0.1)])
    assert settled.verdict is Verdict.GOOD
    assert any("left out" in note for note in settled.notes)


@pytest.mark.parametrize("control", TURNED)
@given(tilt_deg=st.floats(-4.5, 4.5))
@settings(max_examples=25)
def test_the_move_proposed_makes_it_upright(control: str, tilt_deg: float) -> None:
    on = on_control(control)
    things: list[Reading | MovePart] = [gaps_of(tilt_deg)]
    answer = judged(things, on)
    if abs(tilt_deg) > 1.0:
        assert answer.verdict is Verdict.MOVE
    for _ in range(2):
        if answer.next_move is None:
            break
        (part,) = answer.next_move.parts
        tilt_deg += roll_of(part)
        assert judged([*things, part], on).verdict is Verdict.READ_AGAIN
        things += [part, gaps_of(tilt_deg)]
        answer = judged(things, on)
    assert answer.verdict in (Verdict.GOOD, Verdict.READ_AGAIN)
    if answer.verdict is Verdict.READ_AGAIN:
        answer = judged([*things, *[gaps_of(tilt_deg)] * 3], on)
    assert answer.verdict is Verdict.GOOD, answer.headline
    assert abs(tilt_deg) <= 1.0


@pytest.mark.parametrize(
    ("control", "words", "part"),
    [
        ("head", "Turn the head 2.0°: right side rises", Control.TILT),
        ("collar", "Turn the tube in its collar 2.0°: right side rises", Control.TILT),
        ("shim", "shim at the left screw", Control.TILT_SHIM),
    ],
)
def test_a_high_left_side_goes_down_on_every_control(
    control: str, words: str, part: Control
) -> None:
    answer = judged([gaps_of(2.0)], on_control(control))
    assert answer.verdict is Verdict.MOVE
    assert words in answer.headline
    assert answer.next_move is not None
    assert answer.next_move.parts[0].control is part
    assert roll_of(answer.next_move.parts[0]) == pytest.approx(-2.0, abs=0.12)
    assert {"guard", "arm_locked"} <= set(answer.caution_keys)


def test_a_shim_is_as_thick_as_the_lean_asks_for() -> None:
    # derived: 12.7 mm x tan 2 degrees is 0.4435 mm; stock in steps of 0.05 mm
    move = judged([gaps_of(2.0)], on_control("shim")).next_move
    assert move is not None
    assert move.parts[0].amount == pytest.approx(0.45)


LOOKED = ControlChecked(control=Control.TILT)


def test_a_head_that_turns_the_other_way_is_noticed_and_still_mended() -> None:
    now = 4.0
    things: list[Reading | MovePart] = [gaps_of(now), gaps_of(now)]
    answer = judged(things)
    seen: list[str] = []
    for _ in range(6):
        if answer.questions:
            things.append(LOOKED)
            answer = judged(things)
        if answer.next_move is None:
            break
        (part,) = answer.next_move.parts
        now -= part.amount  # backward
        things += [part, gaps_of(now), gaps_of(now)]
        answer = judged(things)
        seen += answer.notes
    assert any("other way round" in note for note in seen)
    assert answer.verdict is Verdict.GOOD
    assert abs(now) <= 1.0


def test_a_head_that_does_not_follow_is_asked_about_and_left_after_a_second_move() -> None:
    things: list[Reading | MovePart] = [gaps_of(3.0)]
    moves = 0
    for _ in range(12):
        answer = judged(things)
        if answer.verdict.passes:
            break
        if answer.questions:
            assert answer.next_move is None
            things.append(LOOKED)
            continue
        if answer.next_move is not None:
            moves += 1
            things += answer.next_move.parts
        things.append(gaps_of(3.0))
    assert answer.verdict is Verdict.LEFT_AS_FOUND
    assert "does not turn" in answer.headline
    assert moves == 2
    assert things.count(LOOKED) == 1


def test_a_control_too_coarse_is_left_where_it_is_nearest() -> None:
    kit = {"gap_read_mm": 0.01}
    coarse = {"control": "head", "smallest_step_deg": 3.0}
    near = judged([gaps_of(0.95)], deck(tilt=coarse, bench=kit))
    assert near.verdict is Verdict.GOOD
    assert "as close as it goes" in near.headline
    far = judged([gaps_of(1.4)], deck(tilt=coarse, bench=kit))
    assert far.verdict is Verdict.LEFT_AS_FOUND
    assert any("more finely" in note for note in far.notes)


def test_after_a_move_a_reading_is_asked_for_with_what_is_expected() -> None:
    part = MovePart(control=Control.TILT, amount=-1.0, unit="°")
    answer = judged([gaps_of(3.0), part])
    assert answer.verdict is Verdict.READ_AGAIN
    assert "left side high by 2.0°" in answer.headline
    assert answer.figure("tilt") is None
    assert judged([part]).verdict is Verdict.READ_AGAIN


# --- decks that lack it -----------------------------------------------------------------------


def test_nothing_to_turn_leaves_a_lean_as_found_with_the_reason() -> None:
    on = on_control("none")
    applies = worded(tilt.applies(on, cartridge()))
    assert applies.reads
    assert not applies.adjusts
    assert applies.reason
    lean = judged([gaps_of(3.0)], on)
    assert lean.verdict is Verdict.LEFT_AS_FOUND
    assert lean.next_move is None
    assert applies.reason in lean.notes
    assert judged([gaps_of(0.1)], on).verdict is Verdict.GOOD
    unsure = judged([gaps_of(0.8)], deck(tilt={"control": "none"}, bench={"gap_read_mm": 0.3}))
    assert unsure.verdict is Verdict.READ_AGAIN


def test_a_plug_in_cartridge_cannot_be_shimmed() -> None:
    with_ = cartridge(mounting="plug-in")
    assert not tilt.applies(on_control("shim"), with_).adjusts
    answer = judged([gaps_of(3.0)], on_control("shim"), with_)
    assert answer.verdict is Verdict.LEFT_AS_FOUND
    assert any("plug-in" in note.lower() for note in answer.notes)


# --- what is asked for, as data ---------------------------------------------------------------


def test_the_way_that_disagrees_is_asked_for_again() -> None:
    asked = judged([gaps_of(3.0), gaps_of(0.1)]).next_reading
    assert asked is not None
    assert asked.way == "gaps"
    first = judged([]).next_reading
    assert first is not None
    assert first.way == ""
    assert "from the front" in str(first.why)
    assert judged([gaps_of(0.0)]).next_reading is None


def test_how_many_more_readings_should_settle_it_is_data() -> None:
    answer = judged([gaps_of(0.6)], deck(bench={"gap_read_mm": 0.2}))
    asked = answer.next_reading
    assert asked is not None
    assert asked.why in answer.notes
    assert asked.longer is (asked.count is None)
    if asked.count is not None:
        assert f"About {asked.count} more" in str(asked.why)
