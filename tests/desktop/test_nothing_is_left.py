"""Pages that are opened and closed again and again leave nothing behind."""

from __future__ import annotations

import gc
from collections import Counter
from collections.abc import Callable

import pytest
from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QApplication, QWidget

from core.language import Numbers
from core.store import Library
from desktop.shell.main_window import MainWindow
from desktop.widgets.preferences import Preferences
from tests.desktop.kit import RecordingMessages, Show
from tests.examples import cartridge, deck

TIMES = 5
"""What grows by one at each opening is more than chance after so many."""

Open = Callable[[MainWindow, "Stock"], object]


class Stock:
    """What the pages are opened for."""

    def __init__(self, library: Library) -> None:
        self.deck = library.keep_deck(deck()).id
        self.cartridge = library.keep_cartridge(cartridge()).id


PAGES: dict[str, Open] = {
    "library": lambda window, _stock: window.show_library(),
    "start": lambda window, stock: window.show_start(stock.deck, stock.cartridge),
    "deck": lambda window, stock: window.show_editor("deck", stock.deck),
    "new deck": lambda window, _stock: window.show_editor("deck"),
    "cartridge": lambda window, stock: window.show_editor("cartridge", stock.cartridge),
    "headshell": lambda window, _stock: window.show_editor("headshell"),
}


def turn(times: int = 6) -> None:
    """Let the window's loop turn, and what was let go end."""
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    for _ in range(times):
        app.processEvents()
        app.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)


def there_is() -> Counter[str]:
    """Count the widgets there are, and the objects of our own classes."""
    gc.collect()
    turn()
    gc.collect()
    found = Counter(f"widget {type(one).__name__}" for one in QApplication.allWidgets())
    found.update(
        f"object {kind.__qualname__}"
        for one in gc.get_objects()
        if str((kind := type(one)).__module__).startswith("desktop.")
    )
    return found


@pytest.fixture
def window(
    library: Library, shown: Show, preferences: Preferences, messages: RecordingMessages
) -> MainWindow:
    """Return the window of a library, on show."""
    made = MainWindow(numbers=Numbers(), preferences=preferences, messages=messages)
    made.open_library(library.address)
    shown(made)
    return made


@pytest.mark.parametrize("name", PAGES)
def test_a_page_opened_again_and_again_leaves_nothing(
    library: Library, window: MainWindow, name: str
) -> None:
    stock = Stock(library)

    def there_and_back() -> None:
        PAGES[name](window, stock)
        turn()
        dialog = QApplication.activeModalWidget()
        if isinstance(dialog, QWidget):
            dialog.close()
        window.show_library()
        turn()

    for _ in range(3):  # what is made once for all is made
        there_and_back()
    before = there_is()
    for _ in range(TIMES):
        there_and_back()
    more = {what: count for what, count in (there_is() - before).items() if count >= TIMES}
    assert not more


class Shown(QObject):
    """Counts how often a widget comes on show."""

    def __init__(self, watched: QWidget) -> None:
        super().__init__(watched)
        self.count = 0
        watched.installEventFilter(self)

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:
        """Count, and let it pass."""
        self.count += event.type() == QEvent.Type.Show
        return False


@pytest.mark.parametrize("name", [name for name in PAGES if name != "library"])
def test_no_other_page_comes_on_show_between_two(
    library: Library, window: MainWindow, name: str
) -> None:
    stock = Stock(library)
    lists = Shown(window.pages.currentWidget())
    PAGES["start"](window, stock)
    turn()
    PAGES[name](window, stock)
    turn()
    assert lists.count == 0
    window.show_library()
    assert lists.count == 1


def test_a_page_that_goes_while_the_colours_are_chosen_leaves_nothing(
    library: Library, window: MainWindow
) -> None:
    stock = Stock(library)
    window.show_appearance()
    PAGES["start"](window, stock)
    turn()
    before = there_is()
    for _ in range(2 * TIMES):
        PAGES["start"](window, stock)
        turn()
    more = {what: count for what, count in (there_is() - before).items() if count >= TIMES}
    assert not more
