"""Protractors read back out of the PDF, against null radii worked out twice and plain vectors."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtWidgets import QApplication

from core.paper.protractor import arc_sheets, grid_sheet
from core.paper.protractor_plan import plan_for
from core.paper.radius_line import radius_sheet
from core.paper.sheet import PaperSize
from core.steps.alignment import AlignmentChoices
from desktop.paper.painter import FontMeasure
from desktop.paper.pdf import pdf_bytes, write_pdf
from tests.examples import deck
from tests.readback import Drawing, Stroke, drawing_of, raster_of

# Null radii for grooves 60.325 to 146.05 mm, and length, overhang and offset for D = 222 mm:
# computed twice for this project, in closed form and with a reference optimiser (derived).
WORKED = {
    "löfgren a": (65.998, 120.891, 239.296, 22.986),
    "löfgren b": (70.285, 116.604, 239.749, 22.940),
    "stevenson": (60.325, 117.421, 237.418, 21.983),
}
GRID_LENGTH_MM = 36.0
NEAR_MM = 0.05
NEAR_DEG = 0.02


def long_as(drawing: Drawing, length_mm: float) -> list[Stroke]:
    return [s for s in drawing.strokes if abs(s.length_mm - length_mm) < 0.02]


def spindle(drawing: Drawing) -> tuple[float, float]:
    """The crossing of the two 14 mm lines of the spindle's cross."""
    cross = long_as(drawing, 14.0)
    across = next(s for s in cross if abs(s.angle_deg % 180.0) < 1e-3)
    along = next(s for s in cross if abs(s.angle_deg - 90.0) < 1e-3)
    assert math.dist(across.middle, along.middle) < 0.01
    return across.middle


def distance_to(line: Stroke, place: tuple[float, float]) -> float:
    ux, uy = (line.x1 - line.x0) / line.length_mm, (line.y1 - line.y0) / line.length_mm
    return abs((place[0] - line.x0) * uy - (place[1] - line.y0) * ux)


def nulls_in(drawing: Drawing, at: tuple[float, float]) -> list[list[Stroke]]:
    """The lines square to the radius, sorted into grids by their distance from the spindle."""
    lines = sorted(long_as(drawing, GRID_LENGTH_MM), key=lambda s: math.dist(s.middle, at))
    grids: list[list[Stroke]] = [[lines[0]]]
    for line in lines[1:]:
        if math.dist(line.middle, at) - math.dist(grids[-1][-1].middle, at) > 6.0:
            grids.append([])
        grids[-1].append(line)
    return grids


@pytest.mark.parametrize("rule", WORKED)
@pytest.mark.parametrize("size", PaperSize)
def test_both_grids_stand_at_the_null_radii_and_square_to_the_radius(
    rule: str, size: PaperSize, qapp: QApplication
) -> None:
    plan = plan_for(deck(), AlignmentChoices.model_validate({"criterion": rule}))
    drawing = drawing_of(pdf_bytes([grid_sheet(plan, size, measure=FontMeasure())], title="t"))
    at = spindle(drawing)
    grids = nulls_in(drawing, at)
    assert len(grids) == 2
    for lines, radius in zip(grids, WORKED[rule][:2], strict=True):
        assert len(lines) >= 8
        middle = np.mean([s.middle for s in lines], axis=0)
        assert math.dist(middle, at) == pytest.approx(radius, abs=NEAR_MM * radius / 100.0)
        bearing = math.degrees(math.atan2(middle[1] - at[1], middle[0] - at[0]))
        for line in lines:
            assert abs((line.angle_deg - bearing) % 180.0 - 90.0) < NEAR_DEG


@pytest.mark.parametrize("rule", WORKED)
@pytest.mark.parametrize("size", PaperSize)
def test_the_arc_runs_about_the_pivot_and_heads_stand_at_the_offset(
    rule: str, size: PaperSize, qapp: QApplication
) -> None:
    inner, outer, length, offset = WORKED[rule]
    plan = plan_for(deck(), AlignmentChoices.model_validate({"criterion": rule}))
    sheets = arc_sheets(plan, size, measure=FontMeasure())
    assert len(sheets) == 1
    drawing = drawing_of(pdf_bytes(sheets, title="t"))
    at = spindle(drawing)
    pivot = (at[0], at[1] + 222.0)
    cross = [s for s in long_as(drawing, 10.0) if math.dist(s.middle, pivot) < 0.02]
    assert len(cross) == 1, "the pivot is marked where the deck has it"
    # Curves are ladders and rings too: the longest one is the stylus's own.
    spans = [float(np.linalg.norm(c[0] - c[-1])) for c in drawing.curves]
    arc = drawing.curves[int(np.argmax(spans))]
    reach = np.hypot(arc[:, 0] - pivot[0], arc[:, 1] - pivot[1])
    assert np.abs(reach - length).max() < 0.005  # the printed lengths have three decimals
    for lines, radius in zip(nulls_in(drawing, at), (inner, outer), strict=True):
        middle = np.mean([s.middle for s in lines], axis=0)
        assert math.dist(middle, at) == pytest.approx(radius, abs=NEAR_MM)
        assert math.dist(middle, pivot) == pytest.approx(length, abs=NEAR_MM)
        to_pivot = math.degrees(math.atan2(pivot[1] - middle[1], pivot[0] - middle[0])) % 180.0
        for line in lines:
            # The head along a grid line stands at the offset against the line to the pivot.
            assert abs((to_pivot - line.angle_deg) % 180.0 - offset) < NEAR_DEG


