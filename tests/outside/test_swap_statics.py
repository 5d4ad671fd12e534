"""Swaps against moments and geometry solved anew. Standing beside each check."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import brentq, curve_fit

from core.fitting import Body, Control, MovePart
from core.language import Numbers
from core.physics.statics import downforce_change_of_slide_gf, downforce_per_mm_gf
from core.records import Cartridge, Deck
from core.steps.downforce.swap import downforce_change_gf
from core.steps.shared.gain_samples import Sample, fitted
from core.steps.shared.swap_part import SwapCase
from core.swap import Past, plan_swap
from core.swap.comparison import Errors
from core.workflow.effects import effects_of
from tests.core.swap.swaps import left, moved, past, started, weighed
from tests.examples import cartridge, deck
from tests.kit import figure_of, status_of


def nine_inch(**changes: object) -> Deck:
    """L = 230 mm and W = 100 g, a thread of 1 mm: the figures of the hand-worked checks."""
    arm = {"effective_length_mm": 230.0, "pivot_to_spindle_mm": 212.0, "offset_deg": 23.966}
    return deck(arm={**arm, "counterweight_g": 100.0}, **changes)


def left_with(on: Deck, fitted_in: Cartridge, downforce_gf: float, *before: Body) -> Past:
    rough = (*before, weighed(downforce_gf, "rough_downforce"))
    final = (weighed(downforce_gf),)
    return past(on, fitted_in, left(rough_downforce=rough, final_downforce=final))


def case_of(on: Deck, old: Past, new: Cartridge) -> SwapCase:
    return SwapCase(on, old, new, Numbers(), (), (old,))


def torque_g_mm(masses: list[tuple[float, float]], stylus_mm: float, force_gf: float) -> float:
    """Sum r x F about the pivot of (grams, mm ahead of it) and what the record pushes up."""
    pulls = [np.cross([x, 0.0, 0.0], [0.0, 0.0, -mass]) for mass, x in masses]
    push = np.cross([stylus_mm, 0.0, 0.0], [0.0, 0.0, force_gf])
    return float(np.sum([*pulls, push], axis=0)[1])


@pytest.mark.parametrize(("new_g", "target_gf"), [(9.0, 2.0), (4.5, 2.0), (6.0, 1.8), (12.0, 2.2)])
def test_the_counterweight_goes_where_the_moments_balance(new_g: float, target_gf: float) -> None:
    # Derived a second way: the root of the torque about the pivot, by scipy's brentq, before and
    # after; the arm's own moment is whatever balanced the first cartridge with the weight 50 mm
    # behind the pivot. By hand: dm L / W and (F' - F) L / W.
    on, old_in = nine_inch(), cartridge()
    new = cartridge(mass_g=new_g, downforce_recommended_gf=target_gf)
    length, weight, place = 230.0, 100.0, 50.0
    arm = torque_g_mm([(7.0, length), (weight, -place)], length, 2.0)

    def off_balance(behind_mm: float) -> float:
        masses = [(new_g + 1.0, length), (weight, -behind_mm)]
        return torque_g_mm(masses, length, target_gf) - arm

    toward_pivot = place - brentq(off_balance, 0.0, 200.0, xtol=1e-12)
    by_hand = -((new_g + 1.0 - 7.0) - (target_gf - 2.0)) * length / weight
    assert toward_pivot == pytest.approx(by_hand, abs=1e-9)
    case = case_of(on, left_with(on, old_in, 2.0), new)
    change = downforce_change_gf(case, 2.0, 7.0, new_g + 1.0)
    assert change / downforce_per_mm_gf(weight, length) == pytest.approx(toward_pivot, abs=1e-9)


def test_a_cartridge_3_g_heavier_takes_6_9_mm_of_a_100_g_weight_at_230_mm() -> None:
    # Worked by hand: 3 g x 230 mm / 100 g = 6.9 mm; a thread of 1 mm makes it 6.9 turns, of which
    # a hand makes 6 7/8.
    # One move on record, 2 turns for 0.87 gf, shows that the thread does what W / L says of it.
    on = nine_inch()
    shown = (
        weighed(1.13, "rough_downforce"),
        moved("rough_downforce", Control.COUNTERWEIGHT, 2.0, "turns", equivalent_mm=2.0),
    )
    plan = plan_swap(on, left_with(on, cartridge(), 2.0, *shown), cartridge(mass_g=9.0))
    amount, predicted, half = started(plan, "rough_downforce", "downforce")
    assert amount == pytest.approx(-6.875)
    assert predicted == pytest.approx(2.0, abs=0.05)
    assert 0.0 < half < 1.0


def test_a_thread_never_tried_is_moved_short_of_what_could_hurt() -> None:
    # House rule: no move whose far end passes 1.5 x the maker's maximum, here 3.3 gf.
    on = nine_inch()
    plan = plan_swap(on, left_with(on, cartridge(), 2.0), cartridge(mass_g=9.0))
    amount, predicted, half = started(plan, "rough_downforce", "downforce")
    assert amount is not None
    assert amount < -6.9
    assert predicted + half == pytest.approx(1.5 * 2.2, abs=0.06)


def test_a_fixed_head_moves_the_tip_and_the_moments_know_it() -> None:
    # Derived: the same torque, with the new stylus 2 mm further from the pivot.
    on = nine_inch(head={"kind": "fixed"})
    old_in, new = cartridge(), cartridge(mass_g=8.0, tip_to_holes_mm=11.5)
    case = case_of(on, left_with(on, old_in, 2.0), new)
    weight, place = 100.0, 50.0
    arm = torque_g_mm([(7.0, 230.0), (weight, -place)], 230.0, 2.0)

    def off_balance(behind_mm: float) -> float:
        return torque_g_mm([(9.0, 232.0), (weight, -behind_mm)], 232.0, 2.0) - arm

    toward_pivot = place - brentq(off_balance, 0.0, 200.0, xtol=1e-12)
    change = downforce_change_gf(case, 2.0, 7.0, 9.0)
    assert change / downforce_per_mm_gf(weight, 232.0) == pytest.approx(toward_pivot, abs=1e-9)


def test_what_7_g_slid_by_1_5_mm_at_230_mm_come_to() -> None:
    # Derived: the torque of cartridge and stylus force, both slid along a head turned in by the
    # offset; the stylus force that leaves the counterweight's torque as it was.
    on, seven = nine_inch(), cartridge()
    assert seven.moving_g == 7.0
    part = MovePart(control=Control.SLIDE, amount=1.5, unit="mm")
    change = effects_of(part, on, seven)[0].change
    length, aim = on.arm.effective_length_mm, seven.downforce_target_gf
    then = length + 1.5 * math.cos(math.radians(on.arm.offset_deg))
    before = torque_g_mm([(7.0, length)], length, aim)
    bears = brentq(lambda gf: torque_g_mm([(7.0, then)], then, gf) - before, 0.0, 9.0)
    assert change == pytest.approx(bears - aim, abs=5e-4)
    # Without the shortcut for small slides, bearing nothing: m ds / (L + ds), 0.0454.
    assert downforce_change_of_slide_gf(1.5, 7.0, 230.0) == pytest.approx(0.046, abs=7e-4)


@pytest.mark.parametrize(("then_mm", "now_mm"), [(17.0, 19.0), (19.5, 16.2), (17.0, 17.0)])
def test_the_pillar_follows_the_body_until_the_tube_lies_parallel(
    then_mm: float, now_mm: float
) -> None:
    # Derived a second way: the tube as a line from the pillar to the head, the pillar's height
    # that makes its slope nil found by brentq. No compliance, so that no suspension gives.
    on = nine_inch(height={"control": "pillar", "travel_up_mm": 20.0, "travel_down_mm": 20.0})
    old_in = cartridge(body_height_mm=then_mm, compliance=None)
    new = cartridge(body_height_mm=now_mm, compliance=None)

    def slope(pillar_mm: float) -> float:
        rear, head = then_mm + pillar_mm, now_mm
        return math.degrees(math.atan2(rear - head, 230.0))

    lift = brentq(slope, -30.0, 30.0, xtol=1e-12)
    amount, predicted, half = started(
        plan_swap(on, left_with(on, old_in, 2.0), new), "arm_height", "pillar"
    )
    assert (amount or 0.0) == pytest.approx(lift, abs=0.051)  # a hand makes tenths
    assert predicted == pytest.approx(lift - (amount or 0.0), abs=1e-6)
    assert half > 0.5


@pytest.mark.parametrize(("then_mm", "now_mm"), [(9.5, 10.7), (10.5, 8.6)])
def test_the_slots_take_up_how_far_the_tip_lies_ahead(then_mm: float, now_mm: float) -> None:
    # Derived as vectors: the holes stand at L - t from the pivot; the tip must come to the same L.
    on = deck()
    old = left_with(on, cartridge(tip_to_holes_mm=then_mm), 2.0)
    plan = plan_swap(on, old, cartridge(tip_to_holes_mm=now_mm))
    figure = figure_of(status_of(old.journey, "alignment").assessment, "effective_length")
    assert figure.target is not None
    holes_then = np.array([figure.value - then_mm, 0.0])
    holes_now = np.array([figure.target - now_mm, 0.0])
    amount, predicted, _ = started(plan, "alignment", "effective_length")
    assert amount == pytest.approx(float((holes_now - holes_then)[0]), abs=0.051)
    assert predicted == pytest.approx(figure.target, abs=0.051)


def test_gains_are_fitted_as_a_reference_fits_them() -> None:
    # scipy.optimize.curve_fit with absolute sigmas, seen: the same straight line through zero.
    rng = np.random.default_rng(5)
    asked = rng.uniform(0.5, 3.0, 12) * rng.choice([-1.0, 1.0], 12)
    sigma = rng.uniform(0.01, 0.03, 12)
    found = 0.42 * asked + sigma * rng.standard_normal(12)
    samples = [
        Sample(float(x), float(y), float(s), made_share=0.0)
        for x, y, s in zip(asked, found, sigma, strict=True)
    ]
    (gain,), covariance = curve_fit(
        lambda x, g: g * x, asked, found, sigma=sigma, absolute_sigma=True
    )
    answer = fitted(samples)
    assert answer is not None
    value, count = answer
    chi_square = float(np.sum(((found - gain * asked) / sigma) ** 2))
    scatter = max(math.sqrt(chi_square / 11), 1.0)
    assert count == 12
    assert value.value == pytest.approx(float(gain), rel=1e-9)
    assert value.standard_uncertainty == pytest.approx(
        scatter * math.sqrt(float(covariance[0, 0])), rel=1e-6
    )


def test_the_interval_of_the_next_error_holds_the_next_error() -> None:
    # Derived a second way: five errors drawn at random, four to judge by and one to foretell.
    rng = np.random.default_rng(11)
    drawn = rng.normal(0.3, 0.1, (20_000, 5))
    held = 0
    for errors in drawn:
        mean, spread = float(np.mean(errors[:4])), float(np.std(errors[:4], ddof=1))
        held += abs(errors[4] - mean) <= Errors(mean, spread, 4).half_width
    assert held / len(drawn) == pytest.approx(0.95, abs=0.005)


def test_errors_are_told_apart_from_none_as_a_t_test_tells_them() -> None:
    # Reference: scipy.stats.ttest_1samp.
    for errors in ([0.30, 0.42, 0.35, 0.41], [0.1, 0.4, 0.3, 0.2], [0.1, 0.6, -0.1, 0.2]):
        seen = Errors(float(np.mean(errors)), float(np.std(errors, ddof=1)), len(errors))
        assert seen.is_told_apart == (stats.ttest_1samp(errors, 0.0).pvalue < 0.05)
    spread_out = Errors(0.1, 0.4, 4)
    assert not spread_out.is_told_apart
