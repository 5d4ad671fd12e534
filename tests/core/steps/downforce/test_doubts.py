"""Weighings that are none: asked about, averaged in with no others, and kept in the record."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from core.fitting import Assessment, Context, Control, MovePart, QualifiedPass, Trial, Verdict
from core.language import Numbers, read_number
from core.records import fields_of
from core.steps import step_named
from core.steps.downforce import CheckWeight, ScaleReading
from tests.core.steps.downforce.kit import FLOATED, LOOKED, counterweight, weighing
from tests.examples import cartridge, deck
from tests.worded import worded

ROUGH, FINAL = "rough_downforce", "final_downforce"
EMPTY = CheckWeight(weight_g=0, shown_gf=0)


def judged(step: str, *things: object, **changes: Any) -> Assessment:
    return worded(step_named(step).assess(weighing(step, deck(**changes), cartridge(), *things)))


def value(answer: Assessment) -> float:
    figure = answer.figure("downforce")
    assert figure is not None
    return figure.value


# --- against each other -----------------------------------------------------------------------


@pytest.mark.parametrize("step", [ROUGH, FINAL])
def test_weighings_that_contradict_each_other_are_not_averaged(step: str) -> None:
    # 2.0, 3.5 and 1.0 have a mean of 2.17, inside the maker's 1.8 to 2.2
    answer = judged(step, 2.0, 3.5, 1.0)
    assert answer.headline.startswith("1.00 to 3.50\u00a0gf can't all be right")
    assert answer.verdict is Verdict.STOP  # 3.5 would be over 1 1/2 times the maximum
    assert answer.figure("downforce") is None
    assert answer.next_move is None
    assert answer.next_reading is not None
    assert answer.next_reading.way == "scale"
    assert judged(step, 2.0, 1.0).verdict is Verdict.READ_AGAIN


@pytest.mark.parametrize("step", [ROUGH, FINAL])
def test_two_that_agree_the_last_among_them_are_taken(step: str) -> None:
    answer = judged(step, 2.0, 3.5, 1.0, 2.02)
    assert value(answer) == pytest.approx(2.01, abs=0.001)
    assert any("2 readings are left out of the result" in note for note in answer.notes)


def test_where_the_stylus_may_be_in_danger_it_says_when_weighings_count() -> None:
    apart = [4.0, 2.0]  # 4 gf is above the stop of this cartridge
    asked = judged(ROUGH, *apart)
    told = [note for note in asked.notes if "too far apart" in note]
    assert told
    assert "Weigh on until most of them agree" in told[0]
    # and so it is: two of three agree, and they count before there are three of them
    assert value(judged(ROUGH, 4.0, 2.0, 2.0)) < 2.5


def test_one_that_contradicts_two_is_asked_about_before_it_is_left_out() -> None:
    assert judged(ROUGH, 2.0, 2.01, 1.0).verdict is Verdict.READ_AGAIN
    assert value(judged(ROUGH, 2.0, 2.01, 1.0, 2.0)) == pytest.approx(2.003, abs=0.001)
    assert value(judged(ROUGH, 2.0, 2.01, 1.0, 1.02)) == pytest.approx(1.01, abs=0.001)


def test_what_scatters_a_little_is_no_contradiction() -> None:
    assert judged(ROUGH, 2.0, 2.1).figure("downforce") is not None


def test_a_move_between_them_explains_a_difference() -> None:
    assert value(judged(ROUGH, 3.0, counterweight(-2.0), 2.1)) == pytest.approx(2.1)
    began = datetime(2024, 1, 1, tzinfo=UTC)
    slid = MovePart(control=Control.CARTRIDGE, amount=1.0, unit="")
    log = {
        FINAL: tuple(
            Trial(at=began + timedelta(minutes=at), reading=ScaleReading(downforce_gf=gf))
            for at, gf in ((1, 1.0), (3, 2.0))
        ),
        "mount": (Trial(at=began + timedelta(minutes=2), moves=(slid,)),),
    }
    answer = worded(
        step_named(FINAL).assess(Context(step=FINAL, deck=deck(), cartridge=cartridge(), log=log))
    )
    assert "can't all be right" not in answer.headline


def test_contradicting_weighings_teach_nothing_of_the_counterweight() -> None:
    plain = judged(ROUGH, 3.0, counterweight(-1.0), 2.6)
    asked = judged(ROUGH, 3.0, 1.5, 3.0, counterweight(-1.0), 2.6)
    assert asked.next_move == plain.next_move


# --- in millinewtons --------------------------------------------------------------------------


@pytest.mark.parametrize("step", [ROUGH, FINAL])
def test_twenty_smells_of_millinewtons(step: str) -> None:
    answer = judged(step, 20.0)
    assert answer.headline == (
        "Stylus up! Is it really 20.0 gf, or millinewtons, or is the decimal sign in the wrong "
        "place? Enter it in gf."
    )
    # 20 mN over 9.80665 mN for one gf (derived)
    assert any("2.04\u00a0gf" in note for note in answer.notes)
    assert answer.verdict is Verdict.STOP
    assert answer.next_move is None
    assert value(judged(step, 20.0, 2.04)) == pytest.approx(2.04)


def test_twenty_read_twice_is_taken_at_its_word() -> None:
    answer = judged(ROUGH, 20.0, 20.5)
    assert answer.verdict is Verdict.STOP
    assert answer.next_move is not None
    assert answer.next_move.parts[0].amount < 0.0


def test_figures_that_are_no_usual_downforce_in_millinewtons_either_stop_at_once() -> None:
    assert judged(ROUGH, 4.0).next_move is not None


# --- past the scale's range -------------------------------------------------------------------


def test_a_scale_at_its_end_says_at_least_so_much() -> None:
    answer = judged(ROUGH, 5.0, bench={"scale_range_gf": 5.0})
    assert answer.verdict is Verdict.STOP
    assert answer.figure("downforce") is None
    assert answer.next_move is not None
    assert answer.next_move.parts[0].amount < 0.0
    assert answer.next_move.predicted == "less, then weigh again"
    assert any("at least that" in note for note in answer.notes)


def test_what_was_past_the_range_teaches_nothing_of_the_counterweight() -> None:
    kit = {"scale_range_gf": 5.0}
    moved = judged(ROUGH, 5.0, counterweight(-5.0), 4.0, bench=kit)
    alone = judged(ROUGH, counterweight(-5.0), 4.0, bench=kit)
    assert moved.next_move == alone.next_move
    assert moved.next_move is not None


def test_a_scale_that_stays_at_its_end_asks_about_the_weight_before_a_second_order() -> None:
    answer = judged(ROUGH, 5.0, counterweight(-5.0), 5.0, bench={"scale_range_gf": 5.0})
    assert answer.next_move is None
    assert answer.questions


def test_a_scale_that_shows_its_end_of_a_floating_arm_too_is_left_with_the_stylus_up() -> None:
    """It holds its last value, or nothing moves: more weighings with it tell nothing."""
    seen = (5.0, counterweight(-5.0), 5.0, LOOKED, FLOATED, 5.0)
    answer = judged(ROUGH, *seen, bench={"scale_range_gf": 5.0})
    assert answer.verdict is Verdict.LEFT_AS_FOUND
    assert answer.next_move is None
    assert "stylus_up" in answer.caution_keys


def test_a_scale_that_ends_below_what_is_wanted_is_no_scale_for_it() -> None:
    answer = judged(ROUGH, 2.0, 2.0, 2.0, bench={"scale_range_gf": 2.0})
    assert answer.verdict is Verdict.READ_AGAIN
    assert "one that goes further" in answer.headline


# --- figures that no stylus makes --------------------------------------------------------------


def typed(text: str) -> str:
    spec = next(one for one in fields_of(ScaleReading) if one.name == "downforce_gf")
    said = read_number(text, spec, Numbers())
    assert said.value is None
    return said.problem


def test_more_than_any_scale_for_a_stylus_shows_keeps_the_stylus_up() -> None:
    assert "Keep the stylus up" in typed("999")
    assert "another unit" in typed("999")


def test_less_than_nothing_is_a_scale_zeroed_under_load_and_not_forbidden() -> None:
    assert "can't be negative" not in typed("-5")
    assert "zero it, and weigh again" in typed("-5")


# --- the scale's zero -------------------------------------------------------------------------


def test_good_rests_on_the_scales_word_until_its_zero_was_read() -> None:
    answer = judged(FINAL, 2.0, 2.0, 2.0)
    assert answer.shown_verdict is QualifiedPass.GOOD_ON_TRUST
    assert "if the scale's zero is right" in answer.headline
    assert answer.next_reading is not None
    assert answer.next_reading.way == "empty pan"
    read = judged(FINAL, 2.0, 2.0, 2.0, EMPTY)
    assert read.shown_verdict is Verdict.GOOD
    assert judged(FINAL, EMPTY, 2.0, 2.0, 2.0).shown_verdict is Verdict.GOOD


def test_a_scale_that_shows_too_little_when_empty_is_corrected() -> None:
    low = CheckWeight(weight_g=0, shown_gf=-0.3)
    answer = judged(FINAL, 2.0, 2.0, 2.0, low)
    assert value(answer) == pytest.approx(2.3, abs=0.001)
    assert answer.verdict is Verdict.MOVE
    assert any("weighings before it are corrected" in note for note in answer.notes)
    assert judged(FINAL, 1.7, 1.7, 1.7, low).shown_verdict is Verdict.GOOD


LOW = CheckWeight(weight_g=0, shown_gf=-0.2)
TURNED = counterweight(-0.46)


@pytest.mark.parametrize("step", [ROUGH, FINAL])
def test_after_a_zero_that_was_off_new_weighings_wait_for_the_empty_pan(step: str) -> None:
    # Shown 2.0 with the pan at -0.2 is 2.2. What 2.0 means after that, only the pan can tell.
    before = (1.4, 1.4, 1.4) if step == ROUGH else (2.0, 2.0, 2.0)
    answer = judged(step, *before, LOW, TURNED, 2.0)
    assert answer.verdict is Verdict.READ_AGAIN
    assert answer.next_move is None
    assert answer.next_reading is not None
    assert answer.next_reading.way == "empty pan"
    assert "−0.20" in answer.headline


@pytest.mark.parametrize(("pan", "true"), [(0.0, 2.0), (-0.2, 2.2)])
def test_each_weighing_belongs_to_the_empty_pan_that_is_read_next(pan: float, true: float) -> None:
    # Shown minus what the empty pan shows; with three of each the first were 2.2 in either case.
    after = CheckWeight(weight_g=0, shown_gf=pan)
    answer = judged(FINAL, 2.0, 2.0, 2.0, LOW, TURNED, 2.0, 2.0, 2.0, after)
    assert value(answer) == pytest.approx(true, abs=0.005)
    assert "scatter" not in answer.headline
    if pan == 0.0:
        assert answer.shown_verdict is Verdict.GOOD
        assert "no effect" not in answer.headline
    else:
        assert not answer.verdict.passes


def test_two_zeros_without_a_move_between_are_no_scatter_of_the_weighings() -> None:
    zeroed = CheckWeight(weight_g=0, shown_gf=0.0)
    answer = judged(FINAL, 1.8, 1.8, 1.8, LOW, 2.0, 2.0, 2.0, zeroed)
    assert value(answer) == pytest.approx(2.0, abs=0.005)
    assert answer.shown_verdict is Verdict.GOOD


def test_a_scale_far_from_zero_is_to_be_zeroed() -> None:
    answer = judged(FINAL, 1.0, 1.0, 1.0, CheckWeight(weight_g=0, shown_gf=-1.2))
    assert answer.verdict is Verdict.READ_AGAIN
    assert any("Zero the scale" in note for note in answer.notes)
