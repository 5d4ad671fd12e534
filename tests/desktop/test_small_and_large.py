"""Pages in a small window with large type: nothing is squeezed, cut or out of reach."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QComboBox,
    QLineEdit,
    QTableView,
    QWidget,
)

from core.language import Numbers
from core.store import Library
from core.store.documents import document_from
from core.store.exporting import document_pieces, of_decks
from core.store.importing import plan
from desktop.library.screen import LibraryScreen
from desktop.library.start_page import StartPage
from desktop.library.versions_dialog import VersionsDialog
from desktop.shell.appearance_panel import AppearancePanel
from desktop.shell.main_window import MainWindow
from desktop.widgets import theme
from desktop.widgets.preferences import Preferences
from tests.desktop.kit import RecordingMessages, settle
from tests.examples import deck

SMALL = (900, 600)
LARGE_TYPE = 1.5


@pytest.fixture(autouse=True)
def large_type(qapp: QApplication) -> Iterator[None]:
    theme.apply(qapp, "light", text_scale=LARGE_TYPE)
    yield
    theme.apply(qapp, "light", text_scale=1.0)


@pytest.fixture
def small(
    library: Library,
    preferences: Preferences,
    messages: RecordingMessages,
    shown: Callable[..., QWidget],
) -> MainWindow:
    made = MainWindow(numbers=Numbers(), preferences=preferences, messages=messages)
    for row in library.cartridges()[:4]:
        library.start_fitting(library.keep_deck(deck()).id, row.id)
    made.open_library(library.address.path)
    shown(made, *SMALL)
    settle()
    assert (made.width(), made.height()) == SMALL
    return made


def squeezed(page: QWidget) -> list[str]:
    """Return what is on show in less room than it needs."""
    kinds = (QLineEdit, QComboBox, QAbstractButton)
    parts: list[QWidget] = [one for kind in kinds for one in page.findChildren(kind)]
    return [
        one.accessibleName() or one.objectName() or type(one).__name__
        for one in parts
        if one.isVisible()
        and not isinstance(one.parent(), QComboBox)  # its line is as high as it
        and one.height() < one.minimumSizeHint().height()
    ]


def rows_in_sight(records: QTableView) -> float:
    return records.viewport().height() / records.verticalHeader().defaultSectionSize()


def test_with_a_customer_no_field_of_the_start_is_squeezed(small: MainWindow) -> None:
    small.show_start()
    page = small.pages.currentWidget()
    assert isinstance(page, StartPage)
    page.for_customer.box.setChecked(True)
    settle()
    assert squeezed(page) == []
    assert rows_in_sight(page.decks.table) >= 3
    assert page.start.isVisible()
    assert page.for_customer.form is not None
    for field in page.for_customer.form.tab_stops():
        field.setFocus()
        settle()
        assert field.visibleRegion().boundingRect() == field.rect(), field.accessibleName()


def test_the_list_of_the_library_has_room_for_three_rows(small: MainWindow) -> None:
    page = small.pages.currentWidget()
    assert isinstance(page, LibraryScreen)
    page.say_where_the_latest_stands()
    settle()
    assert squeezed(page) == []
    assert rows_in_sight(page.under_way.table) >= 3
    last = page.take_in
    last.setFocus()
    settle()
    assert last.visibleRegion().boundingRect() == last.rect(), "what does not fit is scrolled to"


def test_a_long_name_keeps_its_end_and_is_whole_in_its_tip(
    small: MainWindow, library: Library
) -> None:
    name = "Deck by the window, black lacquer, with the second belt and its own lid"
    library.keep_deck(deck(name=name))
    small.show_library()
    page = small.pages.currentWidget()
    assert isinstance(page, LibraryScreen)
    page.tabs.setCurrentWidget(page.decks)
    page.decks.filter.setText("lacquer")
    settle()
    table = page.decks.table
    assert table.textElideMode() is Qt.TextElideMode.ElideMiddle  # numbers stand at the end
    cell = table.model().index(0, 0)
    assert table.fontMetrics().horizontalAdvance(name) > table.columnWidth(0)
    assert name in cell.data(Qt.ItemDataRole.ToolTipRole).replace("\u200b", "")


def test_rows_grow_with_the_type(small: MainWindow, qapp: QApplication) -> None:
    page = small.pages.currentWidget()
    assert isinstance(page, LibraryScreen)
    records = page.under_way.table
    was = records.verticalHeader().defaultSectionSize()
    theme.apply(qapp, "light", text_scale=1.75)
    settle()
    assert records.verticalHeader().defaultSectionSize() > was


def test_no_choice_of_colours_and_type_is_cut(small: MainWindow) -> None:
    small.show_appearance()
    settle()
    panel = small.findChild(AppearancePanel)
    assert panel is not None
    for one in (*panel.schemes.values(), *panel.scales.values(), panel.done_button):
        assert one.width() >= one.sizeHint().width(), one.text()
        assert one.visibleRegion().boundingRect() == one.rect(), one.text()


def test_the_two_versions_of_an_import_fit_the_screen(
    small: MainWindow, library: Library, tmp_path: Path
) -> None:
    deck_id = library.keep_deck(deck(notes="here")).id
    with Library.open(tmp_path / "other.library") as other:
        other.deck_records.add(deck_id, deck(notes="there"), who="B")
        pieces = document_pieces(other, of_decks(other, deck_id))
        document = document_from("".join(pieces).encode(), "a document")
    (item,) = [one for one in plan(library, document).conflicts if one.id == deck_id]
    assert item.versions is not None
    dialog = VersionsDialog(item, item.versions, 2, Numbers(), parent=small)
    free = small.screen().availableSize()
    assert dialog.width() < free.width()
    assert dialog.height() < free.height()
    dialog.close()
