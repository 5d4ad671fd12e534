"""Skating set to 0 for weighing is remembered on the last page, until a line is ticked."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel, QLineEdit

from core.fitting import (
    Control,
    Finished,
    MoveMade,
    MovePart,
    SkatingAtZero,
    Withdrawn,
    Work,
)
from core.language import Numbers
from core.workflow import work_asked
from core.workflow.descriptions import described
from desktop.wizard.summary_page import SummaryPage
from tests.desktop.kit import CALM, FittingBench, Opener, RecordingMessages, settle

STEPS = ("arm_height", "alignment", "tilt")


def summary(bench: FittingBench, open_wizard: Opener) -> SummaryPage:
    wizard = open_wizard()
    wizard.go("summary")
    page = wizard.page
    assert isinstance(page, SummaryPage)
    return page


def up_to_weighing(bench: FittingBench) -> None:
    bench.rough()
    for step in STEPS:
        for reading in CALM[step]:
            bench.read(step, **reading)
        bench.accept(step, "left for now")
    bench.read("skating", way="setting", setting=2.0)
    bench.accept("skating")
    bench.read("final_downforce", way="scale", downforce_gf=2.0)


def test_the_setting_to_go_back_to_is_named(bench: FittingBench, open_wizard: Opener) -> None:
    up_to_weighing(bench)
    tick = summary(bench, open_wizard).set_back.tick
    said = tick.accessibleName().replace("\u00a0", " ")
    assert "Set the skating compensation back to 2,00 gf" in said
    assert tick.text().startswith("⚠")


def test_nothing_is_said_once_it_was_read_again(bench: FittingBench, open_wizard: Opener) -> None:
    up_to_weighing(bench)
    bench.read("skating", way="setting", setting=2.0)
    assert not summary(bench, open_wizard).set_back.isVisible()


def told(bench: FittingBench) -> list[SkatingAtZero]:
    bodies = (entry.body for entry in bench.library.fitting(bench.fitting.id).entries)
    return [body for body in bodies if isinstance(body, SkatingAtZero)]


def test_the_line_stays_until_it_is_ticked(bench: FittingBench, open_wizard: Opener) -> None:
    up_to_weighing(bench)
    page = summary(bench, open_wizard)
    panel = page.set_back
    assert panel.isVisible()
    assert panel.form is None or panel.form.isHidden(), "the setting is known"
    page.refresh()
    assert panel.isVisible()
    panel.tick.setFocus()
    QTest.keyClick(panel.tick, Qt.Key.Key_Space)
    assert told(bench) == [SkatingAtZero(is_back=True, back_to=2.0)]
    assert not panel.isVisible()
    bench.read("final_downforce", way="scale", downforce_gf=2.0)
    page.refresh()
    assert panel.isVisible(), "it was set to 0 for another weighing"
    assert not panel.tick.isChecked()


def test_the_line_has_the_focus_and_a_tick_by_mistake_is_taken_back(
    bench: FittingBench, open_wizard: Opener
) -> None:
    """Finishing took one Enter past the line, and a false tick stood for good."""
    up_to_weighing(bench)
    wizard = open_wizard()
    wizard.go("summary")
    page = wizard.page
    assert isinstance(page, SummaryPage)
    page.begin()
    assert page.set_back.tick.hasFocus()
    QTest.keyClick(page.set_back.tick, Qt.Key.Key_Space)
    assert not page.set_back.isVisible()
    QTest.keyClick(wizard, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert page.set_back.isVisible()
    assert wizard.entry_undo.bar.text.startswith("Left out: “Skating compensation set back to 2")


def test_a_short_job_asks_what_it_was_set_to_and_keeps_that(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.keep(work_asked(Work.DOWNFORCE))
    bench.read("final_downforce", way="scale", downforce_gf=2.0)
    page = summary(bench, open_wizard)
    panel = page.set_back
    assert panel.isVisible()
    assert panel.form is not None
    panel.form.type_again({"was": "1,75"})
    panel.keep_button.click()
    assert told(bench) == [SkatingAtZero(was=1.75)]
    assert panel.isVisible(), "it still stands at 0"
    assert "1,75 gf" in panel.tick.accessibleName().replace("\u00a0", " ")
    panel.tick.click()
    assert told(bench)[-1] == SkatingAtZero(is_back=True, back_to=1.75)
    assert not panel.isVisible()
    assert "Skating compensation set back to 1,75 gf after weighing" in last_logged(bench)


def last_logged(bench: FittingBench) -> str:
    entry = bench.library.fitting(bench.fitting.id).entries[-1]
    said = Numbers(",").text(described(entry.body, deck=bench.controller.journey.deck))
    return said.replace("\u00a0", " ")


def test_one_set_to_match_another_downforce_is_logged_with_what_it_was(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.keep(work_asked(Work.DOWNFORCE))
    bench.read("final_downforce", way="scale", downforce_gf=1.9)
    turned = MovePart(control=Control.COUNTERWEIGHT, amount=0.1, unit="turns")
    bench.keep(MoveMade(step="final_downforce", parts=(turned,)))
    bench.read("final_downforce", way="scale", downforce_gf=2.0)
    panel = summary(bench, open_wizard).set_back
    assert panel.form is not None
    panel.form.type_again({"was": "1,75"})
    panel.keep_button.click()
    panel.tick.click()
    assert "set again after weighing; before that it was 1,75 gf" in last_logged(bench)


def weighed_alone(bench: FittingBench, open_wizard: Opener) -> SummaryPage:
    """Do a job of downforce alone, and show its last page."""
    bench.keep(work_asked(Work.DOWNFORCE))
    for _ in range(3):
        bench.read("final_downforce", way="scale", downforce_gf=2.0)
    bench.accept("final_downforce", "by the scale alone")
    return summary(bench, open_wizard)


def test_a_fitting_with_skating_at_zero_is_finished_only_after_a_question(
    bench: FittingBench, open_wizard: Opener, messages: RecordingMessages
) -> None:
    """It ended at once, and the deck went out with skating at 0."""
    page = weighed_alone(bench, open_wizard)
    for answer in (0, None):
        messages.answers = [answer]
        page.finish_button.click()
        assert not bench.library.fitting(bench.fitting.id).is_finished
        assert page.set_back.tick.hasFocus()
    first = messages.asked[0]
    assert "skating compensation" in first.sentence
    assert "at 0" in first.sentence
    assert first.choices == ("Go back", "Finish anyway"), "Enter by habit changes nothing"
    page.set_back.tick.click()
    page.finish_button.click()
    assert len(messages.asked) == 2, "nothing is asked once the line is ticked"
    last = bench.library.fitting(bench.fitting.id).entries[-1].body
    assert last == Finished(skating_at_zero=False)


def test_what_is_not_ticked_when_the_fitting_ends_can_be_ticked_later(
    bench: FittingBench, open_wizard: Opener, messages: RecordingMessages
) -> None:
    page = weighed_alone(bench, open_wizard)
    messages.answers = [1]
    page.finish()
    last = bench.library.fitting(bench.fitting.id).entries[-1].body
    assert last == Finished(skating_at_zero=True)
    assert page.set_back.isVisible()
    page.set_back.tick.click()
    assert not page.set_back.isVisible()


def test_speed_recalls_in_a_quiet_line_that_the_compensation_is_still_at_zero(
    bench: FittingBench, open_wizard: Opener
) -> None:
    up_to_weighing(bench)
    for _ in range(2):
        bench.read("final_downforce", way="scale", downforce_gf=2.0)
    bench.accept("final_downforce", "weighed three times")
    wizard = open_wizard()

    def recalled(step: str) -> list[str]:
        wizard.go(step)
        lines = wizard.page.findChildren(QLabel)
        words = (line.text().replace("\u00a0", " ") for line in lines if line.isVisible())
        return [line for line in words if "skating compensation back to 2,00 gf" in line]

    assert len(recalled("speed")) == 1
    assert not recalled("level"), "once, before the record is played"
    bench.keep(SkatingAtZero(is_back=True))
    assert not recalled("speed")


def test_in_a_small_window_speed_keeps_that_line_in_sight(
    bench: FittingBench, open_wizard: Opener
) -> None:
    """It scrolled away with the form as soon as the first field had the focus."""
    up_to_weighing(bench)
    for _ in range(2):
        bench.read("final_downforce", way="scale", downforce_gf=2.0)
    bench.accept("final_downforce", "weighed three times")
    wizard = open_wizard()
    wizard.resize(900, 600)
    wizard.go("speed")
    wizard.page.deferred.finish()
    settle()
    lines = [one for one in wizard.page.findChildren(QLabel) if "at 0 for weighing" in one.text()]
    (line,) = [one for one in lines if one.isVisible()]
    fields = [one for one in wizard.page.reading.findChildren(QLineEdit) if not one.isHidden()]
    fields[-1].setFocus(Qt.FocusReason.TabFocusReason)
    settle()
    assert line.visibleRegion().boundingRect() == line.rect()


def test_a_tick_by_mistake_after_the_end_is_taken_back_too(
    bench: FittingBench, open_wizard: Opener, messages: RecordingMessages
) -> None:
    """It was refused, and the owner's sheet went out without a word of the compensation."""
    wizard = open_wizard()
    page = weighed_alone(bench, lambda: wizard)
    messages.answers = [1]
    page.finish()
    ctrl = Qt.KeyboardModifier.ControlModifier
    QTest.keyClick(wizard, Qt.Key.Key_Z, ctrl)
    assert "Work on it again…" in wizard.entry_undo.bar.text
    assert bench.library.fitting(bench.fitting.id).is_finished
    page.set_back.tick.click()
    assert not page.set_back.isVisible()
    QTest.keyClick(wizard, Qt.Key.Key_Z, ctrl)
    assert page.set_back.isVisible()
    assert wizard.entry_undo.bar.text.startswith("Left out: “Skating compensation set again")
    assert not messages.told
    assert bench.library.fitting(bench.fitting.id).is_finished


def test_what_a_fitting_was_finished_with_is_not_taken_back_unless_it_is_worked_on_again(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page = weighed_alone(bench, open_wizard)
    page.set_back.tick.click()
    ticked = bench.library.fitting(bench.fitting.id).entries[-1]
    page.finish()
    refusal = bench.another().record(Withdrawn(entry=ticked.id))
    assert refusal is not None
    assert "Work on it again…" in refusal
