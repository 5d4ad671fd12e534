"""Another cartridge on a known deck: what is foretold of each step, and to within how much.

Every interval is a budget worked by hand (JCGM 100:2008, 5.1.2: independent parts add as squares;
6.3: 1.96 times the root for 95 %). The allowances are our own and stated in the plan: masses 2 %
or 0.1 g, hardware a tenth of its mass, heights and tips 0.25 mm. What the old fitting left is
known to what its own figure says.

The old one: 6 g with 1 g of hardware, 17 mm high, its tip 9.5 mm ahead of its holes, 2.00 gf on an
arm of 239.296 mm with 100 g behind the pivot.
"""

from __future__ import annotations

import math
from typing import Any

import pytest

from core.fitting import Control, MoveMade, MovePart, ReadingTaken
from core.records import Deck
from core.swap import Past, SwapPlan, plan_swap
from tests.core.swap.swaps import left, past, started
from tests.examples import cartridge
from tests.kit import figure_of, status_of
from tests.outside.told import pinned, said
from tests.worked import CHECKED, bubble, strobe

LENGTH = 239.296
PLAIN: dict[str, Any] = {"compliance": None}
"""No suspension that gives, so that heights are the bodies' alone."""


def fitted_once(on: Deck, **instead: Any) -> Past:
    return past(on, cartridge(**PLAIN), left(**instead))


def planned(on: Deck | None = None, **new: Any) -> SwapPlan:
    on = on or pinned(height={"control": "pillar", "travel_up_mm": 9, "travel_down_mm": 9})
    return plan_swap(on, fitted_once(on), cartridge(**{**PLAIN, **new}))


def root(*parts: float) -> float:
    """Return half of a 95 % interval of independent parts."""
    return 1.96 * math.sqrt(sum(part * part for part in parts))


def stood(step: str, key: str, on: Deck | None = None) -> float:
    """Return the standard uncertainty of what the old fitting left."""
    on = on or pinned(height={"control": "pillar", "travel_up_mm": 9, "travel_down_mm": 9})
    half = figure_of(status_of(fitted_once(on).journey, step).assessment, key).half_width
    assert half is not None
    return half / 1.96


def gain_of(plan: SwapPlan, step: str) -> float:
    """Return how far one unit of a planned move may be off, one standard uncertainty."""
    (start,) = [one for one in plan.starts if one.step == step and one.gain]
    return start.gain_u


# ------------------------------------------------------------------------ mass at the head


@pytest.mark.parametrize(
    ("mass", "hardware", "head", "parts"),
    [
        (6.0, 1.0, 7.0, (0.12, 0.10)),  # 2 % of 6, a tenth of 1
        (12.0, 2.0, 14.0, (0.24, 0.20)),
        (4.0, 0.0, 4.0, (0.10,)),  # 2 % would be 0.08: never below 0.1
    ],
)
def test_the_mass_at_the_head(
    mass: float, hardware: float, head: float, parts: tuple[float, ...]
) -> None:
    plan = planned(mass_g=mass, hardware_g=hardware)
    _, foretold, half = started(plan, "mount", "head_mass")
    assert foretold == pytest.approx(head)
    assert half == pytest.approx(root(*parts), rel=1e-3)


# --------------------------------------------------------------------------- counterweight


def downforce_parts(mass: float) -> tuple[float, ...]:
    """Return what is not known of the downforce after an exchange, gf, one deviation each."""
    old_head, new_head = 7.0, mass + 1.0
    back = 9.5 / LENGTH  # a body's centre of mass lies between its tip and its holes
    return (
        0.12,  # the old one's leaflet, 2 % of 6 g
        0.10,  # and its hardware
        max(0.1, 0.02 * mass),
        0.10,
        back * (new_head - old_head) / math.sqrt(3.0),  # anywhere between: as a rectangle
        back * 0.2 * old_head,  # and a fifth of that apart
        back * 0.2 * new_head,
        0.03,  # leads, friction
        # The tip slid by 0.5 mm until alignment: force times lever keeps its product.
        0.5 * new_head / LENGTH,
        # The arm pitched by 1 mm, its mass 5 mm below the pivot: 1 / L turns it, 5 / L weighs.
        (11.0 + new_head + 100.0) * (1.0 / LENGTH) * (5.0 / LENGTH),
    )


