"""The recipe: the line in hand, Enter from field to field, words folded, what stays in place."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit, QWidget
from shiboken6 import delete

from core.fitting import Act, Control, Guard, MovePart, ReadingTaken, StepState, Verdict
from core.language import Numbers, step_text
from core.records import fields_of
from core.steps.speed import Strobe
from core.store import Library
from core.workflow.descriptions import described
from desktop.forms.form import Form
from desktop.forms.recipe import LineState
from desktop.shell.main_window import MainWindow
from desktop.widgets import theme
from desktop.widgets.caution_line import CautionLine
from desktop.widgets.preferences import Preferences
from desktop.wizard import Wizard
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import (
    CALM,
    CTRL,
    NONE,
    FittingBench,
    Opener,
    RecordingMessages,
    cautions_told,
    focus,
    press,
    settle,
    step_page,
    words_of,
    write,
)

GUARDED = (Guard("guard", Act.HANDLE_HEAD),)
HEIGHTS = {"way": "two heights", "front_mm": 23.5, "rear_mm": 27.0, "spacing_mm": 180.0}


def head_of(figures: QWidget) -> str:
    """Return the heading above the values."""
    words = [label.text() for label in figures.findChildren(QLabel)]
    return next(word for word in words if word in ("now", "as read", "expected"))


def states(page: StepPage) -> list[LineState]:
    form = page.reading.form
    assert form is not None
    assert form.recipe is not None
    return [line.state for line in form.recipe.lines]


def at_heights(bench: FittingBench, open_wizard: Opener) -> StepPage:
    bench.rough()
    wizard = open_wizard()
    wizard.go("arm_height")
    return step_page(wizard)


def test_the_lines_up_to_the_field_are_in_hand_and_those_behind_it_done(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page = at_heights(bench, open_wizard)
    assert states(page) == [LineState.IN_HAND] * 4 + [LineState.AHEAD] * 4
    write("23,5")
    press(Qt.Key.Key_Return)
    assert states(page) == [LineState.DONE] * 4 + [LineState.IN_HAND] + [LineState.AHEAD] * 3
    press(Qt.Key.Key_Backtab)
    assert states(page)[3] is LineState.IN_HAND
    assert isinstance(focus(), QLineEdit)


def test_a_line_gone_by_keeps_every_word_that_keeps_from_harm(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.rough()
    for step in ("arm_height", "alignment", "tilt"):
        for reading in CALM[step]:
            bench.read(step, **reading)
        bench.accept(step)
    wizard = open_wizard()
    wizard.resize(900, 600)
    wizard.go("skating")
    page = step_page(wizard)
    page.reading.choose("test bands")
    page.reading.start()
    settle()
    form = page.reading.form
    assert form is not None
    assert form.recipe is not None
    write("2")
    press(Qt.Key.Key_Return)
    loud, mark, *_ = form.recipe.lines
    assert states(page)[:2] == [LineState.DONE, LineState.DONE]
    assert loud.words.text().endswith("Mute each time before the stylus goes down or comes up.")
    assert loud.caution is not None
    assert not loud.caution.isHidden()
    assert mark.words.text().endswith("…"), "what harms nobody still folds"
    assert mark.words.accessibleName() in mark.words.toolTip().replace("\u200b", "")


def test_a_passed_line_claims_a_tick_only_where_its_box_is_ticked(
    bench: FittingBench, open_wizard: Opener
) -> None:
    def signs(page: StepPage) -> list[str]:
        form = page.reading.form
        assert form is not None
        assert form.recipe is not None
        return [line.sign for line in form.recipe.lines]

    bench.level()
    wizard = open_wizard()
    page = step_page(wizard)
    press(Qt.Key.Key_Tab)
    assert states(page)[:2] == [LineState.DONE, LineState.IN_HAND]
    assert signs(page)[0] == "1", "amplifier off: the box is empty"
    press(Qt.Key.Key_Space)
    press(Qt.Key.Key_Tab)
    assert signs(page)[:2] == ["1", "✓"]
    form = page.reading.form
    assert form is not None
    form.fields.entries["amplifier_off"].put(True)
    assert signs(page)[:2] == ["✓", "✓"], "ticked later"


def test_a_line_that_holds_a_figure_is_ticked_and_one_without_a_field_is_not(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page = at_heights(bench, open_wizard)
    write("23,5")
    press(Qt.Key.Key_Return)
    form = page.reading.form
    assert form is not None
    assert form.recipe is not None
    assert [line.sign for line in form.recipe.lines][:5] == ["1", "2", "3", "✓", "5"]


def test_enter_passes_over_what_may_stay_empty_and_saves_after_the_last(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.mount()
    wizard = open_wizard()
    assert wizard.place == "rough_downforce"
    write("2,03")
    press(Qt.Key.Key_Return)
    (kept,) = [e.body for e in bench.another().fitting.entries if isinstance(e.body, ReadingTaken)][
        -1:
    ]
    assert kept.reading["downforce_gf"] == 2.03
    assert kept.reading["pan_height_mm"] is None


def test_nobody_goes_on_from_a_field_that_is_wrong(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page = at_heights(bench, open_wizard)
    write("23,x")
    here = focus()
    press(Qt.Key.Key_Return)
    assert focus() is here
    assert words_of(page.reading).count("“x” is not known here") == 1, "said once, at its field"
    assert "marked above" in page.reading._problem.text()
    write("y")
    assert here.property("text") == "23,xy", "nothing typed is lost"


def test_a_checklist_is_ticked_at_once_and_only_there(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.level()
    wizard = open_wizard()
    page = step_page(wizard)
    assert page.reading.all_button.isVisible()
    press(Qt.Key.Key_D, CTRL)
    assert page.status.assessment.verdict is Verdict.GOOD
    wizard.go("rough_downforce")
    page = step_page(wizard)
    assert page.reading.all_button.isHidden()
    before = len(bench.another().fitting.entries)
    press(Qt.Key.Key_D, CTRL)
    assert len(bench.another().fitting.entries) == before


def test_a_checklist_saved_in_part_ticks_no_line_by_itself(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.level()
    wizard = open_wizard()
    page = step_page(wizard)
    form = page.reading.form
    assert form is not None
    form.fields.entries["guard_on"].tab_stops()[0].setFocus()
    press(Qt.Key.Key_Space)
    press(Qt.Key.Key_Return, CTRL)
    assert "7 things" in page.readout.headline()
    ticked = {name for name, value in form.fields.typed().items() if value is True}
    assert ticked == {"guard_on"}, "the ticks as saved"
    assert focus() is form.fields.entries["amplifier_off"].tab_stops()[0]
    press(Qt.Key.Key_Return, CTRL)
    assert page.status.assessment.verdict is Verdict.READ_AGAIN, "saved twice confirms nothing"
    press(Qt.Key.Key_D, CTRL)
    assert page.status.assessment.verdict is Verdict.GOOD


def test_the_focus_goes_to_the_first_line_that_is_missing(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.level()
    wizard = open_wizard()
    page = step_page(wizard)
    form = page.reading.form
    assert form is not None
    form.tick_all()
    form.fields.entries["red_lead"].put(False)
    press(Qt.Key.Key_Return, CTRL)
    assert focus() is form.fields.entries["red_lead"].tab_stops()[0]
    assert form.fields.typed()["red_lead"] is False


def test_a_number_typed_beside_every_field_goes_into_the_one_that_waits(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page = at_heights(bench, open_wizard)
    page.title.setFocus()
    write("2")
    write("3")
    form = page.reading.form
    assert form is not None
    assert form.fields.entries["front_mm"].answer().value == 23.0


def test_after_the_last_reading_enter_goes_on(bench: FittingBench, open_wizard: Opener) -> None:
    bench.mount()
    wizard = open_wizard()
    write("2,03")
    press(Qt.Key.Key_Return)
    assert focus() is wizard.accept_button
    press(Qt.Key.Key_Return)
    assert wizard.place == "arm_height"


def test_enter_held_down_accepts_nothing_and_moves_nothing(
    bench: FittingBench, open_wizard: Opener
) -> None:
    def hold() -> None:
        held = QKeyEvent(QEvent.Type.KeyPress, Qt.Key.Key_Return, NONE, "\r", autorep=True)
        QApplication.sendEvent(focus(), held)
        settle()

    bench.mount()
    wizard = open_wizard()
    write("4,0")
    press(Qt.Key.Key_Return)
    page = step_page(wizard)
    assert page.move_panel.isAncestorOf(focus())
    hold()
    assert not page.move_panel.isHidden(), "no move was kept"
    press(Qt.Key.Key_Return)
    write("2,0")
    press(Qt.Key.Key_Return)
    assert focus() is wizard.accept_button
    hold()
    assert wizard.place == "rough_downforce"
    press(Qt.Key.Key_Return)
    assert wizard.place == "arm_height"


def test_a_stop_says_what_to_do_in_the_large_type(bench: FittingBench, open_wizard: Opener) -> None:
    bench.mount()
    bench.read("rough_downforce", way="scale", downforce_gf=4.0)
    page = step_page(open_wizard())
    assert page.readout.sign is Verdict.STOP
    assert "Stylus up!" in page.readout.headline()
    assert "Turn the counterweight" in page.readout.headline()
    assert "away from the pivot" in page.readout.headline()


def test_the_room_of_verdict_and_problem_is_kept(
    bench: FittingBench, open_wizard: Opener, qapp: QApplication
) -> None:
    theme.apply(qapp, "light")  # in the program's own type, where a problem takes more lines
    page = at_heights(bench, open_wizard)
    settle()
    form = page.reading.form
    assert form is not None
    below = form.fields.entries["rear_mm"]
    top = page.readout.height(), below.mapTo(page, below.rect().topLeft()).y()
    write("x")
    settle()
    form.fields.entries["front_mm"].reveal()
    settle()
    assert (page.readout.height(), below.mapTo(page, below.rect().topLeft()).y()) == top


def test_three_figures_show_and_the_rest_on_demand(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page = at_heights(bench, open_wizard)
    bench.keep(ReadingTaken(step="arm_height", reading=HEIGHTS))
    page.refresh()
    settle()
    figures = page.side_pane.figures
    assert len(figures._shown[0]) > 3
    shown = [cells for cells in figures._cells if not cells.value.isHidden()]
    assert len(shown) == 3
    figures.more_button.click()
    shown = [cells for cells in figures._cells if not cells.value.isHidden()]
    assert len(shown) == len(figures._shown[0])


def test_the_chart_comes_with_the_second_reading(bench: FittingBench, open_wizard: Opener) -> None:
    bench.mount()
    bench.read("rough_downforce", way="scale", downforce_gf=1.4)
    page = step_page(open_wizard())
    assert page.side_pane.chart.isHidden()
    page.side_pane.chart_button.click()
    assert not page.side_pane.chart.isHidden(), "it can be looked at before"


def test_folded_words_stay_folded_in_the_next_program(
    library: Library,
    preferences: Preferences,
    messages: RecordingMessages,
    shown: Callable[..., MainWindow],
) -> None:
    (deck,) = (row for row in library.decks() if row.name == "Example deck, 9-inch arm, three feet")
    (cartridge,) = (
        row for row in library.cartridges() if row.name.endswith("elliptical, all-round")
    )
    fitting = library.start_fitting(deck.id, cartridge.id)

    def words_are_seen() -> bool:
        window = MainWindow(numbers=Numbers(), preferences=preferences, messages=messages)
        window.open_library(library.address.path)
        shown(window)
        window.open_fitting(fitting.id)
        wizard = window.pages.currentWidget()
        assert isinstance(wizard, Wizard)
        settle()
        form = step_page(wizard).reading.form
        assert form is not None
        assert form.recipe is not None
        seen = form.recipe.lines[0].words.isVisible()
        press(Qt.Key.Key_F2)
        window.close()
        return seen

    assert words_are_seen()
    assert not words_are_seen()
    assert words_are_seen()
    assert QApplication.instance() is not None


@pytest.mark.parametrize("way", ["strobe"])
def test_a_line_whose_fields_do_not_apply_is_not_there(
    bench: FittingBench, open_wizard: Opener, way: str
) -> None:
    bench.rough()
    wizard = open_wizard()
    for step in ("arm_height", "alignment", "tilt", "skating", "final_downforce"):
        bench.accept(step, reason="left so for this test")
    wizard.go("speed")
    page = step_page(wizard)
    page.reading.choose(way)
    form = page.reading.form
    assert form is not None
    assert form.recipe is not None
    line = next(one for one in form.recipe.lines if "drifted_bars" in one.line.fields)
    assert not line.isVisible()
    entry = form.fields.entries["direction"]
    entry.put(entry.spec.choices[2])
    settle()
    assert line.isVisible()


def test_what_is_only_foretold_after_a_move_is_headed_expected(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.rough()
    bench.read("arm_height", **HEIGHTS)
    page = step_page(open_wizard())
    figures = page.side_pane.figures
    assert head_of(figures) == "now"
    order = page.status.assessment.next_move
    assert order is not None
    bench.move("arm_height", *order.parts)
    page.refresh()
    assert head_of(figures) == "expected"
    bench.read("arm_height", **HEIGHTS | {"front_mm": 27.0})
    page.refresh()
    assert head_of(figures) == "now"


def test_no_guard_is_asked_for_while_the_stylus_is_down(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.rough()
    for reading in CALM["arm_height"]:
        bench.read("arm_height", **reading)
    bench.accept("arm_height")
    wizard = open_wizard()
    wizard.go("alignment")
    page = step_page(wizard)
    page.reading.choose("landing and angles")
    form = page.reading.form
    assert form is not None
    assert form.recipe is not None
    form.recipe.start_at("landing_mm")
    for name in ("inner_deg", "outer_deg"):
        form.recipe.mark_field(name)
    page._show(replace(page.status.assessment, cautions=GUARDED), live=True)
    guard_off = next(line for line in form.recipe.lines if line.line.does == "guard off")
    assert guard_off.state is LineState.DONE
    assert "Guard on" not in cautions_told(page)
    form.recipe.rest()
    page._show(replace(page.status.assessment, cautions=GUARDED), live=True)
    assert "Guard on" in cautions_told(page)


def test_a_flashing_lamp_warns_of_seizures_from_the_first(
    shown: Callable[[CautionLine], CautionLine],
) -> None:
    assert "seizures" in shown(CautionLine("flashing")).text()


def weighed_thrice(bench: FittingBench, open_wizard: Opener) -> StepPage:
    bench.rough()
    for step in ("arm_height", "alignment", "tilt", "skating"):
        for reading in CALM[step]:
            bench.read(step, **reading)
        bench.accept(step, "left for now")
    wizard = open_wizard()
    wizard.go("final_downforce")
    page = step_page(wizard)
    for typed in ("2,01", "2,00", "2,01"):
        assert page.reading.way == "scale"
        write(typed)
        press(Qt.Key.Key_Return)
    assert page.status.assessment.on_trust
    return page


def test_the_empty_pan_opens_when_it_is_asked_for_and_is_kept_as_a_check_weight_of_0(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page = weighed_thrice(bench, open_wizard)
    assert page.reading.way == "empty pan"
    assert not page.has_unsaved()
    form = page.reading.form
    assert form is not None
    assert list(form.fields.entries) == ["shown_gf"]
    page.reading.start_typing()
    write("0")
    press(Qt.Key.Key_Return)
    kept = bench.another().fitting.entries[-1].body
    assert isinstance(kept, ReadingTaken)
    assert kept.reading == {"way": "check weight", "weight_g": 0.0, "shown_gf": 0.0}
    assert page.status.assessment.verdict is Verdict.GOOD
    assert not page.status.assessment.on_trust
    assert page.reading.way == "scale"


def test_the_record_says_of_what_was_accepted_on_trust_that_it_was(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page = weighed_thrice(bench, open_wizard)
    page._settle("")
    said = Numbers().text(described(bench.another().fitting.entries[-1].body))
    assert said == "Accepted: Good – on trust, the empty pan not yet read"


def test_a_field_that_is_gone_is_not_followed(bench: FittingBench, open_wizard: Opener) -> None:
    page = at_heights(bench, open_wizard)
    gone = QLineEdit(page)
    page._arrived_at = gone
    delete(gone)
    page._leave_top()  # does not raise
    assert page._arrived_at is None


def test_the_numbers_of_the_lines_follow_on_whatever_is_hidden(
    shown: Callable[[QWidget], QWidget],
) -> None:
    """Bars that stood still are not counted: that line goes, and no number is missing."""
    fields = tuple(spec.name for spec in fields_of(Strobe))
    form = Form(Strobe, Numbers(), lines=step_text("speed").lines_of("strobe", fields))
    shown(form)
    assert form.recipe is not None
    for direction in ("with", "standing"):
        form.fields.entries["direction"].put_raw(direction)
        settle()
        on_show = [line for line in form.recipe.lines if not line.isHidden()]
        assert [line.sign for line in on_show] == [str(n + 1) for n in range(len(on_show))]
    assert len(on_show) < len(form.recipe.lines)


def test_figures_that_a_move_elsewhere_has_changed_are_headed_as_read(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.rough()
    bench.read("arm_height", **HEIGHTS | {"front_mm": 27.0, "rear_mm": 27.0})
    page = step_page(open_wizard())
    figures = page.side_pane.figures
    assert head_of(figures) == "now"
    # A thicker mat lifts the stylus: the height that was read is no longer what it is now.
    bench.move("rough_downforce", MovePart(control=Control.RECORD, amount=2.0, unit="mm"))
    page.refresh()
    assert page.status.disturbances
    assert head_of(figures) == "as read"
    bench.read("arm_height", **HEIGHTS | {"front_mm": 29.0, "rear_mm": 27.0})
    page.refresh()
    assert head_of(figures) == "now"


def test_the_focus_is_on_the_empty_pan_that_is_asked_for_not_on_accept(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page = weighed_thrice(bench, open_wizard)
    form = page.reading.form
    assert form is not None
    assert QApplication.focusWidget() in form.tab_stops()
    press(Qt.Key.Key_Return)
    assert page.status.state is not StepState.DONE


def test_the_line_that_asks_for_a_choice_leads_to_it(
    bench: FittingBench, open_wizard: Opener
) -> None:
    """“First choose the alignment, below” stood there while the choice was out of sight."""
    bench.rough()
    for reading in CALM["arm_height"]:
        bench.read("arm_height", **reading)
    bench.accept("arm_height")
    wizard = open_wizard()
    wizard.resize(900, 560)
    wizard.go("alignment")
    page = step_page(wizard)
    page.reading.choose("landing and angles")
    assert page.reading.form is not None
    assert page.reading.form.recipe is not None
    line = next(one for one in page.reading.form.recipe.lines if one.line.chooses)
    assert "below" not in line.line.text
    assert line.to_choices is not None
    press(Qt.Key.Key_R, CTRL)
    settle()
    line.to_choices.click()
    settle()
    assert page.choices.isAncestorOf(focus())
    seen = focus().visibleRegion().boundingRect()
    assert seen.height() >= focus().height() - 1, "the choice is in sight"


def test_no_gap_is_kept_below_a_choice_that_is_in_hand(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page = step_page(open_wizard())
    form = page.reading.form
    assert form is not None
    direction, turned = (form.fields.entries[name] for name in ("direction", "turned"))
    direction.tab_stops()[0].setFocus()
    for _ in range(3):
        settle()
    end = direction.tab_stops()[0].mapToGlobal(QPoint(0, direction.tab_stops()[0].height())).y()
    gap = turned.tab_stops()[0].mapToGlobal(QPoint()).y() - end
    assert 0 <= gap < 1.2 * direction.fontMetrics().lineSpacing()
