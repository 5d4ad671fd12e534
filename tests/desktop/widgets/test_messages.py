from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QApplication, QLabel, QMessageBox, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from core.language.catalogue import longer
from core.store import LibraryProblem
from core.store.file_problems import looking_only, no_library
from desktop.widgets.library_problem_page import LibraryProblemPage
from desktop.widgets.messages import NoticeBar, QtMessages, tell_problem
from tests.desktop.kit import RecordingMessages


@pytest.fixture
def window(shown: Callable[[QWidget], QWidget]) -> QWidget:
    window = QWidget()
    layout = QVBoxLayout(window)
    layout.addWidget(NoticeBar())
    shown(window)
    return window


@pytest.fixture
def bar(window: QWidget) -> NoticeBar:
    found = window.findChild(NoticeBar)
    assert isinstance(found, NoticeBar)
    return found


def press_in_the_dialog(qtbot: QtBot, *keys: Qt.Key) -> list[QMessageBox]:
    seen: list[QMessageBox] = []

    def press() -> None:
        box = QApplication.activeModalWidget()
        assert isinstance(box, QMessageBox)
        seen.append(box)
        for key in keys:
            qtbot.keyClick(QApplication.focusWidget() or box, key)

    QTimer.singleShot(0, press)
    return seen


def test_what_is_told_stays_until_put_away_and_stops_nobody(
    window: QWidget, bar: NoticeBar, qtbot: QtBot
) -> None:
    messages = QtMessages(window, bar)
    messages.tell("Disk full", "There is no room.", "Make room.")
    messages.tell("Second", "Another thing.")
    messages.tell("Second", "Another thing.")
    assert QApplication.activeModalWidget() is None
    assert bar.isVisible()
    assert bar.text == "Second: Another thing."  # the newest first
    qtbot.keyClick(bar, Qt.Key.Key_Escape)
    assert bar.text == "Disk full: There is no room.\nMake room."
    qtbot.keyClick(bar, Qt.Key.Key_Escape)
    assert not bar.isVisible()
    assert bar.text == ""


def test_what_is_told_again_comes_to_the_front_and_is_told_once(bar: NoticeBar) -> None:
    bar.say("First", "One.", "")
    bar.say("Second", "Two.", "")
    bar.say("First", "One.", "")
    assert bar.text == "First: One."
    bar._next()
    assert bar.text == "Second: Two."
    bar._next()
    assert bar.text == ""


def test_a_notice_that_no_longer_holds_goes_wherever_it_waits(bar: NoticeBar) -> None:
    bar.say("First", "One.", "")
    bar.say("Second", "Two.", "")
    bar.put_away("First", "One.")
    assert bar.text == "Second: Two."
    bar.put_away("Second", "Two.")
    assert not bar.isVisible()
    assert bar.text == ""


def test_enter_gives_the_first_answer(window: QWidget, bar: NoticeBar, qtbot: QtBot) -> None:
    seen = press_in_the_dialog(qtbot, Qt.Key.Key_Return)
    assert QtMessages(window, bar).ask("Unsaved", "Keep it?", ["&Save", "&Leave"]) == 0
    assert seen[0].text() == "Keep it?"


def test_enter_gives_the_answer_that_loses_nothing(
    window: QWidget, bar: NoticeBar, qtbot: QtBot
) -> None:
    """Enter by habit replaced the tables that were there."""
    press_in_the_dialog(qtbot, Qt.Key.Key_Return)
    choices = ["&Replace them", "&Keep them"]
    assert QtMessages(window, bar).ask("There", "Replace?", choices, stays=1, enter=1) == 1


def test_what_went_well_has_no_sign_of_a_problem(window: QWidget, bar: NoticeBar) -> None:
    """An export that was written came with a red exclamation mark."""
    messages = QtMessages(window, bar)
    messages.tell("Exported", "It is there.", went_well=True)
    assert (bar.well.isVisible(), bar.wrong.isVisible()) == (True, False)
    messages.tell("Disk full", "There is no room.")
    assert (bar.well.isVisible(), bar.wrong.isVisible()) == (False, True)


def test_the_second_answer_is_reached_by_tab(window: QWidget, bar: NoticeBar, qtbot: QtBot) -> None:
    messages = QtMessages(window, bar)

    def press() -> None:
        box = QApplication.activeModalWidget()
        assert isinstance(box, QMessageBox)
        second = next(button for button in box.buttons() if button.text() == "&Leave")
        for _ in range(3):
            if QApplication.focusWidget() is second:
                break
            qtbot.keyClick(QApplication.focusWidget() or box, Qt.Key.Key_Tab)
        qtbot.keyClick(second, Qt.Key.Key_Space)

    QTimer.singleShot(0, press)
    assert messages.ask("Unsaved", "Keep it?", ["&Save", "&Leave"]) == 1


def test_escape_is_no_answer(window: QWidget, bar: NoticeBar, qtbot: QtBot) -> None:
    press_in_the_dialog(qtbot, Qt.Key.Key_Escape)
    assert QtMessages(window, bar).ask("Unsaved", "Keep it?", ["&Save", "&Leave"]) is None


def test_a_choice_that_changes_nothing_has_no_second_button_that_says_the_same(
    window: QWidget, bar: NoticeBar, qtbot: QtBot
) -> None:
    seen: list[str] = []

    def press() -> None:
        box = QApplication.activeModalWidget()
        assert isinstance(box, QMessageBox)
        seen.extend(button.text() for button in box.buttons())
        qtbot.keyClick(QApplication.focusWidget() or box, Qt.Key.Key_Escape)

    QTimer.singleShot(0, press)
    choices = ["Leave", "Throw away", "Stay"]
    assert QtMessages(window, bar).ask("Typed", "Leave?", choices, stays=2) == 2
    assert sorted(seen) == sorted(choices)


@pytest.mark.parametrize(
    "problem", [looking_only(Path("/shop/x")), no_library(Path("/shop/x"), "unknown")]
)
def test_a_problem_of_the_library_is_told_in_the_language_of_the_screen(
    in_another_language: None, qtbot: QtBot, problem: LibraryProblem
) -> None:
    messages = RecordingMessages()
    tell_problem(messages, problem)
    (told,) = messages.told
    page = LibraryProblemPage(problem, ())
    qtbot.addWidget(page)
    on_page = [label.text() for label in page.findChildren(QLabel)]
    for words, english in ((told.sentence, problem.sentence), (told.remedy, problem.remedy)):
        assert words in on_page
        assert words == longer(english.replace("/shop/x", "{path}")).replace("{path}", "/shop/x")
