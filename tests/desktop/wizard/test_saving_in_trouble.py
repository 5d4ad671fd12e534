"""Whatever the disk does, what is typed in a fitting stays on the screen until it is kept."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit

from core.steps import reading_from
from desktop.widgets.reason_panel import ReasonPanel
from desktop.wizard import Wizard
from desktop.wizard.step_page import StepPage
from desktop.wizard.summary_page import SummaryPage
from tests.desktop.kit import TROUBLES, FittingBench, RecordingMessages

BUBBLE = {"way": "bubble", "direction": "front-back", "turned": False, "divisions": 3.5}


class Form(NamedTuple):
    """One place where something is entered.

    ``prepare`` brings the bench to where the form is; ``write`` types into it, ``save`` does what
    keeps it, and ``typed`` tells what stands there, as eyes see it.
    """

    place: str
    prepare: Callable[[FittingBench], None]
    write: Callable[[Wizard], None]
    save: Callable[[Wizard], None]
    typed: Callable[[Wizard], object]


def step(wizard: Wizard) -> StepPage:
    assert isinstance(wizard.page, StepPage)
    return wizard.page


def summary(wizard: Wizard) -> SummaryPage:
    assert isinstance(wizard.page, SummaryPage)
    return wizard.page


def enter(line: QLineEdit) -> None:
    QTest.keyClick(line, Qt.Key.Key_Return)


def as_it_is(_bench: FittingBench) -> None:
    """Leave the fitting as it begins."""


def out_of_level(bench: FittingBench) -> None:
    for turned in (False, True):
        sign = -1.0 if turned else 1.0
        for direction, divisions in (("front-back", 8.0 * sign), ("left-right", 0.0)):
            bench.read(
                "level",
                **BUBBLE
                | {
                    "direction": direction,
                    "turned": turned,
                    "divisions": divisions,
                },
            )


def write_reading(wizard: Wizard) -> None:
    form = step(wizard).reading.form
    assert form is not None
    form.put(reading_from("level", BUBBLE))
    line = form.fields.entries["divisions"].tab_stops()[0]
    assert isinstance(line, QLineEdit)
    line.clear()
    QTest.keyClicks(line, "4,5")


def reading_typed(wizard: Wizard) -> object:
    form = step(wizard).reading.form
    assert form is not None
    return [stop.property("text") for stop in form.tab_stops()]


def amounts(wizard: Wizard) -> list[str]:
    return [field.text() for field in step(wizard).move_panel.fields if field is not None]


def write_amount(wizard: Wizard) -> None:
    field = next(field for field in step(wizard).move_panel.fields if field is not None)
    field.set_text("0,6")  # near what is ordered, so that nothing is asked


def reason(wizard: Wizard) -> ReasonPanel:
    return step(wizard).prompts.reason


def write_reason(wizard: Wizard) -> None:
    step(wizard).ask_reason()
    QTest.keyClicks(reason(wizard).line, "it has no feet to turn")


def thickness(wizard: Wizard) -> QLineEdit:
    line = step(wizard).choices.form.fields.entries["record_here_mm"].tab_stops()[0]
    assert isinstance(line, QLineEdit)
    return line


def write_thickness(wizard: Wizard) -> None:
    thickness(wizard).clear()
    QTest.keyClicks(thickness(wizard), "1,9")


FORMS = {
    "a reading": Form(
        "level", as_it_is, write_reading,
        lambda wizard: step(wizard).reading.keep(), reading_typed,
    ),
    "a move": Form(
        "level", out_of_level, write_amount,
        lambda wizard: step(wizard).start_moving(), amounts,
    ),
    "a note": Form(
        "level", as_it_is,
        lambda wizard: QTest.keyClicks(step(wizard).side_pane.trail.note_line, "belt is new"),
        lambda wizard: enter(step(wizard).side_pane.trail.note_line),
        lambda wizard: step(wizard).side_pane.trail.note_line.text(),
    ),
    "a reason": Form(
        "level", out_of_level, write_reason,
        lambda wizard: enter(reason(wizard).line),
        lambda wizard: (reason(wizard).line.text(), reason(wizard).isVisible()),
    ),
    "a choice": Form(
        "arm_height", lambda bench: bench.rough(), write_thickness,
        lambda wizard: step(wizard).choices.use_button.click(),
        lambda wizard: (thickness(wizard).text(), step(wizard).choices.use_button.isEnabled()),
    ),
    "a note to the whole": Form(
        "summary", as_it_is,
        lambda wizard: QTest.keyClicks(summary(wizard).notes.note_line, "for Monday"),
        lambda wizard: enter(summary(wizard).notes.note_line),
        lambda wizard: summary(wizard).notes.note_line.text(),
    ),
}  # fmt: skip # rows of a table


@pytest.mark.parametrize("trouble", TROUBLES)
@pytest.mark.parametrize("name", FORMS)
def test_what_is_typed_stays_until_it_is_kept(
    bench: FittingBench,
    open_wizard: Callable[[], Wizard],
    messages: RecordingMessages,
    name: str,
    trouble: str,
) -> None:
    form, (in_trouble, part) = FORMS[name], TROUBLES[trouble]
    form.prepare(bench)
    wizard = open_wizard()
    wizard.go(form.place)
    form.write(wizard)
    QApplication.processEvents()
    typed = form.typed(wizard)
    before = bench.library.fitting(bench.fitting.id).entries
    with in_trouble(bench.library):
        form.save(wizard)
        QApplication.processEvents()
    told = messages.told[-1]
    assert told.title == "Not in the record yet"
    assert told.sentence.startswith("Not saved: ")
    assert part in told.sentence
    assert form.typed(wizard) == typed
    assert wizard.place == form.place
    assert wizard.page.has_unsaved(), "leaving must ask"
    assert bench.library.fitting(bench.fitting.id).entries == before
    form.save(wizard)
    QApplication.processEvents()
    after = bench.library.fitting(bench.fitting.id).entries
    assert after[:-1] == before
    assert len(after) == len(before) + 1
    assert messages.told == [], "what was not kept is kept now"
    assert form.typed(wizard) != typed
    assert not wizard.page.has_unsaved()


@pytest.mark.parametrize("trouble", TROUBLES)
def test_a_step_that_could_not_be_accepted_stays_open_and_on_the_screen(
    bench: FittingBench,
    open_wizard: Callable[[], Wizard],
    messages: RecordingMessages,
    trouble: str,
) -> None:
    in_trouble, part = TROUBLES[trouble]
    for direction in ("front-back", "left-right"):
        for turned in (False, True):
            bench.read("level", way="bubble", direction=direction, turned=turned, divisions=0.0)
    wizard = open_wizard()
    with in_trouble(bench.library):
        step(wizard).accept()
    assert part in messages.told[-1].sentence
    assert wizard.place == "level"
    assert step(wizard).can_accept()
    step(wizard).accept()
    assert wizard.place == "mount"
