"""A deck with a history on the screen, and the keys to work it with."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QWidget

from core.language import Numbers
from core.store import Library
from desktop.history.history_page import HistoryPage
from tests.desktop.fakes import RecordingMessages
from tests.desktop.hands import ALT
from tests.examples import cartridge, deck
from tests.visits import keep

Key = Qt.Key
TODAY = date(2025, 6, 1)
PRESSED_MS = 150
"""A button pressed by its letter is seen to go down first, longer on a machine that is busy."""
Show = Callable[[QWidget], QWidget]


class Bench:
    """A library with one deck, and its history on the screen."""

    def __init__(self, library: Library, shown: Show, messages: RecordingMessages) -> None:
        self.library, self._shown, self.messages = library, shown, messages
        self.deck_id = library.keep_deck(deck(owner_reference="Shelf 7")).id
        self.one = library.keep_cartridge(cartridge()).id
        self.other = library.keep_cartridge(
            cartridge(name="Example cartridge, light", downforce_min_gf=1.5, downforce_max_gf=2.0)
        ).id

    def keep(self, day: str, cartridge_id: str = "", **how: Any) -> str:
        return keep(self.library, day, self.deck_id, cartridge_id or self.one, **how).id

    def page(self, numbers: Numbers | None = None) -> HistoryPage:
        page = HistoryPage(
            self.library,
            self.deck_id,
            numbers or Numbers(),
            self.messages,
            who="Ann",
            today=lambda: TODAY,
        )
        self._shown(page)
        page.begin()
        settle(page)
        return page


def settle(page: HistoryPage) -> None:
    page.loader.finish()
    for _ in range(3):
        QApplication.processEvents()


def press(key: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
    widget = QApplication.focusWidget()
    assert widget is not None
    window = widget.window()
    QTest.keyClick(widget, key, modifier)
    QApplication.processEvents()
    if modifier is ALT:
        QTest.qWait(PRESSED_MS)
        for _ in range(100):
            if not any(button.isDown() for button in window.findChildren(QAbstractButton)):
                break
            QTest.qWait(PRESSED_MS)


def write(text: str) -> None:
    widget = QApplication.focusWidget()
    assert widget is not None
    QTest.keyClicks(widget, text)
    QApplication.processEvents()


def tab_to(wanted: QWidget) -> None:
    for _ in range(40):
        if QApplication.focusWidget() is wanted:
            return
        press(Key.Key_Tab)
    raise AssertionError(f"Tab never reaches {wanted.accessibleName()}")
