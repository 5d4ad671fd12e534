"""Words of a document are shown as they stand, on every page: none is taken for HTML."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
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
    QMessageBox,
    QProgressDialog,
    QWidget,
)

from core.fitting import Entry, Finished, NoteWritten, StepAccepted, Verdict
from core.history.timeline import timeline_of
from core.language import Numbers
from core.paper.due_sheet import DueRow
from core.paper.letterhead import Letterhead, keep_letterhead
from core.records import Customer, Job
from core.steps import STEP_NAMES
from core.store import Library
from core.store.documents import DocumentProblem, document_from
from core.store.exporting import document_pieces, of_decks, of_library
from core.store.importing import plan
from core.swap.past import past_of
from core.workflow.replay import journey_of
from desktop.library.editor import RecordEditor
from desktop.library.screen import LibraryScreen
from desktop.library.versions_dialog import VersionsDialog
from desktop.paper.leaving import LeavingPaper
from desktop.paper.letterhead_dialog import LetterheadDialog
from desktop.paper.paper_button import PaperButton
from desktop.shell.main_window import MainWindow
from desktop.shell.other_window_notice import others_words
from desktop.tasks.blocking_task import run_blocking
from desktop.widgets.library_problem_page import LibraryProblemPage
from desktop.widgets.messages import NoticeBar, QtMessages
from desktop.widgets.plain_text import plain_tip
from desktop.widgets.preferences import Preferences
from desktop.wizard import Wizard
from tests.core.store.test_length_limits import texts_of
from tests.desktop.hostile import hostile_in_everything, hostile_texts
from tests.desktop.kit import RecordingMessages, finished, make_every_field
from tests.examples import cartridge, deck

HOSTILE = "<img src='no such picture'><b>bold</b> & so"
WORDS = {
    "tags": HOSTILE,
    "one endless word": "W" * 110,
    "right to left": "\u202eretteL \u05d0\u05d1\u05d2 <b>\u05d3</b> \u202d" * 3,
    "lines": "first\nsecond\r\n\tthird\n\n<b>fourth</b>" * 3,
}
"""What a document may bring wherever it holds words; names have at most 120 characters."""

NO_WORDS = {
    *("Customer.forgotten", "Headshell.taken_apart", "Job.handed_over", "Job.promised"),
    *("Job.received", "KeptPicture.day", "KeptPicture.erased", "KeptPicture.withdrawn"),
    *("Service.day", "Service.withdrawn"),  # days, until here
    *("Entry.id", "Fitting.cartridge_id", "Fitting.deck_id", "Fitting.id", "FurtherArm.key"),
    *("HeadshellUsed.headshell", "Job.customer", "JobGiven.job", "KeptPicture.content"),
    *("KeptPicture.thing", "MountedArm.key", "Planned.from_fitting", "Planned.settings_of"),
    *("RecordPlayed.id", "RecordedTone.sha256", "Service.deck", "Withdrawn.entry"),  # numbers
    *("ArmUsed.keeps[]", "ChoiceMade.step", "Gain.step", "MoveMade.step", "NoteWritten.step"),
    *("ReadingTaken.step", "Start.step", "StepAccepted.step", "WorkAsked.steps[]"),  # steps
    *("ChoiceMade.choices[]", "ReadingTaken.reading[]"),  # names of fields
}
"""Texts that hold nobody's words; a document with words there is refused or they show nowhere."""


def hostile_library(library: Library, words: str = HOSTILE) -> tuple[str, str, str, str]:
    """Put hostile words wherever a document may bring some; return deck, cartridge, fittings."""
    record = deck(name=words, owner_reference=words[:60], notes=words * 5)
    feet = tuple(
        foot.model_copy(update={"name": f"{words[:30]}>{number}"})
        for number, foot in enumerate(record.plinth.feet)
    )
    plinth = record.plinth.model_copy(update={"feet": feet})
    deck_id = library.keep_deck(record.model_copy(update={"plinth": plinth}), who=words).id
    cartridge_id = library.keep_cartridge(cartridge(name=words, notes=words), who=words).id
    done = finished(library, deck_id, cartridge_id)
    library.append(done, Finished(note=words), who=words)
    open_one = finished(library, deck_id, cartridge_id, until="tilt", finish=False)
    for body in (
        NoteWritten(text=words),
        NoteWritten(step="level", text=words),
        StepAccepted(step="tilt", verdict=Verdict.MOVE, headline=words, reason=words),
    ):
        library.append(open_one, body, who=words)
    return deck_id, cartridge_id, done, open_one


