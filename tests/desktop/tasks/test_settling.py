"""The library's one file becomes whole by itself, is checked once, and its going is told."""

from __future__ import annotations

import random
import shutil
import sys
from pathlib import Path

import pytest
from PySide6.QtCore import QObject, Qt
from pytestqt.qtbot import QtBot

from core.fitting import NoteWritten
from core.store import Library, LibraryProblem, ProblemKind
from core.store.sqlite.backups import FileBackups
from desktop.tasks.backup_keeper import BackupKeeper
from desktop.tasks.change_watch import ChangeWatch
from desktop.tasks.housekeeping import Housekeeping
from desktop.tasks.settler import Settler
from desktop.tasks.soundness_check import SoundnessCheck
from tests.core.store.damaging import damage_page, large_library
from tests.desktop.kit import RecordingMessages


def entry_in(path: Path, copy: Path) -> bool:
    """Whether an entry is in a copy of the library's file alone."""
    with Library.open(Path(shutil.copy(path, copy)), read_only=True) as opened:
        return any(row.entry_count for row in opened.fittings())


def write(library: Library) -> None:
    begun = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)
    library.append(begun.id, NoteWritten(text="confirmed"))


def test_a_copy_of_the_file_alone_holds_an_entry_some_seconds_later(
    library: Library, qt_owner: QObject, qtbot: QtBot, tmp_path: Path
) -> None:
    settler = Settler(library, every_ms=5, parent=qt_owner)
    write(library)
    path = library.address.path
    qtbot.waitUntil(lambda: entry_in(path, tmp_path / "alone.library"), timeout=5000)
    settler.stop()


def test_leaving_for_another_program_settles_at_once(
    library: Library, qt_owner: QObject, tmp_path: Path
) -> None:
    settler = Settler(library, every_ms=3_600_000, parent=qt_owner)
    write(library)
    settler.on_state(Qt.ApplicationState.ApplicationInactive)
    assert entry_in(library.address.path, tmp_path / "alone.library")
    settler.stop()


@pytest.mark.skipif(sys.platform == "win32", reason="an open file can't be moved there")
def test_a_library_that_was_moved_is_told_once_before_the_next_entry(
    library: Library, qt_owner: QObject
) -> None:
    watch = ChangeWatch(library, every_ms=3_600_000, parent=qt_owner)
    lost: list[LibraryProblem] = []
    watch.lost.connect(lost.append)
    watch.look()
    assert lost == []
    path = library.address.path
    path.rename(path.with_name("elsewhere.library"))
    watch.look()
    watch.look()
    assert [problem.kind for problem in lost] == [ProblemKind.VANISHED]
    watch.stop()


@pytest.fixture
def damaged(tmp_path: Path) -> Path:
    """A library of which the opening alone sees no damage."""
    place = large_library(tmp_path / "damaged.library")
    damage_page(place, random.Random(1))
    return place


def test_damage_is_told_soon_after_opening(damaged: Path, qt_owner: QObject, qtbot: QtBot) -> None:
    with Library.open(damaged, read_only=True) as library:
        check = SoundnessCheck(library.address, after_ms=0, parent=qt_owner)
        with qtbot.waitSignal(check.damaged, timeout=10_000) as found:
            pass
        check.stop()
    assert found.args is not None
    assert found.args[0].kind is ProblemKind.DAMAGED


def test_no_backup_of_a_damaged_library_says_that_it_is_damaged(
    damaged: Path, qt_owner: QObject, qtbot: QtBot
) -> None:
    messages = RecordingMessages()
    keeper = BackupKeeper(FileBackups(damaged), messages, parent=qt_owner)
    keeper.look()
    qtbot.waitUntil(lambda: bool(messages.told), timeout=10_000)
    keeper.stop()
    assert [told.title for told in messages.told] == [ProblemKind.DAMAGED.label]
    assert FileBackups(damaged).all() == ()


def test_the_housekeeping_of_a_library_settles_watches_and_checks(library: Library) -> None:
    messages = RecordingMessages()
    housekeeping = Housekeeping(library, messages)
    assert housekeeping.settler is not None
    found = []
    housekeeping.damaged.connect(lambda problem: found.append(problem.kind))
    housekeeping.check.damaged.emit(LibraryProblem(ProblemKind.DAMAGED, "It is damaged.", "Act."))
    housekeeping.watch.lost.emit(LibraryProblem(ProblemKind.VANISHED, "It has gone.", "Act."))
    assert found == [ProblemKind.DAMAGED]
    assert messages.sentences == ["It has gone."]
    housekeeping.end()
