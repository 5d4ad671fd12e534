"""Tilt: gaps, mirror and test bands; every control, and none."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.cartridge import Cartridge
from core.deck import Deck
from core.picture import Band, Curve, Points, Role, Shape
from core.readings import Context, Reading, Trial
from core.steps import tilt
from core.steps.tilt import Gaps, Lean, Mirror, TestBands
from core.verdict import Assessment, Control, MovePart, Verdict
from core.wording import Numbers
from tests.examples import cartridge, deck

WIDTH_MM = 17.0
TURNED = ("head", "collar", "shim")


def on_control(control: str) -> Deck:
    return deck(tilt={"control": control})


def judged(
    things: list[Reading | MovePart],
    on: Deck | None = None,
    with_: Cartridge | None = None,
    numbers: Numbers | None = None,
) -> Assessment:
    trials = tuple(
        Trial(moves=(thing,)) if isinstance(thing, MovePart) else Trial(reading=thing)
        for thing in things
    )
    return tilt.assess(
        Context(
            step="tilt",
            deck=on or deck(),
            cartridge=with_ or cartridge(),
            numbers=numbers or Numbers(),
            log={"tilt": trials},
        )
    )


def gaps_of(tilt_deg: float) -> Gaps:
    """Read the gaps of a body that leans so, left side high, without error."""
    half = 0.5 * WIDTH_MM * math.tan(math.radians(tilt_deg))
    return Gaps(left_mm=5.0 + half, right_mm=5.0 - half)


def roll_of(part: MovePart) -> float:
    """Return by how many degrees a hand that obeys raises the left side."""
    if part.control is Control.TILT:
        return part.amount
    assert part.control is Control.TILT_SHIM
    # A shim under the left screw, 12.7 mm from the right one, presses the left side down.
    return -math.degrees(math.atan2(part.amount, 12.7))


def bands_of(tilt_deg: float, own: tuple[complex, complex] = (0.02j, 0.025j)) -> TestBands:
    """Read levels of a 45/45 groove with a generator that leaks of itself, without error."""
    lean = math.tan(math.radians(tilt_deg))
    into_right, into_left = abs(own[0] + lean), abs(own[1] - lean)
    return TestBands(
        left_band_left_db=-3.0,
        left_band_right_db=-3.0 + 20 * math.log10(into_right),
        right_band_right_db=-2.6,
        right_band_left_db=-2.6 + 20 * math.log10(into_left),
    )


def value(answer: Assessment, key: str = "tilt") -> float:
    figure = answer.figure(key)
    assert figure is not None, key
    return figure.value


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
    assert "left side up" in answer.headline
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
    assert any("set aside" in note for note in settled.notes)


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
        ("head", "Turn the head by 2.0°, right side up", Control.TILT),
        ("collar", "Turn the tube in its collar by 2.0°, right side up", Control.TILT),
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
    assert {"guard", "arm_locked"} <= set(answer.cautions)


def test_a_shim_is_as_thick_as_the_lean_asks_for() -> None:
    # derived: 12.7 mm x tan 2 degrees is 0.4435 mm; stock in steps of 0.05 mm
    move = judged([gaps_of(2.0)], on_control("shim")).next_move
    assert move is not None
    assert move.parts[0].amount == pytest.approx(0.45)


def test_a_head_that_turns_the_other_way_is_noticed_and_still_mended() -> None:
    now = 4.0
    things: list[Reading | MovePart] = [gaps_of(now), gaps_of(now)]
    answer = judged(things)
    seen: list[str] = []
    for _ in range(6):
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


def test_a_head_that_does_not_follow_is_said_to() -> None:
    things: list[Reading | MovePart] = [gaps_of(3.0)]
    answer = judged(things)
    for _ in range(7):
        if answer.next_move is None:
            break
        things += [*answer.next_move.parts, gaps_of(3.0)]
        answer = judged(things)
    assert answer.verdict is Verdict.READ_AGAIN
    assert "do not show" in answer.headline


def test_a_head_that_never_follows_is_left_as_found_once_read_often_enough() -> None:
    things: list[Reading | MovePart] = [gaps_of(3.0)]
    answer = judged(things)
    for _ in range(12):
        things += [*(answer.next_move.parts if answer.next_move else ()), gaps_of(3.0)]
        answer = judged(things)
        if answer.verdict.passes:
            break
    assert answer.verdict is Verdict.LEFT_AS_FOUND
    assert "Left side high by 3.0" in answer.headline


def test_a_control_too_coarse_is_left_where_it_is_nearest() -> None:
    kit = {"gap_read_mm": 0.01}
    coarse = {"control": "head", "smallest_step_deg": 3.0}
    near = judged([gaps_of(0.95)], deck(tilt=coarse, bench=kit))
    assert near.verdict is Verdict.GOOD
    assert "as near as it goes" in near.headline
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
    applies = tilt.applies(on, cartridge())
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
    assert "+2.0°" in answer.headline
    again = bands_of(2.0).model_copy(update={"setting_deg": 2.0})
    settled = judged([*things, wrong, again])
    assert any("set aside" in note for note in settled.notes)
    assert value(settled, "best_setting") == pytest.approx(0.0, abs=0.1)


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
    now = next(i for i in picture.items if isinstance(i, Shape) and i.role is Role.NOW)
    left_low = float(now.y[now.x < 0].min())
    right_low = float(now.y[now.x > 1].min())
    assert left_low > right_low
    assert picture.scale_note == "Tilt drawn 10 times as large."
    assert judged([gaps_of(40.0 / 4)]).picture.scale_note == ""


def test_earlier_leans_stay_faint() -> None:
    part = MovePart(control=Control.TILT, amount=-2.0, unit="°")
    picture = judged([gaps_of(3.0), part, gaps_of(1.0)]).picture
    assert sum(isinstance(i, Shape) and i.role is Role.BEFORE for i in picture.items) == 1


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
