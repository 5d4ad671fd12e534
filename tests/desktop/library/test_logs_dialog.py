"""A fitting whose record differs in a document: both logs are shown, and nothing is lost."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from core.fitting import NoteWritten
from core.language import Numbers
from core.store import Library
from core.store.exporting import of_fittings, write_document
from core.store.importing import ImportDecision
from desktop.library.import_export import ImportExport
from desktop.library.logs_dialog import LogsDialog
from tests.desktop.kit import RecordingMessages, finished, told_in
from tests.examples import cartridge, deck

HOSTILE = "<img src='/dev/zero'>"


@pytest.fixture
def parted(library: Library, tmp_path: Path) -> tuple[Library, Path, str]:
    """Return a library, a document whose fitting went on otherwise, and the fitting's id."""
    deck_id = library.keep_deck(deck()).id
    fitting = finished(library, deck_id, library.keep_cartridge(cartridge()).id, finish=False)
    before = tmp_path / "before.json"
    write_document(library, before, of_fittings(library, fitting))
    with Library.open(tmp_path / "other.library") as other:
        ImportExport(other, Numbers(), RecordingMessages(files=[before])).import_document()
        other.append(fitting, NoteWritten(text=f"said on that bench {HOSTILE}"), who="Ben")
        document = tmp_path / "after.json"
        write_document(other, document, of_fittings(other, fitting))
    library.append(fitting, NoteWritten(text="said on this bench"), who="Ada")
    return library, document, fitting


def answered(act: Callable[[LogsDialog], object], shown: list[list[str]]) -> QTimer:
    """Answer the next dialog so, and keep what it showed on both sides."""
    timer = QTimer(interval=5)

    def look() -> None:
        dialog = QApplication.activeModalWidget()
        if isinstance(dialog, LogsDialog):
            timer.stop()
            shown.extend(told_in(log) for log in dialog.logs)
            act(dialog)

    timer.timeout.connect(look)
    timer.start()
    return timer


@pytest.mark.parametrize("decision", [None, ImportDecision.MINE, ImportDecision.BOTH])
def test_both_logs_are_shown_from_where_they_part_and_the_person_decides(
    decision: ImportDecision | None, parted: tuple[Library, Path, str]
) -> None:
    library, document, fitting = parted
    here = library.fitting(fitting)
    shown: list[list[str]] = []
    press = {
        None: lambda dialog: dialog.reject(),
        ImportDecision.MINE: lambda dialog: dialog.mine.click(),
        ImportDecision.BOTH: lambda dialog: dialog.both.click(),
    }[decision]
    timer = answered(press, shown)
    messages = RecordingMessages(files=[document])
    taken = ImportExport(library, Numbers(), messages).import_document()
    timer.stop()
    (mine,), (theirs,) = shown
    assert "said on this bench" in mine
    assert "said on that bench" in theirs
    assert HOSTILE in theirs, "as plain text"
    assert library.fitting(fitting) == here
    fittings = library.fittings()
    assert taken is (decision is not None)
    assert len(fittings) == (2 if decision is ImportDecision.BOTH else 1)
    if decision is ImportDecision.BOTH:
        second = next(row.id for row in fittings if row.id != fitting)
        last = library.fitting(second).entries[-1]
        assert isinstance(last.body, NoteWritten)
        assert last.body.text.startswith("said on that bench")
        assert last.who == "Ben"


def test_one_answer_may_hold_for_all_that_differ(library: Library, tmp_path: Path) -> None:
    deck_id = library.keep_deck(deck()).id
    cartridge_id = library.keep_cartridge(cartridge()).id
    several = [finished(library, deck_id, cartridge_id, finish=False) for _ in range(3)]
    before, after = tmp_path / "before.json", tmp_path / "after.json"
    write_document(library, before, of_fittings(library, *several))
    with Library.open(tmp_path / "other.library") as other:
        ImportExport(other, Numbers(), RecordingMessages(files=[before])).import_document()
        for one in several:
            other.append(one, NoteWritten(text="there"))
        write_document(other, after, of_fittings(other, *several))
    for one in several:
        library.append(one, NoteWritten(text="here"))
    shown: list[list[str]] = []

    def both_for_all(dialog: LogsDialog) -> None:
        dialog.same.click()
        dialog.both.click()

    timer = answered(both_for_all, shown)
    messages = RecordingMessages(files=[after])
    assert ImportExport(library, Numbers(), messages).import_document()
    timer.stop()
    assert len(shown) == 2, "asked once, both sides shown"
    assert len(library.fittings()) == 6
