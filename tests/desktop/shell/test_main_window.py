from __future__ import annotations

import gc
import sqlite3
import weakref
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtWidgets import QApplication, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from core.fitting import NoteWritten
from core.language import Numbers
from core.store import Library
from core.store.sqlite.backups import FileBackups
from desktop.library.backups_page import BackupsPage
from desktop.library.editor import RecordEditor
from desktop.library.screen import LibraryScreen
from desktop.library.start_page import StartPage
from desktop.shell.main_window import MainWindow
from desktop.widgets.library_problem_page import LibraryProblemPage
from desktop.widgets.preferences import Preferences
from desktop.wizard import Wizard
from tests.core.store.memory import MemoryAddress
from tests.desktop.kit import RecordingMessages, focused

Show = Callable[[QWidget], QWidget]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = tmp_path / "bench"
    folder.mkdir()
    return folder


@pytest.fixture
def open_window(window: MainWindow, folder: Path) -> MainWindow:
    window.open_library(folder / "test.library")
    return window


def test_a_library_of_another_engine_is_worked_in_and_offers_no_backups_as_files(
    window: MainWindow, folder: Path
) -> None:
    window.open_library(MemoryAddress("bench", folder))
    library = of(window)
    assert isinstance(page(window), LibraryScreen)
    window.menus.file.aboutToShow.emit()
    assert not window.menus.acts["backups"].isEnabled()
    assert window.menus.acts["export"].isEnabled()
    fitting = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)
    window.open_fitting(fitting.id)
    assert isinstance(page(window), Wizard)


def page(window: MainWindow) -> QWidget:
    widget = window.pages.currentWidget()
    assert widget is not None
    return widget


def of(window: MainWindow) -> Library:
    assert window.library is not None
    return window.library


def take(window: MainWindow, key: str) -> None:
    trouble = page(window)
    assert isinstance(trouble, LibraryProblemPage)
    trouble.buttons[key].click()


def offered(window: MainWindow) -> list[str]:
    trouble = page(window)
    assert isinstance(trouble, LibraryProblemPage)
    return list(trouble.buttons)


def test_from_the_first_screen_to_a_fitting_and_back_by_keys_alone(
    open_window: MainWindow, qtbot: QtBot
) -> None:
    window, library = open_window, of(open_window)
    deck, cartridge = library.decks()[1], library.cartridges()[2]
    qtbot.keyClick(focused(), Qt.Key.Key_Return)
    assert isinstance(page(window), StartPage)
    qtbot.keyClicks(focused(), deck.name)
    qtbot.keyClick(focused(), Qt.Key.Key_Return)
    qtbot.keyClicks(focused(), cartridge.name)
    qtbot.keyClick(focused(), Qt.Key.Key_Return)
    qtbot.keyClick(focused(), Qt.Key.Key_Return)
    assert isinstance(page(window), Wizard)
    assert window.windowTitle() == f"{deck.name} with {cartridge.name} – Setdown"
    (fitting,) = library.fittings()
    assert (fitting.deck_id, fitting.cartridge_id) == (deck.id, cartridge.id)
    qtbot.keyClick(focused(), Qt.Key.Key_W, Qt.KeyboardModifier.ControlModifier)
    screen = page(window)
    assert isinstance(screen, LibraryScreen)
    assert window.windowTitle() == "Setdown"
    assert screen.primary.accessibleName().startswith(f"Resume: {deck.name} with")
    assert focused() is screen.primary
    qtbot.keyClick(focused(), Qt.Key.Key_Return)
    assert isinstance(page(window), Wizard)


