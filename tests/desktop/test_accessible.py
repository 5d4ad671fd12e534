"""What a screen reader is told of every page, read over Qt's own accessibility interface."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QAccessible
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QComboBox,
    QLineEdit,
    QPlainTextEdit,
    QProxyStyle,
    QRadioButton,
    QScrollArea,
    QStyle,
    QStyleHintReturn,
    QStyleOption,
    QTabBar,
    QWidget,
)

from core.language import Numbers
from desktop.charts.chart import Chart
from desktop.charts.instrument_view import InstrumentView, moves_allowed
from desktop.charts.small_chart import SmallChart
from desktop.paper.preview import SheetView
from desktop.shell.main_window import MainWindow
from desktop.widgets.language import tr
from desktop.widgets.preferences import Preferences
from desktop.wizard.rail import RailButton
from tests.desktop.kit import RecordingMessages, one_of_everything
from tests.desktop.test_second_language import PAGES, settle

_Role = QAccessible.Role
NO_ROLE = frozenset({_Role.NoRole, _Role.Client, _Role.Pane, _Role.Grouping, _Role.Whitespace})
"""Roles that do not say what a thing is for."""

SCROLLED = (QScrollArea, SheetView)
"""What the arrow keys scroll or leaf through: Qt has no role for it, the name says what it is."""

Opened = Callable[[str], QWidget]


def stops(page: QWidget) -> list[QWidget]:
    """Return where the Tab key stops in a window, by pressing it until it comes round."""
    found: list[QWidget] = []
    for _ in range(300):
        QTest.keyClick(page.window(), Qt.Key.Key_Tab)
        one = page.window().focusWidget()
        if one in found:
            break
        found.append(one)
    return found


def name_of(widget: QWidget) -> str:
    """Return what a screen reader says a widget is called."""
    return QAccessible.queryAccessibleInterface(widget).text(QAccessible.Text.Name).strip()


def role_of(widget: QWidget) -> QAccessible.Role:
    return QAccessible.queryAccessibleInterface(widget).role()


def described(widget: QWidget) -> str:
    return f"{type(widget).__name__} {role_of(widget).name} “{name_of(widget)}”"


def area_of(widget: QWidget) -> QScrollArea | None:
    """Return the area that a widget is scrolled in."""
    above = widget.parentWidget()
    while above is not None and not isinstance(above, QScrollArea):
        above = above.parentWidget()
    return above


def backward(found: list[QWidget], page: QWidget) -> list[str]:
    """Return the stops that stand wholly above the one before them, in the same column."""
    jumps: list[str] = []
    for one, after in pairwise(found):
        if area_of(one) is not area_of(after):
            continue  # what is scrolled may lie anywhere beside what is not
        here, there = (QRect(w.mapTo(page, QPoint(0, 0)), w.size()) for w in (one, after))
        shared = min(here.right(), there.right()) - max(here.left(), there.left())
        if shared > 0 and there.bottom() <= here.top():
            jumps.append(f"{described(one)} -> {described(after)}")
    return jumps


@pytest.fixture
def opened(
    tmp_path: Path, shown: Callable[[QWidget], QWidget], messages: RecordingMessages
) -> Opened:
    def show(name: str) -> QWidget:
        path = tmp_path / "bench.library"
        fitting_id, deck_id = one_of_everything(path, finish=name == "swap")
        window = MainWindow(
            numbers=Numbers(), preferences=Preferences(tmp_path / "own.ini"), messages=messages
        )
        window.open_library(path)
        shown(window)
        page = PAGES[name](window, fitting_id, deck_id)
        settle(window)
        messages.answers = [1]  # a form that holds what is not saved is left without it
        return page

    return show


@pytest.mark.parametrize("name", PAGES)
def test_what_the_keyboard_reaches_has_a_name_and_a_role_in_the_order_it_is_read(
    name: str, opened: Opened
) -> None:
    page = opened(name)
    found = stops(page)
    assert len(found) > 1, name
    assert [described(one) for one in found if not name_of(one)] == []
    unclear = [one for one in found if role_of(one) in NO_ROLE and not isinstance(one, SCROLLED)]
    assert [described(one) for one in unclear] == []
    # The last stop goes back to the first, wherever the focus was at the beginning.
    jumps = backward(found, page.window())
    assert len(jumps) <= 1, jumps


WORKED = (QAbstractButton, QLineEdit, QComboBox, QAbstractItemView, QPlainTextEdit, QTabBar)
"""What a hand with a mouse works on a page."""
IN_GROUPS = (RailButton, SmallChart, QRadioButton)
"""Of these Tab stops at one of a group, and the arrow keys lead to the others."""


ARROWS = (Qt.Key.Key_Down, Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Left)


def led_to_by_arrows(start: QWidget) -> set[QWidget]:
    """Return what the arrow keys lead to among the likes of a stop, the stop included."""
    led, ahead = {start}, [start]
    while ahead:
        here = ahead.pop()
        for key in ARROWS:
            here.setFocus()
            QTest.keyClick(here, key)
            there = here.window().focusWidget()
            if there is not None and type(there) is type(start) and there not in led:
                led.add(there)
                ahead.append(there)
    return led


def worked_by_mouse_alone(page: QWidget) -> list[str]:
    """Return what is on show and can be worked, but where Tab and the arrow keys do not lead."""
    reached = set(stops(page))
    missed = [
        one
        for one in page.window().findChildren(QWidget)
        if isinstance(one, WORKED)
        and one not in reached
        and one.parentWidget() not in reached
        and one.isVisible()
        and one.isEnabled()
        and not one.visibleRegion().isEmpty()
        and not (isinstance(one, QAbstractButton) and "&" in one.text())
        and name_of(one) != tr("forms.recipe.to_choices")  # Tab leads to the choices themselves
    ]
    likes = [one for one in reached if any(type(one) is type(other) for other in missed)]
    if any(isinstance(one, IN_GROUPS) for one in likes):
        led = set[QWidget]().union(
            *(led_to_by_arrows(one) for one in likes if isinstance(one, IN_GROUPS))
        )
        missed = [one for one in missed if one not in led]
    return [described(one) for one in missed]


@pytest.mark.usefixtures("usual_look")  # arrow keys choose another size of type in Appearance
@pytest.mark.parametrize("name", PAGES)
def test_nothing_needs_a_mouse(name: str, opened: Opened) -> None:
    assert worked_by_mouse_alone(opened(name)) == []


@pytest.mark.parametrize("name", PAGES)
def test_a_drawing_says_in_words_what_it_shows(name: str, opened: Opened) -> None:
    page = opened(name)
    for kind in (Chart, InstrumentView):
        for one in page.findChildren(kind):
            if one.isVisibleTo(page):
                words = f"{name_of(one)} {one.accessibleDescription()}"
                assert len(words.split()) >= 5, described(one)


def test_a_stop_without_a_name_is_found(qapp: QApplication) -> None:
    bare = QWidget()
    bare.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    assert not name_of(bare)
    assert role_of(bare) in NO_ROLE
    bare.deleteLater()


class _Still(QProxyStyle):
    """A system that was asked to keep its screen still."""

    def styleHint(
        self,
        hint: QStyle.StyleHint,
        option: QStyleOption | None = None,
        widget: QWidget | None = None,
        returned: QStyleHintReturn | None = None,
    ) -> int:
        if hint is QStyle.StyleHint.SH_Widget_Animation_Duration:
            return 0
        return super().styleHint(hint, option, widget, returned)


def test_nothing_moves_where_the_system_asks_for_a_still_screen(qapp: QApplication) -> None:
    view = InstrumentView()
    assert moves_allowed(view)
    still = _Still()
    still.setParent(view)
    view.setStyle(still)
    assert not moves_allowed(view)
    view.deleteLater()
