"""A plan for another cartridge: where controls start, what runs out, what is due."""

from __future__ import annotations

from typing import Any, cast

import pytest

from core.fitting import (
    ChoiceMade,
    Control,
    Entry,
    Fitting,
    MoveMade,
    MovePart,
    NoteWritten,
    Withdrawn,
)
from core.language import Numbers
from core.steps import STEP_NAMES
from core.swap import Need, SwapPlan, plan_swap
from core.workflow import journey_of, why_refused
from tests.core.swap.swaps import heights, left, moved, past, read, started, weighed
from tests.examples import cartridge, deck
from tests.worded import worded

NEW = cartridge(name="Example cartridge, fine line", mass_g=8.0, stylus="fine line")

WEIGHED_TWICE = (
    weighed(1.14, "rough_downforce"),
    moved("rough_downforce", Control.COUNTERWEIGHT, 2.0, "turns", equivalent_mm=2.0),
    weighed(2.0, "rough_downforce"),
)
"""A thread of 1 mm that does what W / L says of it: 0.42 gf a turn."""


def planned_swap(*given: Any, say: Numbers | None = None, **named: Any) -> SwapPlan:
    return cast("SwapPlan", worded(plan_swap(*given, **named), say))


def needs(plan: SwapPlan) -> dict[str, Need]:
    return {one.step: one.need for one in plan.due}


def reason(plan: SwapPlan, step: str) -> str:
    return next(one.reason for one in plan.due if one.step == step)


def ends(plan: SwapPlan) -> dict[str, str]:
    return {one.step: f"{one.sentence} {one.cure}" for one in plan.runs_out}


def test_level_and_speed_are_confirmed_and_the_rest_is_set() -> None:
    plan = planned_swap(deck(), past(deck(), cartridge(), left()), NEW)
    confirmed = {step for step, need in needs(plan).items() if need is Need.CONFIRM}
    assert confirmed == {"level", "speed", "arm_height"}  # a body as tall leaves the height alone
    assert needs(plan)["rough_downforce"] is Need.SET
    assert list(needs(plan)) == list(STEP_NAMES)
    assert started(plan, "level", "tilt")[0] is None
    assert started(plan, "speed", "speed_error_33")[1] == pytest.approx(0.0, abs=1e-3)
    assert plan.runs_out == ()


def test_what_was_never_read_is_set_and_not_foretold() -> None:
    plan = planned_swap(deck(), past(deck(), cartridge(), []), NEW)
    assert needs(plan)["level"] is Need.SET
    assert needs(plan)["speed"] is Need.SET
    foretold = {start.step for start in plan.starts if start.predicted is not None}
    assert foretold == {"mount", "skating"}
    assert "never weighed" in reason(plan, "rough_downforce")
    assert {row.value for row in plan.was if row.step == "tilt"} == {"not read"}


def test_sentences_are_written_for_the_country() -> None:
    plan = planned_swap(deck(), past(deck(), cartridge(), left()), NEW, say=Numbers(","))
    assert "The head is 2,0\u00a0g heavier. Downforce was left at 2,00\u00a0gf" in reason(
        plan, "rough_downforce"
    )
    assert any(row.value.startswith("2,00\u00a0±\u00a00,0") for row in plan.was)


@pytest.mark.parametrize(
    ("mass_g", "words"),
    [(8.0, "2.0 g heavier"), (5.0, "1.0 g lighter"), (6.0, "as heavy as before")],
)
@pytest.mark.parametrize("weighed_before", [True, False])
def test_what_is_heavier_or_lighter_at_the_head_is_told_without_a_sign(
    mass_g: float, words: str, *, weighed_before: bool
) -> None:
    bodies = left() if weighed_before else []
    plan = planned_swap(deck(), past(deck(), cartridge(), bodies), cartridge(mass_g=mass_g))
    said = reason(plan, "rough_downforce").replace("\u00a0", " ")
    assert said.startswith("The head is ")
    assert words in said
    assert "+" not in said
    assert "−" not in said