def test_a_deck_is_corrected_and_the_list_shows_it(open_window: MainWindow, qtbot: QtBot) -> None:
    window, library = open_window, of(open_window)
    deck = library.decks()[0]
    window.show_editor("deck", deck.id)
    editor = page(window)
    assert isinstance(editor, RecordEditor)
    assert deck.name in window.windowTitle()
    qtbot.keyClick(focused(), Qt.Key.Key_End)
    qtbot.keyClicks(focused(), " B")
    qtbot.keyClick(focused(), Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    screen = page(window)
    assert isinstance(screen, LibraryScreen)
    assert screen.tabs.currentWidget() is screen.decks
    assert screen.decks.current_words() == f"{deck.name} B"


def test_pages_that_were_left_do_not_pile_up(open_window: MainWindow) -> None:
    for _ in range(5):
        open_window.show_start()
        open_window.show_editor("cartridge")
        open_window.show_library()
    assert open_window.pages.count() == 1


def test_nothing_of_a_library_that_was_left_is_kept(
    open_window: MainWindow, folder: Path, qtbot: QtBot
) -> None:
    """Every screen left behind held its lists and its library, and memory grew with each."""
    library = of(open_window)
    library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)
    del library
    open_window.open_library(folder / "between.library")
    open_window.open_library(folder / "test.library")  # its screen never shows the welcome
    screen = page(open_window)
    assert isinstance(screen, LibraryScreen)
    gone, library_gone = weakref.ref(screen), weakref.ref(of(open_window))
    del screen
    open_window.open_library(folder / "another.library")

    def is_let_go() -> bool:
        gc.collect()
        return gone() is None and library_gone() is None

    qtbot.waitUntil(is_let_go)


def test_the_window_closes_without_a_word_when_nothing_would_be_lost(
    open_window: MainWindow, messages: RecordingMessages
) -> None:
    open_window.show_editor("deck", of(open_window).decks()[0].id)
    assert open_window.close()
    assert not messages.asked
    assert open_window.library is None


def test_closing_over_an_unsaved_form_asks_and_can_be_taken_back(
    open_window: MainWindow, messages: RecordingMessages, qtbot: QtBot
) -> None:
    open_window.show_editor("deck", of(open_window).decks()[0].id)
    field = focused()
    assert isinstance(field, QLineEdit)
    qtbot.keyClicks(field, " changed")
    messages.answers = [None]
    assert not open_window.close()
    assert field.text().endswith(" changed")
    messages.answers = [0]
    assert open_window.close()


def test_who_and_window_are_remembered_at_the_next_start(
    open_window: MainWindow, preferences: Preferences, tmp_path: Path
) -> None:
    preferences.remember_who("Ada")
    open_window.close()
    again = Preferences(tmp_path / "remembered.ini")
    assert again.who == "Ada"
    assert again.geometry is not None


def test_everything_confirmed_is_there_after_a_restart(
    open_window: MainWindow,
    folder: Path,
    messages: RecordingMessages,
    preferences: Preferences,
    shown: Show,
) -> None:
    library = of(open_window)
    fitting = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)
    library.append(fitting.id, NoteWritten(text="Belt is new."))
    open_window.close()
    second = MainWindow(numbers=Numbers(), preferences=preferences, messages=messages)
    shown(second)
    second.open_library(folder / "test.library")
    assert len(of(second).fitting(fitting.id).entries) == 1
    second.close()


# a library that does not open


def test_a_missing_folder_can_be_made_and_tried_again(window: MainWindow, folder: Path) -> None:
    path = folder / "stick" / "shop.library"
    window.open_library(path)
    assert offered(window) == ["again", "other", "new"]
    path.parent.mkdir()
    take(window, "again")
    assert isinstance(page(window), LibraryScreen)


def test_a_file_of_another_kind_is_left_as_it_is_and_another_can_be_chosen(
    window: MainWindow, folder: Path, messages: RecordingMessages
) -> None:
    letter = folder / "letter.txt"
    letter.write_text("Dear customer, your deck is ready.")
    window.open_library(letter)
    assert "look" not in offered(window)
    messages.files = [None]
    take(window, "other")
    assert isinstance(page(window), LibraryProblemPage)
    with Library.open(folder / "right.library"):
        pass
    messages.files = [folder / "right.library"]
    take(window, "other")
    assert isinstance(page(window), LibraryScreen)
    assert letter.read_text() == "Dear customer, your deck is ready."


def test_a_new_library_is_never_written_over_a_file(
    window: MainWindow, folder: Path, messages: RecordingMessages
) -> None:
    taken = folder / "taken.library"
    taken.write_text("not ours")
    window.open_library(taken)
    messages.files = [taken]
    take(window, "new")
    assert "already" in messages.sentences[0]
    assert taken.read_text() == "not ours"
    messages.files = [folder / "fresh"]
    take(window, "new")
    assert isinstance(page(window), LibraryScreen)
    assert of(window).address.path.name == "fresh.library"


