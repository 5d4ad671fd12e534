"""Decks with several arms in the window, by keyboard: made, fitted on each, told apart."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPushButton

from core.fitting import ArmUsed, Finished, StepState
from core.records import Deck
from core.store import Library
from desktop.forms.arms_editor import ArmsEditor
from desktop.forms.model_fields import GroupEditor
from desktop.library.editor import RecordEditor
from desktop.library.screen import LibraryScreen
from desktop.library.start_page import StartPage
from desktop.shell.main_window import MainWindow
from desktop.wizard import Wizard
from tests.arms import FRONT, REAR, rear_arm, two_arms
from tests.core.workflow.test_arms import LEVELLED, TURNED, WEIGHED
from tests.desktop.kit import RecordingMessages, focus, page_of, press, settle, write
from tests.examples import cartridge, deck

ALT, CTRL = Qt.KeyboardModifier.AltModifier, Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
Key = Qt.Key


def arms_of_form(editor: RecordEditor) -> ArmsEditor:
    arms = editor.form.fields.entries["further_arms"]
    assert isinstance(arms, ArmsEditor)
    return arms


def test_an_arm_is_added_to_a_deck_by_keyboard(window: MainWindow, opened: Library) -> None:
    deck_id = opened.keep_deck(deck()).id
    window.show_editor("deck", deck_id)
    editor = page_of(window, RecordEditor)
    assert editor.form.fields.entries["first_arm_name"].isHidden()
    arms = arms_of_form(editor)
    adder = arms.findChild(QPushButton)
    assert adder is not None
    adder.setFocus()
    press(Key.Key_Space)
    settle()
    assert focus() in arms.rows[0].entries["name"].tab_stops()
    assert focus().visibleRegion().boundingRect() == focus().rect(), "scrolled to"
    write("Rear arm")
    made = rear_arm()
    for name in ("arm", "head", "height", "tilt", "skating"):
        arms.rows[0].entries[name].put(getattr(made, name))
    settle()
    assert not editor.form.fields.entries["first_arm_name"].isHidden()
    press(Key.Key_S, CTRL)
    settle()
    assert (
        "the first arm needs a name too"
        in editor.problem.text().casefold()
        + " ".join(words for _, words in editor.form.problems()).casefold()
    )
    assert focus() in editor.form.fields.entries["first_arm_name"].tab_stops()
    write("Front arm")
    press(Key.Key_S, CTRL)
    settle()
    kept = opened.deck(deck_id).thing
    assert kept.first_arm_name == "Front arm"
    (arm,) = kept.further_arms
    assert (arm.name, arm.arm, bool(arm.key)) == ("Rear arm", made.arm, True)


def test_length_and_offset_of_an_arm_that_is_added_follow_from_its_pivot(
    window: MainWindow, opened: Library
) -> None:
    """By hand: L² = d² + n1·n2, sin offset = (n1 + n2) / 2L; the nulls are published figures.

    With nulls at 65.998 and 120.891 mm and d = 222 mm, L = 239.3 mm and the offset is 23.0 degrees.
    """
    deck_id = opened.keep_deck(deck()).id
    window.show_editor("deck", deck_id)
    arms = arms_of_form(page_of(window, RecordEditor))
    group = arms.add_row().entries["arm"]
    assert isinstance(group, GroupEditor)
    entries = group.fields.entries
    entries["kind"].put(deck().arm.kind)
    settle()
    entries["pivot_to_spindle_mm"].tab_stops()[-1].setFocus()
    write("222")
    settle()
    assert entries["effective_length_mm"].answer().value == pytest.approx(239.3, abs=0.05)
    assert entries["offset_deg"].answer().value == pytest.approx(23.0, abs=0.05)
    entries["effective_length_mm"].tab_stops()[-1].setFocus()
    press(Key.Key_A, CTRL)
    write("240.5")
    entries["pivot_to_spindle_mm"].tab_stops()[-1].setFocus()
    press(Key.Key_A, CTRL)
    write("223")
    settle()
    assert entries["effective_length_mm"].answer().value == 240.5  # what was typed stays


def test_what_is_on_file_of_an_arm_does_not_follow_its_pivot(
    window: MainWindow, opened: Library
) -> None:
    deck_id = opened.keep_deck(two_arms()).id
    window.show_editor("deck", deck_id)
    group = arms_of_form(page_of(window, RecordEditor)).rows[0].entries["arm"]
    assert isinstance(group, GroupEditor)
    group.fields.entries["pivot_to_spindle_mm"].put(296.0)
    settle()
    assert group.fields.entries["effective_length_mm"].answer().value == 308.8


def test_an_arm_keeps_its_key_when_it_is_renamed(window: MainWindow, opened: Library) -> None:
    deck_id = opened.keep_deck(two_arms()).id
    window.show_editor("deck", deck_id)
    editor = page_of(window, RecordEditor)
    arms_of_form(editor).rows[0].entries["name"].put("Long arm")
    assert editor.save()
    (arm,) = opened.deck(deck_id).thing.further_arms
    assert (arm.key, arm.name) == (REAR, "Long arm")


def test_an_arm_with_fittings_can_be_put_away_and_not_removed(
    window: MainWindow, opened: Library
) -> None:
    deck_id = opened.keep_deck(two_arms()).id
    window.show_editor("deck", deck_id)
    fields = arms_of_form(page_of(window, RecordEditor)).rows[0]
    remove = fields.parentWidget().findChild(QPushButton, "removeRow")
    assert isinstance(remove, QPushButton)
    assert not remove.isHidden()
    assert "put_away" not in fields.shown_names()
    opened.start_fitting(deck_id, opened.cartridges()[0].id, arm_key=REAR)
    window.show_editor("deck", deck_id)
    editor = page_of(window, RecordEditor)
    fields = arms_of_form(editor).rows[0]
    remove = fields.parentWidget().findChild(QPushButton, "removeRow")
    assert isinstance(remove, QPushButton)
    assert remove.isHidden()
    assert "put_away" in fields.shown_names()


def test_a_deck_with_one_arm_asks_for_none(window: MainWindow, opened: Library) -> None:
    deck_id = opened.keep_deck(deck()).id
    window.show_start(deck_id, opened.cartridges()[0].id)
    page = page_of(window, StartPage)
    assert page.arm.isHidden()
    press(Key.Key_S, ALT)
    settle()
    wizard = page_of(window, Wizard)
    assert wizard.arm_button.isHidden()
    assert wizard.controller.fitting.entries == ()


def test_two_arms_are_fitted_one_after_the_other_by_keyboard(
    window: MainWindow, opened: Library
) -> None:
    deck_id = opened.keep_deck(two_arms()).id
    light = opened.keep_cartridge(cartridge(name="Light")).id
    heavy = opened.keep_cartridge(cartridge(name="Heavy", mass_g=9.0)).id
    window.show_start(deck_id, light)
    page = page_of(window, StartPage)
    assert [page.arm.arms.itemText(place) for place in range(2)] == [
        "Front arm (nothing fitted yet)",
        "Rear arm (nothing fitted yet)",
    ]
    assert page.arm.current_key == FRONT
    press(Key.Key_S, ALT)
    settle()
    wizard = page_of(window, Wizard)
    assert wizard.arm_button.text() == "Arm: Front arm"
    assert wizard.controller.journey.deck.arm.effective_length_mm == 239.296
    opened.append(wizard.controller.fitting.id, Finished())
    window.show_start(deck_id, heavy)
    page = page_of(window, StartPage)
    assert page.arm.current_key == REAR  # nothing is on it yet
    assert page.resume.isHidden()
    press(Key.Key_M, ALT)
    assert focus() is page.arm.arms
    press(Key.Key_Up)
    settle()
    assert page.arm.current_key == FRONT
    press(Key.Key_Down)
    settle()
    assert "Rear arm" in page.summary.text()
    press(Key.Key_S, ALT)
    settle()
    wizard = page_of(window, Wizard)
    assert wizard.controller.fitting.arm_key == REAR
    assert wizard.arm_button.text() == "Arm: Rear arm"
    assert wizard.controller.journey.deck.arm.effective_length_mm == 308.8
    opened.append(wizard.controller.fitting.id, Finished())
    window.show_start(deck_id, light)
    assert page_of(window, StartPage).arm.current_key == FRONT  # where it was last


def test_the_list_of_decks_says_what_is_on_each_arm(window: MainWindow, opened: Library) -> None:
    deck_id = opened.keep_deck(two_arms()).id
    for key, name in ((FRONT, "Light"), (REAR, "Heavy")):
        one = opened.keep_cartridge(cartridge(name=name)).id
        opened.append(opened.start_fitting(deck_id, one, arm_key=key).id, Finished())
    window.show_library()
    screen = page_of(window, LibraryScreen)
    screen.tabs.setCurrentWidget(screen.decks)
    screen.decks.look_for("rear arm")
    settle()
    model = screen.decks.model
    assert model.rowCount() == 1
    shown = [str(model.index(0, column).data()) for column in range(model.columnCount())]
    assert "Front arm: Light; Rear arm: Heavy" in shown


def test_the_wrong_arm_is_changed_by_keyboard_and_the_level_stays(
    window: MainWindow, opened: Library, messages: RecordingMessages
) -> None:
    deck_id = opened.keep_deck(two_arms()).id
    fitting = opened.start_fitting(deck_id, opened.keep_cartridge(cartridge()).id)
    for body in (*LEVELLED, WEIGHED):
        opened.append(fitting.id, body)
    window.open_fitting(fitting.id)
    wizard = page_of(window, Wizard)
    assert "Front arm" in window.windowTitle()
    messages.answers.append(0)
    press(Key.Key_A, CTRL | SHIFT)
    settle()
    assert "Rear arm" in window.windowTitle()
    assert "Front arm" not in window.windowTitle()
    asked = messages.asked[-1]
    assert "One reading, move or acceptance of “Front arm” will no longer count" in asked.sentence
    journey = wizard.controller.journey
    assert wizard.arm_button.text() == "Arm: Rear arm"
    assert journey.fitting.arm_key == REAR
    assert journey.status("level").state is StepState.DONE
    assert not journey.gate.is_open
    messages.answers.append(0)
    press(Key.Key_A, CTRL | SHIFT)
    settle()
    assert wizard.controller.journey.gate.is_open
    assert wizard.controller.journey.fitting.arm_key == FRONT


def test_feet_turned_in_the_fitting_of_another_arm_send_the_level_back_here(
    window: MainWindow, opened: Library
) -> None:
    deck_id = opened.keep_deck(two_arms()).id
    one = opened.keep_cartridge(cartridge()).id
    front = opened.start_fitting(deck_id, one)
    rear = opened.start_fitting(deck_id, one, arm_key=REAR)
    for body in LEVELLED:
        opened.append(front.id, body)
    window.open_fitting(front.id)
    wizard = page_of(window, Wizard)
    assert wizard.controller.journey.status("level").state is StepState.DONE
    with Library.open(opened.address, "Another") as other:
        other.append(rear.id, TURNED)
    wizard.look_again()
    settle()
    status = wizard.controller.journey.status("level")
    assert status.state is StepState.CHECK_AGAIN


def test_an_arm_that_is_gone_from_the_record_is_said_and_the_fitting_goes_on(
    window: MainWindow, opened: Library
) -> None:
    deck_id = opened.keep_deck(deck()).id
    fitting = opened.start_fitting(deck_id, opened.keep_cartridge(cartridge()).id)
    opened.append(fitting.id, ArmUsed.of(rear_arm("<b>Gone</b>")))
    window.open_fitting(fitting.id)
    wizard = page_of(window, Wizard)
    assert wizard.arm_button.text() == "Arm: <b>Gone</b>"
    wizard.go("mount")
    settle()
    assert "has no “<b>Gone</b>” any more" in wizard.page._reason.text()
    assert wizard.controller.journey.deck.arm.effective_length_mm == 308.8


def test_a_copy_and_one_much_like_it_have_the_arms_too(window: MainWindow, opened: Library) -> None:
    deck_id = opened.keep_deck(two_arms()).id
    window.show_editor("deck", deck_id, copies=True)
    editor = page_of(window, RecordEditor)
    assert editor.save()
    (copied,) = [row for row in opened.decks() if row.name.endswith("(copy)")]
    made = opened.deck(copied.id).thing
    assert isinstance(made, Deck)
    assert made.further_arms == two_arms().further_arms