@pytest.mark.parametrize(
    ("head", "mounting", "words"),
    [("slots", "plug-in", "the head is half-inch, the cartridge plug-in"),
     ("plug-in", "tapped", "the head is plug-in, the cartridge half-inch")],
)  # fmt: skip # rows of a table
def test_a_cartridge_that_no_screw_can_hold_is_said_so(
    head: str, mounting: str, words: str
) -> None:
    on = deck(head={"kind": head})
    old_in = cartridge(mounting="plug-in" if head == "plug-in" else "tapped")
    plan = planned_swap(on, past(on, old_in, left()), cartridge(mounting=mounting))
    assert words in plan.cannot_fit
    assert plan.starts == ()
    assert plan.runs_out == ()
    assert plan.planned().starts == ()


@pytest.mark.parametrize(("mass_g", "cure"), [(16.0, "lighter screws"), (0.6, "plate")])
def test_a_mass_the_counterweight_cannot_balance_is_said_with_a_cure(
    mass_g: float, cure: str
) -> None:
    plan = planned_swap(deck(), past(deck(), cartridge(), left()), cartridge(mass_g=mass_g))
    assert cure in ends(plan)["rough_downforce"]


def test_travel_that_was_used_before_is_gone() -> None:
    on = deck(height={"control": "pillar", "travel_up_mm": 3.0, "travel_down_mm": 3.0})
    tall = cartridge(body_height_mm=19.0)
    free = planned_swap(on, past(on, cartridge(), left()), tall)
    assert started(free, "arm_height", "pillar")[0] == pytest.approx(2.0, abs=0.05)
    assert free.runs_out == ()
    raised = (heights(-2.0), moved("arm_height", Control.PILLAR, 2.6, "mm"), heights(0.0))
    plan = planned_swap(on, past(on, cartridge(), left(arm_height=raised)), tall)
    amount, predicted, _ = started(plan, "arm_height", "pillar")
    assert amount == pytest.approx(0.4, abs=0.05)
    assert predicted == pytest.approx(1.6, abs=0.1)
    assert "ends: the rear would stand 1.6\u00a0mm too low" in ends(plan)["arm_height"]
    assert "mat thinner" in ends(plan)["arm_height"]


def test_a_lower_body_past_the_travel_may_be_shimmed() -> None:
    on = deck(height={"control": "none"})
    plan = planned_swap(on, past(on, cartridge(), left()), cartridge(body_height_mm=15.0))
    amount, predicted, _ = started(plan, "arm_height", "pillar")
    assert amount is None
    assert predicted == pytest.approx(-2.0, abs=0.1)
    assert needs(plan)["arm_height"] is Need.CONFIRM
    assert "Use a 2.0\u00a0mm shim between head and cartridge" in ends(plan)["arm_height"]
    turns = deck(height={"control": "collar", "mm_per_turn": 0.8})
    by_collar = planned_swap(
        turns, past(turns, cartridge(), left()), cartridge(body_height_mm=15.0)
    )
    (start,) = [s for s in by_collar.starts if s.step == "arm_height"]
    assert start.part is not None
    assert start.part.unit == "turns"
    assert start.part.amount == pytest.approx(-2.5)
    assert start.part.equivalent_mm == pytest.approx(-2.0)


def test_a_lower_body_on_a_base_that_shims_only_raise_gets_a_shim_over_the_cartridge() -> None:
    """1.5 mm less between head and record is 1.5 mm more between head and cartridge (derived)."""
    on = deck(height={"control": "shims", "travel_down_mm": 0.0})
    low = cartridge(body_height_mm=cartridge().body_height_mm - 1.5)
    plan = planned_swap(on, past(on, cartridge(), left()), low)
    (start,) = [s for s in plan.starts if s.step == "arm_height" and s.part]
    assert start.part is not None
    assert start.part.control is Control.HEAD_SHIM
    assert start.part.amount == pytest.approx(1.5, abs=0.1)
    high = cartridge(body_height_mm=cartridge().body_height_mm + 1.5)
    plan = planned_swap(on, past(on, cartridge(), left()), high)
    (start,) = [s for s in plan.starts if s.step == "arm_height" and s.part]
    assert start.part is not None
    assert start.part.control is Control.BASE_SHIM
    assert start.part.amount == pytest.approx(1.5, abs=0.1)


