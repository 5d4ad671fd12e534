"""Short jobs in the window: what is not asked for is passed over, a check-up orders nothing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt

from core.fitting import StepState, Verdict, Work
from core.workflow.work import work_asked
from desktop.shell.main_window import MainWindow
from desktop.wizard import Wizard
from desktop.wizard.summary_page import SummaryPage
from tests.desktop.kit import (
    FittingBench,
    focus,
    press,
    read_bubble,
    settle,
    step_page,
    steps_told,
    words_of,
)

Opener = Callable[[], Wizard]


def test_just_speed_opens_at_speed_and_the_rail_says_what_is_not_in_the_job(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.controller.record(work_asked(Work.SPEED))
    wizard = open_wizard()
    assert wizard.place == "speed"
    names = [wizard.rail.buttons[step].accessibleName() for step in ("level", "final_downforce")]
    assert all(name.endswith("Not in this job") for name in names)


def test_the_only_step_of_a_job_is_the_first_of_one(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.controller.record(work_asked(Work.SPEED))
    wizard = open_wizard()
    assert step_page(wizard).title.text() == "1 of 1: Speed"
    bench.controller.record(work_asked(Work.WHOLE))
    wizard.go("speed")
    settle()
    assert step_page(wizard).title.text() == "9 of 9: Speed"


def test_a_check_up_tells_what_is_out_while_typing_and_orders_nothing(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.controller.record(work_asked(Work.CHECK_UP))
    wizard = open_wizard()
    read_bubble("0")
    read_bubble("8")
    page = step_page(wizard)
    settle()
    assert page.status.assessment.verdict is Verdict.LEFT_AS_FOUND
    assert not page.move_panel.isVisible()
    said = words_of(page)
    assert "Nothing is moved in a check-up." in said
    assert "raise" not in said.lower()
    press(Qt.Key.Key_Return)
    assert wizard.place == "mount"
    assert bench.controller.journey.status("level").state is StepState.DONE


def test_a_short_job_is_made_whole_on_the_last_page(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.controller.record(work_asked(Work.SPEED))
    wizard = open_wizard()
    wizard.go("summary")
    page = wizard.findChild(SummaryPage)
    assert page is not None
    assert len(steps_told(page)) == 1
    page.whole_button.setFocus()
    press(Qt.Key.Key_Space)
    assert wizard.place == "level"
    assert bench.controller.journey.status("tilt").state is StepState.CLOSED


def test_the_work_is_chosen_at_the_start_by_keys(window: MainWindow, tmp_path: Path) -> None:
    window.open_library(tmp_path / "own.library")
    library = window.library
    assert library is not None
    window.show_start(library.decks()[0].id, library.cartridges()[0].id)
    press(Qt.Key.Key_O, Qt.KeyboardModifier.AltModifier)
    press(Qt.Key.Key_End)
    settle()
    press(Qt.Key.Key_S, Qt.KeyboardModifier.AltModifier)
    settle()
    wizard = window.pages.currentWidget()
    assert isinstance(wizard, Wizard)
    assert wizard.controller.fitting.work == work_asked(Work.AFTER_TRANSPORT)
    assert wizard.place == "level"
    assert focus() is not None


def test_a_step_that_nobody_read_is_not_said_to_be_read_by_anything(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.level()
    wizard = open_wizard()
    wizard.go("summary")
    page = wizard.findChild(SummaryPage)
    assert page is not None
    read, rough = steps_told(page)[0], steps_told(page)[2]
    assert "Read by: bubble level" in read
    assert "Read by" not in rough
