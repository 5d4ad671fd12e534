"""What is put off is done once the page has been seen, in order, a turn of events each."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from desktop.tasks.deferred_build import DeferredBuild

Show = Callable[[QWidget], QWidget]


class Order(QObject):
    """Writes down when a widget is painted."""

    def __init__(self, said: list[str]) -> None:
        super().__init__()
        self._said = said

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: ARG002 - Qt's
        """Write it down."""
        if event.type() == QEvent.Type.Paint:
            self._said.append("painted")
        return False


def test_the_page_is_painted_before_what_was_put_off_is_begun(shown: Show, qtbot: QtBot) -> None:
    said: list[str] = []
    page = QWidget()
    order = Order(said)
    later = DeferredBuild(page)
    page.installEventFilter(order)
    later.put_off([lambda: said.append("first"), lambda: said.append("second")])
    for _ in range(3):
        QApplication.processEvents()
    assert said == []  # nobody has seen the page
    shown(page)
    qtbot.waitUntil(lambda: later.is_done)
    assert said[0] == "painted"
    assert [one for one in said if one != "painted"] == ["first", "second"]


def test_between_two_acts_other_events_have_their_turn(shown: Show, qtbot: QtBot) -> None:
    said: list[str] = []

    class Typed(QObject):
        def event(self, event: QEvent) -> bool:
            if event.type() == QEvent.Type.User:
                said.append("typed")
            return super().event(event)

    page, typed = QWidget(), Typed()

    def first() -> None:
        said.append("first")
        QApplication.postEvent(typed, QEvent(QEvent.Type.User))

    later = DeferredBuild(page)
    later.put_off([first, lambda: said.append("second")])
    shown(page)
    qtbot.waitUntil(lambda: later.is_done)
    assert said == ["first", "typed", "second"]


def test_who_cannot_wait_has_all_at_once_and_nothing_twice(shown: Show) -> None:
    said: list[str] = []
    page = QWidget()
    later = DeferredBuild(page)
    later.put_off([lambda: said.append("first"), lambda: said.append("second")])
    later.finish()
    assert said == ["first", "second"]
    assert later.is_done
    shown(page)
    for _ in range(3):
        QApplication.processEvents()
    assert said == ["first", "second"]


def test_one_that_fails_takes_no_other_with_it(shown: Show, qtbot: QtBot) -> None:
    said: list[str] = []
    page = QWidget()
    later = DeferredBuild(page)
    later.put_off([lambda: 1 / 0, lambda: said.append("second")])
    with qtbot.capture_exceptions() as told:
        shown(page)
        qtbot.waitUntil(lambda: said == ["second"])
    assert [kind for kind, *_ in told] == [ZeroDivisionError]


def test_put_off_anew_it_takes_the_place_of_what_was_to_come(shown: Show, qtbot: QtBot) -> None:
    said: list[str] = []
    page = QWidget()
    later = DeferredBuild(page)
    later.put_off([lambda: said.append("old")])
    later.put_off([lambda: said.append("new")])
    shown(page)
    qtbot.waitUntil(lambda: later.is_done)
    later.put_off([lambda: said.append("newer")])  # the page has been seen long since
    assert said == ["new"]
    qtbot.waitUntil(lambda: later.is_done)
    assert said == ["new", "newer"]
