"""Alignment on every kind of arm and head, and on anything at all."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from core.drawing.chart import Curve
from core.fitting import Context, Control, Verdict
from core.language import message
from core.records import Deck
from core.steps import step_named
from core.steps.alignment import (
    AlignmentChoices,
    Criterion,
    GrooveStandard,
    Landing,
    ParallelPath,
    applies,
)
from tests.core.steps.alignment.kit import (
    INNER,
    LENGTH,
    OFFSET,
    OUTER,
    D,
    Step,
    amounts,
    assess,
    both,
    context,
    head_angle,
    part,
    value,
)
from tests.examples import cartridge, deck
from tests.strategies import cartridges, decks, trials


def test_where_the_slots_end_the_best_within_reach_is_offered() -> None:
    short = deck(
        arm={"effective_length_mm": 233.0},
        head={"slot_forward_mm": 3.0, "slot_back_mm": 6.0},
    )
    length, offset = 234.0, 22.0
    seen = both(length - LENGTH, *[head_angle(length, offset, radius) for radius in (INNER, OUTER)])
    said = assess(context([seen], of_deck=short))
    assert said.verdict is Verdict.MOVE
    assert length + amounts(said)[Control.SLIDE] <= 236.0 + 1e-6
    assert any("Out of reach" in note for note in said.notes)
    assert value(said, "wanted_length") == pytest.approx(236.0)
    wanted = value(said, "wanted_offset")
    there = both(236.0 - LENGTH, *[head_angle(236.0, wanted, radius) for radius in (INNER, OUTER)])
    done = assess(context([there] * 2, of_deck=short))
    assert done.verdict is Verdict.LEFT_AS_FOUND
    assert "within reach" in done.headline


def test_an_arm_base_takes_over_where_the_slots_end() -> None:
    short = deck(
        arm={"effective_length_mm": 233.0},
        head={"slot_forward_mm": 3.0, "base_slides": True},
    )
    seen = both(234.0 - LENGTH, *[head_angle(234.0, OFFSET, radius) for radius in (INNER, OUTER)])
    said = assess(context([seen] * 2, of_deck=short))
    found = amounts(said)
    assert found[Control.SLIDE] == pytest.approx(2.0, abs=0.01)
    assert found[Control.ARM_BASE] < 0
    # the base brought in until L^2 - D^2 is the product of the nulls again (derived)
    pivot = D + found[Control.ARM_BASE]
    assert 236.0**2 - pivot**2 == pytest.approx(INNER * OUTER, rel=2e-3)


@pytest.mark.parametrize("kind", ["fixed", "plug-in"])
def test_a_head_that_does_not_slide_moves_the_base_or_is_left_as_found(kind: str) -> None:
    length = LENGTH - 2.0
    seen = both(-2.0, *[head_angle(length, OFFSET, radius) for radius in (INNER, OUTER)])
    still = deck(head={"kind": kind})
    assert not applies(still, cartridge()).adjusts
    said = assess(context([seen] * 2, of_deck=still))
    assert said.verdict is Verdict.LEFT_AS_FOUND
    assert "worst distortion" in said.headline
    assert assess(context([both()] * 4, of_deck=still)).verdict is Verdict.GOOD
    based = deck(head={"kind": kind, "base_slides": True})
    assert applies(based, cartridge()).adjusts
    moved = assess(context([seen] * 2, of_deck=based))
    base = amounts(moved)[Control.ARM_BASE]
    pivot = D + base
    radii = np.linspace(60.325, 146.05, 200)

    def worst(at: float) -> float:
        return float(max(abs(head_angle(length, OFFSET, r, at)) / r for r in radii))

    assert worst(pivot) <= min(worst(pivot + off) for off in (-0.2, 0.2))  # brute force
    lands = length - math.sqrt(pivot**2 + INNER * OUTER)
    after = both(lands, *[head_angle(length, OFFSET, radius, pivot) for radius in (INNER, OUTER)])
    events: list[Step] = [seen, seen, (part(Control.ARM_BASE, base),), after, after]
    assert assess(context(events, of_deck=based)).verdict is Verdict.GOOD


def test_a_plug_in_cartridge_slides_in_no_head() -> None:
    said = applies(deck(), cartridge(mounting="plug-in"))
    assert not said.adjusts
    assert said.reason == message("alignment.neither_slides", kind="plug_in")


def straight(**head: Any) -> Deck:
    return deck(
        arm={"kind": "pivoted straight", "effective_length_mm": 207.5, "offset_deg": 0.0},
        head=head,
    )


def test_a_straight_arms_grid_stands_at_its_one_null() -> None:
    # Reference: scipy.optimize.brentq on the angle by vectors; an offset arm's two nulls say
    # nothing here
    on = straight()
    said = assess(context([both(0.0, 0.0, 0.0)] * 3, of_deck=on))
    assert Control.TWIST not in (amounts(said) if said.next_move else {})
    assert abs(value(said, "slide")) < 0.1
    length, pivot = value(said, "wanted_length"), on.arm.pivot_to_spindle_mm
    assert pivot is not None
    null = brentq(lambda radius: head_angle(length, 0.0, radius, pivot), 30.0, 140.0)
    assert value(said, "null") == pytest.approx(null, abs=0.5)
    assert any(f"taken to lie at {null:.1f} mm" in note for note in said.notes)


def test_a_straight_arm_is_underhung_and_only_slides() -> None:
    said = assess(context([Landing(landing_mm=-1.0)], of_deck=straight()))
    assert amounts(said) == {Control.SLIDE: pytest.approx(1.0, abs=1e-6)}
    assert value(said, "wanted_overhang") < 0
    # brute force: no other underhang has a lower worst |e / r| (derived)
    radii = np.linspace(60.325, 146.05, 400)
    wanted = value(said, "wanted_length")

    def worst(length: float) -> float:
        return float(max(abs(head_angle(length, 0.0, radius)) / radius for radius in radii))

    assert worst(wanted) <= min(worst(wanted + off) for off in (-0.3, -0.1, 0.1, 0.3))
    assert assess(context([Landing(landing_mm=0.0)] * 2, of_deck=straight())).verdict is (
        Verdict.GOOD
    )


PARALLEL = deck(
    arm={
        "kind": "parallel tracking",
        "pivot_to_spindle_mm": None,
        "effective_length_mm": 60.0,
        "offset_deg": 0.0,
    }
)


def test_a_parallel_arm_slides_back_onto_its_radius() -> None:
    assert applies(PARALLEL, cartridge()).ways == ("path",)
    on_path = ParallelPath(inner_landing_mm=1.5, outer_landing_mm=1.5, head_deg=0.0)
    said = assess(context([on_path], of_deck=PARALLEL))
    assert amounts(said)[Control.SLIDE] == pytest.approx(-1.5, abs=0.02)
    right = ParallelPath(inner_landing_mm=0.0, outer_landing_mm=0.0, head_deg=0.0)
    assert assess(context([right] * 6, of_deck=PARALLEL)).verdict is Verdict.GOOD


def test_a_parallel_arm_does_not_care_how_the_line_was_turned() -> None:
    """The line may lie at any angle to the path; by vectors the same arm is found."""
    miss, head_out = 0.8, 1.5
    found = []
    for skew_deg in (0.0, 0.6):
        skew = math.radians(skew_deg)
        near, far = (miss + radius * math.tan(skew) for radius in (60.325, 146.05))
        reading = ParallelPath(
            inner_landing_mm=near, outer_landing_mm=far, head_deg=head_out - skew_deg
        )
        said = assess(context([reading], of_deck=PARALLEL))
        found.append((value(said, "slide"), value(said, "twist")))
    assert found[0] == pytest.approx((0.8, -1.5), abs=0.01)
    assert found[1] == pytest.approx(found[0], abs=0.02)


def test_a_pivot_over_the_record_is_one_clear_sentence() -> None:
    close = deck(arm={"pivot_to_spindle_mm": 140.0, "effective_length_mm": 150.0})
    said = assess(context([both()], of_deck=close))
    assert said.verdict is Verdict.READ_AGAIN
    assert "pivot to spindle" in said.headline


def test_readings_of_another_arm_are_passed_over() -> None:
    path = ParallelPath(inner_landing_mm=0.0, outer_landing_mm=0.0, head_deg=0.0)
    said = assess(context([path, both(), both()]))
    assert said.verdict is Verdict.GOOD
    assert any("another kind" in note for note in said.notes)


def choices() -> st.SearchStrategy[AlignmentChoices]:
    return st.builds(
        AlignmentChoices,
        criterion=st.sampled_from(Criterion),
        grooves=st.sampled_from(GrooveStandard),
        own_inner_mm=st.floats(30, 90),
        own_outer_mm=st.floats(95, 170),
        own_null_inner_mm=st.floats(30, 90),
        own_null_outer_mm=st.floats(90, 170),
    )


@given(data=st.data())
@settings(max_examples=120)
def test_nothing_raises_and_no_verdict_is_a_dead_end(data: st.DataObject) -> None:
    drawn = data.draw(decks())
    arm = drawn.arm
    if arm.pivot_to_spindle_mm is not None:
        pivot = data.draw(st.sampled_from([120.0, 150.0, 222.0, 305.0, 450.0]))
        length = min(max(pivot + data.draw(st.floats(-40, 30)), 20.0), 480.0)
        arm = arm.model_copy(
            update={
                "pivot_to_spindle_mm": pivot,
                "effective_length_mm": length,
                "pivot_to_spindle_error_mm": data.draw(st.sampled_from([0.01, 0.5, 5.0])),
            }
        )
    said = assess(
        Context(
            "alignment",
            drawn.model_copy(update={"arm": arm}),
            data.draw(cartridges()),
            log={"alignment": data.draw(trials(step_named("alignment")))},
            chosen={"alignment": data.draw(choices())},
        )
    )
    assert said.headline.endswith(".")
    assert len(said.headline) <= 110
    assert said.verdict is not Verdict.MOVE or (said.next_move and said.next_move.parts)
    for figure in said.figures:
        assert math.isfinite(figure.value)
        assert figure.half_width is None or math.isfinite(figure.half_width)
    for item in said.picture.items:
        if isinstance(item, Curve):
            assert np.nanmax(np.abs(item.y), initial=0.0) < 1e6


def test_own_nulls_at_the_edge_of_a_short_straight_arms_reach_still_get_a_target() -> None:
    # with D = 150 the best arm for 90 mm alone just fails to reach 30 mm
    near = deck(
        arm={
            "kind": "pivoted straight",
            "pivot_to_spindle_mm": 150.0,
            "effective_length_mm": 140.0,
            "offset_deg": 0.0,
        },
        head={"slot_back_mm": 40.0, "slot_forward_mm": 20.0},
    )
    said = assess(
        context(
            [],
            of_deck=near,
            criterion=Criterion.OWN_NULLS,
            own_null_inner_mm=30.0,
            own_null_outer_mm=90.0,
        )
    )
    assert said.verdict is Verdict.NO_READING
    wanted = value(said, "wanted_length")

    def squares(length: float) -> float:
        return sum((head_angle(length, 0.0, r, 150.0) / r) ** 2 for r in (30.0, 90.0))

    assert squares(wanted) <= min(squares(wanted + off) for off in (-0.1, 0.1))  # brute force


def test_beside_a_line_eight_looks_that_settle_nothing_leave_it_where_it_likely_is_right() -> None:
    near = ParallelPath(inner_landing_mm=0.3, outer_landing_mm=0.3, head_deg=-0.5)
    few, many = (assess(context([near] * count, of_deck=PARALLEL)) for count in (4, 8))
    assert few.verdict is Verdict.READ_AGAIN
    assert many.verdict is Verdict.LEFT_AS_FOUND
    assert "As close as a hand can set it" in many.headline