def test_shims_under_the_old_cartridge_come_out_with_it() -> None:
    shimmed = (heights(1.5), moved("arm_height", Control.HEAD_SHIM, 2.0, "mm"), heights(0.0))
    old = past(deck(), cartridge(), left(arm_height=shimmed))
    plan = planned_swap(deck(), old, cartridge())
    # Without the shim the head hangs 2 mm lower against the body: the pillar goes down as much.
    assert started(plan, "arm_height", "pillar")[0] == pytest.approx(-2.0, abs=0.15)
    assert "than the old one with its shim" in reason(plan, "arm_height")
    on = deck(tilt={"control": "shim"})
    leaning = (
        read("tilt", way="gaps", left_mm=2.6, right_mm=2.0),
        moved("tilt", Control.TILT_SHIM, 0.45, "mm"),
        read("tilt", way="gaps", left_mm=2.0, right_mm=2.0),
    )
    plan = planned_swap(on, past(on, cartridge(), left(tilt=leaning)), cartridge())
    assert started(plan, "tilt", "tilt")[1] == pytest.approx(2.03, abs=0.1)  # atan(0.45 / 12.7)


def test_slots_that_end_are_said_and_the_rest_is_foretold() -> None:
    on = deck(
        head={"kind": "slots", "slot_forward_mm": 2.0, "slot_back_mm": 2.0, "base_slides": True}
    )
    plan = planned_swap(on, past(on, cartridge(), left()), cartridge(tip_to_holes_mm=13.0))
    amount, predicted, _ = started(plan, "alignment", "effective_length")
    assert amount == pytest.approx(-2.0, abs=0.06)
    assert predicted == pytest.approx(239.296 + 1.5, abs=0.1)
    assert "1.5\u00a0mm too early toward the rear" in ends(plan)["alignment"]
    assert "The arm base slides" in ends(plan)["alignment"]


def test_a_head_with_fixed_holes_carries_the_tip_along() -> None:
    on = deck(head={"kind": "fixed"})
    plan = planned_swap(on, past(on, cartridge(), left()), cartridge(tip_to_holes_mm=11.0))
    amount, predicted, _ = started(plan, "alignment", "effective_length")
    assert amount is None
    assert predicted == pytest.approx(239.296 + 1.5, abs=0.2)
    assert "1.5\u00a0mm too far forward" in ends(plan)["alignment"]
    assert needs(plan)["alignment"] is Need.CONFIRM
    sliding = deck(head={"kind": "fixed", "base_slides": True})
    plan = planned_swap(
        sliding, past(sliding, cartridge(), left()), cartridge(tip_to_holes_mm=11.0)
    )
    amount, _, _ = started(plan, "alignment", "effective_length")
    # D^2 = L^2 - r1 r2: 1.5 mm longer takes 1.6 mm more distance.
    assert amount == pytest.approx(1.6, abs=0.25)
    assert plan.runs_out == ()


def test_a_dial_goes_by_the_change_of_downforce_once_the_arm_floats() -> None:
    on = deck(arm={"balance": "dynamic"})
    new = cartridge(mass_g=9.0, downforce_recommended_gf=1.8)
    plan = planned_swap(on, past(on, cartridge(), left()), new)
    (start,) = [s for s in plan.starts if s.step == "rough_downforce"]
    assert start.part is not None
    assert start.part.unit == "gf"
    assert start.part.amount == pytest.approx(-0.2)
    assert "First balance the arm with the dial at 0" in worded(start.why)
    assert start.predicted == pytest.approx(1.8)


def test_a_dial_that_did_half_of_its_marks_is_turned_twice_as_far() -> None:
    on = deck(arm={"balance": "dynamic"})
    up = moved("final_downforce", Control.COUNTERWEIGHT, 1.0, "gf")
    shown = (0.5, 1.0, 1.5, 2.0)
    weighings = [body for gf in shown for body in (weighed(gf), up)][:-1]
    old = past(on, cartridge(), left(final_downforce=tuple(weighings)))
    plan = planned_swap(on, old, cartridge(downforce_recommended_gf=1.8))
    (start,) = [s for s in plan.starts if s.step == "rough_downforce"]
    assert start.part is not None
    assert start.part.amount == pytest.approx(-0.4, abs=0.03)  # 0.2 gf at half a gf a mark


