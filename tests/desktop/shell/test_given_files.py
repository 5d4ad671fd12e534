"""Files dropped on the window: documents come in as by Import, a library is asked about."""

from __future__ import annotations

from pathlib import Path

import pytest

from core.store import Library
from core.store.exporting import of_decks, write_document
from desktop.library.editor import RecordEditor
from desktop.library.screen import LibraryScreen
from desktop.shell.main_window import MainWindow
from tests.desktop.kit import RecordingMessages, drop
from tests.examples import deck


@pytest.fixture
def open_window(window: MainWindow, tmp_path: Path) -> MainWindow:
    window.open_library(tmp_path / "own.library")
    return window


@pytest.fixture
def documents(tmp_path: Path) -> list[Path]:
    """Two documents of another bench, each with a deck."""
    made = []
    with Library.open(tmp_path / "other.library") as other:
        for name in ("Deck from afar", "Deck from farther"):
            kept = other.keep_deck(deck(name=name))
            made.append(tmp_path / f"{name}.json")
            write_document(other, made[-1], of_decks(other, kept.id))
    return made


def names(window: MainWindow) -> set[str]:
    assert window.library is not None
    return {row.name for row in window.library.decks(archived=False)}


def test_documents_come_in_one_after_another_and_are_taken_back_one_by_one(
    open_window: MainWindow, messages: RecordingMessages, documents: list[Path]
) -> None:
    assert drop(open_window, *documents)
    assert {"Deck from afar", "Deck from farther"} <= names(open_window)
    assert [told.title for told in messages.told] == ["Imported", "Imported"]
    screen = open_window.pages.currentWidget()
    assert isinstance(screen, LibraryScreen)
    screen.acts.undo()
    assert "Deck from afar" in names(open_window)
    assert "Deck from farther" not in names(open_window)
    screen.acts.undo()
    assert "Deck from afar" not in names(open_window)


def test_a_library_is_opened_only_once_that_was_said(
    open_window: MainWindow, messages: RecordingMessages, documents: list[Path], tmp_path: Path
) -> None:
    messages.answers = [1, 0]
    other = tmp_path / "other.library"
    drop(open_window, other)
    assert "Deck from afar" not in names(open_window)
    drop(open_window, other)
    assert "Deck from afar" in names(open_window)
    assert "other.library" in messages.asked[0].sentence


def test_what_is_neither_gets_one_sentence_and_changes_nothing(
    open_window: MainWindow, messages: RecordingMessages, tmp_path: Path, documents: list[Path]
) -> None:
    before = names(open_window)
    picture, broken = tmp_path / "deck.txt", tmp_path / "broken.json"
    picture.write_bytes(b"\x89PNG")
    broken.write_bytes(b"{")
    drop(open_window, picture, tmp_path, broken, tmp_path / "gone.json", documents[0])
    assert len(messages.told) == 5
    assert messages.told[0].sentence == "deck.txt is neither a document nor a library of Setdown."
    assert "Deck from afar" in names(open_window), "the good one comes in all the same"
    assert names(open_window) - before == {"Deck from afar"}


def test_words_that_are_dragged_are_not_taken(open_window: MainWindow) -> None:
    assert not drop(open_window)


def test_a_form_that_is_not_saved_is_asked_about_first(
    open_window: MainWindow, messages: RecordingMessages, documents: list[Path]
) -> None:
    open_window.show_editor("deck")
    form = open_window.pages.currentWidget()
    assert isinstance(form, RecordEditor)
    form.suggest_name("Not saved yet")
    messages.answers = [None]
    drop(open_window, documents[0])
    assert len(messages.asked) == 1
    assert open_window.pages.currentWidget() is form
    assert "Deck from afar" not in names(open_window)


def test_a_document_named_at_the_start_is_asked_about(
    open_window: MainWindow, messages: RecordingMessages, documents: list[Path]
) -> None:
    messages.answers = [None]
    open_window.given.take(documents[:1], asks=True)
    assert "Deck from afar" not in names(open_window), "Escape takes nothing in"
    messages.answers = [1, 0]
    open_window.given.take(documents, asks=True)
    assert "Deck from afar" not in names(open_window)
    assert "Deck from farther" in names(open_window)
