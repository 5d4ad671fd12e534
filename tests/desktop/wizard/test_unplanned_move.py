"""A move nobody proposed is recorded by keyboard, and bad input says what is missing."""

from __future__ import annotations

from PySide6.QtCore import Qt

from core.fitting import Control, MoveMade, Verdict
from desktop.wizard import Wizard
from desktop.wizard.unplanned_move import UnplannedMovePanel
from tests.desktop.kit import (
    FittingBench,
    Key,
    Opener,
    RecordingMessages,
    focus,
    press,
    problems_in,
    step_page,
    told_in,
    write,
)

BOTH = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier


def asked(wizard: Wizard, step: str) -> UnplannedMovePanel:
    wizard.go(step)
    press(Key.Key_M, BOTH)
    panel = step_page(wizard).prompts.move
    assert panel.isVisible()
    assert focus() is panel.what
    return panel


def pick(panel: UnplannedMovePanel, label: str) -> None:
    for _ in range(panel.what.count()):
        if panel.what.currentText() == label:
            return
        press(Key.Key_Down)
    raise AssertionError(f"{label} is not offered")


def moves(bench: FittingBench) -> list[MoveMade]:
    kept = bench.another().fitting.entries
    return [entry.body for entry in kept if isinstance(entry.body, MoveMade)]


def test_a_move_that_nobody_proposed_is_kept_with_its_way_and_its_note(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.rough(2.0)
    wizard = open_wizard()
    asked(wizard, "rough_downforce")
    press(Key.Key_Return)  # the counterweight is this step's own and stands first
    press(Key.Key_Down)  # the other way
    press(Key.Key_Return)
    write("0,25")
    press(Key.Key_Return)
    write("slipped while I locked it")
    press(Key.Key_Return)
    (kept,) = moves(bench)
    (part,) = kept.parts
    assert (kept.step, part.control, part.amount) == (
        "rough_downforce",
        Control.COUNTERWEIGHT,
        -0.25,
    )
    assert kept.note == "slipped while I locked it"
    page = step_page(wizard)
    assert page.prompts.move.isHidden()
    assert page.readout.sign is Verdict.READ_AGAIN or page.status.assessment.next_move
    assert "0,25\u00a0turns (0,25\u00a0mm) away from the pivot" in told_in(page.side_pane.trail)[0]
    assert "slipped while I locked it" in told_in(page.side_pane.trail)[0]
    assert page.reading.isAncestorOf(focus()), "on to the next reading"


def test_an_amount_far_from_the_order_is_asked_about_unless_the_note_says_why(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.mount()
    bench.read("rough_downforce", way="scale", downforce_gf=2.6)
    wizard = open_wizard()
    order = step_page(wizard).status.assessment.next_move
    panel = asked(wizard, "rough_downforce")
    assert order is not None
    assert order.parts[0].control is Control.COUNTERWEIGHT
    press(Key.Key_Return)
    press(Key.Key_Down)
    press(Key.Key_Return)
    write("9")
    press(Key.Key_Return)
    press(Key.Key_Return)
    assert moves(bench) == []
    assert "You typed 9" in panel._problem.text()
    assert focus() is panel.field.line if panel.field else False
    press(Key.Key_Return)
    write("the ring slipped")
    press(Key.Key_Return)
    assert [body.parts[0].amount for body in moves(bench)] == [-9.0]


def test_what_was_asked_about_is_kept_the_second_time(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.mount()
    bench.read("rough_downforce", way="scale", downforce_gf=2.6)
    asked(open_wizard(), "rough_downforce")
    press(Key.Key_Return)
    press(Key.Key_Down)
    press(Key.Key_Return)
    write("9")
    for _ in range(3):  # to the note; the question; to the note again
        assert moves(bench) == []
        press(Key.Key_Return)
    press(Key.Key_Return)
    assert [body.parts[0].amount for body in moves(bench)] == [-9.0]


def test_a_move_of_another_step_is_kept_there_and_sends_it_back(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.rough(2.0)
    wizard = open_wizard()
    panel = asked(wizard, "arm_height")
    pick(panel, "Counterweight")
    press(Key.Key_Return)
    press(Key.Key_Space)
    press(Key.Key_Return)
    write("1")
    press(Key.Key_Return)
    press(Key.Key_Return)
    (kept,) = moves(bench)
    assert kept.step == "rough_downforce"
    assert not bench.another().journey.gate.is_open


def test_what_has_no_amount_asks_for_none(bench: FittingBench, open_wizard: Opener) -> None:
    bench.rough(2.0)
    wizard = open_wizard()
    panel = asked(wizard, "arm_height")
    pick(panel, "Cartridge or headshell")
    assert panel.field is None
    assert not panel.ways[0].isVisible()
    press(Key.Key_Return)
    press(Key.Key_Return)
    (kept,) = moves(bench)
    assert kept.parts[0].control is Control.CARTRIDGE


def test_what_is_missing_is_said_and_nothing_typed_is_lost(
    bench: FittingBench, open_wizard: Opener, messages: RecordingMessages
) -> None:
    bench.rough(2.0)
    wizard = open_wizard()
    panel = asked(wizard, "rough_downforce")
    panel.note.setText("a note")
    panel.keep()
    ways = "First say which way it went: toward the pivot or away from the pivot"
    assert ways in " ".join(problems_in(panel))
    panel.ways[0].setFocus()
    press(Key.Key_Return)
    panel.keep()
    assert "Not recorded yet" in " ".join(problems_in(panel))
    field = panel.field
    assert field is not None
    for text, words in (
        ("0", "0 is no move"),
        ("-1", "no minus: type 1"),
        ("lots", "number"),
        ("100000", "100"),
        ("nan", "number"),
    ):
        field.set_text(text)
        panel.keep()
        assert words in " ".join(problems_in(panel)), (text, " ".join(problems_in(panel)))
        assert field.text() == text
        assert focus() is field.line
    assert panel.note.text() == "a note"
    assert moves(bench) == []
    assert step_page(wizard).has_unsaved()
    press(Key.Key_Escape)
    assert panel.isHidden()
    press(Key.Key_M, BOTH)
    assert panel.note.text() == "a note"
    assert messages.told == []


def test_a_closed_step_takes_no_move(open_wizard: Opener) -> None:
    wizard = open_wizard()
    wizard.go("speed")
    press(Key.Key_M, BOTH)
    assert step_page(wizard).prompts.move.isHidden()


def test_escape_closes_what_was_opened_last_then_goes_back_and_loses_nothing(
    bench: FittingBench, open_wizard: Opener, messages: RecordingMessages
) -> None:
    """Help says that it goes back; in a fitting it did nothing."""
    bench.rough(2.0)
    wizard = open_wizard()
    left: list[bool] = []
    wizard.closed.connect(lambda: left.append(True))
    panel = asked(wizard, "rough_downforce")
    press(Key.Key_Escape)
    assert not panel.isVisible()
    assert not left
    form = step_page(wizard).reading.form
    assert form is not None
    form.start()
    write("2,1")
    messages.answers = [0]
    press(Key.Key_Escape)
    assert not left
    assert messages.asked[-1].choices[0] == "Stay here", "what is typed is not thrown away"
    messages.answers = [1]
    press(Key.Key_Escape)
    assert left
    drafts, _ = bench.another().drafts.found("rough_downforce")
    assert drafts
