"""Backups that make themselves: beside the window, once a day, quiet when they fail."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from PySide6.QtCore import QObject
from pytestqt.qtbot import QtBot

from core.fitting import NoteWritten
from core.store import Library, LibraryProblem, ProblemKind
from core.store.backend import Backup
from core.store.file_problems import full, read_only
from desktop.tasks.background_task import BackgroundTask, GoOn
from desktop.tasks.backup_keeper import BackupKeeper
from tests.desktop.kit import RecordingMessages

START = datetime(2031, 5, 6, 9, 0, tzinfo=UTC)  # later than whatever the disk says of the library


class Clock:
    def __init__(self) -> None:
        self.now = START

    def __call__(self) -> datetime:
        return self.now

    def goes_on(self, **by: float) -> None:
        self.now += timedelta(**by)


@pytest.fixture
def clock() -> Clock:
    return Clock()


Make = Callable[[datetime, GoOn], Backup]
Keep = Callable[..., BackupKeeper]


@pytest.fixture
def keep(
    library: Library, messages: RecordingMessages, clock: Clock, qt_owner: QObject
) -> Iterator[Keep]:
    keepers: list[BackupKeeper] = []

    def start(make: Make | None = None) -> BackupKeeper:
        keeper = BackupKeeper(
            library.address.backups,
            messages,
            now=clock,
            make=make,
            first_ms=3_600_000,
            parent=qt_owner,
        )
        keepers.append(keeper)
        return keeper

    yield start
    for keeper in keepers:
        keeper.stop()


def look(keeper: BackupKeeper, qtbot: QtBot) -> None:
    keeper.look()
    qtbot.waitUntil(lambda: not keeper.is_busy)


def write(library: Library, at: datetime) -> None:
    """Write to the library, and have the disk say that it was then."""
    import os

    fitting = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)
    library.append(fitting.id, NoteWritten(text="something new"))
    os.utime(library.address.path, (at.timestamp(), at.timestamp()))


def test_a_day_that_brought_something_new_gets_one_backup(
    keep: Keep, library: Library, clock: Clock, qtbot: QtBot
) -> None:
    keeper = keep()
    look(keeper, qtbot)
    look(keeper, qtbot)
    assert [one.at for one in library.address.backups.all()] == [START]
    clock.goes_on(days=1)
    look(keeper, qtbot)
    assert len(library.address.backups.all()) == 1, "nothing new came"
    write(library, START + timedelta(hours=5))
    look(keeper, qtbot)
    assert [one.at for one in library.address.backups.all()] == [
        START + timedelta(days=1),
        START,
    ]
    clock.goes_on(hours=10)
    write(library, clock.now)
    look(keeper, qtbot)
    assert len(library.address.backups.all()) == 2


def test_it_looks_by_itself_after_opening(
    library: Library, messages: RecordingMessages, qt_owner: QObject, qtbot: QtBot
) -> None:
    keeper = BackupKeeper(library.address.backups, messages, first_ms=0, parent=qt_owner)
    with qtbot.waitSignal(keeper.made, timeout=5000):
        pass
    keeper.stop()
    assert len(library.address.backups.all()) == 1


@pytest.mark.parametrize(
    ("problem", "part"), [(full, "too little room"), (read_only, "nothing can be written there")]
)
def test_a_failure_is_told_once_a_day_and_tried_again_every_hour(
    keep: Keep,
    library: Library,
    messages: RecordingMessages,
    clock: Clock,
    qtbot: QtBot,
    problem: Callable[[Path], LibraryProblem],
    part: str,
) -> None:
    tries: list[datetime] = []

    def fails(at: datetime, _go_on: GoOn) -> Backup:
        tries.append(at)
        raise problem(library.address.path)

    keeper = keep(fails)
    for _ in range(12):  # two hours of looking every ten minutes
        look(keeper, qtbot)
        clock.goes_on(minutes=10)
    assert len(tries) == 2
    (told,) = messages.told
    assert told.title == "No backup today"
    assert part in told.sentence
    assert "saved in the library as usual" in told.remedy
    clock.goes_on(days=1)
    look(keeper, qtbot)
    assert len(messages.told) == 2
    assert library.faults() == []


def test_a_folder_that_is_no_folder_is_told_in_the_same_way(
    keep: Keep, library: Library, messages: RecordingMessages, qtbot: QtBot
) -> None:
    (library.address.path.parent / "backups").write_text("a file in the way")
    look(keep(), qtbot)
    assert messages.told[0].sentence.startswith("No backup could be made")
    write(library, START)


def test_the_window_lives_on_and_entries_are_kept_while_a_backup_is_made(
    keep: Keep, library: Library, qtbot: QtBot
) -> None:
    begun, may_end = threading.Event(), threading.Event()

    def slowly(at: datetime, _go_on: GoOn) -> Backup:
        begun.set()
        assert may_end.wait(10)
        return Backup(library.address.path, at)

    keeper = keep(slowly)
    keeper.look()
    assert begun.wait(10)
    write(library, START)
    assert keeper.is_busy
    with qtbot.waitSignal(keeper.made, timeout=10_000):
        may_end.set()
    assert len(library.fittings()) == 1


def test_closing_ends_a_backup_and_leaves_nothing_half_made(
    keep: Keep, library: Library, qtbot: QtBot
) -> None:
    begun = threading.Event()
    backups = library.address.backups

    def asked(go_on: GoOn) -> bool:
        begun.set()
        while go_on():  # a very large library: it would go on for ever
            pass
        return False

    keeper = keep(lambda at, go_on: backups.make(at, go_on=lambda: asked(go_on)))
    keeper.look()
    assert begun.wait(10)
    keeper.stop()
    assert list((library.address.path.parent / "backups").iterdir()) == []
    assert library.faults() == []


def test_a_mistake_of_our_own_is_told_where_all_of_them_are(
    qt_owner: QObject, qtbot: QtBot
) -> None:
    def wrong(_go_on: GoOn) -> object:
        raise ZeroDivisionError

    task = BackgroundTask(wrong, qt_owner)
    with qtbot.captureExceptions() as caught:
        task.start()
        qtbot.waitUntil(lambda: not task.is_running)
    assert caught[0][0] is ZeroDivisionError


def test_what_nobody_wants_any_more_is_told_to_nobody(qt_owner: QObject, qtbot: QtBot) -> None:
    told: list[object] = []
    task = BackgroundTask(lambda _go_on: 1, qt_owner)
    task.done.connect(told.append)
    task.start()
    task.stop()
    qtbot.wait(1)
    assert told == []
    assert ProblemKind.FULL  # the kinds are those of the store
