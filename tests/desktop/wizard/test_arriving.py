"""On arriving at a step the first digit typed goes into the field that waits for it."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from core.fitting import Control, MovePart, Verdict
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import (
    CALM,
    CTRL,
    FittingBench,
    Opener,
    focus,
    press,
    settle,
    step_page,
    write,
)


def at_rough_downforce(
    bench: FittingBench, open_wizard: Opener, qtbot: QtBot, width: int, height: int
) -> StepPage:
    """Arrive there from another step in a window of this size, and wait for what is made late."""
    bench.mount()
    wizard = open_wizard()
    wizard.resize(width, height)
    wizard.go("speed")
    wizard.go("rough_downforce")
    page = step_page(wizard)
    qtbot.waitUntil(lambda: page.deferred.is_done)
    settle()
    return page


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
        form.fields.entries["downforce_gf"].put(None)


@pytest.mark.parametrize("step", ["level", "rough_downforce"])
def test_the_key_for_the_reading_goes_to_the_field_that_the_page_opens_with(
    bench: FittingBench, open_wizard: Opener, step: str
) -> None:
    if step != "level":
        bench.mount()
    wizard = open_wizard()
    page = step_page(wizard)
    assert page.step == step
    opened = focus()
    assert isinstance(opened, QLineEdit)
    page.title.setFocus()
    press(Qt.Key.Key_R, CTRL)
    assert focus() is opened


def test_a_digit_typed_at_a_list_goes_into_the_number_that_waits(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page = step_page(open_wizard())
    form = page.reading.form
    assert form is not None
    form.fields.entries["direction"].tab_stops()[0].setFocus()
    write("0")
    assert form.fields.entries["divisions"].tab_stops()[0] is focus()
    assert focus().property("text") == "0"


@pytest.mark.parametrize(
    ("step", "way", "choice", "number"),
    [("speed", "strobe", "direction", "drifted_bars"), ("tilt", "mirror", "lean", "angle_deg")],
)
def test_a_number_typed_at_a_choice_goes_where_that_choice_wants_it(
    bench: FittingBench, open_wizard: Opener, step: str, way: str, choice: str, number: str
) -> None:
    bench.rough()
    for before in ("arm_height", "alignment", "tilt", "skating", "final_downforce"):
        if before == step:
            break
        for reading in CALM[before]:
            bench.read(before, **reading)
        bench.accept(before, "left so for this test")
    wizard = open_wizard()
    wizard.go(step)
    page = step_page(wizard)
    page.reading.choose(way)
    form = page.reading.form
    assert form is not None
    form.fields.entries[choice].tab_stops()[0].setFocus()
    write("1")
    line = form.fields.entries[number].tab_stops()[0]
    assert focus() is line
    assert line.isVisible()
    write("2")
    assert line.property("text") == "12"
    press(Qt.Key.Key_Return)
    assert focus().property("field") == choice, "which way is asked next"
    assert form.problems() != []
    press(Qt.Key.Key_Down)
    assert form.problems() == []
    assert line.property("text") == "12"
    assert line.isVisible()


AT_A_CHOICE = [("speed", "strobe", "direction", "drifted_bars", "standing"),
               ("tilt", "mirror", "lean", "angle_deg", "upright")]  # fmt: skip # rows of a table


def at_a_choice(bench: FittingBench, open_wizard: Opener, step: str, way: str) -> StepPage:
    bench.rough()
    for before in ("arm_height", "alignment", "tilt", "skating", "final_downforce"):
        if before == step:
            break
        bench.accept(before, "left so for this test")
    wizard = open_wizard()
    wizard.go(step)
    page = step_page(wizard)
    page.reading.choose(way)
    return page


@pytest.mark.parametrize(("step", "way", "choice", "number", "none"), AT_A_CHOICE)
def test_a_number_typed_at_a_choice_that_has_no_place_for_it_is_not_lost(
    bench: FittingBench,
    open_wizard: Opener,
    step: str,
    way: str,
    choice: str,
    number: str,
    none: str,
) -> None:
    form = at_a_choice(bench, open_wizard, step, way).reading.form
    assert form is not None
    chosen = form.fields.entries[choice]
    chosen.put_raw(none)
    chosen.tab_stops()[0].setFocus()
    for digit in "12":
        write(digit)
    assert focus() is form.fields.entries[number].tab_stops()[0]
    assert focus().property("text") == "12"
    press(Qt.Key.Key_Return)
    assert focus().property("field") == choice, "which way is asked next"
    assert chosen.answer().problems


@pytest.mark.parametrize(("step", "way", "choice", "number", "none"), AT_A_CHOICE)
def test_a_choice_with_no_place_for_the_number_typed_before_it_is_refused_with_a_sentence(
    bench: FittingBench,
    open_wizard: Opener,
    step: str,
    way: str,
    choice: str,
    number: str,
    none: str,
) -> None:
    page = at_a_choice(bench, open_wizard, step, way)
    form = page.reading.form
    assert form is not None
    chosen = form.fields.entries[choice]
    chosen.tab_stops()[0].setFocus()
    for digit in "12":
        write(digit)
    press(Qt.Key.Key_Return)
    chosen.put_raw(none)
    chosen.changed.emit()
    press(Qt.Key.Key_Return)
    assert page.status.trials == ()
    line = form.fields.entries[number].tab_stops()[0]
    assert line.isVisible()
    assert line.property("text") == "12"
    assert any("Say which way, or clear the number" in one.text() for one in labels_of(chosen))
    line.setProperty("text", "0")
    assert form.problems() == []
    assert not any("Say which way" in one.text() for one in labels_of(chosen))


def labels_of(widget: QWidget) -> list[QLabel]:
    return [one for one in widget.findChildren(QLabel) if one.isVisible()]


def test_a_digit_typed_at_the_choice_beside_a_number_neither_wipes_nor_adds_to_it(
    bench: FittingBench, open_wizard: Opener
) -> None:
    """30, Enter, 5 at the choice became 305; before that, 5."""
    form = at_a_choice(bench, open_wizard, "speed", "strobe").reading.form
    assert form is not None
    form.fields.entries["direction"].tab_stops()[0].setFocus()
    for digit in "30":
        write(digit)
    assert form.fields.entries["drifted_bars"].raw() == "30", "digits in a row are one number"
    press(Qt.Key.Key_Return)
    assert focus() is not form.fields.entries["drifted_bars"].tab_stops()[0]
    said = [one.text() for one in labels_of(form.fields.entries["direction"])]
    assert any("choose one" in line for line in said), "Enter went back, and says why"
    write("5")
    assert focus() is form.fields.entries["drifted_bars"].tab_stops()[0]
    assert focus().property("text") == "30"
    write("5")
    assert focus().property("text") == "305", "typed in the field itself, where it is seen"


def test_a_digit_beside_the_fields_never_replaces_a_number(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.mount()
    wizard = open_wizard()
    wizard.go("rough_downforce")
    form = step_page(wizard).reading.form
    assert form is not None
    form.fields.entries["downforce_gf"].tab_stops()[0].setFocus()
    write("-0.02x")
    wizard.setFocus()
    write("5")
    assert form.fields.entries["downforce_gf"].raw() == "-0.02x"


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
    at_rough_downforce(bench, open_wizard, qtbot, 900, 600)
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


def test_the_field_in_hand_is_in_sight_on_arriving_in_a_window_that_is_not_low(
    bench: FittingBench, open_wizard: Opener, qtbot: QtBot
) -> None:
    bench.mount()
    wizard = open_wizard()
    for width in (700, 900, 1280):
        wizard.resize(width, 800)
        wizard.go("speed")
        wizard.go("rough_downforce")
        page = step_page(wizard)
        qtbot.waitUntil(lambda page=page: page.deferred.is_done)
        settle()
        line = focus()
        assert isinstance(line, QLineEdit)
        assert line.visibleRegion().boundingRect().height() == line.height(), width


@pytest.mark.parametrize("step", ["level", "rough_downforce", "arm_height", "alignment", "tilt"])
def test_no_part_of_the_work_is_painted_squeezed(
    bench: FittingBench, open_wizard: Opener, qtbot: QtBot, qapp: QApplication, step: str
) -> None:
    """A page that is made in several turns is never painted between them."""
    bench.rough()
    squeezed: list[tuple[str, int]] = []

    class Painted(QObject):
        def eventFilter(self, watched: QObject, event: QEvent) -> bool:
            if event.type() == QEvent.Type.Paint and isinstance(watched, QLabel | QLineEdit):
                least = watched.minimumSizeHint().height()
                if watched.hasHeightForWidth():
                    least = watched.heightForWidth(watched.width())
                if watched.text() and watched.height() < least:
                    squeezed.append((watched.text(), watched.height()))
            return False

    wizard = open_wizard()
    wizard.resize(1280, 740)
    eye = Painted()
    qapp.installEventFilter(eye)
    wizard.go(step)
    page = step_page(wizard)
    qtbot.waitUntil(lambda: page.deferred.is_done)
    settle()
    qapp.removeEventFilter(eye)
    assert squeezed == []


@pytest.mark.parametrize("height", [700, 720, 740, 775])
def test_on_arriving_all_lines_up_to_the_field_are_in_sight(
    bench: FittingBench, open_wizard: Opener, qtbot: QtBot, height: int
) -> None:
    page = at_rough_downforce(bench, open_wizard, qtbot, 1180, height)
    line = focus()
    assert isinstance(line, QLineEdit)
    assert line.visibleRegion().boundingRect().height() == line.height(), "all of the field"
    form = page.reading.form
    assert form is not None
    assert form.recipe is not None
    in_hand = [one for one in form.recipe.lines if one.isAncestorOf(line)]
    above = form.recipe.lines[: form.recipe.lines.index(in_hand[0])]
    assert len(above) == 7
    for one in above:
        seen = one.words.visibleRegion().boundingRect()
        assert seen.height() == one.words.height(), one.words.text()


def test_in_a_larger_window_the_verdict_is_large_again(
    bench: FittingBench, open_wizard: Opener, qtbot: QtBot
) -> None:
    page = at_rough_downforce(bench, open_wizard, qtbot, 1180, 720)
    small = page.readout.height()
    page.window().resize(1180, 1000)
    settle()
    assert page.readout.height() > small
