"""Leaving a wizard, its last page, and the room it takes; by keyboard."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QPushButton, QScrollArea, QWidget

from core.drawing.chart import Axis, Picture
from core.fitting import Assessment, Control, Move, MovePart, Reopened, Verdict
from core.language import Numbers, step_text
from core.steps import STEP_NAMES
from desktop.forms.move_panel import MovePanel
from desktop.widgets import theme
from desktop.wizard import Wizard
from desktop.wizard.summary_page import SummaryPage
from tests.desktop.kit import (
    CTRL,
    SHIFT,
    FittingBench,
    Opener,
    RecordingMessages,
    press,
    read_bubble,
    step_page,
    steps_told,
    told_in,
    words_of,
    write,
)

# leaving and coming back


def test_leaving_with_something_typed_asks_and_going_back_keeps_it(
    open_wizard: Opener, messages: RecordingMessages
) -> None:
    wizard = open_wizard()
    left: list[int] = []
    wizard.closed.connect(lambda: left.append(1))
    press(Qt.Key.Key_R, CTRL)
    press(Qt.Key.Key_Return)
    press(Qt.Key.Key_Return)
    write("2,2")
    wizard.go("mount")
    messages.answers = [0]
    press(Qt.Key.Key_W, CTRL)
    assert left == []
    assert wizard.place == "level"
    assert "1 of 9: Level" in messages.asked[0].sentence
    messages.answers = [1]
    press(Qt.Key.Key_W, CTRL)
    assert left == [1]


@pytest.mark.parametrize("accepted", [False, True])
def test_what_would_stop_once_saved_is_not_passed_over(
    bench: FittingBench, open_wizard: Opener, accepted: bool
) -> None:
    bench.mount()
    for _ in range(3):
        bench.read("rough_downforce", way="scale", downforce_gf=2.0)
    if accepted:
        bench.accept("rough_downforce")
    wizard = open_wizard()
    wizard.go("rough_downforce")
    page = step_page(wizard)
    assert wizard.accept_button.isEnabled()
    press(Qt.Key.Key_R, CTRL)
    write("4,0")
    assert page.readout.sign is Verdict.STOP
    assert not wizard.accept_button.isEnabled()
    assert not wizard.override_button.isEnabled()
    entries = len(bench.another().fitting.entries)
    press(Qt.Key.Key_Return, CTRL | SHIFT)
    assert wizard.place == "rough_downforce"
    assert len(bench.another().fitting.entries) == entries
    assert "before you go on" in words_of(page.reading)
    for _ in range(3):
        press(Qt.Key.Key_Backspace)
    assert page.readout.sign is not Verdict.STOP
    assert wizard.accept_button.isEnabled()
    write("2,0")
    assert wizard.accept_button.isEnabled(), "it says the same"
    press(Qt.Key.Key_Return, CTRL | SHIFT)
    assert wizard.place == "arm_height"


def test_leaving_with_nothing_typed_asks_nothing(
    open_wizard: Opener, messages: RecordingMessages
) -> None:
    wizard = open_wizard()
    left: list[int] = []
    wizard.closed.connect(lambda: left.append(1))
    read_bubble("3,5")
    press(Qt.Key.Key_W, CTRL)
    assert left == [1]
    assert messages.asked == []


def _settle_all(bench: FittingBench) -> None:
    bench.rough()
    for name in STEP_NAMES[3:]:
        bench.accept(name, reason="not today")


def test_the_last_page_sums_up_and_a_finished_fitting_is_read_only_until_reopened(
    bench: FittingBench, open_wizard: Opener
) -> None:
    _settle_all(bench)
    wizard = open_wizard()
    page = wizard.page
    assert isinstance(page, SummaryPage)
    rows = steps_told(page)
    assert len(rows) == 9
    assert "as found 2,00" in rows[2]
    assert "Overruled because: not today" in rows[4]
    assert page.finish_button.hasFocus()
    bar = page._area.verticalScrollBar()
    press(Qt.Key.Key_PageDown)
    assert bar.value() > 0
    press(Qt.Key.Key_End)
    assert bar.value() == bar.maximum()
    press(Qt.Key.Key_Home)
    assert bar.value() == 0
    press(Qt.Key.Key_Return)
    assert bench.another().fitting.is_finished
    wizard.go("level")
    level = step_page(wizard)
    assert level.reading.isHidden()
    assert "This fitting is finished" in level._reason.text()
    assert not any(
        one.text() == "Left out" for one in level.side_pane.trail.findChildren(QPushButton)
    )
    level._reopen.click()
    assert wizard.place == "summary"
    assert bench.another().fitting.is_finished
    write("the left channel sounds thin")
    press(Qt.Key.Key_Return)
    again = bench.another().fitting
    assert not again.is_finished
    assert again.entries[-1].body == Reopened(reason="the left channel sounds thin")
    wizard.go("level")
    assert not level.reading.isHidden()


def test_a_fitting_with_open_steps_cannot_be_finished_and_says_which(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.level()
    wizard = open_wizard()
    wizard.go("summary")
    page = wizard.page
    assert isinstance(page, SummaryPage)
    assert not page.finish_button.isEnabled()
    said = page._why_not.text()
    assert said.startswith("Still open: Mount, Rough downforce, Arm height, Alignment, Tilt, ")
    assert "Speed. Read and set what is asked there, or keep it with a reason" in said
    assert "ccept" not in said, "nothing was read of them: there is nothing to accept"


def test_after_a_restart_everything_stands_where_it_stood(
    bench: FittingBench,
    open_wizard: Opener,
    messages: RecordingMessages,
    shown: Callable[..., QWidget],
) -> None:
    bench.level()
    first = open_wizard()
    first.go("level")
    before = step_page(first).readout.headline()
    again = Wizard(bench.another(), messages)
    shown(again)
    assert again.place == "mount"
    again.go("level")
    assert step_page(again).readout.headline() == before
    assert told_in(step_page(again).side_pane.trail) == told_in(step_page(first).side_pane.trail)


def test_notes_are_kept_with_their_step(bench: FittingBench, open_wizard: Opener) -> None:
    wizard = open_wizard()
    page = step_page(wizard)
    page.side_pane.trail.note_line.setFocus()
    write("spongy feet")
    press(Qt.Key.Key_Return)
    assert page.side_pane.trail.note_line.text() == ""
    assert told_in(page.side_pane.trail)[0].startswith("Note: spongy feet")
    assert len(bench.another().fitting.entries) == 1


# room


def test_words_stay_folded_from_step_to_step_and_leave_fields_and_cautions(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.level()
    wizard = open_wizard()
    told: list[bool] = []
    wizard.words_folded.connect(told.append)
    press(Qt.Key.Key_F2)
    for place in ("mount", "level"):
        wizard.go(place)
        page = step_page(wizard)
        assert page.guide.is_folded
        form = page.reading.form
        assert form is not None
        assert form.recipe is not None
        assert all(not line.words.isVisible() for line in form.recipe.lines)
        assert all(entry.isVisible() for entry in form.fields.shown_entries())
        assert "Arm locked in its rest" in words_of(page.reading).replace("\u00a0", " ")
        assert not page.reading._named.isHidden()
    press(Qt.Key.Key_F2)
    assert not step_page(wizard).guide.is_folded
    assert told == [True, False]


@pytest.mark.parametrize(("width", "columns"), [(760, 1), (1024, 2), (1900, 3)])
def test_columns_follow_the_width(open_wizard: Opener, width: int, columns: int) -> None:
    wizard = open_wizard()
    wizard.resize(width, 768)
    QApplication.processEvents()
    assert step_page(wizard)._columns.count == columns


@pytest.mark.parametrize("scale", [1.0, 1.5])
def test_nothing_is_cut_in_a_small_window_at_any_text_size(
    bench: FittingBench,
    messages: RecordingMessages,
    shown: Callable[..., QWidget],
    qapp: QApplication,
    scale: float,
) -> None:
    _settle_all(bench)
    try:
        theme.apply(qapp, "light", text_scale=scale)
        wizard = Wizard(bench.controller, messages)
        shown(wizard)
        assert wizard.minimumSizeHint().width() <= 1024
        assert wizard.minimumSizeHint().height() <= 768
        for place in (*STEP_NAMES, "summary"):
            wizard.go(place)
            qapp.processEvents()
            for one in wizard.findChildren(QPushButton):
                if one.isVisible():
                    assert one.width() >= one.minimumSizeHint().width(), (place, one.text())
            for area in wizard.page.findChildren(QScrollArea):
                if area.isVisible():
                    assert area.horizontalScrollBar().maximum() == 0, place
    finally:
        theme.apply(qapp, "light")


def test_a_move_is_proposed_no_finer_than_a_hand_can_make_it(qapp: QApplication) -> None:
    picture = Picture("p", "s", Axis("x", "mm", 0, 1), Axis("y", "mm", 0, 1))
    part = MovePart(control=Control.SLIDE, amount=-1.2002235634, unit="mm")
    panel = MovePanel(Numbers())
    panel.show_move(Assessment(Verdict.MOVE, "Slide.", picture, Move("Slide.", (part,))))
    (field,) = panel.fields
    assert field is not None
    assert field.text() == "1.2"
    assert field.value == pytest.approx(-1.2, abs=1e-12)
    panel.deleteLater()


def test_the_last_page_is_seen_before_all_of_it_is_made_and_is_whole_soon(
    bench: FittingBench, open_wizard: Callable[[], Wizard]
) -> None:
    bench.rough()
    page = open_wizard()
    page.go("summary")
    summary = page.page
    assert isinstance(summary, SummaryPage)
    for _ in range(2 * len(STEP_NAMES)):
        QApplication.processEvents()
    assert summary._rows.count() == len(STEP_NAMES)
    titles = [step_text(step).title for step in STEP_NAMES]
    assert [text.partition(".")[0] for text in steps_told(summary)] == titles
