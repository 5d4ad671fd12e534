"""The page of skating: where the dial is to be set, in which unit, and that it was set."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from core.drawing.marks import Polyline
from core.drawing.roles import MarkRole
from core.records import SkatingControl
from core.store import Library
from desktop.wizard import Wizard
from desktop.wizard.summary_page import SummaryPage
from tests.desktop.kit import (
    CALM,
    FittingBench,
    Opener,
    RecordingMessages,
    bench_view_of,
    press,
    settle,
    step_page,
    steps_told,
    write,
)
from tests.examples import deck
from tests.kit import named


def at_skating(bench: FittingBench) -> None:
    bench.rough()
    for step in ("arm_height", "alignment", "tilt"):
        for reading in CALM[step]:
            bench.read(step, **reading)
        bench.accept(step)


def test_the_dial_is_drawn_at_the_setting_that_is_asked_for(
    bench: FittingBench, open_wizard: Opener
) -> None:
    at_skating(bench)
    wizard = open_wizard()
    wizard.go("skating")
    page = step_page(wizard)
    page.deferred.finish()
    drawing = bench_view_of(page).drawing
    assert drawing is not None
    (pointer,) = named(drawing, "dial@")
    assert isinstance(pointer, Polyline)
    assert pointer.pen.colour is MarkRole.PREDICTED
    write("2")
    settle()
    drawing = bench_view_of(page).drawing
    assert drawing is not None
    (pointer,) = named(drawing, "dial@")
    assert isinstance(pointer, Polyline)
    assert pointer.pen.colour is MarkRole.NOW
    typed = pointer.points
    press(Qt.Key.Key_Return)
    settle()
    drawing = bench_view_of(page).drawing
    assert drawing is not None
    (pointer,) = named(drawing, "dial@")
    assert isinstance(pointer, Polyline)
    assert pointer.points == typed, "it stays where it was set once that is saved"


@pytest.mark.parametrize(
    ("control", "said"), [(SkatingControl.DIAL, "gf"), (SkatingControl.THREAD_WEIGHT, "")]
)
def test_a_dial_is_set_in_its_unit_and_a_notch_has_only_its_number(
    library: Library,
    messages: RecordingMessages,
    shown: Callable[[QWidget], QWidget],
    control: SkatingControl,
    said: str,
) -> None:
    bench = FittingBench(library, deck(skating={"control": control}))
    at_skating(bench)
    wizard = Wizard(bench.controller, messages)
    shown(wizard)
    wizard.go("skating")
    form = step_page(wizard).reading.form
    assert form is not None
    unit = form.fields.entries["setting"].spec.unit
    assert (unit.symbol if unit is not None else "") == said
    bench.controller.deleteLater()


def test_the_summary_says_that_it_was_set(bench: FittingBench, open_wizard: Opener) -> None:
    at_skating(bench)
    bench.read("skating", **CALM["skating"][0])
    bench.accept("skating")
    wizard = open_wizard()
    wizard.go("summary")
    page = wizard.page
    assert isinstance(page, SummaryPage)
    skating = next(text for text in steps_told(page) if text.startswith("Skating"))
    assert "set in this fitting" in skating
    assert "not moved" not in skating
