from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.drawing.marks import Arc, Box, Line, Mark, Words, extent
from core.fitting import ChoiceMade, ReadingTaken
from core.language import Numbers
from core.paper.fitting_sheets import ProtractorKind, protractor_of, protractor_sheets
from core.paper.protractor import GAUGE_MM, arc_sheets, grid_marks, grid_sheet
from core.paper.protractor_plan import plan_for, plan_of
from core.paper.radius_line import radius_sheet
from core.paper.sheet import PaperProblem, PaperSize, printable
from core.steps.alignment import AlignmentChoices, Criterion
from tests.examples import deck
from tests.worked import Bench

PARALLEL = {
    "kind": "parallel tracking",
    "pivot_to_spindle_mm": None,
    "effective_length_mm": 170.0,
    "offset_deg": 0.0,
}
STRAIGHT = {
    "kind": "pivoted straight",
    "pivot_to_spindle_mm": 230.0,
    "effective_length_mm": 212.0,
    "offset_deg": 0.0,
}


def arm_of(pivot_mm: float) -> dict[str, float]:
    return {"pivot_to_spindle_mm": pivot_mm, "effective_length_mm": pivot_mm + 15.0}


def said(marks: tuple[Mark, ...]) -> str:
    return " ".join(mark.text for mark in marks if isinstance(mark, Words))


@given(
    pivot=st.floats(170.0, 450.0),
    criterion=st.sampled_from([c for c in Criterion if c is not Criterion.OWN_NULLS]),
    radius=st.floats(61.0, 146.0),
)
@settings(max_examples=60)
def test_the_stylus_stands_on_both_circles_on_the_right_of_the_pivot_line(
    pivot: float, criterion: Criterion, radius: float
) -> None:
    plan = plan_for(deck(arm=arm_of(pivot)), AlignmentChoices(criterion=criterion))
    x, y = plan.stylus_at(radius)
    assert math.hypot(x, y) == pytest.approx(radius, abs=1e-9)
    assert math.hypot(x, y - pivot) == pytest.approx(plan.arm.effective_length_mm, abs=1e-9)
    assert x > 0.0


@given(pivot=st.floats(170.0, 450.0), size=st.sampled_from(PaperSize), tiled=st.booleans())
@settings(max_examples=40)
def test_no_line_leaves_what_printers_reach(pivot: float, size: PaperSize, tiled: bool) -> None:
    sheets = protractor_sheets(deck(arm=arm_of(pivot)), None, size, tiled=tiled)
    area = printable(size)
    for sheet in sheets:
        box = extent(sheet.marks)
        assert _inside(box, area), (sheet.title, box)
    beyond = pivot > 260.0
    assert (len(sheets) > 2) is (beyond and tiled) or not beyond


def _inside(box: Box, area: Box) -> bool:
    return (
        box.left >= area.left - 1e-6
        and box.bottom >= area.bottom - 1e-6
        and box.right <= area.right + 1e-6
        and box.top <= area.top + 1e-6
    )


@pytest.mark.parametrize("size", PaperSize)
@pytest.mark.parametrize("arm", [PARALLEL, STRAIGHT, arm_of(222.0), arm_of(310.0)])
def test_every_true_sheet_carries_check_lines_both_ways_and_asks(
    size: PaperSize, arm: dict[str, object]
) -> None:
    for sheet in protractor_sheets(deck(arm=arm), None, size):
        assert sheet.check is not None
        lines = [m for m in sheet.marks if isinstance(m, Line)]
        assert any(m.y0 == m.y1 and m.x1 - m.x0 == sheet.check.x_mm for m in lines)
        assert any(m.x0 == m.x1 and m.y1 - m.y0 == sheet.check.y_mm for m in lines)
        assert said(sheet.marks).count("What did you measure?") == 2


def test_a_protractor_says_for_which_deck_and_alignment_it_is() -> None:
    plan = plan_for(deck())
    for sheet in (grid_sheet(plan, PaperSize.A4), *arc_sheets(plan, PaperSize.A4)):
        words = said(sheet.marks)
        for told in (
            "Example deck, 9-inch arm, three feet",
            "Löfgren A",
            "66.00 and 120.89 mm",
            "60.325 to 146.05 mm",
            "222.00\u00a0mm",
            "239.30\u00a0mm",
            "22.99°",
            "overhang 17.30\u00a0mm",
        ):
            assert told in words
        assert "downforce is safe" in words


