from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLineEdit, QMenu, QWidget
from pytestqt.qtbot import QtBot

from core.language.catalogue import rooms, templates
from desktop.help.help_page import HelpPage
from desktop.library.editor import RecordEditor
from desktop.library.screen import LibraryScreen
from desktop.shell.main_window import MainWindow
from desktop.widgets import theme
from desktop.widgets.preferences import Preferences
from desktop.wizard import Wizard
from tests.desktop.kit import RecordingMessages, step_page

Show = Callable[[QWidget], QWidget]
ALT = Qt.KeyboardModifier.AltModifier


@pytest.fixture
def window(window: MainWindow, tmp_path: Path) -> MainWindow:
    window.open_library(tmp_path / "first.library")
    return window


def on_show(window: MainWindow) -> QWidget:
    page = window.pages.currentWidget()
    assert page is not None
    return page


def focus() -> QWidget:
    now = QApplication.focusWidget()
    assert now is not None
    return now


@pytest.mark.qt_log_ignore("plugin does not support")  # of menus that come to the front
@pytest.mark.parametrize(
    ("key", "menu"), [(Qt.Key.Key_F, "file"), (Qt.Key.Key_V, "view"), (Qt.Key.Key_H, "help")]
)
def test_each_menu_opens_with_its_letter(
    window: MainWindow, qtbot: QtBot, key: Qt.Key, menu: str
) -> None:
    opened = getattr(window.menus, menu)
    assert isinstance(opened, QMenu)
    qtbot.keyClick(focus(), key, ALT)
    qtbot.waitUntil(opened.isVisible)
    opened.close()


def test_no_page_takes_the_letters_of_the_menus() -> None:
    taken = []
    for room in rooms():
        for key, template in templates(room).items():
            texts = [template] if isinstance(template, str) else template.values()
            if any(re.search(r"&[fvh]", text, re.IGNORECASE) for text in texts):
                taken.append(f"{room}.{key}")
    ours = ("file", "view", "help", "figures")  # the last stands inside an open menu
    assert taken == [f"shell.menu_bar.{key}" for key in sorted(ours)]


def test_help_lies_over_a_step_and_leaves_what_was_typed(
    window: MainWindow, messages: RecordingMessages, qtbot: QtBot
) -> None:
    library = window.library
    assert library is not None
    fitting = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)
    window.open_fitting(fitting.id)
    wizard = on_show(window)
    assert isinstance(wizard, Wizard)
    page, title = step_page(wizard), window.windowTitle()
    before = next(line for line in page.reading.findChildren(QLineEdit) if line.isVisible())
    before.setFocus()
    qtbot.keyClicks(before, "7")
    qtbot.keyClick(before, Qt.Key.Key_F1)
    assert isinstance(on_show(window), HelpPage)
    qtbot.keyClick(focus(), Qt.Key.Key_F1)
    assert window.pages.count() == 3, "asked for again, it is the same page"
    qtbot.keyClick(focus(), Qt.Key.Key_Escape)
    assert on_show(window) is wizard
    assert focus() is before
    assert window.windowTitle() == title
    assert before.text() == "7"
    messages.answers = [1]  # leave it when the window closes


def test_a_form_with_something_typed_is_asked_about_before_the_menu_leaves_it(
    window: MainWindow, messages: RecordingMessages, qtbot: QtBot
) -> None:
    window.show_editor("cartridge")
    form = on_show(window)
    assert isinstance(form, RecordEditor)
    qtbot.keyClicks(focus(), "A")
    window.show_help("keys")
    messages.answers = [None]
    window.menus.acts["library"].trigger()
    assert len(messages.asked) == 1
    assert isinstance(on_show(window), HelpPage)
    messages.answers = [1]
    window.menus.acts["library"].trigger()
    assert isinstance(on_show(window), LibraryScreen)


def test_a_library_that_was_open_before_is_opened_again(
    window: MainWindow, tmp_path: Path, messages: RecordingMessages
) -> None:
    second = tmp_path / "second.library"
    window.open_library(second)
    window.menus.file.aboutToShow.emit()
    (act,) = window.menus.recent.actions()
    assert act.text() == str(tmp_path / "first.library")
    act.trigger()
    assert window.library is not None
    assert str(window.library.address) == str(tmp_path / "first.library")
    window.menus.file.aboutToShow.emit()
    (act,) = window.menus.recent.actions()
    for part in tmp_path.glob("second.library*"):
        if part.is_file():
            part.unlink()
    act.trigger()
    assert "no library" in messages.sentences[-1]
    assert not second.exists(), "no new one was begun in its place"


def test_colours_and_type_change_at_once_and_for_good(
    window: MainWindow, preferences: Preferences, qapp: QApplication
) -> None:
    before = theme.current_scheme(qapp)
    try:
        window.menus.acts["larger"].trigger()
        window.menus.scheme_chosen.emit("dark")
        assert theme.current_scheme(qapp) == ("dark", 1.25)
        assert preferences.appearance == ("dark", 1.25)
        window.menus.acts["smaller"].trigger()
        window.menus.acts["smaller"].trigger()
        assert preferences.appearance == ("dark", 1.0)
    finally:
        theme.apply(qapp, before[0], text_scale=before[1])


def test_everything_is_exported_from_the_menu_wherever_one_is(
    window: MainWindow, messages: RecordingMessages, tmp_path: Path, qtbot: QtBot
) -> None:
    window.show_start()
    messages.files = [tmp_path / "all.json"]
    window.menus.acts["export"].trigger()
    assert isinstance(on_show(window), LibraryScreen)
    qtbot.waitUntil((tmp_path / "all.json").exists)


def test_the_way_to_the_library_is_offered_only_where_there_is_a_way_to_go(
    window: MainWindow,
) -> None:
    """On the library's own page the entry did nothing."""
    library = window.menus.acts["library"]
    assert isinstance(on_show(window), LibraryScreen)
    window.menus.file.aboutToShow.emit()
    assert not library.isEnabled()
    assert window.menus.acts["open"].isEnabled()
    window.show_help("words")
    window.menus.file.aboutToShow.emit()
    assert library.isEnabled()
    library.trigger()
    assert isinstance(on_show(window), LibraryScreen)
    window.menus.file.aboutToShow.emit()
    assert not library.isEnabled()
