"""Nothing that refers to itself ends in an errand's thread: widgets may end in the window's alone.

Source: Qt's documentation, "Thread Support in Qt Modules": widgets can be used in the main thread
only.
"""

from __future__ import annotations

import gc
import threading
import weakref
from collections.abc import Iterator
from threading import get_ident

import pytest
from PySide6.QtCore import QObject
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from desktop.tasks.background_task import BackgroundTask
from desktop.tasks.garbage_collector import GarbageCollector, held


class Circle:
    """Refers to itself, as a page does whose buttons call its own methods."""

    def __init__(self) -> None:
        self.me = self


@pytest.fixture
def collector(qapp: QApplication) -> Iterator[GarbageCollector]:
    was_on = gc.isenabled()
    owner = QObject()
    yield GarbageCollector(owner)
    owner.deleteLater()
    if was_on:
        gc.enable()


def make_many(_go_on: object) -> int:
    """Make far more objects than Python's thresholds let stand, none of them let go."""
    held = [[one] for one in range(20 * gc.get_threshold()[0])]
    return len(held)


def test_an_errand_ends_nothing_of_the_window(collector: GarbageCollector, qtbot: QtBot) -> None:
    gc.collect()
    ended_in: list[int] = []
    circles = [Circle() for _ in range(2 * gc.get_threshold()[0])]
    weakref.finalize(circles[0], lambda: ended_in.append(get_ident()))
    del circles
    task = BackgroundTask(make_many)
    with qtbot.waitSignal(task.done):
        task.start()
    collector.collect()
    assert ended_in == [threading.main_thread().ident]


def test_left_to_itself_python_would_end_it_in_the_errands_thread(
    qtbot: QtBot,
) -> None:  # the danger is real: should this fail one day, the collector can go
    was_on = gc.isenabled()
    gc.collect()
    gc.enable()
    ended_in: list[int] = []
    try:
        weakref.finalize(Circle(), lambda: ended_in.append(get_ident()))
        task = BackgroundTask(make_many)
        with qtbot.waitSignal(task.done):
            task.start()
    finally:
        if not was_on:
            gc.disable()
    assert len(ended_in) == 1
    assert ended_in[0] != threading.main_thread().ident


def test_older_generations_are_looked_through_in_their_turn(
    collector: GarbageCollector, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[int] = []
    monkeypatch.setattr("desktop.tasks.garbage_collector.gc.collect", asked.append)
    monkeypatch.setattr("desktop.tasks.garbage_collector.gc.get_threshold", lambda: (700, 10, 10))
    for counts in ((700, 99, 99), (701, 10, 99), (701, 11, 10), (701, 11, 11)):
        monkeypatch.setattr(
            "desktop.tasks.garbage_collector.gc.get_count", lambda counts=counts: counts
        )
        collector.collect()
    assert asked == [0, 1, 2]


def test_while_it_is_held_nothing_is_collected(
    qapp: QApplication, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[int] = []
    was_on = gc.isenabled()
    collector = GarbageCollector(qapp)
    monkeypatch.setattr("desktop.tasks.garbage_collector.gc.collect", asked.append)
    monkeypatch.setattr("desktop.tasks.garbage_collector.gc.get_count", lambda: (701, 11, 11))
    try:
        with held():
            with held():
                collector.collect()
            collector.collect()
            assert asked == []
        with pytest.raises(ZeroDivisionError), held():
            raise ZeroDivisionError
        collector.collect()
        assert asked == [2]
    finally:
        collector.setParent(None)
        collector.deleteLater()
        if was_on:
            gc.enable()
