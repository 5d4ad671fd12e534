"""Typing to and fro shows verdict and picture without the page being laid out at each stroke."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QApplication, QLineEdit

from core.steps import reading_from
from desktop.wizard import Wizard
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import FittingBench


class Seen(QObject):
    """Counts what happens while it watches."""

    def __init__(self, kind: QEvent.Type) -> None:
        super().__init__()
        self._kind = kind
        self.count = 0

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: ARG002 - Qt's
        """Count."""
        self.count += event.type() == self._kind
        return False


def stroke(line: QLineEdit, text: str) -> None:
    line.setText(text)
    for _ in range(3):
        QApplication.processEvents()


@pytest.mark.parametrize(
    ("step", "reading", "field", "strokes"),
    [
        (
            "level",
            {"way": "bubble", "direction": "front-back", "divisions": 1.0},
            "divisions",
            ("1", "1,5", "5", "3"),
        ),
        (
            "rough_downforce",
            {"way": "scale", "downforce_gf": 2.0},
            "downforce_gf",
            ("1,9", "1,95", "2,1", "2,05"),
        ),
        (
            "arm_height",
            {"way": "two heights", "front_mm": 26.0, "rear_mm": 29.0, "spacing_mm": 180.0},
            "front_mm",
            ("26", "26,5", "27", "24"),
        ),
    ],
)
def test_a_verdict_that_swings_moves_nothing_on_the_page(
    bench: FittingBench,
    open_wizard: Callable[[], Wizard],
    step: str,
    reading: dict[str, Any],
    field: str,
    strokes: tuple[str, ...],
) -> None:
    bench.rough()
    if step == "arm_height":  # the chart of one reading is folded away
        bench.read(step, **reading)
    wizard = open_wizard()
    wizard.go(step)
    page = wizard.page
    assert isinstance(page, StepPage)
    page.reading.choose(str(reading["way"]))
    form = page.reading.form
    assert form is not None
    form.put(reading_from(step, reading))
    line = form.fields.entries[field].tab_stops()[0]
    assert isinstance(line, QLineEdit)
    said = set()
    for text in strokes * 2:  # the first round finds how much room is needed
        stroke(line, text)
        said.add(page.readout.headline())
    assert len(said) > 2
    page._columns.reveal(page.side_pane.chart)
    QApplication.processEvents()
    laid_out, painted = Seen(QEvent.Type.LayoutRequest), Seen(QEvent.Type.Paint)
    app = QApplication.instance()
    assert app is not None
    app.installEventFilter(laid_out)
    page.side_pane.chart._plot.viewport().installEventFilter(painted)
    try:
        for text in strokes:
            stroke(line, text)
    finally:
        app.removeEventFilter(laid_out)
    assert laid_out.count == 0
    assert 0 < painted.count <= len(strokes)  # once a stroke, if there is anything new to see
