"""A person at the keyboard of one wizard."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from desktop.wizard import Wizard
from desktop.wizard.step_page import StepPage

Opener = Callable[[], Wizard]
CTRL, SHIFT = (
    Qt.KeyboardModifier.ControlModifier,
    Qt.KeyboardModifier.ShiftModifier,
)


def press(key: Qt.Key, modifiers: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
    focused = QApplication.focusWidget()
    assert focused is not None
    QTest.keyClick(focused, key, modifiers)
    QApplication.processEvents()


def type_in(text: str) -> None:
    focused = QApplication.focusWidget()
    assert focused is not None
    QTest.keyClicks(focused, text)
    QApplication.processEvents()


def step_page(wizard: Wizard) -> StepPage:
    page = wizard.page
    assert isinstance(page, StepPage)
    return page


def read_bubble(divisions: str, *, direction: int = 0) -> None:
    """Type one bubble reading from the form's first field, with Enter at the end of each."""
    press(Qt.Key.Key_R, CTRL)
    press(Qt.Key.Key_Home)
    for _ in range(direction):
        press(Qt.Key.Key_Down)
    press(Qt.Key.Key_Return)
    press(Qt.Key.Key_Return)
    type_in(divisions)
    press(Qt.Key.Key_Return)
