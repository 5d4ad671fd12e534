"""Tab goes through a page with lists as it is read, and Shift+Tab the same way back."""

from __future__ import annotations

from PySide6.QtWidgets import QApplication, QTabBar
from pytestqt.qtbot import QtBot

from core.store import Library
from desktop.library.screen import LibraryScreen
from desktop.shell.main_window import MainWindow
from tests.desktop.kit import SHIFT, Key, focus, press
from tests.examples import deck


def test_from_a_list_with_rows_to_what_can_be_done_with_a_row_and_back(
    window: MainWindow, library: Library, qtbot: QtBot
) -> None:
    for name in ("One deck", "Another deck"):
        library.keep_deck(deck(name=name))
    window.open_library(library.address.path)
    screen = window.pages.currentWidget()
    assert isinstance(screen, LibraryScreen)
    screen.tabs.setCurrentWidget(screen.decks)
    qtbot.waitUntil(lambda: screen.decks.model.rowCount() > 1)
    window.activateWindow()
    screen.decks.filter.setFocus()
    there = [focus()]
    while focus() is not screen.decks.buttons["pictures"] and len(there) < 40:
        press(Key.Key_Tab)
        there.append(focus())
    at = there.index(screen.decks.table)
    acts = [one for one in screen.decks.buttons.values() if one.isVisible() and one.isEnabled()]
    assert there[at + 1 : at + 1 + len(acts)] == acts, "the table, then what its rows can do"
    back = [focus()]
    while focus() is not screen.decks.filter and len(back) < 40:
        press(Key.Key_Backtab, SHIFT)
        back.append(focus())
    assert back == there[::-1]
    press(Key.Key_Backtab, SHIFT)
    assert isinstance(QApplication.focusWidget(), QTabBar), "the lists themselves are reached too"
