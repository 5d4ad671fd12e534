"""Words of a document are shown as they stand, on every page: none is taken for HTML."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from pydantic import ValidationError
from PySide6.QtCore import QAbstractItemModel, QAbstractListModel, QModelIndex, Qt
from PySide6.QtGui import Qt as QtText
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QComboBox,
    QGraphicsTextItem,
    QGraphicsView,
    QLabel,
    QProgressDialog,
    QWidget,
)

from core.fitting import Entry, Finished, NoteWritten, StepAccepted, Verdict
from core.language import Numbers
from core.steps import STEP_NAMES
from core.store import Library
from core.store.documents import DocumentProblem, document_from
from core.store.exporting import document_pieces, of_library
from desktop.shell.main_window import MainWindow
from desktop.tasks.blocking_task import run_blocking
from desktop.widgets.messages import NoticeBar
from desktop.widgets.plain_text import plain_tip
from desktop.widgets.preferences import Preferences
from desktop.wizard import Wizard
from tests.desktop.kit import RecordingMessages, finished
from tests.examples import cartridge, deck

HOSTILE = "<img src='no such picture'><b>bold</b> & so"


def hostile_library(library: Library) -> tuple[str, str, str, str]:
    """Put hostile words wherever a document may bring some; return deck, cartridge, fittings."""
    record = deck(name=HOSTILE, owner_reference=HOSTILE, notes=HOSTILE)
    feet = tuple(
        foot.model_copy(update={"name": f"{HOSTILE[:30]}>{number}"})
        for number, foot in enumerate(record.plinth.feet)
    )
    plinth = record.plinth.model_copy(update={"feet": feet})
    deck_id = library.keep_deck(record.model_copy(update={"plinth": plinth}), who=HOSTILE).id
    cartridge_id = library.keep_cartridge(cartridge(name=HOSTILE, notes=HOSTILE), who=HOSTILE).id
    done = finished(library, deck_id, cartridge_id)
    library.append(done, Finished(note=HOSTILE), who=HOSTILE)
    open_one = finished(library, deck_id, cartridge_id, until="tilt", finish=False)
    for body in (
        NoteWritten(text=HOSTILE),
        NoteWritten(step="level", text=HOSTILE),
        StepAccepted(step="tilt", verdict=Verdict.MOVE, headline=HOSTILE, reason=HOSTILE),
    ):
        library.append(open_one, body, who=HOSTILE)
    return deck_id, cartridge_id, done, open_one


@pytest.fixture
def window(library: Library, tmp_path: Path, messages: RecordingMessages) -> Iterator[MainWindow]:
    preferences = Preferences(tmp_path / "remembered.ini")
    preferences.remember_who(HOSTILE)
    window = MainWindow(numbers=Numbers(), preferences=preferences, messages=messages)
    window.show()
    window.open_library(library.address.path)
    yield window
    window.close()
    window.deleteLater()
    settle()


def settle() -> None:
    for _ in range(5):
        QApplication.processEvents()


def assert_plain(root: QWidget) -> None:
    settle()
    for label in root.findChildren(QLabel):
        if QtText.mightBeRichText(QLabel.text(label)):
            assert label.textFormat() is Qt.TextFormat.PlainText, label.text()
    for widget in root.findChildren(QWidget):
        assert is_harmless(widget.toolTip()), f"tool tip of {widget}"
    for view in root.findChildren(QAbstractItemView):
        assert_tips_plain(view.model())
    for box in root.findChildren(QComboBox):
        assert_tips_plain(box.model())
    for canvas in root.findChildren(QGraphicsView):
        for item in canvas.scene().items():
            if isinstance(item, QGraphicsTextItem):
                assert "\ufffc" not in item.toPlainText(), "a picture stands where words should"


def assert_tips_plain(model: QAbstractItemModel | None) -> None:
    if model is None:
        return
    columns = 1 if isinstance(model, QAbstractListModel) else model.columnCount(QModelIndex())
    for row in range(model.rowCount(QModelIndex())):
        for column in range(columns):
            tip = model.index(row, column).data(Qt.ItemDataRole.ToolTipRole)
            assert is_harmless(tip or ""), f"tool tip of row {row}, column {column}"
    for column in range(columns):
        tip = model.headerData(column, Qt.Orientation.Horizontal, Qt.ItemDataRole.ToolTipRole)
        assert is_harmless(tip or "")


def is_harmless(tip: str) -> bool:
    return not QtText.mightBeRichText(tip) or not any(tag in tip for tag in ("<img", "<b>"))


def test_every_page_shows_hostile_words_as_they_stand(window: MainWindow, library: Library) -> None:
    deck_id, cartridge_id, done, open_one = hostile_library(library)
    window.show_library()
    for tab in range(4):
        page = window.pages.currentWidget()
        page.tabs.setCurrentIndex(tab)  # type: ignore[attr-defined]  # the library's screen
        assert_plain(window)
    window.show_start(deck_id, cartridge_id)
    assert_plain(window)
    for kind, record in (("deck", deck_id), ("cartridge", cartridge_id)):
        window.show_editor(kind, record)
        assert_plain(window)
    for fitting in (done, open_one):
        window.open_fitting(fitting)
        wizard = window.pages.currentWidget()
        assert isinstance(wizard, Wizard)
        assert_plain(window)
        for step in (*STEP_NAMES, "summary"):
            wizard.go(step)
            assert_plain(window)
    window.show_swap(done)
    assert_plain(window)
    window.show_history(deck_id)
    assert_plain(window)
    window.show_due()
    assert_plain(window)
    window.show_backups()
    assert_plain(window)


def test_notices_and_progress_show_them_as_they_stand(
    window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    bar = NoticeBar(window)
    bar.say(HOSTILE, HOSTILE, HOSTILE)
    assert_plain(bar)
    seen = []
    shown = QProgressDialog.show

    def look(dialog: QProgressDialog) -> None:
        shown(dialog)
        assert_plain(dialog)
        seen.append(dialog.labelText())

    monkeypatch.setattr(QProgressDialog, "show", look)
    run_blocking(window, f"Reading {HOSTILE}…", lambda _go_on, _told: 1)
    assert seen == [f"Reading {HOSTILE}…"]


def test_a_tip_keeps_ordinary_words_and_escapes_others() -> None:
    assert plain_tip("2 < 3 & 4") == "2 < 3 & 4"
    assert "<img" not in plain_tip(HOSTILE)
    assert "&lt;img" in plain_tip(HOSTILE)


@pytest.mark.parametrize("place", ["who of an entry", "reason", "who of a revision", "title"])
def test_a_document_with_endless_words_is_refused_in_a_sentence(
    library: Library, place: str
) -> None:
    hostile_library(library)
    said = json.loads("".join(document_pieces(library, of_library(library))))
    last = next(one for one in said["fittings"] if one["entries"][-1]["body"]["kind"] == "finished")
    for record, key in {
        "who of an entry": [(last["entries"][0], "who")],
        "reason": [(last["entries"][-1]["body"], "note")],
        "who of a revision": [(said["decks"][0]["revisions"][0], "who")],
        "title": [(said, "title")],
    }[place]:
        record[key] = "x" * 5000
    with pytest.raises(DocumentProblem, match=r"must have at most (120|4000) characters"):
        document_from(json.dumps(said).encode(), "long.json")


def test_a_name_at_the_bench_has_a_limit() -> None:
    with pytest.raises(ValidationError):
        Entry(who="x" * 121, body=NoteWritten(text="x"))
