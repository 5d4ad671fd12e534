"""A person at the keyboard: everything done here is a key pressed in the real window."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QComboBox,
    QLineEdit,
    QRadioButton,
    QWidget,
)

from desktop.shell.main_window import MainWindow
from desktop.wizard import Wizard
from desktop.wizard.step_page import StepPage

Key = Qt.Key
NONE = Qt.KeyboardModifier.NoModifier
CTRL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
ALT = Qt.KeyboardModifier.AltModifier


class Hands:
    """Works one window by its keys alone; looks at it as eyes would."""

    def __init__(self, window: MainWindow) -> None:
        self.window = window

    @property
    def wizard(self) -> Wizard:
        page = self.window.pages.currentWidget()
        assert isinstance(page, Wizard)
        return page

    @property
    def step(self) -> StepPage:
        page = self.wizard.page
        assert isinstance(page, StepPage)
        return page

    def focus(self) -> QWidget:
        QApplication.processEvents()
        widget = QApplication.focusWidget()
        assert widget is not None, "the keyboard leads nowhere"
        return widget

    def press(self, key: Qt.Key, modifier: Qt.KeyboardModifier = NONE) -> None:
        QTest.keyClick(self.focus(), key, modifier)
        QApplication.processEvents()

    def write(self, text: str) -> None:
        QTest.keyClicks(self.focus(), text)
        QApplication.processEvents()

    def tab_to(self, wanted: QWidget, at_most: int = 60) -> None:
        """Walk with Tab until a widget has the focus."""
        for _ in range(at_most):
            if QApplication.focusWidget() is wanted:
                return
            self.press(Key.Key_Tab)
        raise AssertionError(f"Tab never reaches {wanted.accessibleName() or wanted}")

    def start_fitting(self, deck: str, cartridge: str) -> None:
        """From the library: the one obvious button, then a few letters of each name."""
        button = self.window.findChild(QAbstractButton, "primaryWay")
        assert isinstance(button, QAbstractButton)
        self.tab_to(button)
        self.press(Key.Key_Space)
        self.write(deck)
        self.press(Key.Key_Return)
        self.write(cartridge)
        self.press(Key.Key_Return)
        self.press(Key.Key_Return)

    def read(self, way: str, **values: Any) -> None:
        """Choose a way of reading, fill its form, keep it."""
        self.press(Key.Key_R, CTRL)
        if self.step.reading.way != way:
            self._choose_way(way)
        form = self.step.reading.form
        assert form is not None
        self.tab_to(form.tab_stops()[0])
        for name, value in values.items():
            self._fill(form.fields.entries[name].tab_stops(), value)
        self.press(Key.Key_Return, CTRL)
        assert not self.step.reading.has_unsaved(), form.problems()

    def move_made(self) -> None:
        self.press(Key.Key_M, CTRL)

    def accept(self) -> None:
        self.press(Key.Key_Return, CTRL | SHIFT)

    def keep_anyway(self, reason: str) -> None:
        self.press(Key.Key_K, ALT)
        self.write(reason)
        self.press(Key.Key_Return)

    def _choose_way(self, way: str) -> None:
        buttons = [
            button
            for button in self.step.reading.findChildren(QRadioButton)
            if button.property("way") is not None and not button.isHidden()
        ]
        checked = next(button for button in buttons if button.isChecked())
        self.tab_to(checked)
        for _ in buttons:
            if self.step.reading.way == way:
                return
            self.press(Key.Key_Down)
        raise AssertionError(f"the way {way!r} is not offered")

    def _fill(self, tab_stops: list[QWidget], value: Any) -> None:
        first = tab_stops[0]
        if isinstance(first, QLineEdit):
            self.tab_to(first)
            self.press(Key.Key_A, CTRL)
            self.write(str(value))
        elif isinstance(first, QComboBox):
            self._pick(first, str(value))
        elif isinstance(value, bool):
            assert isinstance(first, QAbstractButton)
            self.tab_to(first)
            if first.isChecked() is not value:
                self.press(Key.Key_Space)
        else:
            self._pick_button(first, str(value))

    def _pick(self, combo: QComboBox, label: str) -> None:
        self.tab_to(combo)
        self.press(Key.Key_Home)
        for _ in range(combo.count()):
            if combo.currentText().startswith(label):
                return
            self.press(Key.Key_Down)
        raise AssertionError(f"{label!r} is not in the list")

    def _pick_button(self, first: QWidget, label: str) -> None:
        entry = first.parentWidget()
        assert entry is not None
        buttons = entry.findChildren(QRadioButton)
        wanted = next(button for button in buttons if button.text().startswith(label))
        start = next((button for button in buttons if button.isChecked()), buttons[0])
        self.tab_to(start)
        if not any(button.isChecked() for button in buttons):
            self.press(Key.Key_Space)
        for key in (Key.Key_Up, Key.Key_Down):
            for _ in buttons:
                if wanted.isChecked():
                    return
                self.press(key)
        raise AssertionError(f"{label!r} can't be chosen by keyboard")
