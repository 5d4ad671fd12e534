"""What is typed and not saved is there again after a kill, in every form for readings and moves."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QLineEdit, QWidget

from core.fitting import MoveMade, ReadingTaken
from core.language import Numbers
from core.steps.downforce import ScaleReading
from core.store import Library
from core.store.exporting import of_library
from desktop.tasks.fitting_controller import FittingController
from desktop.wizard import Wizard
from desktop.wizard.step_page import StepPage
from tests.core.store.worked import content_of
from tests.desktop.kit import (
    CTRL,
    FittingBench,
    Opener,
    RecordingMessages,
    press,
    settle,
    step_page,
    write,
)

ROOT = Path(__file__).parents[3]


@pytest.fixture
def again(
    bench: FittingBench, messages: RecordingMessages, shown: Callable[..., QWidget]
) -> Callable[[], Wizard]:
    """Return a function that opens the fitting in another window, as after a start."""
    made: list[Library] = []

    def open_again() -> Wizard:
        library = Library.open(bench.library.address)
        made.append(library)
        controller = FittingController(
            library, bench.controller.fitting.id, who="Ann", numbers=Numbers(",")
        )
        wizard = Wizard(controller, messages)
        controller.setParent(wizard)
        shown(wizard)
        return wizard

    return open_again


def type_bubble(text: str) -> None:
    press(Qt.Key.Key_R, CTRL)  # in the direction that is asked for, not turned round
    write(text)
    press(Qt.Key.Key_Tab)
    press(Qt.Key.Key_Space)  # toward the marked end


def killed(wizard: Wizard) -> None:
    """Leave behind what a killed program does: its drafts, and a lock that is nobody's."""
    QApplication.processEvents()
    wizard.controller.drafts.flush()
    wizard.controller.drafts._mark.take_down()


def divisions(page: StepPage) -> QLineEdit:
    form = page.reading.form
    assert form is not None
    line = form.fields.entries["divisions"].tab_stops()[0]
    assert isinstance(line, QLineEdit)
    return line