@pytest.fixture
def window(library: Library, tmp_path: Path, messages: RecordingMessages) -> Iterator[MainWindow]:
    preferences = Preferences(tmp_path / "remembered.ini")
    preferences.remember_who(HOSTILE)
    window = MainWindow(numbers=Numbers(), preferences=preferences, messages=messages)
    window.show()
    window.open_library(library.address.path)
    yield window
    messages.answers = [1]  # leave without saving, whatever a test left in a form
    window.close()
    window.deleteLater()
    settle()


def settle() -> None:
    for _ in range(5):
        QApplication.processEvents()


def assert_plain(root: QWidget) -> None:
    make_every_field(root)
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


def assert_fits(window: MainWindow) -> None:
    """Assert that all words are plain, and none of them makes the page wider than the window."""
    assert_plain(window)
    page = window.pages.currentWidget()
    assert page.width() <= window.width()
    assert page.minimumSizeHint().width() <= window.width(), "words push the page wide"
    assert page.minimumSizeHint().height() <= window.height(), "words push the page high"


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


@pytest.mark.parametrize("kind", WORDS)
def test_every_page_shows_hostile_words_as_they_stand(
    window: MainWindow, library: Library, kind: str
) -> None:
    window.resize(1000, 700)
    deck_id, cartridge_id, done, open_one = hostile_library(library, WORDS[kind])
    line = WORDS[kind][:40]
    person = library.keep_customer(Customer(name=line, contact=line), who=line)
    said = dict.fromkeys(("stylus_seen", "noises", "notes"), WORDS[kind])
    job = Job(number=line, brought=WORDS[kind][:200], customer=person.id, **said)
    job_id = library.keep_job(job).id
    library.give_job(open_one, job_id)
    window.show_library()
    for tab in range(4):
        page = window.pages.currentWidget()
        page.tabs.setCurrentIndex(tab)  # type: ignore[attr-defined]  # the library's screen
        assert_fits(window)
    window.show_start(deck_id, cartridge_id)
    assert_fits(window)
    for sort, record in (("deck", deck_id), ("cartridge", cartridge_id)):
        window.show_editor(sort, record)
        assert_fits(window)
    for fitting in (done, open_one):
        window.open_fitting(fitting)
        wizard = window.pages.currentWidget()
        assert isinstance(wizard, Wizard)
        assert_fits(window)
        for step in (*STEP_NAMES, "summary"):
            wizard.go(step)
            assert_fits(window)
    wizard.go("alignment")
    settle()
    for button in window.findChildren(PaperButton):
        if button.isVisible():
            button.open()
            assert button.dialog is not None
            assert_plain(button.dialog)
            button.dialog.close()
    window.show_swap(done)
    assert_fits(window)
    window.show_history(deck_id)
    assert_fits(window)
    window.show_due()
    assert_fits(window)
    window.show_jobs()
    assert_fits(window)
    window.show_job(job_id)
    assert_fits(window)
    window.show_start(job_id=job_id)
    assert_fits(window)
    window.show_backups()
    assert_fits(window)
    window.show_appearance()
    assert_fits(window)
    window.show_rehearsal()
    assert_fits(window)


@pytest.mark.parametrize("kind", WORDS)
def test_words_in_every_stored_text_are_shown_as_they_stand(
    window: MainWindow, library: Library, kind: str
) -> None:
    window.resize(1000, 700)
    put = hostile_in_everything(library, WORDS[kind])
    window.show_library()
    screen = window.pages.currentWidget()
    assert isinstance(screen, LibraryScreen)
    for tab in range(screen.tabs.count()):
        screen.tabs.setCurrentIndex(tab)
        assert_fits(window)
    editors = {
        "deck": put.deck,
        "cartridge": put.cartridge,
        "headshell": put.headshell,
        "test record": put.record,
    }
    for sort, record in editors.items():
        window.show_editor(sort, record)
        assert_fits(window)
    for sort, thing in (("deck", put.deck), ("job", put.job), ("fitting", put.fittings[1])):
        page = window.show_pictures(sort, thing)
        assert page is not None
        assert_fits(window)
        page.leave()
    for fitting in put.fittings:
        window.open_fitting(fitting)
        wizard = window.pages.currentWidget()
        assert isinstance(wizard, Wizard)
        for step in (*STEP_NAMES, "summary") if fitting == put.fittings[1] else ("summary",):
            wizard.go(step)
            assert_fits(window)
    window.show_start(put.deck, put.cartridge)
    assert_fits(window)
    window.show_swap(put.fittings[0])
    assert_fits(window)
    window.show_history(put.deck)
    assert_fits(window)
    window.show_due()
    assert_fits(window)
    window.show_job(put.job)
    assert_fits(window)


