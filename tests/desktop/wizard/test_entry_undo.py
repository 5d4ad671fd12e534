"""Leaving an entry out is said and taken back, by keyboard too."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QPushButton, QWidget

from core.fitting import Control, MoveMade, MovePart, Withdrawn
from core.store import Library
from tests.desktop.kit import CTRL, FittingBench, Opener, focus, press, settle, step_page, write


def button_named(page: object, words: str) -> QPushButton:
    trail = page.side_pane.trail  # type: ignore[attr-defined]  # a step's page
    return next(one for one in trail.findChildren(QPushButton) if one.text() == words)


def test_an_entry_left_out_counts_again_with_one_press(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.read("level", way="bubble", direction="front-back", divisions=8.0)
    wizard = open_wizard()
    page = step_page(wizard)
    before = [entry.id for entry in bench.controller.fitting.counting()]
    gone = button_named(page, "Leave out")
    gone.setFocus()
    press(Qt.Key.Key_Space)
    assert list(bench.another().fitting.counting()) == []
    assert wizard.entry_undo.bar.text.startswith("Left out: ")
    form = page.reading.form
    assert form is not None
    assert focus() in form.tab_stops(), "the next reading's field"
    press(Qt.Key.Key_Return)
    assert list(bench.another().fitting.counting()) == [], "Enter by habit undoes nothing"
    press(Qt.Key.Key_Z, CTRL)
    assert [entry.id for entry in bench.another().fitting.counting()] == before
    assert wizard.entry_undo.bar.text.startswith("Counts again: ")
    assert not wizard.entry_undo.bar.undo_button.isVisible()
    press(Qt.Key.Key_Z, CTRL)
    assert [entry.id for entry in bench.another().fitting.counting()] == before


def test_bringing_an_entry_back_is_undone_too(bench: FittingBench, open_wizard: Opener) -> None:
    bench.read("level", way="bubble", direction="front-back", divisions=8.0)
    bench.keep(Withdrawn(entry=bench.controller.fitting.entries[0].id))
    wizard = open_wizard()
    button_named(step_page(wizard), "Count again").click()
    assert len(list(bench.another().fitting.counting())) == 1
    assert wizard.entry_undo.bar.text.startswith("Counts again: ")
    wizard.entry_undo.bar.undo_button.click()
    assert list(bench.another().fitting.counting()) == []
    assert wizard.entry_undo.bar.text.startswith("Left out: ")


def test_what_another_window_changed_since_is_left_as_it_is(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.read("level", way="bubble", direction="front-back", divisions=8.0)
    wizard = open_wizard()
    button_named(step_page(wizard), "Leave out").click()
    last = bench.controller.fitting.entries[-1]
    with Library.open(bench.library.address) as other:
        other.append(bench.fitting.id, Withdrawn(entry=last.id))
    count = len(bench.another().fitting.entries)
    wizard.entry_undo.undo()
    assert len(bench.another().fitting.entries) == count
    assert wizard.entry_undo.bar.text.startswith("That entry was changed since")
    assert len(list(bench.another().fitting.counting())) == 1


def test_after_taking_back_in_a_small_window_what_is_asked_has_the_focus_and_is_in_sight(
    bench: FittingBench, open_wizard: Opener
) -> None:
    def in_sight(panel: QWidget) -> bool:
        settle()
        at = focus()
        return panel.isAncestorOf(at) and at.visibleRegion().boundingRect() == at.rect()

    bench.mount()
    wizard = open_wizard()
    wizard.resize(900, 600)
    wizard.go("rough_downforce")
    page = step_page(wizard)
    bench.read("rough_downforce", way="scale", downforce_gf=1.0)
    bench.move("rough_downforce", MovePart(control=Control.COUNTERWEIGHT, amount=2.0, unit="turns"))
    bench.read("rough_downforce", way="scale", downforce_gf=1.0)
    for line in page.check_panel.lines:
        line.click()
    page.check_panel.done_button.click()
    assert in_sight(page.move_panel), "after the answers their order has it, not the rail"
    press(Qt.Key.Key_Z, CTRL)
    assert page.check_panel.isVisible()
    assert in_sight(page.check_panel)
    press(Qt.Key.Key_Z, CTRL)
    assert page.check_panel.isHidden()
    assert in_sight(page.reading)
    press(Qt.Key.Key_Z, CTRL)
    assert in_sight(page.move_panel)


def test_taking_back_leaves_the_focus_where_something_is_typed(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.mount()
    wizard = open_wizard()
    wizard.go("rough_downforce")
    page = step_page(wizard)
    bench.read("rough_downforce", way="scale", downforce_gf=1.0)
    page.reading.start()
    write("1.9")
    settle()
    line = focus()
    wizard.entry_undo.undo()
    settle()
    assert focus() is line
    assert line.property("text") == "1.9"


def test_what_was_saved_last_is_taken_back_and_then_what_was_saved_before(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.mount()
    bench.read("rough_downforce", way="scale", downforce_gf=3.9)
    wizard = open_wizard()
    wizard.go("rough_downforce")
    page = step_page(wizard)
    there = [entry.id for entry in bench.another().fitting.counting()]
    page.start_moving()
    write("2,6")
    press(Qt.Key.Key_Return)
    assert len(list(bench.another().fitting.counting())) == len(there) + 2
    press(Qt.Key.Key_Z, CTRL)
    (moved,) = [one for one in bench.another().fitting.counting() if one.id not in there]
    assert isinstance(moved.body, MoveMade), "the reading went first"
    assert wizard.entry_undo.bar.text.startswith("Left out: ")
    assert "Count again" in wizard.entry_undo.bar.text
    assert not wizard.entry_undo.bar.undo_button.isVisible(), "it would leave out the move as well"
    press(Qt.Key.Key_Z, CTRL)
    assert [entry.id for entry in bench.another().fitting.counting()] == there
    press(Qt.Key.Key_Z, CTRL)
    assert [entry.id for entry in bench.another().fitting.counting()] == there, "not from here"


def test_what_is_being_typed_is_taken_back_first(bench: FittingBench, open_wizard: Opener) -> None:
    bench.mount()
    wizard = open_wizard()
    wizard.go("rough_downforce")
    write("2,6")
    press(Qt.Key.Key_Return)
    count = len(list(bench.another().fitting.counting()))
    page = step_page(wizard)
    page.start_reading()
    write("7")
    press(Qt.Key.Key_Z, CTRL)
    assert len(list(bench.another().fitting.counting())) == count


def test_with_nothing_saved_since_it_was_opened_that_is_said(
    bench: FittingBench, open_wizard: Opener
) -> None:
    """Nothing was done and nothing said, so the key seemed dead after a restart."""
    bench.read("level", way="bubble", direction="front-back", divisions=8.0)
    wizard = open_wizard()
    press(Qt.Key.Key_Z, CTRL)
    assert len(list(bench.another().fitting.counting())) == 1
    assert "Nothing more to take back here." in wizard.entry_undo.bar.text
    assert not wizard.entry_undo.bar.undo_button.isVisible()


def test_a_move_left_out_is_said_to_have_moved_nothing_and_how_to_take_it_back(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.read("level", way="bubble", direction="front-back", divisions=5.0)
    bench.move(
        "level", MovePart(control=Control.FOOT, amount=0.5, unit="turns", where="front left")
    )
    wizard = open_wizard()
    page = step_page(wizard)
    button_named(page, "Leave out").click()  # the newest entry is the first
    told = wizard.entry_undo.bar.text
    assert "Nothing moved on the deck" in told
    assert "take it back by hand: Foot (front left) 0.50\u00a0turns shorter (down)" in told
    struck = [one.text() for one in page.side_pane.trail.findChildren(QLabel)]
    assert any("Nothing moved on the deck" in one for one in struck)
    button_named(page, "Count again").click()
    assert "Nothing moved" not in wizard.entry_undo.bar.text
    wizard.entry_undo.undo()  # the same by keyboard
    assert "Nothing moved on the deck" in wizard.entry_undo.bar.text


def test_a_reading_left_out_moves_nothing_and_says_nothing_of_it(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.read("level", way="bubble", direction="front-back", divisions=5.0)
    wizard = open_wizard()
    button_named(step_page(wizard), "Leave out").click()
    assert "on the deck" not in wizard.entry_undo.bar.text
