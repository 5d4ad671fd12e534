"""The listening at the end, on the last page: answered, told, taken back, never in the way."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QPushButton, QRadioButton
from pytestqt.qtbot import QtBot

from core.fitting import ChannelsHeard, HumHeard, Work
from core.workflow.work import work_asked
from desktop.wizard import Wizard
from desktop.wizard.summary_page import SummaryPage
from tests.desktop.kit import FittingBench, focus, settle, told_in, words_of

Opener = Callable[[], Wizard]


def last_page(bench: FittingBench, open_wizard: Opener, work: Work = Work.SPEED) -> SummaryPage:
    bench.controller.record(work_asked(work))
    wizard = open_wizard()
    wizard.go("summary")
    page = wizard.findChild(SummaryPage)
    assert page is not None
    page.deferred.finish()
    settle()
    return page


def test_hum_is_answered_kept_told_and_taken_back(bench: FittingBench, open_wizard: Opener) -> None:
    page = last_page(bench, open_wizard)
    panel = page.listening
    assert panel.form is None
    panel.open_button.click()
    assert panel.form is not None
    panel.keep_button.click()  # nothing is answered yet: told, not kept
    assert bench.controller.fitting.listened is None
    panel.form.fields.entries["hum"].put(HumHeard.HUMS)
    panel.keep_button.click()
    kept = bench.controller.fitting.listened
    assert kept is not None
    assert kept.hum is HumHeard.HUMS
    assert panel.form.isHidden()
    assert focus() is panel.open_button
    assert "check the earth lead" in words_of(panel)
    assert any("Listened at the end: hum." in text for text in told_in(page.notes))
    gone = [
        one for one in page.notes.findChildren(QPushButton) if "Listened" in one.accessibleName()
    ]
    gone[0].click()
    assert bench.controller.fitting.listened is None
    assert "earth lead" not in words_of(panel)


def test_what_was_answered_and_not_kept_is_asked_about_before_leaving(
    bench: FittingBench, open_wizard: Opener, qtbot: QtBot
) -> None:
    page = last_page(bench, open_wizard)
    assert not page.has_unsaved()
    page.listening.open_button.click()
    assert not page.has_unsaved()
    assert page.listening.form is not None
    entry = page.listening.form.fields.entries["hum"]
    entry.findChildren(QRadioButton)[-1].click()
    qtbot.waitUntil(page.has_unsaved)


def test_an_answer_not_saved_yet_is_kept_when_the_fitting_is_finished(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page = last_page(bench, open_wizard)
    bench.accept("speed", "as it is")
    page.refresh()
    page.listening.open_button.click()
    assert page.listening.form is not None
    entry = page.listening.form.fields.entries["channels"]
    exchanged = entry.findChildren(QRadioButton)[-1]
    exchanged.click()
    page.notes.note_line.setText("leads marked")
    page.finish()
    fitting = bench.another().fitting
    assert fitting.is_finished
    assert fitting.listened is not None
    assert fitting.listened.channels is ChannelsHeard.EXCHANGED
    assert "leads marked" in "".join(told_in(page.notes))


def test_before_any_weighing_it_is_said_first_that_the_stylus_stays_up(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page = last_page(bench, open_wizard, Work.DOWNFORCE)
    said = words_of(page.listening)
    assert "Keep the stylus up" in said
    assert said.index("Play nothing before that") > said.index("Keep the stylus up")


def test_after_the_weighing_nothing_warns(bench: FittingBench, open_wizard: Opener) -> None:
    bench.rough()
    page = last_page(bench, open_wizard)
    assert "Keep the stylus up" not in words_of(page.listening)


def test_a_job_without_downforce_says_what_was_not_weighed_and_orders_nothing(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page = last_page(bench, open_wizard)
    said = words_of(page.listening)
    assert "Downforce was not weighed in this fitting." in said
    assert "Play nothing" not in said
    assert "Keep the stylus up" not in said
    # The gate is as it was: no reading that lowers the stylus is taken.
    assert not bench.controller.journey.gate.is_open
