"""Another cartridge on a known deck: which way each control is told to go, how far. All derived.

The old one: 6 g, 17 mm high, its tip 9.5 mm ahead of its holes, 2.00 gf; everything was left right.
"""

from __future__ import annotations

from typing import Any

import pytest

from core.fitting import Control
from core.records import Deck
from core.swap.past import SwapPlan, plan_swap
from tests.core.swap.swaps import left, moved, past, started, weighed
from tests.examples import cartridge
from tests.outside.told import pinned, said


def planned(on: Deck | None = None, old: dict[str, Any] | None = None, **new: Any) -> SwapPlan:
    on = on or pinned(height={"control": "pillar", "travel_up_mm": 9, "travel_down_mm": 9})
    first = cartridge(**(old or {}))
    # One move on record, two turns for 0.836 gf, shows that the thread does what it says.
    shown = (
        weighed(1.164, "rough_downforce"),
        moved("rough_downforce", Control.COUNTERWEIGHT, 2.0, "turns", equivalent_mm=2.0),
        weighed(2.0, "rough_downforce"),
    )
    return plan_swap(on, past(on, first, left(rough_downforce=shown)), cartridge(**new))


def why(plan: SwapPlan, step: str) -> str:
    return " ".join(said(start.why) for start in plan.starts if start.step == step)


@pytest.mark.parametrize(("height", "lift", "this"), [(19.0, 2.0, "up"), (15.5, -1.5, "down")])
def test_the_pillar_goes_with_the_body(height: float, lift: float, this: str) -> None:
    # The head is lifted by what the body is taller; the tube lies parallel when the rear is too.
    plan = planned(body_height_mm=height, compliance=None, old={"compliance": None})
    amount, _, _ = started(plan, "arm_height", "pillar")
    assert amount == pytest.approx(lift, abs=0.051)
    reason = why(plan, "arm_height")
    assert f"rear goes {this}" in reason, reason


@pytest.mark.parametrize(("compliance", "lift"), [(30.0, -0.147), (5.0, 0.098)])
def test_the_pillar_goes_with_what_the_suspension_gives(compliance: float, lift: float) -> None:
    # 15 um/mN at 10 Hz are about 7.5 at rest: 2 gf = 19.61 mN press the old one in by 0.147 mm.
    # 30: 0.294, 0.147 lower. 5: 0.049, 0.098 higher.
    amount, left_over, _ = started(planned(compliance=compliance), "arm_height", "pillar")
    assert (amount or 0.0) + left_over == pytest.approx(lift, abs=0.01)


@pytest.mark.parametrize(("mass", "turns"), [(8.0, -4.786), (5.0, 2.393)])
def test_the_counterweight_goes_against_the_mass_at_the_head(mass: float, turns: float) -> None:
    # 2 g more at 239.296 mm against 100 g: 4.786 mm, a turn each; a gram less: 2.393.
    amount, _, _ = started(planned(mass_g=mass), "rough_downforce", "downforce")
    assert amount is not None
    assert amount / turns == pytest.approx(1.0, abs=0.06)


@pytest.mark.parametrize(("wanted", "turns"), [(2.2, 0.479), (1.8, -0.479)])
def test_the_counterweight_goes_with_the_downforce_wanted(wanted: float, turns: float) -> None:
    # 0.2 gf at 100 / 239.296 = 0.4179 gf a turn.
    plan = planned(downforce_recommended_gf=wanted)
    amount, foretold, _ = started(plan, "rough_downforce", "downforce")
    assert amount == pytest.approx(turns, abs=0.07)
    assert foretold == pytest.approx(wanted, abs=0.03)


@pytest.mark.parametrize(("ahead", "slide"), [(10.7, -1.2), (8.0, 1.5)])
def test_the_cartridge_goes_against_its_tip(ahead: float, slide: float) -> None:
    # The tip must stand where the old one stood: further ahead of the holes, these further back.
    amount, _, _ = started(planned(tip_to_holes_mm=ahead), "alignment", "effective_length")
    assert amount == pytest.approx(slide, abs=0.051)


@pytest.mark.parametrize(("wanted", "more"), [(2.2, 0.25), (1.8, -0.25)])
def test_skating_goes_with_the_downforce(wanted: float, more: float) -> None:
    # A dial in downforce, by marks of 0.25 from 2.00: 2.2 is nearest to 2.25, 1.8 to 1.75.
    amount, _, _ = started(planned(downforce_recommended_gf=wanted), "skating", "setting")
    assert amount == pytest.approx(more)


def test_the_angle_of_a_head_with_fixed_holes_is_foretold_to_a_degree_or_so() -> None:
    # Nothing turns: it stays at 22.986, to within what two cartridges are built alike.
    _, foretold, half = started(planned(pinned(head={"kind": "fixed"})), "alignment", "offset")
    assert foretold == pytest.approx(22.986, abs=0.05)
    assert 0.3 < half < 2.0