@pytest.mark.parametrize("mass", [4.0, 6.0, 9.0, 12.0])
def test_the_counterweight_for_heavier_and_lighter_ones(mass: float) -> None:
    plan = planned(pinned(arm={"heaviest_cartridge_g": 30.0}), mass_g=mass)
    amount, foretold, half = started(plan, "rough_downforce", "downforce")
    turns = amount or 0.0
    parts = [stood("final_downforce", "downforce"), *downforce_parts(mass)]
    if turns:
        # A gram at the head wants L / W of slide; one turn is a millimetre, W / L of a gf.
        assert foretold == pytest.approx(2.0 + turns * 100.0 / LENGTH + (mass - 6.0), abs=0.02)
        parts += [turns * gain_of(plan, "rough_downforce"), 0.02 * 100.0 / LENGTH]
    else:
        assert foretold == pytest.approx(2.0 - (6.0 - mass))
    assert half == pytest.approx(root(*parts), rel=0.01)


def test_a_plug_in_body_has_its_mass_9_5_mm_behind_its_tip_at_most() -> None:
    on = pinned(head={"kind": "plug-in"})
    kind = {**PLAIN, "mounting": "plug-in"}
    plan = plan_swap(on, past(on, cartridge(**kind), left()), cartridge(**kind, tip_to_holes_mm=30))
    _, _, half = started(plan, "rough_downforce", "downforce")
    head = 7.0
    stands = stood("final_downforce", "downforce", on)
    lever = (9.5 / LENGTH * 0.2 * head,) * 2
    masses = (0.12, 0.1, 0.12, 0.1)
    rest = (0.03, 0.5 * head / LENGTH, 118.0 * 5.0 / LENGTH**2)
    assert half == pytest.approx(root(stands, *masses, *lever, *rest), rel=0.01)


@pytest.mark.parametrize("wanted", [1.8, 2.15])
def test_a_downforce_dial_after_the_arm_is_floated_again(wanted: float) -> None:
    # The arm is floated by eye before and after, 0.1 gf each; the dial is set to 0.02.
    on = pinned(arm={"balance": "dynamic"})
    plan = plan_swap(on, fitted_once(on), cartridge(**PLAIN, downforce_recommended_gf=wanted))
    amount, foretold, half = started(plan, "rough_downforce", "downforce")
    assert amount == pytest.approx(wanted - 2.0)
    assert foretold == pytest.approx(wanted)
    stands = stood("final_downforce", "downforce", on)
    by_dial = (wanted - 2.0) * gain_of(plan, "rough_downforce")
    assert half == pytest.approx(root(stands, 0.1, 0.1, by_dial, 0.02), rel=0.01)


@pytest.mark.parametrize(
    ("mass", "limits", "words"),
    [
        (12.0, (4.0, 12.5), "12.5\u00a0g"),
        (12.0, (4.0, 13.0), ""),  # 12 and 1 of hardware: exactly what it balances
        (4.0, (5.5, 20.0), "5.5\u00a0g"),
        (4.0, (5.0, 20.0), ""),
    ],
)
def test_what_the_counterweight_balances(
    mass: float, limits: tuple[float, float], words: str
) -> None:
    light, heavy = limits
    on = pinned(arm={"lightest_cartridge_g": light, "heaviest_cartridge_g": heavy})
    ends = [one for one in planned(on, mass_g=mass).runs_out if one.step == "rough_downforce"]
    assert bool(ends) is bool(words)
    for one in ends:
        assert words in said(one.sentence)
        assert "0.5\u00a0g" in said(one.cure)  # 13 - 12.5, and 5.5 - 5


# ------------------------------------------------------------------------------ arm height


@pytest.mark.parametrize("height", [17.0, 17.5, 19.0, 14.5])
def test_the_pillar_for_taller_and_lower_ones(height: float) -> None:
    plan = planned(body_height_mm=height)
    amount, foretold, half = started(plan, "arm_height", "pillar")
    taller = height - 17.0
    parts = [stood("arm_height", "pillar"), 0.25, 0.25, 0.15]  # two bodies, and how they seat
    exactly = 0.02  # left where it is, it keeps the little that the hand would have added
    if amount:
        exactly = 0.005
        assert amount == pytest.approx(taller, abs=0.051)
        parts += [amount * gain_of(plan, "arm_height"), 0.1]  # the pillar's scale, and the hand
    assert foretold == pytest.approx(taller - (amount or 0.0), abs=0.02)
    assert half == pytest.approx(root(*parts), rel=exactly)