def test_a_weight_of_unknown_effect_stays_and_the_scale_is_foretold() -> None:
    on = deck(arm={"counterweight_g": None, "counterweight_mm_per_turn": None})
    plan = planned_swap(on, past(on, cartridge(), left()), cartridge(mass_g=6.5))
    amount, predicted, _ = started(plan, "rough_downforce", "downforce")
    assert amount is None
    assert predicted == pytest.approx(2.5)
    floats = planned_swap(on, past(on, cartridge(), left()), cartridge(mass_g=3.0))
    (start,) = [s for s in floats.starts if s.step == "rough_downforce"]
    assert start.predicted is None
    assert "the arm floats" in worded(start.why)


def test_skating_goes_with_downforce_from_what_was_found_by_ear() -> None:
    heard = (read("skating", way="test bands", setting=1.5, broke_first="together"),)
    old = past(deck(), cartridge(), left(skating=heard))
    heavier = cartridge(downforce_min_gf=2.4, downforce_max_gf=3.0, downforce_recommended_gf=2.67)
    amount, predicted, half = started(planned_swap(deck(), old, heavier), "skating", "setting")
    assert predicted == pytest.approx(2.0)  # 1.5 x 2.67 / 2.00
    assert amount == pytest.approx(0.5)
    other_cut = heavier.model_copy(update={"stylus": NEW.stylus})
    wider = started(planned_swap(deck(), old, other_cut), "skating", "setting")[2]
    assert wider > half
    by_rule = past(deck(), cartridge(), left())
    assert started(planned_swap(deck(), by_rule, heavier), "skating", "setting")[1] == 2.75


def test_a_dial_too_short_and_decks_without_skating_are_said() -> None:
    short = deck(skating={"control": "dial", "highest_gf": 2.0})
    heavy = cartridge(downforce_min_gf=2.8, downforce_max_gf=3.2)
    plan = planned_swap(short, past(short, cartridge(), left()), heavy)
    assert "highest mark is right for 2.00\u00a0gf" in ends(plan)["skating"]
    for lacking in (deck(skating={"control": "none"}), deck(skating={"control": "fluid"})):
        plan = planned_swap(lacking, past(lacking, cartridge(), left()), NEW)
        assert needs(plan)["skating"] is Need.NOTHING
        assert not [start for start in plan.starts if start.step == "skating"]


def test_the_resonance_is_worked_out_anew_and_said() -> None:
    old = past(deck(), cartridge(), left())
    plan = planned_swap(deck(), old, NEW)
    assert plan.resonance is not None
    assert plan.resonance.value == pytest.approx(9.19, abs=0.01)  # 159.155 / sqrt(20 x 15)
    assert "was 9.7\u00a0Hz: inside 8 to 12\u00a0Hz" in plan.resonance_words
    stiff = planned_swap(deck(), old, cartridge(compliance=5.0))
    assert "outside 8 to 12\u00a0Hz" in stiff.resonance_words
    assert "g more at the head" in stiff.resonance_words
    unknown = planned_swap(deck(), old, cartridge(compliance=None))
    assert unknown.resonance is None
    assert "can't be worked out" in unknown.resonance_words


@pytest.mark.parametrize("leaflet_g", [10.0, 10.4])  # leaflets and moments agree as they can
def test_going_back_begins_from_the_settings_it_had(leaflet_g: float) -> None:
    first = past(deck(), NEW, left(rough_downforce=WEIGHED_TWICE), number=0, cartridge_id="b")
    between = (
        weighed(4.0, "rough_downforce"),
        moved("rough_downforce", Control.COUNTERWEIGHT, -4.75, "turns", equivalent_mm=-4.75),
        weighed(2.0, "rough_downforce"),
    )
    lowered = (heights(1.5), moved("arm_height", Control.PILLAR, -2.0, "mm"), heights(0.0))
    dialled = (read("skating", way="setting", setting=1.75),)
    old_in = cartridge(mass_g=leaflet_g, body_height_mm=15.0)
    old = past(
        deck(),
        old_in,
        left(rough_downforce=between, arm_height=lowered, skating=dialled),
        number=1,
    )
    plan = planned_swap(deck(), old, NEW, [first, old], new_cartridge_id="b")
    assert plan.back_to == worded(first)
    assert plan.planned().settings_of == first.fitting.id
    amount, predicted, _ = started(plan, "rough_downforce", "downforce")
    assert amount == pytest.approx(4.75)
    assert predicted == pytest.approx(2.0)
    assert started(plan, "arm_height", "pillar")[0] == pytest.approx(2.0)
    amount, predicted, _ = started(plan, "skating", "setting")
    assert amount == pytest.approx(0.25)
    assert predicted == pytest.approx(2.0)
    assert needs(plan)["final_downforce"] is Need.SET  # still confirmed by reading


