"""A control that does not answer is asked about on the step's page before anything is ordered."""

from __future__ import annotations

from core.fitting import Control, MovePart, ReadingTaken, Verdict
from desktop.forms.check_panel import CheckPanel
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import (
    CTRL,
    FittingBench,
    Key,
    Opener,
    focus,
    press,
    step_page,
    told_in,
    words_of,
)


def test_all_lines_ticked_are_kept_and_one_more_move_is_offered(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.mount()
    bench.read("rough_downforce", way="scale", downforce_gf=1.0)
    bench.move("rough_downforce", MovePart(control=Control.COUNTERWEIGHT, amount=2.0, unit="turns"))
    bench.read("rough_downforce", way="scale", downforce_gf=1.0)
    wizard = open_wizard()
    wizard.go("rough_downforce")
    page = step_page(wizard)
    panel = page.check_panel
    assert panel.isVisible()
    assert page.move_panel.isHidden()
    assert page.status.assessment.verdict is Verdict.READ_AGAIN
    assert not panel.done_button.isEnabled()
    panel.confirm()  # nothing is kept before all is looked at
    for line in panel.lines:
        line.click()
    panel.done_button.click()
    kept = bench.another().fitting.entries[-1].body
    assert isinstance(kept, ReadingTaken)
    assert kept.reading["way"] == "control checked"
    assert panel.isHidden()
    assert page.move_panel.isVisible()


def asked_about_the_weight(bench: FittingBench, open_wizard: Opener) -> CheckPanel:
    """Open the questions about a counterweight whose move showed nothing."""
    bench.mount()
    bench.read("rough_downforce", way="scale", downforce_gf=1.0)
    bench.move("rough_downforce", MovePart(control=Control.COUNTERWEIGHT, amount=2.0, unit="turns"))
    bench.read("rough_downforce", way="scale", downforce_gf=1.0)
    wizard = open_wizard()
    wizard.go("rough_downforce")
    return step_page(wizard).check_panel


def test_the_panel_says_why_it_asks_and_how_far_the_weight_was_moved(
    bench: FittingBench, open_wizard: Opener
) -> None:
    words = words_of(asked_about_the_weight(bench, open_wizard)).replace("\u00a0", " ")
    assert "that may be why nothing changed" in words
    assert "moved 2 turns toward the pivot in all" in words


def test_enter_goes_from_line_to_line_and_saves_after_the_last(
    bench: FittingBench, open_wizard: Opener
) -> None:
    panel = asked_about_the_weight(bench, open_wizard)
    assert focus() is panel.lines[0]
    press(Key.Key_Return)  # passed over
    for line in panel.lines[1:]:
        assert focus() is line
        press(Key.Key_Space)
        press(Key.Key_Return)
    assert panel.isVisible(), "one line is open"
    assert focus() is panel.lines[0]
    press(Key.Key_Space)
    for _ in panel.lines[:]:
        press(Key.Key_Return)
    kept = bench.another().fitting.entries[-1].body
    assert isinstance(kept, ReadingTaken)
    assert kept.reading["way"] == "control checked"


def test_ctrl_d_ticks_every_line_and_saves(bench: FittingBench, open_wizard: Opener) -> None:
    panel = asked_about_the_weight(bench, open_wizard)
    assert panel.isVisible()
    press(Key.Key_D, CTRL)
    kept = bench.another().fitting.entries[-1].body
    assert isinstance(kept, ReadingTaken)
    assert kept.reading["way"] == "control checked"


def test_ctrl_d_does_not_answer_which_way_it_went(bench: FittingBench, open_wizard: Opener) -> None:
    _, panel = against(bench, open_wizard)
    press(Key.Key_D, CTRL)
    assert panel.isVisible()
    assert not any(line.isChecked() for line in panel.lines)
    assert "Choose an answer first" in words_of(panel)


def test_ctrl_d_ticks_nothing_that_protects_the_stylus(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page, panel = against(bench, open_wizard)
    panel.ways[0].click()
    for line in panel.lines:
        line.click()
    panel.done_button.click()
    assert "float it again" in page.readout.accessibleName()
    assert panel.isVisible()
    press(Key.Key_D, CTRL)
    assert panel.isVisible()
    assert not any(line.isChecked() for line in panel.lines)
    assert "one by one" in words_of(panel)


def against(bench: FittingBench, open_wizard: Opener) -> tuple[StepPage, CheckPanel]:
    """Turned away from the pivot as ordered, entered as toward it, and read."""
    bench.mount()
    bench.read("rough_downforce", way="scale", downforce_gf=2.4)
    bench.move(
        "rough_downforce", MovePart(control=Control.COUNTERWEIGHT, amount=0.25, unit="turns")
    )
    bench.read("rough_downforce", way="scale", downforce_gf=2.29)
    wizard = open_wizard()
    wizard.go("rough_downforce")
    page = step_page(wizard)
    assert page.check_panel.isVisible()
    assert page.move_panel.isHidden()
    return page, page.check_panel


def test_tab_goes_from_the_answers_to_the_lines_to_the_button_and_on_to_the_reading(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page, panel = against(bench, open_wizard)
    assert focus() is panel.ways[0]
    panel.ways[0].click()
    for line in panel.lines:
        line.click()
    passed = []
    for _ in range(len(panel.ways) + len(panel.lines) + 2):
        passed.append(focus())
        press(Key.Key_Tab)
    in_panel = [one for one in passed if panel.isAncestorOf(one)]
    assert in_panel == [panel.ways[0], *panel.lines, panel.done_button]
    assert passed[: len(in_panel)] == in_panel
    assert page.reading.isAncestorOf(passed[len(in_panel)])


def test_the_other_way_is_answered_by_keyboard_and_puts_the_entry_right(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page, panel = against(bench, open_wizard)
    assert [way.text().replace("\n", " ") for way in panel.ways] == [
        "As entered: toward the pivot",
        "The other way: away from the pivot",
    ]
    assert not any(way.isChecked() for way in panel.ways), "nothing is suggested"
    assert not panel.done_button.isEnabled()
    panel.ways[0].setFocus()
    press(Key.Key_Down)
    press(Key.Key_Return)
    assert focus() is panel.done_button
    press(Key.Key_Space)
    kept = bench.another().fitting.entries[-1].body
    assert isinstance(kept, ReadingTaken)
    assert kept.reading["reversed_entry"] == bench.another().fitting.entries[-3].id
    moved = [part for trial in page.status.trials for part in trial.moves]
    assert [part.amount for part in moved] == [-0.25]
    assert panel.isHidden()
    assert page.move_panel.isVisible()
    words = told_in(page.side_pane.trail)
    assert "it moved the other way, not as entered" in words[0]
    assert "away from the pivot; entered as “" in words[2]


def test_as_entered_still_wants_the_reading_looked_at(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page, panel = against(bench, open_wizard)
    panel.ways[0].click()
    assert not panel.done_button.isEnabled()
    for line in panel.lines:
        line.click()
    panel.done_button.click()
    kept = bench.another().fitting.entries[-1].body
    assert isinstance(kept, ReadingTaken)
    assert not kept.reading["reversed_entry"]
    # It is above the maximum, and goes the other way round: neither direction is sure.
    assert page.status.assessment.next_move is None
    assert page.status.assessment.verdict is Verdict.READ_AGAIN
    assert page.move_panel.isHidden()
    assert "float it again" in page.readout.accessibleName()


def exchanged(bench: FittingBench, open_wizard: Opener) -> tuple[StepPage, CheckPanel]:
    """Read the rear 3 mm high as 3 mm low, raise the pillar by 3 mm, and read what it is."""
    bench.rough()
    places = {"way": "two heights", "spacing_mm": 230.0}
    bench.read("arm_height", front_mm=26.0, rear_mm=23.0, **places)
    bench.move("arm_height", MovePart(control=Control.PILLAR, amount=3.0, unit="mm"))
    bench.read("arm_height", front_mm=23.0, rear_mm=29.0, **places)
    wizard = open_wizard()
    wizard.go("arm_height")
    page = step_page(wizard)
    assert page.check_panel.isVisible()
    assert page.move_panel.isHidden()
    return page, page.check_panel


def test_figures_that_changed_places_are_exchanged_by_keyboard_in_the_earlier_reading(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page, panel = exchanged(bench, open_wizard)
    assert "Did front and rear change places?" in page.readout.accessibleName()
    assert [way.text().replace("\n", " ") for way in panel.ways] == [
        "Yes, in the reading before the move. It was: front 23,0\u00a0mm, rear 26,0\u00a0mm",
        "Yes, in this reading. It is: front 29,0\u00a0mm, rear 23,0\u00a0mm",
        "No, both readings are right. This one: front 23,0\u00a0mm, rear 29,0\u00a0mm",
    ]
    assert not any(way.isChecked() for way in panel.ways), "nothing is suggested"
    assert not panel.done_button.isEnabled()
    assert panel.done_button.text() == "Save answer"
    panel.ways[0].setFocus()
    press(Key.Key_Return)
    press(Key.Key_Return)
    assert not any(way.isChecked() for way in panel.ways), "Enter answers nothing"
    assert "Choose an answer first" in words_of(panel)
    press(Key.Key_Space)
    press(Key.Key_Return)
    assert focus() is panel.done_button
    press(Key.Key_Space)
    entries = bench.another().fitting.entries
    kept = entries[-1].body
    assert isinstance(kept, ReadingTaken)
    assert kept.reading["exchanged"] == [entries[-4].id]
    assert panel.isHidden()
    assert page.status.assessment.next_move is not None
    assert page.status.assessment.next_move.parts[0].amount < 0.0
    words = told_in(page.side_pane.trail)
    assert "Two figures in a reading had changed places" in words[0]
    assert "then corrected" in words[3]


def test_the_answer_that_both_are_right_needs_no_tick_and_is_kept(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page, panel = exchanged(bench, open_wizard)
    panel.ways[2].click()
    panel.done_button.click()
    entries = bench.another().fitting.entries
    kept = entries[-1].body
    assert isinstance(kept, ReadingTaken)
    assert kept.reading["as_read"] == entries[-2].id
    assert not kept.reading["exchanged"]
    assert panel.isHidden()
    assert not page.status.assessment.questions