def test_a_fixed_pillar_leaves_the_tube_where_the_body_puts_it() -> None:
    plan = planned(pinned(height={"control": "none"}), body_height_mm=18.5)
    amount, foretold, half = started(plan, "arm_height", "pillar")
    assert (amount, foretold) == (None, pytest.approx(1.5, abs=0.01))
    on = pinned(height={"control": "none"})
    assert half == pytest.approx(
        root(stood("arm_height", "pillar", on), 0.25, 0.25, 0.15), rel=0.01
    )


@pytest.mark.parametrize(("height", "turns"), [(19.0, 2.0), (16.0, -1.0), (17.6, 0.625)])
def test_a_collar_is_turned_by_eighths(height: float, turns: float) -> None:
    # A thread of 1 mm: 2 mm are two turns, 0.6 mm are five eighths.
    on = pinned(
        height={"control": "collar", "mm_per_turn": 1.0, "travel_up_mm": 9, "travel_down_mm": 9}
    )
    plan = planned(on, body_height_mm=height)
    (start,) = [one for one in plan.starts if one.step == "arm_height" and one.key == "pillar"]
    part = start.part or start.spared
    assert part is not None
    assert (part.amount, part.unit) == (pytest.approx(turns), "turns")
    assert part.equivalent_mm == pytest.approx(turns)


def test_a_pillar_used_before_has_so_much_less_to_go() -> None:
    # 3 mm up and 3 down on the day the deck was written; it was raised by 2 since: 1 up, 5 down.
    on = pinned(height={"control": "pillar", "travel_up_mm": 3.0, "travel_down_mm": 3.0})
    raised = MovePart(control=Control.PILLAR, amount=2.0, unit="mm")
    heights = {"way": "two heights", "front_mm": 27.0, "rear_mm": 27.0, "spacing_mm": 180.0}
    log = (
        MoveMade(step="arm_height", parts=(raised,)),
        ReadingTaken(step="arm_height", reading=heights),
    )
    for height, goes, ends in ((19.0, 1.0, True), (12.5, -4.5, False), (11.0, -5.0, True)):
        plan = plan_swap(
            on, fitted_once(on, arm_height=log), cartridge(**PLAIN, body_height_mm=height)
        )
        amount, foretold, _ = started(plan, "arm_height", "pillar")
        assert amount == pytest.approx(goes)
        assert foretold == pytest.approx(height - 17.0 - goes, abs=0.02)
        assert any(one.step == "arm_height" for one in plan.runs_out) is ends


@pytest.mark.parametrize(("compliance", "force", "sinks"), [(20.0, 2.0, 0.196), (10.0, 2.2, 0.108)])
def test_a_soft_suspension_lets_the_body_sink(
    compliance: float, force: float, sinks: float
) -> None:
    # 20 um/mN at 10 Hz are about 10 at rest (common practice): 2 gf = 19.61 mN, 0.196 mm.
    # 10 are 5: 2.2 gf = 21.57 mN, 0.108 mm.
    on = pinned(height={"control": "none"})
    plan = planned(on, compliance=compliance, downforce_recommended_gf=force)
    _, foretold, _ = started(plan, "arm_height", "pillar")
    assert foretold == pytest.approx(-sinks, abs=0.006)


# ------------------------------------------------------------------------------- alignment


@pytest.mark.parametrize("tip", [9.5, 10.3, 8.0, 11.5])
def test_a_tip_that_lies_further_ahead_in_slots(tip: float) -> None:
    plan = planned(tip_to_holes_mm=tip)
    amount, foretold, half = started(plan, "alignment", "effective_length")
    ahead = tip - 9.5
    assert foretold == pytest.approx(LENGTH + ahead + (amount or 0.0), abs=0.02)
    if amount:
        assert amount == pytest.approx(-ahead, abs=0.051)
    # Two tips as stated, and how exactly a hand puts one where the other was: 0.4 mm.
    parts = [stood("alignment", "effective_length"), 0.25, 0.25, 0.4]
    assert half == pytest.approx(root(*parts), rel=0.01)


@pytest.mark.parametrize("tip", [9.5, 11.5, 7.0])
def test_a_tip_where_the_holes_put_it(tip: float) -> None:
    on = pinned(head={"kind": "fixed"})
    plan = planned(on, tip_to_holes_mm=tip)
    amount, foretold, half = started(plan, "alignment", "effective_length")
    assert amount is None
    assert foretold == pytest.approx(LENGTH + tip - 9.5, abs=0.02)
    parts = [stood("alignment", "effective_length", on), 0.25, 0.25]
    assert half == pytest.approx(root(*parts), rel=0.01)
    ends = [one for one in plan.runs_out if one.step == "alignment"]
    assert bool(ends) is (tip != 9.5)  # 2 and 2.5 mm are more than the 0.5 allowed
    for one in ends:
        side = "too far forward" if tip > 9.5 else "too far back"
        assert f"{abs(tip - 9.5):.1f}\u00a0mm {side}" in said(one.sentence)