def test_no_text_is_left_out_of_what_pages_are_shown_with(library: Library) -> None:
    kept = hostile_in_everything(library, HOSTILE).kept
    every = {path for model in {type(one) for one in kept} for path, _ in texts_of(model, set())}
    assert every - hostile_texts(kept, HOSTILE) == NO_WORDS


@pytest.mark.parametrize("kind", WORDS)
def test_two_versions_show_hostile_words_as_they_stand(
    window: MainWindow, library: Library, tmp_path: Path, kind: str
) -> None:
    words = WORDS[kind]
    window.resize(1000, 700)
    deck_id, *_ = hostile_library(library, words)
    window.show_editor("deck", deck_id)
    editor = window.pages.currentWidget()
    assert isinstance(editor, RecordEditor)
    begun = library.deck(deck_id).thing
    theirs = begun.model_copy(update={"notes": f"{words} too", "owner_reference": words[:40]})
    library.keep_deck(theirs, id=deck_id, who=words)
    mine = begun.model_copy(update={"notes": "mine", "owner_reference": f"{words[:30]}!"})
    editor.form.put(mine)
    editor.look_again()
    assert_fits(window)
    editor.show_both()
    assert editor.comparison is not None
    assert_fits(window)
    with Library.open(tmp_path / "other.library") as other:
        other.deck_records.add(deck_id, mine, who=words)
        pieces = document_pieces(library, of_decks(library, deck_id))
        (item, *_) = plan(other, document_from("".join(pieces).encode(), words)).conflicts
        assert item.versions is not None
        dialog = VersionsDialog(item, item.versions, 2, Numbers(), words, window)
        dialog.resize(800, 500)
        dialog.show()
        assert_plain(dialog)
        assert dialog.width() == 800
        dialog.close()


@pytest.mark.parametrize("kind", WORDS)
def test_trouble_and_questions_show_hostile_words_as_they_stand(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    name = WORDS[kind].replace("/", "|")[:100]
    place = tmp_path / f"{name}.library"
    place.write_bytes(b"SQLite format 3\x00" + b"\0" * 5000)
    window.open_library(place)
    assert isinstance(window.pages.currentWidget(), LibraryProblemPage)
    assert_fits(window)
    seen = []

    def look(box: QMessageBox) -> int:
        assert box.textFormat() is Qt.TextFormat.PlainText
        box.show()
        assert_plain(box)
        seen.append(box.text())
        box.hide()
        return 0

    monkeypatch.setattr(QMessageBox, "exec", look)
    QtMessages(window, NoticeBar(window)).ask(WORDS[kind], WORDS[kind], [WORDS[kind], "So"])
    assert len(seen) == 1


@pytest.mark.parametrize("kind", WORDS)
def test_help_other_windows_menus_and_paper_show_hostile_words_as_they_stand(
    window: MainWindow, library: Library, kind: str
) -> None:
    words = WORDS[kind]
    window.resize(1000, 700)
    deck_id, _, done, open_one = hostile_library(library, words)
    keep_letterhead(library, Letterhead(name=words[:120], address=words[:400]))
    window.open_fitting(open_one)
    window.show_help()
    assert_fits(window)
    window.open_fitting(open_one)
    notes = (NoteWritten(text=words), NoteWritten(step="level", text=words))
    added = [Entry(who=words, body=body) for body in notes]
    window.others.say(others_words(added, Numbers()))
    assert_fits(window)
    window.menus.show_recent([words, f"/{words}"])
    shown = [act.text().replace("&&", "&") for act in window.menus.recent.actions()]
    assert shown == [words, f"/{words}"]
    assert not window.menus.recent.toolTipsVisible()
    paper = LeavingPaper(library, Numbers(), window.messages, words)
    journey = journey_of(
        library.deck(deck_id).thing,
        library.cartridge(library.fitting(done).cartridge_id).thing,
        library.fitting(done),
    )
    timeline = timeline_of([past_of(library, done)])
    day = date(2026, 1, 1)
    for dialog in (
        paper.owner(lambda: journey, window),
        paper.history(journey.deck, timeline, (), (), window),
        paper.due([DueRow(words, words, words, day, day)], day, window),
    ):
        assert dialog.sheets
        assert_plain(dialog)
        dialog.close()
    head = LetterheadDialog(library, window.messages, window)
    assert head.name.text().startswith(words.split()[0][:20])
    assert_plain(head)
    head.close()


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
