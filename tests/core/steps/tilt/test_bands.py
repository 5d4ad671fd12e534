"""Tilt by test bands; pictures, and whatever order things come in."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.drawing.chart import Band, Curve, MarkRole, Points, Shape
from core.fitting import Control, MovePart, Reading, Verdict
from core.language import Numbers
from core.physics.crosstalk import LeakReading
from core.steps.tilt import Gaps, Lean, Mirror, TestBands
from core.steps.tilt.bands import _fits_turned_round
from tests.core.steps.tilt.kit import TURNED, bands_of, gaps_of, judged, on_control, roll_of, value
from tests.examples import cartridge, deck

# --- test bands -------------------------------------------------------------------------------


def test_one_pair_of_leaks_tells_no_direction_so_a_try_is_asked_for() -> None:
    answer = judged([bands_of(1.5)])
    assert answer.verdict is Verdict.MOVE
    assert answer.figure("tilt") is None
    assert any("One setting" in note for note in answer.notes)


@pytest.mark.parametrize("control", TURNED)
@given(
    start_deg=st.floats(-2.5, 2.5),
    size=st.floats(0.004, 0.03),
    phase=st.floats(0.5, 2.6),
)
@settings(max_examples=20)
def test_test_bands_find_the_upright_stylus(
    control: str, start_deg: float, size: float, phase: float
) -> None:
    own = cmath.rect(size, phase)
    now = start_deg
    on = on_control(control)
    things: list[Reading | MovePart] = [bands_of(now, (own, own))]
    answer = judged(things, on)
    for _ in range(6):
        if answer.verdict is Verdict.GOOD:
            break
        if answer.next_move is None:  # what was tried decides nothing: one step further
            part = MovePart(control=Control.TILT, amount=-2.0, unit="°")
        else:
            (part,) = answer.next_move.parts
        now += roll_of(part)
        things += [part, bands_of(now, (own, own))]
        answer = judged(things, on)
    assert answer.verdict is Verdict.GOOD, answer.headline
    assert abs(now) <= 1.0
    assert value(answer) == pytest.approx(now, abs=0.15)


def test_the_setting_typed_by_hand_counts_before_the_moves_kept() -> None:
    settings_deg = (-2.0, 0.0, 2.0)
    things: list[Reading | MovePart] = [
        bands_of(at - 0.5).model_copy(update={"setting_deg": at}) for at in settings_deg
    ]
    answer = judged(things)
    assert value(answer, "best_setting") == pytest.approx(0.5, abs=0.1)
    assert value(answer) == pytest.approx(1.5, abs=0.1)
    assert answer.verdict is Verdict.MOVE
    shimmed: list[Reading | MovePart] = [
        bands_of(at - 0.5).model_copy(update={"shim_mm": -12.7 * math.tan(math.radians(at))})
        for at in settings_deg
    ]
    assert value(judged(shimmed, on_control("shim")), "best_setting") == pytest.approx(0.5, abs=0.1)


def test_a_pure_tilt_of_one_degree_leaks_35_16_decibels() -> None:
    # derived: 20 log10 tan 1 degree
    answer = judged([bands_of(1.0, (0j, 0j))])
    assert value(answer, "leak_left_in_right") == pytest.approx(-35.16, abs=0.005)
    assert value(answer, "leak_right_in_left") == pytest.approx(-35.16, abs=0.005)


def test_lopsided_channels_are_called_balance_and_not_tilt() -> None:
    even = bands_of(0.2)
    lopsided = even.model_copy(
        update={
            "right_band_right_db": even.right_band_right_db + 4.0,
            "right_band_left_db": even.right_band_left_db + 4.0,
        }
    )
    answer = judged([lopsided])
    assert value(answer, "balance") == pytest.approx(4.4)
    assert any("balance, not tilt" in note for note in answer.notes)
    assert not any("balance" in note for note in judged([even]).notes)


def test_crossed_leads_or_fields_are_noticed() -> None:
    swapped = TestBands(
        left_band_left_db=-30, left_band_right_db=-3, right_band_right_db=-30, right_band_left_db=-3
    )
    answer = judged([swapped])
    assert answer.verdict is Verdict.READ_AGAIN
    assert "crossed" in answer.headline


def test_a_band_that_disagrees_is_named_by_its_setting() -> None:
    things: list[Reading | MovePart] = [
        bands_of(at).model_copy(update={"setting_deg": at}) for at in (-3.0, -1.0, 1.0, 3.0, 4.0)
    ]
    wrong = bands_of(-2.0).model_copy(update={"setting_deg": 2.0, "left_band_right_db": -12.0})
    answer = judged([*things, wrong])
    assert answer.verdict is Verdict.READ_AGAIN
    assert "2.0° left side higher" in answer.headline
    again = bands_of(2.0).model_copy(update={"setting_deg": 2.0})
    settled = judged([*things, wrong, again])
    assert any("left out" in note for note in settled.notes)
    assert value(settled, "best_setting") == pytest.approx(0.0, abs=0.1)


def read(left: tuple[float, float], right: tuple[float, float]) -> Reading:
    return TestBands(
        left_band_left_db=left[0],
        left_band_right_db=left[1],
        right_band_right_db=right[0],
        right_band_left_db=right[1],
    )


def test_settings_that_fit_no_curve_are_not_asked_for_for_ever() -> None:
    """A head that followed the hand by half: what was read at first fits no curve any more."""

    things: list[Reading | MovePart] = [
        read((-0.2, -30.8), (-0.1, -23.1)),
        MovePart(control=Control.TILT, amount=1.0, unit="°"),
        read((0.3, -36.9), (-0.6, -25.9)),
        MovePart(control=Control.TILT, amount=1.7, unit="°"),
    ]
    headlines, notes = [], []
    for _ in range(5):
        things.append(read((0.4, -26.4), (-0.5, -35.3)))
        answer = judged(things)
        headlines.append(answer.headline)
        notes.append(" ".join(answer.notes))
    assert "disagree" in headlines[0]
    assert "disagree" not in headlines[-1]
    assert "do not fit together" in notes[-1]


@pytest.mark.parametrize("one_is_left_out", [False, True])
def test_seven_readings_that_fit_no_curve_are_enough_with_one_that_was_left_out(
    one_is_left_out: bool,
) -> None:
    """What was read again in place of another was read all the same: a hand has done it."""
    first, turned = read((-0.2, -30.8), (-0.1, -23.1)), read((0.3, -36.9), (-0.6, -25.9))
    by_a_degree, further = (
        MovePart(control=Control.TILT, amount=turn, unit="°") for turn in (1.0, 1.7)
    )
    wrong = [read((0.3, -26.9), (-0.6, -25.9)), turned] if one_is_left_out else []
    things: list[Reading | MovePart] = [first, by_a_degree, *wrong, turned, further]
    verdicts = []
    while len(verdicts) < 3 or verdicts[-1] is not Verdict.LEFT_AS_FOUND:
        things.append(read((0.4, -25.8), (-0.5, -34.7)))
        answer = judged(things)
        verdicts.append(answer.verdict)
    assert sum(isinstance(thing, Reading) for thing in things) == 7
    assert Verdict.LEFT_AS_FOUND not in verdicts[:-1]
    assert "near the limit" in answer.headline
    assert any("left out" in note for note in answer.notes) is one_is_left_out


def test_one_setting_on_a_fixed_head_bounds_the_lean_and_claims_no_more() -> None:
    on = on_control("none")
    clean = judged([bands_of(0.3, (0.004j, 0.004j))], on)
    assert clean.verdict is Verdict.GOOD
    leaky = judged([bands_of(1.5, (0.03j, 0.03j))], on)
    assert leaky.verdict is Verdict.LEFT_AS_FOUND
    assert leaky.next_move is None


def test_leaks_good_on_a_fixed_head_are_never_a_lean_beyond_tolerance() -> None:
    rng = np.random.default_rng(3)
    good = 0
    for _ in range(500):
        own = cmath.rect(rng.uniform(0, 0.03), rng.uniform(0, 2 * math.pi))
        lean = rng.uniform(-2, 2)
        answer = judged([bands_of(lean, (own, own))], on_control("none"))
        if answer.verdict is Verdict.GOOD:
            good += 1
            assert abs(lean) <= 1.0
    assert good > 20


def test_the_way_used_last_rules() -> None:
    assert judged([bands_of(2.0), gaps_of(0.0)]).verdict is Verdict.GOOD
    assert judged([gaps_of(0.0), bands_of(2.0)]).verdict is Verdict.MOVE


# --- pictures ---------------------------------------------------------------------------------


def test_the_front_view_leans_to_the_right_side_and_says_its_exaggeration() -> None:
    picture = judged([gaps_of(1.0)]).picture
    now = next(i for i in picture.items if isinstance(i, Shape) and i.role is MarkRole.NOW)
    left_low = float(now.y[now.x < 0].min())
    right_low = float(now.y[now.x > 1].min())
    assert left_low > right_low
    assert picture.scale_note == "Tilt drawn 10 times as large."
    assert judged([gaps_of(40.0 / 4)]).picture.scale_note is None


def test_earlier_leans_stay_faint() -> None:
    part = MovePart(control=Control.TILT, amount=-2.0, unit="°")
    picture = judged([gaps_of(3.0), part, gaps_of(1.0)]).picture
    assert sum(isinstance(i, Shape) and i.role is MarkRole.BEFORE for i in picture.items) == 1


def test_leaks_are_drawn_with_their_curves_and_the_best_setting() -> None:
    things: list[Reading | MovePart] = [
        bands_of(at).model_copy(update={"setting_deg": at}) for at in (-2.0, 0.5, 2.0)
    ]
    picture = judged(things).picture
    assert sum(isinstance(item, Curve) for item in picture.items) == 2
    assert sum(isinstance(item, Points) for item in picture.items) == 2
    (best,) = [item for item in picture.items if isinstance(item, Band)]
    assert best.low < 0.0 < best.high
    assert "Best at" in picture.summary


def test_sentences_are_written_with_the_readers_decimal_sign() -> None:
    answer = judged([gaps_of(2.5)], numbers=Numbers(","))
    assert "2,5°" in answer.headline


levels = st.floats(-100, 40)
anything = st.one_of(
    st.builds(
        Gaps,
        left_mm=st.floats(0, 30),
        right_mm=st.floats(0, 30),
        width_mm=st.one_of(st.none(), st.floats(3, 60)),
    ),
    st.builds(Mirror, lean=st.sampled_from(Lean), angle_deg=st.floats(0, 20)),
    st.builds(
        TestBands,
        left_band_left_db=levels,
        left_band_right_db=levels,
        right_band_right_db=levels,
        right_band_left_db=levels,
        setting_deg=st.one_of(st.none(), st.floats(-20, 20)),
        shim_mm=st.one_of(st.none(), st.floats(-2, 2)),
    ),
    st.builds(
        MovePart,
        control=st.sampled_from([Control.TILT, Control.TILT_SHIM, Control.PILLAR]),
        amount=st.floats(allow_nan=True, allow_infinity=True),
        unit=st.sampled_from(["°", "mm", "turns"]),
    ),
)


@given(
    st.lists(anything, max_size=8),
    st.sampled_from(["head", "collar", "shim", "none"]),
    st.sampled_from(["tapped", "plug-in"]),
)
@settings(max_examples=120)
def test_no_order_of_readings_and_moves_is_too_much(
    happened: list[Reading | MovePart], control: str, mounting: str
) -> None:
    answer = judged(happened, on_control(control), cartridge(mounting=mounting))
    assert len(answer.headline) <= 80, answer.headline
    if happened and isinstance(happened[-1], MovePart):
        assert answer.verdict is Verdict.READ_AGAIN
    if answer.verdict is Verdict.MOVE:
        assert answer.next_move is not None
        assert answer.next_move.parts[0].amount != 0


def test_bands_that_decide_nothing_ask_for_another_setting() -> None:
    things: list[Reading | MovePart] = [
        bands_of(at - 0.8).model_copy(update={"setting_deg": at}) for at in (-0.3, 0.0, 0.3)
    ]
    answer = judged(things, deck(bench={"test_level_db": 1.0}))
    assert answer.verdict is Verdict.READ_AGAIN
    asked = answer.next_reading
    assert asked is not None
    assert asked.at_another_setting
    assert asked.way == "test bands"
    assert "another setting" in answer.headline


@pytest.mark.parametrize("best", [-2.0, 0.0, 1.5])
@pytest.mark.parametrize(
    ("left", "right"), [((0.01, 60.0), (0.03, -100.0)), ((0.04, 120.0), (0.008, 10.0))]
)
def test_reversed_leads_are_told_by_the_place_of_the_least_leak(
    best: float, left: tuple[float, float], right: tuple[float, float]
) -> None:
    """45/45 geometry: a tilt leaks its tangent, with one sign into each channel, on top of the own
    leak of each generator, here a fourth or four times as much in one as in the other."""
    own = [cmath.rect(size, math.radians(at)) for size, at in (left, right)]

    def read(setting: float, *, turned: bool) -> LeakReading:
        tan = math.tan(math.radians(setting - best))
        leaks = own[0] + tan, own[1] - tan
        (one, at_one), (two, at_two) = (
            (20.0 * math.log10(abs(leak)), math.degrees(cmath.phase(-leak if turned else leak)))
            for leak in leaks
        )
        return LeakReading(setting, one, two, at_one, at_two)

    for turned in (False, True):
        readings = [read(best + off, turned=turned) for off in (-2.0, 0.5, 3.0)]
        assert _fits_turned_round(readings) is turned
