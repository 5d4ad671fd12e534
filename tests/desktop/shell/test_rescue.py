"""A damaged library is said so at once, and what can be read of it is rescued from the window."""

from __future__ import annotations

import random
import shutil
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from core.store import Library
from core.store.sqlite import backups
from core.store.sqlite.backups import FileBackups
from desktop.library.backups_page import BackupsPage
from desktop.shell.main_window import MainWindow
from desktop.widgets.library_problem_page import LibraryProblemPage
from tests.core.store.damaging import PAGE, damage_page, large_library
from tests.desktop.kit import RecordingMessages


@pytest.fixture(scope="module")
def damaged_one(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = large_library(tmp_path_factory.mktemp("damaged") / "example.library")
    damage_page(place, random.Random(1))
    return place


@pytest.fixture
def damaged(damaged_one: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(damaged_one, tmp_path / "example.library"))


def found_out(window: MainWindow) -> None:
    """Check now, not by itself five seconds after the library was opened."""
    assert window._housekeeping is not None
    window._housekeeping.check._timer.stop()
    window._housekeeping.check._task.start()


def test_damage_is_said_at_once_and_rescued_into_a_new_library(
    window: MainWindow, damaged: Path, messages: RecordingMessages, qtbot: QtBot
) -> None:
    window.open_library(damaged)
    target = damaged.with_name("rescued.library")
    messages.answers, messages.files = [1], [target]
    found_out(window)
    qtbot.waitUntil(lambda: any(one.title == "Rescued" for one in messages.told), timeout=20_000)
    asked = messages.asked[0]
    assert "is damaged" in asked.sentence
    assert "rescue what is readable" in asked.sentence
    assert asked.choices[0] == "&Go on for now"
    *before, rescued = messages.told
    # The page that is damaged differs from run to run: the lists may have needed it, and said so.
    assert all(one.title == "The file is damaged" for one in before)
    assert f"now in {target}, which is open" in rescued.sentence
    assert rescued.remedy
    assert window.library is not None
    assert window.library.address.path == target
    assert len(window.library.fittings()) > 0
    assert window.library.faults() == []


def test_work_may_go_on_and_a_backup_may_be_restored(
    window: MainWindow, damaged_one: Path, tmp_path: Path, messages: RecordingMessages, qtbot: QtBot
) -> None:
    place = tmp_path / "example.library"
    Library.open(place).close()
    FileBackups(place).make()
    shutil.copy(damaged_one, place)
    window.open_library(place)
    messages.answers = [0]
    page = window.pages.currentWidget()
    found_out(window)
    qtbot.waitUntil(lambda: bool(messages.asked), timeout=20_000)
    assert window.pages.currentWidget() is page
    assert messages.asked[0].choices[-1] == "&Restore a backup…"
    messages.answers = [2]
    found_out(window)
    qtbot.waitUntil(lambda: isinstance(window.pages.currentWidget(), BackupsPage), timeout=20_000)


def test_one_that_does_not_open_any_more_offers_the_rescue(
    window: MainWindow, tmp_path: Path, messages: RecordingMessages, qtbot: QtBot
) -> None:
    place = tmp_path / "small.library"
    with Library.open(place) as library:
        decks = len(library.decks())
    with place.open("r+b") as stream:
        stream.seek(PAGE * ((place.stat().st_size // PAGE) - 2))
        stream.write(b"\x0d" + b"\xff" * (PAGE - 1))
    window.open_library(place)
    page = window.pages.currentWidget()
    assert isinstance(page, LibraryProblemPage)
    messages.files = [tmp_path / "rescued"]
    page.buttons["rescue"].click()
    assert messages.told[-1].title == "Rescued"
    assert window.library is not None
    assert window.library.address.path == tmp_path / "rescued.library"
    assert len(window.library.decks()) >= decks - 1


def test_a_name_that_is_taken_is_not_written_over(
    window: MainWindow, damaged: Path, messages: RecordingMessages
) -> None:
    window.open_library(damaged)
    letter = damaged.with_name("letter.library")
    letter.write_text("Dear customer,")
    messages.files = [letter]
    assert window.library is not None
    window._recovery.rescue(window.library.address)
    assert messages.told[-1].title == "That name is taken"
    assert letter.read_text() == "Dear customer,"


def test_backups_that_take_a_large_share_of_the_disk_are_said_on_opening(
    window: MainWindow,
    tmp_path: Path,
    messages: RecordingMessages,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    place = tmp_path / "example.library"
    Library.open(place).close()
    usage = shutil.disk_usage(tmp_path)._replace(total=place.stat().st_size * 50)
    monkeypatch.setattr(backups.shutil, "disk_usage", lambda _: usage)
    window.open_library(place)
    assert [told.title for told in messages.told] == ["Backups"]
    assert "20 % of that disk" in messages.told[0].sentence
    assert "another disk" in messages.told[0].sentence
