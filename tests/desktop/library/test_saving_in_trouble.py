"""Whatever the disk does, forms keep what is typed, and what comes in comes in whole or not."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from core.language import Numbers
from core.store import Library
from core.store.exporting import Selection, document_pieces, of_library
from desktop.library.editor import CARTRIDGE, DECK, RecordEditor, RecordKind
from desktop.library.import_export import ImportExport
from desktop.library.start_page import StartPage
from desktop.shell.main_window import MainWindow
from tests.desktop.kit import TROUBLES, RecordingMessages
from tests.examples import cartridge, deck

Show = Callable[[QWidget], QWidget]


def content(library: Library, selection: Selection | None = None) -> str:
    pieces = document_pieces(library, selection or of_library(library))
    return "".join(line for line in "".join(pieces).splitlines() if "made_at" not in line)


@pytest.mark.parametrize("trouble", TROUBLES)
@pytest.mark.parametrize("record_kind", [DECK, CARTRIDGE], ids=["a deck", "a cartridge"])
def test_a_form_keeps_what_is_typed_until_it_is_saved(
    library: Library,
    messages: RecordingMessages,
    shown: Show,
    qtbot: QtBot,
    record_kind: RecordKind,
    trouble: str,
) -> None:
    rows = library.decks() if record_kind is DECK else library.cartridges()
    page = RecordEditor(record_kind, library, rows[0].id, numbers=Numbers(","), messages=messages)
    shown(page)
    line = next(stop for stop in page.form.tab_stops() if isinstance(stop, QLineEdit))
    qtbot.keyClicks(line, " changed")
    typed = [stop.property("text") for stop in page.form.tab_stops()]
    before = content(library)
    in_trouble, part = TROUBLES[trouble]
    with in_trouble(library):
        assert not page.save()
    assert part in messages.told[-1].sentence
    assert [stop.property("text") for stop in page.form.tab_stops()] == typed
    assert page.has_changes
    assert page.isVisible()
    assert content(library) == before
    assert page.save()
    assert not page.has_changes
    assert content(library) != before


@pytest.mark.parametrize("trouble", TROUBLES)
def test_a_document_comes_in_whole_or_not_at_all(
    library: Library, messages: RecordingMessages, tmp_path: Path, trouble: str
) -> None:
    with Library.open(tmp_path / "other.library") as other:
        one, its = other.keep_deck(deck(name="From elsewhere")), other.keep_cartridge(cartridge())
        other.start_fitting(one.id, its.id)
        path = tmp_path / "in.json"
        path.write_text("".join(document_pieces(other, of_library(other))), encoding="utf-8")
    before = content(library)
    carrier = ImportExport(library, Numbers(), messages)
    messages.files = [path, path]
    in_trouble, part = TROUBLES[trouble]
    with in_trouble(library):
        assert not carrier.import_document()
    assert part in messages.told[-1].sentence
    assert content(library) == before
    assert carrier.import_document()
    assert "From elsewhere" in content(library)


@pytest.fixture
def window(window: MainWindow, library: Library) -> MainWindow:
    window.open_library(library.address.path)
    return window


@pytest.mark.parametrize("trouble", TROUBLES)
def test_a_fitting_that_could_not_be_begun_leaves_the_choice_on_the_screen(
    window: MainWindow, library: Library, messages: RecordingMessages, trouble: str
) -> None:
    one, its = library.decks()[1], library.cartridges()[2]
    window.show_start(one.id, its.id)
    page = window.pages.currentWidget()
    assert isinstance(page, StartPage)
    in_trouble, part = TROUBLES[trouble]
    with in_trouble(library):
        page.start.click()
    QApplication.processEvents()
    assert part in messages.told[-1].sentence
    assert window.pages.currentWidget() is page
    assert (page.decks.current_id, page.cartridges.current_id) == (one.id, its.id)
    assert library.fittings() == ()
    page.start.click()
    (begun,) = library.fittings()
    assert (begun.deck_id, begun.cartridge_id) == (one.id, its.id)
