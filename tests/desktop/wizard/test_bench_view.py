"""The page draws how a reading is taken, then the move, and again the reading while typing."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from core.drawing import parts
from core.drawing.drawing import Drawing
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import FittingBench, Opener, RecordingMessages, settle, step_page, write


def drawn(page: StepPage) -> Drawing:
    """Return what is drawn on a page."""
    drawing = page.bench_view.drawing
    assert drawing is not None
    return drawing


def test_what_is_read_from_beside_the_form_stays_above_the_drawing(open_wizard: Opener) -> None:
    wizard = open_wizard()
    wizard.resize(1280, 800)
    page = StepPage(wizard.controller, "level", RecordingMessages(), parent=wizard)
    page.resize(1080, 700)
    instrument = QWidget(page)
    page.put_beside(instrument)
    assert page._columns.count == 2
    assert page._view.indexOf(instrument) < page._view.indexOf(page.bench_view)


def test_the_drawing_follows_what_the_hand_does_next(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.mount()
    wizard = open_wizard()
    wizard.go("rough_downforce")
    page = step_page(wizard)
    assert "Scale under the stylus" in drawn(page).title
    assert not drawn(page).named(parts.HAND)
    assert page.bench_view.accessibleName() == drawn(page).title
    bench.read("rough_downforce", way="scale", downforce_gf=1.0)
    page.refresh()
    assert drawn(page).named(parts.HAND)
    assert "toward the pivot" in drawn(page).title
    height = page.bench_view.heightForWidth(400)
    page.reading.start_typing()
    write("1.9")
    settle()
    assert not drawn(page).named(parts.HAND)
    assert page.bench_view.heightForWidth(400) == height