def test_what_was_typed_and_deleted_again_is_not_called_unsaved(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page = step_page(open_wizard())
    write("2,2")
    assert page.has_unsaved()
    for _ in "2,2":
        press(Qt.Key.Key_Backspace)
    settle()
    assert not divisions(page).text()
    assert not page.has_unsaved()


def test_what_was_typed_stands_in_its_field_again_and_is_no_reading(
    bench: FittingBench, open_wizard: Opener, again: Callable[[], Wizard]
) -> None:
    first = open_wizard()
    type_bubble("2,2")
    headline = step_page(first).readout.headline()
    killed(first)
    page = step_page(again())
    assert divisions(page).text() == "2,2"
    assert page.reading.draft_line.text().startswith("Typed before, not saved yet (2")
    assert page.has_unsaved()
    assert page.readout.headline() == headline
    assert bench.another().fitting.entries == ()
    assert not page.status.trials
    document = content_of(bench.library, of_library(bench.library))
    assert b"2,2" not in document


@pytest.mark.usefixtures("usual_look")
def test_in_a_small_window_what_came_back_is_said_in_sight(
    bench: FittingBench, open_wizard: Opener, again: Callable[[], Wizard]
) -> None:
    """The field had the focus, and the line that says where its number came from was above."""
    bench.mount()
    first = open_wizard()
    write("2,0")
    killed(first)
    wizard = again()
    wizard.resize(900, 560)  # 900 x 600 without the menu
    settle()
    page = step_page(wizard)
    line = page.reading.draft_line
    assert line.isVisible()
    assert line.visibleRegion().boundingRect() == line.rect()
    focused = QApplication.focusWidget()
    assert isinstance(focused, QLineEdit)
    assert focused.text() == "2,0"
    assert focused.visibleRegion().boundingRect() == focused.rect()


def test_the_caret_stands_in_the_field_that_was_typed_and_in_no_optional_one(
    bench: FittingBench, open_wizard: Opener, again: Callable[[], Wizard]
) -> None:
    bench.mount()
    first = open_wizard()
    assert step_page(first).step == "rough_downforce"
    write("2,0")
    typed = QApplication.focusWidget()
    assert isinstance(typed, QLineEdit)
    assert typed.text() == "2,0"
    killed(first)
    page = step_page(again())
    focused = QApplication.focusWidget()
    assert isinstance(focused, QLineEdit)
    assert focused.property("field") == "downforce_gf"
    assert (focused.text(), focused.selectedText()) == ("2,0", "2,0")
    write("2,03")
    press(Qt.Key.Key_Return, CTRL)
    (trial,) = page.status.trials
    assert trial.reading == ScaleReading(downforce_gf=2.03)


def test_saving_ends_the_draft_with_the_reading(
    bench: FittingBench, open_wizard: Opener, again: Callable[[], Wizard]
) -> None:
    first = open_wizard()
    type_bubble("2,2")
    killed(first)
    second = again()
    page = step_page(second)
    page.reading.keep()
    assert page.reading.draft_line.text() == ""
    assert [type(one.body) for one in bench.another().fitting.entries] == [ReadingTaken]
    assert bench.library.drafts.of(bench.controller.fitting.id, "level") == ()
    killed(second)
    assert not step_page(again()).has_unsaved()


def test_clearing_empties_the_form_for_good(
    open_wizard: Opener, again: Callable[[], Wizard]
) -> None:
    first = open_wizard()
    type_bubble("2,2")
    killed(first)
    second = again()
    page = step_page(second)
    clear, show = page.reading.draft_line.buttons
    assert not show.isVisible()
    clear.setFocus()
    press(Qt.Key.Key_Return)
    assert divisions(page).text() == ""
    assert page.reading.draft_line.text() == ""
    assert not page.has_unsaved()
    killed(second)
    assert divisions(step_page(again())).text() == ""


def test_wrong_and_half_typed_text_comes_back_as_it_was(
    open_wizard: Opener, again: Callable[[], Wizard]
) -> None:
    first = open_wizard()
    type_bubble("two and a ha")
    killed(first)
    assert divisions(step_page(again())).text() == "two and a ha"


def test_erasing_what_was_typed_leaves_no_draft(
    bench: FittingBench, open_wizard: Opener, again: Callable[[], Wizard]
) -> None:
    first = open_wizard()
    page = step_page(first)
    divisions(page).setText("2")
    killed(first)
    assert bench.library.drafts.of(bench.controller.fitting.id, "level")
    divisions(page).setText("")
    killed(first)
    assert bench.library.drafts.of(bench.controller.fitting.id, "level") == ()
    assert step_page(again()).reading.draft_line.text() == ""


def test_a_draft_of_a_window_that_is_there_is_neither_shown_as_ones_own_nor_replaced(
    bench: FittingBench, open_wizard: Opener, again: Callable[[], Wizard]
) -> None:
    first = open_wizard()
    type_bubble("2,2")
    QApplication.processEvents()
    first.controller.drafts.flush()
    second = again()
    page = step_page(second)
    assert divisions(page).text() == ""
    assert not page.has_unsaved()
    assert page.reading.draft_line.text().startswith("Typed in another window by A. Tester, not")
    type_bubble("7")
    second.controller.drafts.flush()
    found = bench.library.drafts.of(bench.controller.fitting.id, "level")
    assert sorted(one.content["divisions"][0] for one in found) == ["2,2", "7"]
    page.reading.keep()
    (left,) = bench.library.drafts.of(bench.controller.fitting.id, "level")
    assert left.content["divisions"][0] == "2,2"


def test_what_another_window_holds_is_shown_here_when_asked_for(
    bench: FittingBench, open_wizard: Opener, again: Callable[[], Wizard]
) -> None:
    first = open_wizard()
    type_bubble("2,2")
    QApplication.processEvents()
    first.controller.drafts.flush()
    second = again()
    page = step_page(second)
    _, show = page.reading.draft_line.buttons
    show.click()
    assert divisions(page).text() == "2,2"
    second.controller.drafts.flush()
    assert len(bench.library.drafts.of(bench.controller.fitting.id, "level")) == 2


def test_a_typed_amount_of_a_move_comes_back_and_ends_with_the_move(
    bench: FittingBench, open_wizard: Opener, again: Callable[[], Wizard]
) -> None:
    bench.read("level", way="bubble", direction="left-right", divisions=0.0)
    bench.read("level", way="bubble", direction="front-back", divisions=8.0)
    first = open_wizard()
    field = next(one for one in step_page(first).move_panel.fields if one is not None)
    field.set_text("1,25")
    killed(first)
    second = again()
    page = step_page(second)
    panel = page.move_panel
    assert next(one for one in panel.fields if one is not None).text() == "1,25"
    assert panel.draft_line.text().startswith("Typed before, not saved yet")
    assert panel.has_unsaved()
    press(Qt.Key.Key_M, CTRL)
    entries = bench.another().fitting.entries
    assert isinstance(entries[-1].body, MoveMade)
    assert bench.library.drafts.of(bench.controller.fitting.id, "level") == ()
    assert panel.draft_line.text() == ""


def test_a_move_of_ones_own_comes_back(open_wizard: Opener, again: Callable[[], Wizard]) -> None:
    first = open_wizard()
    page = step_page(first)
    press(Qt.Key.Key_M, CTRL | Qt.KeyboardModifier.ShiftModifier)
    other = page.prompts.move
    assert other.field is not None
    other.ways[1].setChecked(True)
    other.field.set_text("0,5")
    other.note.setText("slipped")
    before = other.typed_raw()
    killed(first)
    page = step_page(again())
    assert page.prompts.move.isVisible()
    assert page.prompts.move.typed_raw() == before
    assert page.prompts.move.draft_line.text().startswith("Typed before")
    page.prompts.move.draft_line.buttons[0].click()
    assert page.prompts.move.typed_raw() is None


def test_leaving_asks_and_keeps_it_for_later_or_throws_it_away(
    bench: FittingBench,
    open_wizard: Opener,
    again: Callable[[], Wizard],
    messages: RecordingMessages,
) -> None:
    open_wizard()
    type_bubble("2,2")
    messages.answers = [1]
    press(Qt.Key.Key_W, CTRL)
    assert messages.asked[0].choices == (
        "Stay here",
        "Leave, and keep it for later",
        "Leave, and throw it away",
    )
    second = again()
    assert divisions(step_page(second)).text() == "2,2"
    messages.answers = [2]
    press(Qt.Key.Key_W, CTRL)
    assert bench.library.drafts.of(bench.controller.fitting.id, "level") == ()


def test_every_reading_form_of_every_step_comes_back_as_it_was(
    bench: FittingBench, messages: RecordingMessages, shown: Callable[..., QWidget]
) -> None:
    from core.steps import STEP_NAMES, step_named, ways_of
    from desktop.forms.form import Form

    for name in STEP_NAMES:
        for model in ways_of(step_named(name)).values():
            one, other = Form(model, Numbers(",")), Form(model, Numbers(","))
            shown(one)
            shown(other)
            for stop in one.tab_stops():
                if isinstance(stop, QLineEdit):
                    stop.setText("1,5 or so")
                elif isinstance(stop, QComboBox):
                    stop.setCurrentIndex(stop.count() - 1)
                elif isinstance(stop, QAbstractButton):
                    stop.click()
            raw = one.fields.raw()
            other.type_again(raw)
            assert other.fields.raw() == raw, model
            for wrong in (None, 7, [], {"divisions": {}}, {key: {"x": [1]} for key in raw}):
                other.fields.put_raw(wrong)


def test_a_killed_program_shows_it_again(bench: FittingBench, again: Callable[[], Wizard]) -> None:
    code = (
        "import os, signal, sys\n"
        "from PySide6.QtCore import QTimer\n"
        "from PySide6.QtWidgets import QApplication\n"
        "from core.language import Numbers\n"
        "from core.store import Library\n"
        "from desktop.tasks.fitting_controller import FittingController\n"
        "from desktop.wizard import Wizard\n"
        "from tests.desktop.kit import RecordingMessages\n"
        "app = QApplication([])\n"
        "library = Library.open(sys.argv[1])\n"
        "controller = FittingController(library, sys.argv[2], numbers=Numbers(','))\n"
        "wizard = Wizard(controller, RecordingMessages())\n"
        "wizard.show()\n"
        "line = wizard.page.reading.form.fields.entries['divisions'].tab_stops()[0]\n"
        "line.setText('2,2')\n"
        "QTimer.singleShot(1500, lambda: os.kill(os.getpid(), signal.SIGKILL))\n"
        "app.exec()\n"
    )
    if sys.platform == "win32":
        pytest.skip("nobody is killed so there")
    ended = subprocess.run(
        [
            sys.executable,
            "-c",
            code,
            str(bench.library.address),
            bench.controller.fitting.id,
        ],
        cwd=ROOT,
        check=False,
    )
    assert ended.returncode == -9
    page = step_page(again())
    assert divisions(page).text() == "2,2"
    assert page.reading.draft_line.text().startswith("Typed before, not saved yet")
