"""No page gives one access key to two things, and no menu does."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from PySide6.QtGui import QShortcut
from PySide6.QtWidgets import (
    QAbstractButton,
    QGroupBox,
    QLabel,
    QMenu,
    QMenuBar,
    QTabBar,
    QWidget,
)

from core.language import Numbers
from core.records import Headshell
from desktop.library.screen import LibraryScreen
from desktop.shell.main_window import MainWindow
from desktop.widgets.preferences import Preferences
from desktop.wizard import Wizard
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import RecordingMessages, one_of_everything
from tests.desktop.test_second_language import PAGES, settle

_KEY = re.compile(r"&(\w)")


def letters(*texts: str) -> list[str]:
    """Return the letter of each text that has one, a doubled & meant as it stands."""
    found = (_KEY.search(text.replace("&&", "")) for text in texts)
    return [one.group(1).upper() for one in found if one is not None]


def keys_of(window: QWidget) -> list[str]:
    """Return the letters that Alt brings something by, as a page shows it."""
    found: list[str] = []
    for one in window.findChildren(QWidget):
        if not one.isVisible() or (one.window() is not window.window()):
            continue
        match one:
            case QAbstractButton():
                found += letters(one.text())
            case QLabel() if one.buddy() is not None:
                found += letters(one.text())
            case QGroupBox():
                found += letters(one.title())
            case QTabBar():
                shown = [at for at in range(one.count()) if one.isTabVisible(at)]
                found += letters(*map(one.tabText, shown))
            case QMenuBar():
                found += letters(*(act.text() for act in one.actions()))
    for short in window.findChildren(QShortcut):
        parent = short.parent()
        if isinstance(parent, QWidget) and parent.isVisible() and short.isEnabled():
            found += re.findall(r"^Alt\+(\w)$", short.key().toString())
    return found


def twice(found: list[str]) -> list[str]:
    return sorted(key for key, count in Counter(found).items() if count > 1)


def _many_pictures(window: MainWindow, fitting_id: str, deck_id: str) -> QWidget:
    PAGES["speed"](window, fitting_id, deck_id)
    settle(window)
    wizard = window.pages.currentWidget()
    assert isinstance(wizard, Wizard)
    assert isinstance(wizard.page, StepPage)
    pictures = wizard.page.side_pane.picture_box.parentWidget()
    assert pictures is not None
    pictures.show()
    return window


def _one_list(place: int) -> Callable[[MainWindow, str, str], QWidget]:
    """Return a way to one list of the first screen, a deck being due beside it.

    What is due is told a moment after the screen is shown, and only if anything is: a look at the
    screen as it opens in a new library finds nothing of it.
    """

    def show(window: MainWindow, _fitting_id: str, _deck_id: str) -> QWidget:
        assert window.library is not None
        window.library.keep_headshell(Headshell(name="Spare headshell", mass_g=9.0))
        window.show_library()
        screen = window.pages.currentWidget()
        assert isinstance(screen, LibraryScreen)
        screen.tabs.setCurrentIndex(place)
        screen.due._today = lambda: date(2099, 1, 1)
        screen.due.look()
        screen.due.finish()
        assert screen.due.isVisible()
        return window

    return show


LISTS = {f"list {place + 1} of the first screen": _one_list(place) for place in range(6)}
ALL_PAGES = {**PAGES, "pictures of a recording": _many_pictures, **LISTS}


@pytest.mark.parametrize("name", ALL_PAGES)
def test_no_access_key_stands_twice(
    name: str,
    tmp_path: Path,
    shown: Callable[[QWidget], QWidget],
    messages: RecordingMessages,
) -> None:
    path = tmp_path / "bench.library"
    fitting_id, deck_id = one_of_everything(path, finish=name == "swap" or name in LISTS)
    window = MainWindow(
        numbers=Numbers(), preferences=Preferences(tmp_path / "own.ini"), messages=messages
    )
    window.open_library(path)
    shown(window)
    page = ALL_PAGES[name](window, fitting_id, deck_id)
    settle(window)
    messages.answers = [1]
    assert keys_of(page), "the menus at least have keys, and so has a dialog"
    assert twice(keys_of(page)) == []
    for menu in page.findChildren(QMenu):
        assert twice(letters(*(act.text() for act in menu.actions()))) == [], menu.title()