def test_moves_off_the_record_are_noticed_on_the_way_back() -> None:
    first = past(deck(), NEW, left(rough_downforce=WEIGHED_TWICE), number=0, cartridge_id="b")
    old = past(deck(), cartridge(mass_g=11.0), left(), number=1)
    plan = planned_swap(deck(), old, NEW, [first, old], new_cartridge_id="b")
    # Nothing on record was moved, yet 3 g more are balanced: by moments 3 gf, 7.2 turns.
    assert started(plan, "rough_downforce", "downforce")[0] == pytest.approx(7.2, abs=0.3)
    assert any("without a record" in warning for warning in plan.warnings)


def test_only_another_cartridge_s_finished_fitting_is_gone_back_to() -> None:
    unfinished = past(deck(), NEW, left(), number=0, cartridge_id="b", finished=False)
    old = past(deck(), cartridge(), left(), number=1, cartridge_id="a")
    for history, wanted in (([unfinished], "b"), ([], "b"), ([], "a"), ([], "")):
        plan = planned_swap(deck(), old, NEW, history, new_cartridge_id=wanted)
        assert plan.back_to is None


def test_what_was_chosen_goes_on() -> None:
    chosen = ChoiceMade(step="alignment", choices={"criterion": "stevenson"})
    old = past(deck(), cartridge(), [chosen, *left()])
    planned = planned_swap(deck(), old, NEW).planned()
    assert [choice.step for choice in planned.choices] == ["alignment"]
    begun = past(deck(), NEW, [planned], number=1)
    wanted = begun.journey.status("alignment").assessment.figure("wanted_length")
    before = old.journey.status("alignment").assessment.figure("wanted_length")
    assert wanted is not None
    assert before is not None
    assert wanted.value == before.value
    again = past(deck(), NEW, [planned, ChoiceMade(step="alignment", choices={})], number=1)
    default = again.journey.status("alignment").assessment.figure("wanted_length")
    assert default is not None
    assert default.value == pytest.approx(239.296, abs=1e-3)


def test_what_the_plan_rests_on_is_warned_of() -> None:
    old = past(deck(), cartridge(), left(), number=0, finished=False)
    later = past(deck(), NEW, [NoteWritten(text="tried")], number=1, cartridge_id="b")
    changed = deck(arm={"counterweight_mm_per_turn": 1.25})
    said = " ".join(planned_swap(changed, old, NEW, [later]).warnings)
    assert "not finished" in said
    assert "worked on another fitting" in said
    assert "page has changed" in said
    measured = read("alignment", way="pivot distance", distance_mm=223.0)
    aligned = [*left(), measured]
    said = " ".join(planned_swap(deck(), past(deck(), cartridge(), aligned), NEW).warnings)
    assert "measured as 223.0\u00a0mm" in said
    assert "errors of 2 % or 0.1\u00a0g in a mass" in said


def test_a_plan_opens_no_gate_and_comes_first() -> None:
    planned = planned_swap(deck(), past(deck(), cartridge(), left()), NEW).planned()
    begun = past(deck(), NEW, [planned], number=1, finished=False)
    assert not begun.journey.gate.is_open
    moved_as_told = MoveMade(
        step="rough_downforce",
        parts=(MovePart(control=Control.COUNTERWEIGHT, amount=-4.0, unit="turns"),),
    )
    after = past(deck(), NEW, [planned, moved_as_told], number=1, finished=False)
    assert not after.journey.gate.is_open
    refusal = worded(why_refused(begun.journey, planned))
    assert refusal is not None
    assert "before a fitting starts" in refusal


def test_a_withdrawn_plan_no_longer_counts() -> None:
    planned = planned_swap(deck(), past(deck(), cartridge(), left()), NEW).planned()
    fitting: Fitting = past(deck(), NEW, [planned], number=1).fitting
    assert fitting.planned == planned
    gone = fitting.with_entry(Entry(body=Withdrawn(entry=fitting.entries[0].id)))
    assert gone.planned is None
    assert journey_of(deck(), NEW, gone).context("level").gains == ()
