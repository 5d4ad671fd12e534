"""What is typed into the form of a record and not saved is there again after a kill."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLineEdit, QPlainTextEdit, QPushButton, QWidget

from core.language import Numbers
from core.records import Headshell, Job
from core.store import Library
from core.store.exporting import of_library
from desktop.forms.form import Form
from desktop.forms.form_draft import FormDraft
from desktop.forms.model_fields import GroupEditor
from desktop.history.service_panel import ServicePanel
from desktop.library.editor import RECORD_KINDS, RecordEditor
from desktop.library.job_page import JobPage
from tests.core.store.worked import content_of
from tests.desktop.kit import HistoryBench, RecordingMessages, Show, focus, press
from tests.examples import cartridge, deck

ROOT = Path(__file__).parents[3]
Opened = tuple[Form, FormDraft, QWidget]


@pytest.fixture
def again(
    library: Library, messages: RecordingMessages, shown: Show
) -> Callable[..., RecordEditor]:
    """Return a function that opens a form in another window, as after a start."""

    def open_again(sort: str, record_id: str = "", *, copies: bool = False) -> RecordEditor:
        other = Library.open(library.address)
        page: RecordEditor
        if sort == "job":
            page = JobPage(other, record_id, who="Ann", numbers=Numbers(), messages=messages)
        else:
            page = RecordEditor(
                RECORD_KINDS[sort],
                other,
                record_id,
                copies=copies,
                who="Ann",
                numbers=Numbers(),
                messages=messages,
            )
        page.destroyed.connect(other.close)
        shown(page)
        return page

    return open_again


def killed(page: RecordEditor | ServicePanel) -> None:
    """Leave behind what a killed program does: its drafts, and a lock that is nobody's."""
    for _ in range(3):
        QApplication.processEvents()
    page.form_draft.keeper.flush()
    page.form_draft.keeper._mark.take_down()


def put_words(page: RecordEditor, name: str, words: str) -> None:
    stop = page.form.fields.entries[name].tab_stops()[0]
    if isinstance(stop, QPlainTextEdit):
        stop.setPlainText(words)
    else:
        stop.setText(words)  # type: ignore[attr-defined]  # a line
    QApplication.processEvents()


def words_in(page: RecordEditor, name: str) -> str:
    return str(page.form.fields.entries[name].raw())


def _on_file(library: Library) -> dict[str, str]:
    return {
        "deck": library.keep_deck(deck()).id,
        "cartridge": library.keep_cartridge(cartridge()).id,
        "headshell": library.keep_headshell(Headshell(name="Example headshell", mass_g=9.0)).id,
        "job": library.keep_job(Job(brought="a deck")).id,
    }


FIELDS = {"deck": "notes", "cartridge": "notes", "headshell": "name", "job": "brought"}


@pytest.mark.parametrize("sort", FIELDS)
@pytest.mark.parametrize("is_new", [True, False], ids=["new", "on file"])
def test_what_was_typed_stands_there_again_and_is_no_record(
    library: Library, again: Callable[..., RecordEditor], sort: str, *, is_new: bool
) -> None:
    ids = _on_file(library)
    before = content_of(library, of_library(library))
    record_id = "" if is_new else ids[sort]
    first = again(sort, record_id)
    put_words(first, FIELDS[sort], "half a wo")
    killed(first)
    page = again(sort, record_id)
    assert words_in(page, FIELDS[sort]) == "half a wo"
    assert page.draft_line.text().startswith("Typed before, not saved yet (2")
    assert page.has_changes
    assert content_of(library, of_library(library)) == before
    assert not again(sort, ids[sort] if is_new else "").has_changes, "it is of one form alone"


def test_what_was_typed_behind_the_fold_is_kept_there_and_a_fault_in_it_is_shown(
    library: Library, again: Callable[..., RecordEditor]
) -> None:
    first = again("deck", _on_file(library)["deck"], copies=True)
    put_words(first, "name", "Another deck")
    group = first.form.fields.entries["amplifier"]
    assert isinstance(group, GroupEditor)
    first.everything.setChecked(True)
    line = group.fields.entries["input_pf"].tab_stops()[0]
    assert isinstance(line, QLineEdit)
    line.setText("lots")
    first.everything.setChecked(False)
    killed(first)
    page = again("deck", _on_file(library)["deck"], copies=True)
    assert not page.has_changes, "a copy of another deck"
    page = again("deck", first._copied, copies=True)
    assert page.has_changes
    assert not page.everything.isChecked()
    assert not page.save()
    group = page.form.fields.made["amplifier"]
    assert isinstance(group, GroupEditor)
    (line,) = group.fields.entries["input_pf"].tab_stops()
    assert isinstance(line, QLineEdit)
    assert (line.text(), line.isVisible()) == ("lots", True)
    assert focus() is line


@pytest.mark.parametrize("sort", FIELDS)
def test_saving_ends_the_draft(
    library: Library, again: Callable[..., RecordEditor], sort: str
) -> None:
    record_id = _on_file(library)[sort]
    first = again(sort, record_id)
    put_words(first, FIELDS[sort], "whole words")
    killed(first)
    page = again(sort, record_id)
    assert page.save()
    assert page.draft_line.text() == ""
    assert library.form_drafts.of(record_id, sort) == ()
    assert not again(sort, record_id).has_changes
    assert words_in(again(sort, record_id), FIELDS[sort]) == "whole words"