@pytest.mark.parametrize(("head", "eye"), [("slots", 1.2), ("fixed", 0.0)])
def test_the_angle_is_as_it_was_but_for_eye_and_build(head: str, eye: float) -> None:
    on = pinned(head={"kind": head})
    _, foretold, half = started(planned(on), "alignment", "offset")
    assert foretold == pytest.approx(22.986, abs=0.01)
    # Squared by eye to 1.2 degrees in slots; two tips true in their bodies to half a degree.
    assert half == pytest.approx(root(stood("alignment", "offset", on), eye, 0.5, 0.5), rel=0.01)


@pytest.mark.parametrize(("tip", "moves"), [(12.5, True), (7.0, True), (9.5, False)])
def test_a_base_that_slides_goes_where_the_nulls_stay(tip: float, moves: bool) -> None:
    # The stylus on the path through the same nulls: D² = L² - r1 r2, both before and after.
    on = pinned(head={"kind": "fixed", "base_slides": True})
    plan = planned(on, tip_to_holes_mm=tip)
    (start,) = [one for one in plan.starts if one.key == "effective_length"]
    then = LENGTH + tip - 9.5
    wanted = math.sqrt(then**2 - 65.998 * 120.891) - 222.0
    part = start.part or start.spared
    assert (part is not None) is moves
    if part is not None:
        assert part.control is Control.ARM_BASE
        assert part.amount == pytest.approx(wanted, abs=0.06)


@pytest.mark.parametrize(
    ("tip", "slots", "words", "left_over"),
    [
        # The holes of the old one stand in the middle of the slots; 3 mm further ahead want them
        # 3 mm back, of which 2 are there; 2.4 leave 0.4, inside the 0.5 allowed.
        (12.5, {"slot_back_mm": 2.0}, "toward the rear", 1.0),
        (11.9, {"slot_back_mm": 2.0}, "", 0.4),
        (6.5, {"slot_forward_mm": 2.0}, "toward the front", -1.0),
    ],
)
def test_slots_that_end_leave_the_rest(
    tip: float, slots: dict[str, float], words: str, left_over: float
) -> None:
    on = pinned(head={"slot_back_mm": 6.0, "slot_forward_mm": 6.0, **slots})
    plan = planned(on, tip_to_holes_mm=tip)
    amount, foretold, _ = started(plan, "alignment", "effective_length")
    assert amount == pytest.approx(-(tip - 9.5) + left_over, abs=0.051)
    assert foretold == pytest.approx(LENGTH + left_over, abs=0.06)
    ends = [said(one.sentence) for one in plan.runs_out if one.step == "alignment"]
    assert bool(ends) is bool(words)
    for sentence in ends:
        assert "1.0\u00a0mm" in sentence
        assert words in sentence


# ------------------------------------------------------------------- tilt, level, speed, skating


def test_what_another_cartridge_leaves_as_it_was_wanders_a_little() -> None:
    plan = planned()
    # Two bodies lean 1.2 degrees each on their faces.
    _, foretold, half = started(plan, "tilt", "tilt")
    assert foretold == pytest.approx(0.0, abs=1e-6)
    assert half == pytest.approx(root(stood("tilt", "tilt"), 1.2, 1.2), rel=0.01)
    # A circle of two slopes reaches 2.45 deviations where a line reaches 1.96: 1.25 times.
    _, foretold, half = started(plan, "level", "tilt")
    assert foretold == pytest.approx(0.0, abs=1e-6)
    assert half == pytest.approx(root(1.25 * stood("level", "tilt"), 0.3), rel=0.01)
    _, foretold, half = started(plan, "speed", "speed_error_33")
    assert foretold == pytest.approx(0.0, abs=1e-6)
    assert half == pytest.approx(root(stood("speed", "speed_error_33"), 0.1), rel=0.01)


@pytest.mark.parametrize(("slope", "is_out"), [(1.0, False), (1.9, False), (2.1, True)])
def test_a_level_is_confirmed_inside_its_tolerance(slope: float, is_out: bool) -> None:
    on = pinned()
    log = (bubble("front-back", slope), bubble("left-right", 0.0))
    readings = tuple(ReadingTaken(step="level", reading=one) for one in log)
    plan = plan_swap(on, fitted_once(on, level=readings), cartridge(**PLAIN))
    (due,) = [one for one in plan.due if one.step == "level"]
    assert due.is_out is is_out
    assert started(plan, "level", "tilt")[1] == pytest.approx(slope, abs=0.01)