def test_a_damaged_library_is_restored_from_a_backup(
    window: MainWindow, folder: Path, messages: RecordingMessages, qtbot: QtBot
) -> None:
    path = folder / "shop.library"
    with Library.open(path) as library:
        fitting = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)
    FileBackups(path).make()
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    window.open_library(path)
    assert offered(window)[0] == "restore"
    assert "look" in offered(window)
    take(window, "restore")
    backups = page(window)
    assert isinstance(backups, BackupsPage)
    assert not backups.make.isEnabled()
    backups.back.click()
    take(window, "restore")
    backups = page(window)
    assert isinstance(backups, BackupsPage)
    qtbot.waitUntil(backups.restore.isEnabled)
    messages.answers = [1]
    qtbot.keyClick(focused(), Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: isinstance(page(window), LibraryScreen))
    assert "set aside" in messages.sentences[-1]
    assert of(window).fitting(fitting.id).id == fitting.id


def test_a_library_from_a_newer_program_is_refused_untouched(
    window: MainWindow, folder: Path
) -> None:
    path = folder / "shop.library"
    with Library.open(path):
        pass
    with sqlite3.connect(path) as file:
        file.execute("PRAGMA user_version=999")
    file.close()
    before = path.read_bytes()
    window.open_library(path)
    assert offered(window) == ["other", "new"]
    assert path.read_bytes() == before


def test_a_second_problem_keeps_the_open_library_within_reach(
    open_window: MainWindow, folder: Path, messages: RecordingMessages
) -> None:
    screen = page(open_window)
    (folder / "bad.library").write_text("no")
    messages.answers = [0]
    messages.files = [folder / "bad.library"]
    open_window.menus.acts["open"].trigger()
    assert "back" in offered(open_window)
    take(open_window, "back")
    assert page(open_window) is screen


def test_a_library_to_look_at_shows_all_and_refuses_entries_in_a_sentence(
    open_window: MainWindow, folder: Path, messages: RecordingMessages
) -> None:
    from desktop.shell.library_opening import LibraryOpening

    total = len(of(open_window).decks())
    open_window.open(LibraryOpening(folder / "test.library", read_only=True))
    screen = page(open_window)
    assert isinstance(screen, LibraryScreen)
    assert screen.decks.model.total == total
    assert "look only" in messages.sentences[0]
    screen.decks.buttons["archive"].click()
    assert "nothing can be entered" in messages.sentences[-1]
    assert screen.decks.model.total == total


def test_the_open_library_is_opened_again_without_losing_it(
    open_window: MainWindow, folder: Path
) -> None:
    open_window.open_library(folder / "test.library")
    assert isinstance(page(open_window), LibraryScreen)
    assert open_window.pages.count() == 1


class _Windows(QObject):
    """Notes every window that is shown anywhere in the application."""

    def __init__(self, app: QApplication) -> None:
        super().__init__(app)
        self.seen: list[QWidget] = []
        app.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        is_shown = event.type() == QEvent.Type.Show
        if is_shown and isinstance(watched, QWidget) and watched.isWindow():
            self.seen.append(watched)
        return False


def test_no_part_of_a_page_flashes_up_as_a_window_of_its_own(
    open_window: MainWindow, qapp: QApplication, folder: Path
) -> None:
    windows = _Windows(qapp)
    library = of(open_window)
    fitting = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)
    open_window.show_start()
    for kind, rows in (("deck", library.decks()), ("cartridge", library.cartridges())):
        open_window.show_editor(kind)
        open_window.show_editor(kind, rows[0].id)
    open_window.open_fitting(fitting.id)
    open_window.show_library()
    (folder / "bad.library").write_text("no")
    open_window.open_library(folder / "bad.library")
    qapp.processEvents()
    qapp.removeEventFilter(windows)
    assert windows.seen == []


def test_a_foreign_lock_does_not_hold_the_window_up_for_seconds(open_window: MainWindow) -> None:
    ((waits_ms,),) = of(open_window)._backend.rows("PRAGMA busy_timeout")
    assert waits_ms <= 500


def test_the_window_fits_the_screen_with_its_title_bar(
    preferences: Preferences, messages: RecordingMessages, shown: Show, qapp: QApplication
) -> None:
    made = MainWindow(numbers=Numbers(), preferences=preferences, messages=messages)
    room = made.screen().availableGeometry()
    assert made.width() < room.width()
    assert made.height() + 30 < room.height(), "a title bar takes about 30 pixels"
    shown(made)
