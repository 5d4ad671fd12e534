"""The wizard by keyboard: nothing moves on by itself, nothing typed or kept is lost."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QPushButton

from core.fitting import (
    Control,
    MoveMade,
    MovePart,
    NoteWritten,
    ReadingTaken,
    StepAccepted,
    StepState,
    Verdict,
    Withdrawn,
)
from core.language import Numbers
from core.steps import STEP_NAMES
from core.store import LibraryProblem, ProblemKind
from desktop.forms.field_editors import DirectedEditor
from tests.desktop.kit import (
    CTRL,
    SHIFT,
    FittingBench,
    Opener,
    RecordingMessages,
    focus,
    press,
    read_bubble,
    settle,
    step_page,
    told_in,
    words_of,
    write,
)

# going about


def test_it_opens_at_what_is_due_where_the_hands_begin(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.level()
    wizard = open_wizard()
    assert wizard.place == "mount"
    form = step_page(wizard).reading.form
    assert form is not None
    assert QApplication.focusWidget() is form.tab_stops()[0]
    assert step_page(wizard).title.text() == "2 of 9: Mount"


def test_every_step_is_reached_by_its_number_and_by_going_up_and_down(
    open_wizard: Opener,
) -> None:
    wizard = open_wizard()
    for number, name in enumerate(STEP_NAMES, start=1):
        press(Qt.Key(ord("0") + number), CTRL)
        assert wizard.place == name
        focused = QApplication.focusWidget()
        reading = wizard.page.reading
        if name == "level":
            assert reading.isAncestorOf(focused)
        else:
            assert focused is wizard.page.first_button, "what comes first is one key away"
    press(Qt.Key.Key_Down, CTRL)
    assert wizard.place == "summary"
    press(Qt.Key.Key_Down, CTRL)
    assert wizard.place == "summary"
    press(Qt.Key.Key_Up, CTRL)
    assert wizard.place == "speed"
    press(Qt.Key.Key_0, CTRL)
    assert wizard.place == "summary"


def test_every_step_shows_its_state_in_a_word_beside_its_number(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.level()
    wizard = open_wizard()
    names = [button.accessibleName() for button in wizard.rail.buttons.values()]
    assert names[0] == "Step 1, Level, Done"
    assert names[1] == "Step 2, Mount, Next to do"
    assert names[2].endswith("about 10 min")


def test_a_closed_step_says_why_and_takes_nothing(open_wizard: Opener) -> None:
    wizard = open_wizard()
    wizard.go("alignment")
    page = step_page(wizard)
    assert page.readout.headline() == "Do “Level” first."
    assert page.readout.sign is StepState.CLOSED
    assert page.reading.isHidden()
    assert not wizard.accept_button.isEnabled()
    assert not wizard.override_button.isEnabled()


def test_a_closed_step_leads_to_the_one_that_comes_first(open_wizard: Opener) -> None:
    wizard = open_wizard()
    wizard.go("alignment")
    page = step_page(wizard)
    assert focus() is page.first_button
    assert page.first_button.text() == "Go to “Level”"
    press(Qt.Key.Key_Return)
    assert wizard.place == "level"
    assert step_page(wizard).first_button.isHidden()


def test_a_step_that_opened_offers_its_own_work_instead(
    bench: FittingBench, open_wizard: Opener
) -> None:
    wizard = open_wizard()
    wizard.go("mount")
    page = step_page(wizard)
    assert focus() is page.first_button
    bench.level()
    assert page.first_button.isHidden()
    assert focus() is not None
    assert page.reading.isAncestorOf(focus())


# reading


def test_the_verdict_follows_every_stroke_and_says_that_it_is_not_kept(
    bench: FittingBench, open_wizard: Opener
) -> None:
    wizard = open_wizard()
    page = step_page(wizard)
    before = page.side_pane.chart.picture
    write("3,5")
    press(Qt.Key.Key_Return)
    press(Qt.Key.Key_Space)  # toward the marked end
    assert page.readout.accessibleName().startswith("While typing:")
    assert page.readout.sign is Verdict.READ_AGAIN
    assert page.side_pane.chart.picture is not before
    assert bench.controller.fitting.entries == ()
    press(Qt.Key.Key_Backtab)
    press(Qt.Key.Key_End)
    write("x")
    assert not page.readout.accessibleName().startswith("While typing:")
    assert page.readout.sign is Verdict.NO_READING


def test_the_direction_asked_for_is_chosen_already_and_what_is_chosen_by_hand_stays(
    bench: FittingBench, open_wizard: Opener
) -> None:
    def chosen() -> tuple[object, object]:
        form = step_page(wizard).reading.form
        assert form is not None
        entries = form.fields.entries
        return entries["direction"].answer().value, entries["turned"].answer().value

    wizard = open_wizard()
    assert chosen() == ("left-right", False)
    assert not step_page(wizard).has_unsaved()
    read_bubble("0")
    assert chosen() == ("front-back", False), "the other direction"
    form = step_page(wizard).reading.form
    assert form is not None
    form.fields.entries["direction"].tab_stops()[0].setFocus()
    press(Qt.Key.Key_End)
    bench.controller.record(NoteWritten(step="level", text="meanwhile"))
    assert chosen()[0] == "own"


def test_enter_on_the_last_field_keeps_the_reading_and_stays_on_the_page(
    bench: FittingBench, open_wizard: Opener
) -> None:
    wizard = open_wizard()
    read_bubble("3,5")
    (entry,) = bench.another().fitting.entries
    assert isinstance(entry.body, ReadingTaken)
    assert entry.body.reading["divisions"] == 3.5
    assert entry.who == "A. Tester"
    assert wizard.place == "level"
    page = step_page(wizard)
    assert not page.readout.accessibleName().startswith("While typing:")
    assert "3,50\u00a0div toward the marked end" in told_in(page.side_pane.trail)[0]
    number = page.reading.form.fields.entries["divisions"] if page.reading.form else None
    assert isinstance(number, DirectedEditor)
    assert number.field.text() == ""
    assert number.field.chosen() == -1


def test_a_wrong_reading_is_told_and_kept_on_the_page_only(
    bench: FittingBench, open_wizard: Opener
) -> None:
    wizard = open_wizard()
    read_bubble("1.234,5")
    assert bench.controller.fitting.entries == ()
    page = step_page(wizard)
    assert words_of(page.reading).count("both a point and a comma") == 1, "said once"
    assert "marked above" in page.reading._problem.text()
    focused = QApplication.focusWidget()
    assert focused is not None
    assert focused.property("text") == "1.234,5"


def test_what_is_half_typed_waits_while_another_step_is_looked_at(open_wizard: Opener) -> None:
    wizard = open_wizard()
    write("2,2")
    press(Qt.Key.Key_Return)
    press(Qt.Key.Key_Down)  # toward the other end
    press(Qt.Key.Key_3, CTRL)
    press(Qt.Key.Key_1, CTRL)
    form = step_page(wizard).reading.form
    assert form is not None
    number = form.fields.entries["divisions"]
    assert isinstance(number, DirectedEditor)
    assert number.field.value == -2.2


def test_an_entry_that_does_not_count_stays_struck_out_and_can_count_again(
    bench: FittingBench, open_wizard: Opener
) -> None:
    wizard = open_wizard()
    read_bubble("3,5")
    page = step_page(wizard)
    gone = next(
        one for one in page.side_pane.trail.findChildren(QPushButton) if one.text() == "Leave out"
    )
    gone.setFocus()
    press(Qt.Key.Key_Space)
    assert page.readout.sign is Verdict.NO_READING
    assert told_in(page.side_pane.trail)[0].count("(left out)") == 1
    assert isinstance(bench.another().fitting.entries[-1].body, Withdrawn)
    back = next(
        one for one in page.side_pane.trail.findChildren(QPushButton) if one.text() == "Count again"
    )
    back.click()
    assert page.readout.sign is Verdict.READ_AGAIN
    assert len(bench.another().fitting.entries) == 3


def test_a_reading_that_could_not_be_saved_stays_in_its_form(
    bench: FittingBench,
    open_wizard: Opener,
    messages: RecordingMessages,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    wizard = open_wizard()

    def full(*_: object, **__: object) -> None:
        raise LibraryProblem(ProblemKind.FULL, "The disk is full.", "Make room, then save again.")

    with monkeypatch.context() as patched:
        patched.setattr(type(bench.library), "append", full)
        read_bubble("3,5")
    (told,) = messages.told
    assert "The disk is full. Make room, then save again." in told.sentence
    form = step_page(wizard).reading.form
    assert form is not None
    number = form.fields.entries["divisions"]
    assert isinstance(number, DirectedEditor)
    assert number.field.text() == "3,5"
    press(Qt.Key.Key_Return, CTRL)
    assert len(bench.another().fitting.entries) == 1


# moving


def test_a_move_is_kept_with_what_was_really_done(bench: FittingBench, open_wizard: Opener) -> None:
    for direction in ("front-back", "left-right"):
        for turned, divisions in ((False, 8.0), (True, -8.0)):
            bench.read(
                "level", way="bubble", direction=direction, turned=turned, divisions=divisions
            )
    wizard = open_wizard()
    page = step_page(wizard)
    assert page.readout.sign is Verdict.MOVE
    assert page.status.assessment.next_move is not None
    proposed = page.status.assessment.next_move.parts
    page_order = page.status.assessment.next_move.sentence
    first = page.move_panel.fields[0]
    assert first is not None
    first.line.setFocus()
    first.line.selectAll()
    write("0,5")
    for _ in range(2):  # less than half of the order is asked about first
        press(Qt.Key.Key_M, CTRL)
    body = bench.another().fitting.entries[-1].body
    assert isinstance(body, MoveMade)
    assert body.parts[0].amount == 0.5
    assert proposed[0].equivalent_mm is not None
    assert body.parts[0].equivalent_mm == pytest.approx(
        proposed[0].equivalent_mm * 0.5 / proposed[0].amount
    )
    # the other foot as it is told, in eighths: 0.44 mm of 1.25 mm a turn are 0.352 turn (derived)
    assert [part.amount for part in body.parts[1:]] == [0.375]
    assert "⅜" in Numbers(".").text(page_order)
    assert page.move_panel.isHidden()
    assert wizard.place == "level"


def test_a_move_with_a_wrong_amount_is_told_and_nothing_is_kept(
    bench: FittingBench, open_wizard: Opener
) -> None:
    for direction in ("front-back", "left-right"):
        for turned, divisions in ((False, 8.0), (True, -8.0)):
            bench.read(
                "level", way="bubble", direction=direction, turned=turned, divisions=divisions
            )
    wizard = open_wizard()
    page = step_page(wizard)
    count = len(bench.controller.fitting.entries)
    for field in page.move_panel.fields:
        assert field is not None
        field.set_text("0")
    page.move_panel.confirm()
    assert "Nothing moved yet" in page.move_panel._problem.text()
    first = page.move_panel.fields[0]
    assert first is not None
    first.set_text("half")
    page.move_panel.confirm()
    assert words_of(page.move_panel).count("needs a number in turns") == 1, "said once"
    assert "marked above" in page.move_panel._problem.text()
    assert len(bench.controller.fitting.entries) == count


def test_a_move_goes_with_its_reason_whatever_was_typed_for_it(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.read("level", way="bubble", direction="left-right", divisions=0.0)
    bench.read("level", way="bubble", direction="front-back", divisions=8.0)
    wizard = open_wizard()
    page = step_page(wizard)
    panel = page.move_panel
    first = next(one for one in panel.fields if one is not None)
    first.line.setFocus()
    first.line.selectAll()
    write("0,9")
    assert panel.has_unsaved()
    page.side_pane.trail.withdrawn.emit(bench.controller.fitting.entries[-1].id)
    settle()
    assert page.status.assessment.next_move is None
    assert panel.isHidden()
    assert not panel.has_unsaved()
    assert page.reading.isAncestorOf(focus())
    wizard.go("mount")
    wizard.go("level")
    settle()
    press(Qt.Key.Key_M, CTRL)
    bodies = [entry.body for entry in bench.another().fitting.entries]
    assert not any(isinstance(body, MoveMade) for body in bodies)


def test_a_move_is_preset_with_the_eighths_that_are_told(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.read("level", way="bubble", direction="left-right", divisions=0.0)
    bench.read("level", way="bubble", direction="front-back", divisions=7.0)
    page = step_page(open_wizard())
    order = page.status.assessment.next_move
    assert order is not None
    told = Numbers(".").text(order.sentence)
    panel = page.move_panel
    for part, entry in zip(order.parts, panel.fields, strict=True):
        assert entry is not None
        assert entry.value is not None
        assert abs(part.amount) * 8 % 1.0 > 0.01, "not in eighths by itself"
        assert Numbers(".").turns(entry.value) in told
        assert abs(entry.value) * 8 % 1.0 == 0.0
    press(Qt.Key.Key_M, CTRL)
    body = bench.another().fitting.entries[-1].body
    assert isinstance(body, MoveMade)
    assert [abs(part.amount) * 8 % 1.0 for part in body.parts] == [0.0] * len(body.parts)


def test_an_amount_far_beyond_the_order_is_questioned_before_it_is_kept(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.read("level", way="bubble", direction="left-right", divisions=0.0)
    bench.read("level", way="bubble", direction="front-back", divisions=8.0)
    page = step_page(open_wizard())
    panel = page.move_panel
    fields = [one for one in panel.fields if one is not None]
    count = len(bench.controller.fitting.entries)
    fields[-1].line.setFocus()
    fields[-1].line.selectAll()
    write("12")
    for _ in range(2):  # Enter by habit says yes to nothing
        press(Qt.Key.Key_Return)
        assert len(bench.another().fitting.entries) == count
    assert "You typed 12" in panel._problem.text()
    press(Qt.Key.Key_M, CTRL)
    body = bench.another().fitting.entries[-1].body
    assert isinstance(body, MoveMade)
    assert abs(body.parts[-1].amount) == 12.0


def test_half_as_much_as_ordered_is_questioned_too(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.read("level", way="bubble", direction="left-right", divisions=0.0)
    bench.read("level", way="bubble", direction="front-back", divisions=20.0)
    panel = step_page(open_wizard()).move_panel
    fields = [one for one in panel.fields if one is not None]
    count = len(bench.controller.fitting.entries)
    assert fields[-1].value is not None
    assert abs(fields[-1].value) > 2.0, "some turns are ordered"
    fields[-1].line.setFocus()
    fields[-1].line.selectAll()
    write("0.5")
    press(Qt.Key.Key_M, CTRL)
    assert len(bench.another().fitting.entries) == count
    assert "You typed 0,5" in panel._problem.text()


# accepting


def test_a_good_step_goes_on_only_when_told_to(bench: FittingBench, open_wizard: Opener) -> None:
    bench.level()
    entry = bench.controller.fitting.entries[-1]
    bench.keep(Withdrawn(entry=entry.id))
    wizard = open_wizard()
    assert wizard.place == "level"
    assert step_page(wizard).readout.sign is Verdict.GOOD
    press(Qt.Key.Key_Return, CTRL | SHIFT)
    assert wizard.place == "mount"
    body = bench.another().fitting.entries[-1].body
    assert isinstance(body, StepAccepted)
    assert (body.step, body.verdict, body.reason) == ("level", Verdict.GOOD, "")


def test_overruling_a_verdict_needs_a_reason_and_is_in_the_record(
    bench: FittingBench, open_wizard: Opener
) -> None:
    wizard = open_wizard()
    read_bubble("8")
    assert not wizard.accept_button.isEnabled()
    press(Qt.Key.Key_K, CTRL | SHIFT)
    page = step_page(wizard)
    assert QApplication.focusWidget() is page.prompts.reason.line
    press(Qt.Key.Key_Return)
    assert "First type a few words" in page.prompts.reason._problem.text()
    assert len(bench.controller.fitting.entries) == 1
    write("the shelf leans")
    press(Qt.Key.Key_Return)
    assert wizard.place == "mount"
    body = bench.another().fitting.entries[-1].body
    assert isinstance(body, StepAccepted)
    assert body.reason == "the shelf leans"
    assert bench.controller.journey.status("level").state is StepState.KEPT


def test_a_stop_cannot_be_overruled(bench: FittingBench, open_wizard: Opener) -> None:
    bench.mount()
    bench.read("rough_downforce", way="scale", downforce_gf=4.5)
    wizard = open_wizard()
    assert step_page(wizard).readout.sign is Verdict.STOP
    assert not wizard.accept_button.isEnabled()
    assert not wizard.override_button.isEnabled()


def test_what_lowers_the_stylus_is_closed_and_says_why_while_downforce_is_unknown(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.mount()
    bench.accept("rough_downforce", reason="no scale at hand")
    wizard = open_wizard()
    assert wizard.place == "arm_height"
    page = step_page(wizard)
    assert "Keep the stylus up" in page.reading.closed_reason()
    assert not page.reading.keep_button.isEnabled()
    assert page.reading.form is not None
    assert not page.reading.form.isEnabled()


def test_a_later_move_sends_a_step_back_with_the_figure_and_the_reason(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.rough()
    bench.accept("arm_height", reason="later")
    bench.move("alignment", MovePart(control=Control.SLIDE, amount=-12.0, unit="mm"))
    wizard = open_wizard()
    wizard.go("rough_downforce")
    page = step_page(wizard)
    assert page._state_word.text() == "Check again"
    assert page.readout.sign is StepState.CHECK_AGAIN
    assert "sliding the cartridge shifts its weight" in page.readout.accessibleName()
    # Moments about the pivot (derived): 12 mm along a head turned in by 23 degrees are 11.05 mm;
    # 7 g less the 2 gf that bear, by 11.05 mm on 228.25 mm, are 0.24 gf.
    assert "1,76\u00a0gf" in page.readout.accessibleName()
    assert "Check again" in wizard.rail.buttons["rough_downforce"].accessibleName()
    assert not wizard.accept_button.isEnabled()