def test_clearing_empties_the_form_for_good(
    library: Library, again: Callable[..., RecordEditor]
) -> None:
    record_id = _on_file(library)["deck"]
    for one in (record_id, ""):
        first = again("deck", one)
        put_words(first, "notes", "half a wo")
        killed(first)
        page = again("deck", one)
        page.draft_line.buttons[0].setFocus()
        press(Qt.Key.Key_Return)
        assert words_in(page, "notes") == ""
        assert not page.has_changes
        killed(page)
        assert not again("deck", one).has_changes


def test_leaving_without_saving_throws_it_away(
    library: Library, again: Callable[..., RecordEditor], messages: RecordingMessages
) -> None:
    first = again("cartridge")
    put_words(first, "name", "Example cartr")
    first.form_draft.keeper.flush()
    assert len(library.form_drafts.of("", "cartridge")) == 1
    messages.answers = [1]
    first.leave()
    assert library.form_drafts.of("", "cartridge") == ()


def test_a_draft_over_an_older_revision_is_set_beside_the_newer(
    library: Library, again: Callable[..., RecordEditor]
) -> None:
    record_id = _on_file(library)["deck"]
    first = again("deck", record_id)
    put_words(first, "notes", "half a wo")
    killed(first)
    library.keep_deck(deck(owner_reference="Shelf 9"), id=record_id, who="Bo")
    page = again("deck", record_id)
    assert page.notice.isVisible()
    assert "Bo" in page.newer.text()
    assert not page.save(), "the newer state is not written over"
    assert page.comparison is not None
    assert library.deck(record_id).thing.owner_reference == "Shelf 9"


def test_another_window_says_so_and_nothing_is_taken_from_it(
    library: Library, again: Callable[..., RecordEditor]
) -> None:
    record_id = _on_file(library)["deck"]
    first = again("deck", record_id)
    put_words(first, "notes", "half a wo")
    first.form_draft.keeper.flush()
    page = again("deck", record_id)
    assert not page.has_changes
    assert "another window" in page.draft_line.text()
    page.draft_line.buttons[1].click()
    assert words_in(page, "notes") == "half a wo"
    page.form_draft.keeper.flush()
    assert len(library.form_drafts.of(record_id, "deck")) == 2


def test_a_copy_has_a_draft_of_its_own(
    library: Library, again: Callable[..., RecordEditor]
) -> None:
    record_id = _on_file(library)["deck"]
    first = again("deck", record_id, copies=True)
    put_words(first, "notes", "half a wo")
    killed(first)
    assert not again("deck").has_changes
    assert words_in(again("deck", record_id, copies=True), "notes") == "half a wo"


def test_what_lies_behind_the_fold_again_is_asked_about_too(
    library: Library, again: Callable[..., RecordEditor], messages: RecordingMessages
) -> None:
    page = again("deck")
    page.everything.setChecked(True)
    put_words(page, "notes", "half a wo")
    page.everything.setChecked(False)
    assert page.has_changes
    messages.answers = [None]
    assert not page.may_leave()
    assert len(messages.asked) == 1


def test_a_damaged_or_hostile_draft_opens_no_worse_than_none(
    library: Library, again: Callable[..., RecordEditor]
) -> None:
    for body in ('{"fields": 3}', "[", '{"fields": {"plinth": [1, {"feet": "x"}], "name": 7}}'):
        with library._backend.transaction():
            library._backend.insert(
                "form_drafts",
                ("record_id", "step", "form", "window_id", "at", "who", "body"),
                [("", "deck", "", body, "2026-05-01T10:00:00+00:00", "", body)],
            )
    page = again("deck")
    assert words_in(page, "name") == ""


def test_a_service_half_typed_is_offered_when_its_form_is_opened(history: HistoryBench) -> None:
    history.keep("2025-05-01")
    first = history.page().service
    first.ask()
    first.form.fields.entries["done"].put("new belt, not")
    killed(first)
    second = history.page().service
    assert not second.has_unsaved(), "not before it is asked for"
    second.ask()
    assert second.form.fields.entries["done"].raw() == "new belt, not"
    assert second.draft_line.text().startswith("Typed before")
    second.drop_button.click()
    assert history.library.form_drafts.of(history.deck_id, "service") == ()
    assert history.library.service.of_deck(history.deck_id) == ()


def test_a_killed_program_shows_it_again(
    library: Library, again: Callable[..., RecordEditor]
) -> None:
    if sys.platform == "win32":
        pytest.skip("nobody is killed so there")
    code = (
        "import os, signal, sys\n"
        "from PySide6.QtCore import QTimer\n"
        "from PySide6.QtWidgets import QApplication\n"
        "from desktop.shell.main_window import MainWindow\n"
        "from desktop.widgets.preferences import Preferences\n"
        "from core.language import Numbers\n"
        "from pathlib import Path\n"
        "app = QApplication([])\n"
        "window = MainWindow(numbers=Numbers(), preferences=Preferences(Path(sys.argv[2])))\n"
        "window.show()\n"
        "window.open_library(Path(sys.argv[1]))\n"
        "window.show_editor('deck')\n"
        "line = window.pages.currentWidget().form.fields.entries['name'].tab_stops()[0]\n"
        "line.setText('Half a na')\n"
        "QTimer.singleShot(2500, lambda: os.kill(os.getpid(), signal.SIGKILL))\n"
        "app.exec()\n"
    )
    place = library.address.path
    ended = subprocess.run(
        [sys.executable, "-c", code, str(place), str(place.with_suffix(".ini"))],
        cwd=ROOT,
        check=False,
    )
    assert ended.returncode == -9
    page = again("deck")
    assert words_in(page, "name") == "Half a na"
    assert page.draft_line.text().startswith("Typed before, not saved yet")
    assert not any(row.name.startswith("Half") for row in library.decks())
    assert page.findChild(QPushButton, "editorSave") is not None