def test_a_long_arm_goes_over_two_sheets_that_register(qapp: QApplication) -> None:
    long_deck = deck(arm={"pivot_to_spindle_mm": 295.0, "effective_length_mm": 308.0})
    sheets = arc_sheets(plan_for(long_deck), PaperSize.A4, measure=FontMeasure())
    assert len(sheets) == 2
    data = pdf_bytes(sheets, title="t")
    first, second = drawing_of(data, 0), drawing_of(data, 1)
    crosses = [
        sorted(s.middle for s in long_as(page, 10.0) if abs(s.angle_deg) < 1e-3)
        for page in (first, second)
    ]
    # The second sheet's own ten-millimetre line marks the pivot.
    pivot = next(m for m in crosses[1] if abs(m[0] - spindle(first)[0]) < 0.01)
    crosses[1].remove(pivot)
    assert len(crosses[0]) == len(crosses[1]) == 2
    shifts = [np.subtract(a, b) for a, b in zip(*crosses, strict=True)]
    assert np.abs(shifts[0] - shifts[1]).max() < 0.01
    on_first = np.add(pivot, shifts[0])
    assert math.dist(on_first, spindle(first)) == pytest.approx(295.0, abs=0.02)


def test_a_cut_sheet_says_how_far_the_pivot_lies_and_its_line_points_there(
    qapp: QApplication,
) -> None:
    long_deck = deck(arm={"pivot_to_spindle_mm": 295.0, "effective_length_mm": 308.0})
    sheets = arc_sheets(plan_for(long_deck), PaperSize.LETTER, measure=FontMeasure(), tiled=False)
    assert len(sheets) == 1
    drawing = drawing_of(pdf_bytes(sheets, title="t"))
    at = spindle(drawing)
    upright = [
        s for s in drawing.strokes if abs(s.middle[0] - at[0]) < 0.01 and s.length_mm > 100.0
    ]
    assert len(upright) == 1
    assert abs(upright[0].angle_deg - 90.0) < NEAR_DEG


def test_a_straight_arm_gets_its_one_null_where_the_circle_touches_the_radius_line(
    qapp: QApplication,
) -> None:
    straight = deck(
        arm={
            "kind": "pivoted straight",
            "pivot_to_spindle_mm": 230.0,
            "effective_length_mm": 212.0,
            "offset_deg": 0.0,
        }
    )
    plan = plan_for(straight)
    drawing = drawing_of(pdf_bytes([grid_sheet(plan, PaperSize.A4)], title="t"))
    grids = nulls_in(drawing, spindle(drawing))
    assert len(grids) == 1
    radius = math.dist(np.mean([s.middle for s in grids[0]], axis=0), spindle(drawing))
    # Pythagoras: with no offset the arm is square to the radius at its null (derived).
    assert radius**2 + plan.arm.effective_length_mm**2 == pytest.approx(230.0**2, rel=2e-4)


def test_a_parallel_arm_gets_a_radius_with_square_lines(qapp: QApplication) -> None:
    parallel = deck(
        arm={
            "kind": "parallel tracking",
            "pivot_to_spindle_mm": None,
            "effective_length_mm": 170.0,
            "offset_deg": 0.0,
        }
    )
    drawing = drawing_of(pdf_bytes([radius_sheet(parallel)], title="t"))
    at = spindle(drawing)
    lines = long_as(drawing, 40.0)
    assert len(lines) >= 10
    assert all(abs(s.angle_deg - 90.0) < NEAR_DEG for s in lines)
    pairs = sorted(abs(s.middle[0] - at[0]) for s in lines)
    assert np.mean(pairs[:2]) == pytest.approx(60.325, abs=NEAR_MM)
    assert np.mean(pairs[-2:]) == pytest.approx(146.05, abs=NEAR_MM)
    radius = [s for s in drawing.strokes if s.length_mm > 100.0 and abs(s.middle[1] - at[1]) < 0.01]
    assert len(radius) == 1
    assert abs(radius[0].angle_deg) < NEAR_DEG


@pytest.mark.parametrize("size", PaperSize)
def test_on_the_raster_the_check_lines_are_true_and_square(
    size: PaperSize, tmp_path: Path, qapp: QApplication
) -> None:
    path = tmp_path / "grid.pdf"
    write_pdf(path, [grid_sheet(plan_for(deck()), size)], title="t")
    drawing = drawing_of(path)
    raster = raster_of(path, tmp_path)
    lines = long_as(drawing, 150.0)
    assert len(lines) == 2
    for line in lines:
        across = abs(line.angle_deg) < 1.0
        ends = [
            _tick(raster.dark, raster.at(x, y), across=across)
            for x, y in ((line.x0, line.y0), (line.x1, line.y1))
        ]
        length = abs(ends[1] - ends[0]) / raster.dots_per_mm
        assert length == pytest.approx(150.0, abs=NEAR_MM * 1.5)


def _tick(dark: np.ndarray, place: tuple[float, float], *, across: bool) -> float:
    """Where a short end mark crosses, in dots along the check line: its centre of ink."""
    row, column = round(place[0]), round(place[1])
    if across:
        # Just above and below the line itself the end mark stands alone.
        window = np.vstack((dark[row - 40 : row - 12], dark[row + 12 : row + 40]))
        ink = window[:, column - 20 : column + 20].sum(axis=0)
        first = column - 20
    else:
        window = np.hstack((dark[:, column - 40 : column - 12], dark[:, column + 12 : column + 40]))
        ink = window[row - 20 : row + 20].sum(axis=1)
        first = row - 20
    assert ink.sum() > 10.0
    return first + float((ink * np.arange(40)).sum() / ink.sum())
