"""Strobe discs counted on the raster, against bars and speeds worked out by hand."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtWidgets import QApplication

from core.drawing.marks import Circle
from core.paper.sheet import PaperSize
from core.paper.strobe_disc import disc_sheet, rings_for
from desktop.paper.pdf import write_pdf
from tests.examples import deck
from tests.readback import Raster, raster_of

# 60 f / n: 33 1/3 rpm at 100 flashes asks for 180 bars, at 120 for 216; 45 rpm at 120 for 160, at
# 100 the nearest is 133 (45.113 rpm); 78.26 at 100 is 77 (77.922), at 120 is 92 (78.261) (derived).
BARS = {
    (33.333333, 100.0): 180,
    (33.333333, 120.0): 216,
    (45.0, 100.0): 133,
    (45.0, 120.0): 160,
    (78.26, 100.0): 77,
    (78.26, 120.0): 92,
}


@pytest.mark.parametrize("flashes", [100.0, 120.0])
@pytest.mark.parametrize("size", PaperSize)
def test_bars_counted_round_each_ring_of_the_raster(
    flashes: float, size: PaperSize, tmp_path: Path, qapp: QApplication
) -> None:
    speeds = (33.333333, 45.0, 78.26)
    sheet = disc_sheet(deck(), size, flashes_hz=(flashes,), speeds_rpm=speeds)
    path = tmp_path / "disc.pdf"
    write_pdf(path, [sheet], title="t")
    raster = raster_of(path, tmp_path)
    spindle = next(m for m in sheet.marks if isinstance(m, Circle))
    for ring in rings_for(speeds, (flashes,)):
        middle = (ring.inner_mm + ring.outer_mm) / 2.0
        edges, share = edges_round(raster, spindle.x, spindle.y, middle)
        assert edges == 2 * BARS[ring.speed_rpm, flashes]
        assert share == pytest.approx(0.5, abs=0.02)


def edges_round(raster: Raster, x: float, y: float, radius_mm: float) -> tuple[int, float]:
    """Count changes between ink and paper round a circle, and the share of ink."""
    angle = np.linspace(0.0, 2.0 * math.pi, 40_000, endpoint=False)
    row, column = raster.at(x, y)
    rows = np.rint(row - radius_mm * raster.dots_per_mm * np.sin(angle) - 0.5).astype(int)
    columns = np.rint(column + radius_mm * raster.dots_per_mm * np.cos(angle) - 0.5).astype(int)
    ink = raster.dark[rows, columns] > 0.5
    return int(np.count_nonzero(ink != np.roll(ink, 1))), float(ink.mean())


def test_a_count_off_by_one_would_be_seen(tmp_path: Path, qapp: QApplication) -> None:
    sheet = disc_sheet(deck(), flashes_hz=(100.0 * 181 / 180,), speeds_rpm=(33.333333,))
    path = tmp_path / "disc.pdf"
    write_pdf(path, [sheet], title="t")
    spindle = next(m for m in sheet.marks if isinstance(m, Circle))
    raster = raster_of(path, tmp_path)
    assert edges_round(raster, spindle.x, spindle.y, 80.0)[0] == 362