def test_numbers_are_written_as_the_country_writes_them() -> None:
    words = said(grid_sheet(plan_for(deck()), PaperSize.A4, Numbers(",")).marks)
    assert "66,00 and 120,89 mm" in words
    assert "66.00" not in words


def test_the_cantilever_is_seen_between_two_lines_beside_the_null() -> None:
    marks = [m for m in grid_marks(66.0, 0.0, 12.0) if isinstance(m, Line) and m.x0 == m.x1]
    beside = sorted(abs(m.x0 - 66.0) for m in marks)[:2]
    assert beside == pytest.approx([GAUGE_MM / 2.0, GAUGE_MM / 2.0])


def test_the_landing_ladder_has_a_rung_each_millimetre_about_the_pivot() -> None:
    plan = plan_for(deck())
    arcs = [m for m in arc_sheets(plan, PaperSize.A4)[0].marks if isinstance(m, Arc)]
    beyond = sorted(round(m.radius_mm - plan.arm.effective_length_mm, 6) for m in arcs)
    assert beyond == [-5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5]


def test_a_fitting_decides_rule_and_distance() -> None:
    bench = Bench()
    assert plan_of(bench.journey).rule.startswith("Löfgren A")
    assert not plan_of(bench.journey).measured_here
    journey = Bench().work_all(but=("tilt", "skating", "final_downforce", "speed"))
    worked = Bench()
    worked.fitting = journey.fitting
    worked.keep(
        ChoiceMade(step="alignment", choices={"criterion": "stevenson"}),
        ReadingTaken(step="alignment", reading={"way": "pivot distance", "distance_mm": 224.0}),
    )
    plan = plan_of(worked.journey)
    assert plan.rule.startswith("Stevenson")
    assert plan.nulls_mm[0] == pytest.approx(60.325, abs=1e-6)
    assert plan.pivot_mm == pytest.approx(224.0, abs=1e-9)
    assert plan.measured_here
    assert len(protractor_of(worked.journey, PaperSize.A4)) == 2


def test_a_straight_arm_has_one_grid_and_no_offset() -> None:
    plan = plan_for(deck(arm=STRAIGHT))
    assert len(plan.nulls_mm) == 1
    assert plan.arm.offset_deg == 0.0
    assert "underhang" in said(grid_sheet(plan, PaperSize.A4).marks)


def test_a_parallel_arm_gets_its_radius_line_and_says_so() -> None:
    sheets = protractor_sheets(deck(arm=PARALLEL), None, PaperSize.A4, kind=ProtractorKind.ARC)
    assert [sheet.title for sheet in sheets] == ["Protractor: radius line"]
    assert "offset 0°" in said(sheets[0].marks)
    with pytest.raises(PaperProblem, match="radius-line sheet"):
        plan_for(deck(arm=PARALLEL))
    with pytest.raises(PaperProblem, match="swings about a pivot"):
        radius_sheet(deck())


def test_a_deck_without_a_pivot_distance_is_refused_in_words() -> None:
    bare = deck()
    arm = bare.arm.model_copy(update={"pivot_to_spindle_mm": None})
    with pytest.raises(PaperProblem, match="no pivot-to-spindle distance") as told:
        plan_for(bare.model_copy(update={"arm": arm}))
    assert "Measure" in told.value.remedy


@pytest.mark.parametrize("distance", [0.0, -5.0, 100.0, 146.0, 451.0, float("nan"), float("inf")])
def test_a_pivot_that_can_be_none_is_refused_in_words(distance: float) -> None:
    with pytest.raises(PaperProblem) as told:
        plan_for(deck(), pivot_mm=distance)
    assert told.value.remedy
    assert "Traceback" not in str(told.value)


def test_radii_that_no_arm_meets_are_refused_in_words() -> None:
    own = AlignmentChoices.model_validate(
        {"criterion": "own nulls", "own_null_inner_mm": 60, "own_null_outer_mm": 165}
    )
    with pytest.raises(PaperProblem, match="farther out than the outermost groove and"):
        plan_for(deck(arm=arm_of(160.0)), own)