@pytest.mark.parametrize(
    ("bars", "way", "is_out"), [(17.0, "with", False), (19.0, "against", True)]
)
def test_a_speed_is_confirmed_inside_its_tolerance(bars: float, way: str, is_out: bool) -> None:
    # 6,000 bars in a minute at 100 flashes a second: 17 are 0.283 %, 19 are 0.317 %.
    on = pinned()
    read = ReadingTaken(step="speed", reading={**strobe(bars), "direction": way})
    plan = plan_swap(on, fitted_once(on, speed=(read,)), cartridge(**PLAIN))
    (due,) = [one for one in plan.due if one.step == "speed"]
    assert due.is_out is is_out
    sign = 1.0 if way == "with" else -1.0
    assert started(plan, "speed", "speed_error_33")[1] == pytest.approx(
        sign * bars / 60.0, abs=0.01
    )


@pytest.mark.parametrize("wanted", [1.8, 2.0, 2.2])
def test_skating_by_the_rule_is_known_to_two_fifths(wanted: float) -> None:
    plan = planned(downforce_recommended_gf=wanted)
    _, foretold, half = started(plan, "skating", "setting")
    # The example's dial has marks of 0.25 gf: the next is a rectangle's width away.
    mark = 0.25 * round(wanted / 0.25)
    assert foretold == pytest.approx(mark)
    assert half == pytest.approx(root(0.4 * wanted, 0.25 / math.sqrt(12.0)), rel=0.01)


@pytest.mark.parametrize(
    ("height", "words"),
    [(19.0, "2.0\u00a0mm taller"), (15.5, "1.5\u00a0mm lower"), (17.04, "as tall as the old one")],
)
def test_how_the_bodies_differ_is_said(height: float, words: str) -> None:
    (due,) = [one for one in planned(body_height_mm=height).due if one.step == "arm_height"]
    assert words in said(due.reason)


@pytest.mark.parametrize(
    ("tip", "words"),
    [(11.0, "1.5\u00a0mm further ahead"), (8.0, "1.5\u00a0mm less far ahead"), (9.54, "as far")],
)
def test_how_the_tips_differ_is_said(tip: float, words: str) -> None:
    (due,) = [one for one in planned(tip_to_holes_mm=tip).due if one.step == "alignment"]
    assert words in said(due.reason)


@pytest.mark.parametrize(
    ("mass", "words"), [(8.0, "2.0\u00a0g heavier"), (4.5, "1.5\u00a0g lighter")]
)
def test_how_the_masses_differ_is_said(mass: float, words: str) -> None:
    (due,) = [one for one in planned(mass_g=mass).due if one.step == "rough_downforce"]
    assert words in said(due.reason)


def test_a_head_that_was_weighed_is_known_by_its_weighing() -> None:
    """7.4 g on the scale, where the leaflets say 7.0: half a per cent and 0.01 g, 0.0383 g."""
    on = pinned(height={"control": "pillar", "travel_up_mm": 9, "travel_down_mm": 9})
    weighed = (
        ReadingTaken(step="mount", reading={"way": "weighed", "weighed_g": 7.4}),
        ReadingTaken(step="mount", reading=CHECKED),
    )
    plan = plan_swap(on, fitted_once(on, mount=weighed), cartridge(**PLAIN, mass_g=8.0))
    (due,) = [one for one in plan.due if one.step == "rough_downforce"]
    assert "1.6\u00a0g heavier" in said(due.reason)  # 9.0 less 7.4
    amount, foretold, half = started(plan, "rough_downforce", "downforce")
    assert amount is not None
    assert foretold == pytest.approx(2.0 + amount * 100.0 / LENGTH + 1.6, abs=0.02)
    back = 9.5 / LENGTH
    parts = (
        stood("final_downforce", "downforce"),
        math.hypot(0.005 * 7.4, 0.01),  # weighed, where the leaflets were 0.12 and 0.10
        *(0.16, 0.10),  # the new one by its leaflets
        *(back * 1.6 / math.sqrt(3.0), back * 0.2 * 7.4, back * 0.2 * 9.0),
        *(0.03, 0.5 * 9.0 / LENGTH, 120.0 * 5.0 / LENGTH**2),
        *(amount * gain_of(plan, "rough_downforce"), 0.02 * 100.0 / LENGTH),
    )
    assert half == pytest.approx(root(*parts), rel=0.01)
