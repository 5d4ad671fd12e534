"""On arriving at a step the first digit typed goes into the field that waits for it."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLineEdit
from pytestqt.qtbot import QtBot

from core.fitting import Control, MovePart, Verdict
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import FittingBench, Opener, focus, press, settle, step_page, write


@pytest.mark.parametrize(
    ("step", "field"),
    [("level", "divisions"), ("rough_downforce", "downforce_gf"), ("arm_height", "front_mm")],
)
def test_the_first_digit_is_typed_into_the_reading(
    bench: FittingBench, open_wizard: Opener, step: str, field: str
) -> None:
    if step == "rough_downforce":
        bench.mount()
    elif step == "arm_height":
        bench.rough()
    wizard = open_wizard()
    wizard.go("speed")
    wizard.go(step)
    page = step_page(wizard)
    assert page.move_panel.isHidden()
    write("1")
    settle()
    form = page.reading.form
    assert form is not None
    (line,) = [stop for stop in form.fields.entries[field].tab_stops() if stop is focus()]
    assert isinstance(line, QLineEdit)
    assert line.text() == "1"


def test_a_sign_or_a_point_typed_first_is_not_lost(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.mount()
    wizard = open_wizard()
    wizard.go("rough_downforce")
    page = step_page(wizard)
    form = page.reading.form
    assert form is not None
    for typed in ("-0.02", ".5"):
        wizard.setFocus()
        for key in typed:  # the first goes beside every field, the others where that put the focus
            write(key)
        settle()
        assert form.fields.entries["downforce_gf"].raw() == typed


def test_after_a_move_the_first_digit_is_typed_into_the_reading(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.mount()
    bench.read("rough_downforce", way="scale", downforce_gf=4.0)
    wizard = open_wizard()
    wizard.go("rough_downforce")
    page = step_page(wizard)
    assert page.status.assessment.verdict is Verdict.STOP
    page.start_moving()
    moved = page.status.trials[-1].moves
    assert moved[0].control is Control.COUNTERWEIGHT
    assert isinstance(moved[0], MovePart)
    write("2")
    settle()
    form = page.reading.form
    assert form is not None
    assert form.fields.entries["downforce_gf"].answer().value == 2.0


def test_the_field_in_hand_is_in_sight_in_a_small_window(
    bench: FittingBench, open_wizard: Opener, qtbot: QtBot
) -> None:
    bench.mount()
    wizard = open_wizard()
    wizard.resize(900, 600)
    wizard.go("speed")
    wizard.go("rough_downforce")
    page = step_page(wizard)
    qtbot.waitUntil(lambda: page.deferred.is_done)
    settle()
    line = focus()
    assert isinstance(line, QLineEdit)
    seen = line.visibleRegion().boundingRect()
    assert seen.height() == line.height(), "all of it"


def scrolled(page: StepPage) -> int:
    return page._columns._areas[0].verticalScrollBar().value()


def test_on_arriving_the_first_lines_are_in_sight_with_the_field(
    bench: FittingBench, open_wizard: Opener, qtbot: QtBot
) -> None:
    bench.mount()
    wizard = open_wizard()
    wizard.resize(1280, 740)  # a window of 1280 by 800 less its frame and its menus
    wizard.go("speed")
    wizard.go("rough_downforce")
    page = step_page(wizard)
    qtbot.waitUntil(lambda: page.deferred.is_done)
    settle()
    line = focus()
    assert isinstance(line, QLineEdit)
    assert line.visibleRegion().boundingRect().height() == line.height(), "all of it"
    assert scrolled(page) == 0


def test_a_stop_begins_at_the_first_line_of_its_move(
    bench: FittingBench, open_wizard: Opener, qtbot: QtBot
) -> None:
    bench.mount()
    wizard = open_wizard()
    wizard.resize(1280, 740)
    wizard.go("speed")
    wizard.go("rough_downforce")
    page = step_page(wizard)
    qtbot.waitUntil(lambda: page.deferred.is_done)
    write("4,0")
    press(Qt.Key.Key_Return)
    settle()
    assert page.status.assessment.verdict is Verdict.STOP
    assert page.move_panel.isAncestorOf(focus())
    assert scrolled(page) == 0
    first = page.move_panel._lines[0].words
    assert first.visibleRegion().boundingRect().height() == first.height()


def test_after_a_move_the_field_in_hand_is_in_sight_however_many_lines_stand_above_it(
    bench: FittingBench, open_wizard: Opener, qtbot: QtBot
) -> None:
    bench.mount()
    wizard = open_wizard()
    wizard.resize(1180, 700)
    wizard.go("speed")
    wizard.go("rough_downforce")
    page = step_page(wizard)
    qtbot.waitUntil(lambda: page.deferred.is_done)
    write("4,0")
    press(Qt.Key.Key_Return)
    settle()
    press(Qt.Key.Key_Return)  # the move is made
    settle()
    line = focus()
    assert isinstance(line, QLineEdit)
    assert page.reading.isAncestorOf(line)
    assert line.visibleRegion().boundingRect().height() == line.height(), "all of it"
