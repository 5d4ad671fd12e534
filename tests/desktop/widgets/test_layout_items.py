"""Nobody holds an item of a layout: it ends with its widget, and what is held of it does not.

What Qt makes later at the same address is then taken for something that ended long ago.
"""

from __future__ import annotations

import ast
import gc
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import pytest
from PySide6.QtCore import QEvent
from PySide6.QtWidgets import (
    QApplication,
    QFormLayout,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QVBoxLayout,
    QWidget,
    QWidgetItem,
)
from pytestqt.qtbot import QtBot
from shiboken6 import isValid

import desktop
from core.language import Numbers
from desktop.shell.main_window import MainWindow
from desktop.widgets.panels import (
    add_all,
    add_layout,
    clear_layout,
    parts_of,
    take_out,
)
from desktop.widgets.preferences import Preferences
from desktop.widgets.tab_order import in_reading_order
from tests.desktop.kit import one_of_everything
from tests.desktop.test_second_language import PAGES, settle

TOUCH_ITEMS: Final = (
    *("itemAt", "takeAt", "itemAtPosition", "replaceWidget"),
    *("addLayout", "insertLayout"),
)


def items_held() -> list[QWidgetItem]:
    """Return what stands for an item that Qt made; a space made in Python is told of its end."""
    gc.collect()
    return [one for one in gc.get_objects() if isinstance(one, QWidgetItem) and isValid(one)]


@pytest.fixture
def host(qtbot: QtBot) -> Iterator[QWidget]:
    assert items_held() == [], "another test holds some"
    made = QWidget()
    qtbot.addWidget(made)
    yield made
    assert items_held() == []


def test_the_parts_of_a_layout_come_in_its_order_and_not_in_that_of_their_making(
    host: QWidget,
) -> None:
    last, first, elsewhere = QLabel("last", host), QLabel("first", host), QLabel("else", host)
    column, row = QVBoxLayout(host), QHBoxLayout()
    column.addWidget(first)
    column.addStretch(1)
    column.addLayout(row)
    row.addWidget(elsewhere)
    column.addWidget(last)
    assert parts_of(column) == [first, row, last]
    assert parts_of(row) == [elsewhere]
    assert parts_of(QHBoxLayout()) == []


def test_the_rows_spoken_are_those_of_the_layout(host: QWidget) -> None:
    column = QVBoxLayout(host)
    for name in ("one", "two"):
        row = QLabel(host)
        row.setAccessibleName(name)
        column.insertWidget(0, row)
    assert [part.accessibleName() for part in parts_of(column)] == ["two", "one"]


def test_the_tab_order_is_set_along_layouts_in_layouts_and_the_rows_of_a_grid(
    host: QWidget,
) -> None:
    lines = [QLineEdit(host) for _ in range(4)]
    column, grid, form = QVBoxLayout(host), QGridLayout(), QFormLayout()
    column.addLayout(form)
    column.addLayout(grid)
    grid.addWidget(lines[0], 1, 0)
    grid.addWidget(lines[1], 0, 1)
    grid.addWidget(lines[2], 0, 0)
    form.addRow(QLabel("label"), lines[3])
    in_reading_order(host)
    found = [lines[3]]
    while len(found) < len(lines):
        after = found[-1].nextInFocusChain()
        while after not in lines:
            after = after.nextInFocusChain()
        found.append(after)
    assert found == [lines[3], lines[2], lines[1], lines[0]]


def test_widgets_that_end_after_a_look_through_their_layout_leave_nothing_that_is_held(
    host: QWidget,
) -> None:
    column = QVBoxLayout(host)
    for _ in range(3):
        column.addWidget(QLineEdit())
        column.addStretch(1)
    parts_of(column)
    in_reading_order(host)
    for part in parts_of(column):
        part.deleteLater()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    assert items_held() == []
    assert column.count() == 3, "the spaces"
    clear_layout(column)
    assert take_out(column) == []
    assert column.count() == 0


def test_no_page_holds_an_item_of_a_layout(qtbot: QtBot, tmp_path: Path) -> None:
    """Each page is opened in the window, as a person sees it."""
    fitting, deck = one_of_everything(tmp_path / "bench.library", finish=True)
    window = MainWindow(numbers=Numbers(), preferences=Preferences(tmp_path / "remembered.ini"))
    qtbot.addWidget(window)
    window.show()
    window.open_library(tmp_path / "bench.library")
    for show in PAGES.values():
        show(window, fitting, deck)
        settle(window)
        assert items_held() == [], type(window.pages.currentWidget()).__name__


def test_a_layout_filled_before_it_is_added_holds_no_items_either(host: QWidget) -> None:
    column, grid = QVBoxLayout(host), QGridLayout()
    row, inner = QHBoxLayout(), QHBoxLayout()
    first, second = QLabel("first"), QLabel("second")
    row.addWidget(first)
    row.addStretch(1)
    inner.addWidget(second)
    add_layout(row, inner, 1)
    add_layout(grid, row, 0, 0)
    add_all(column, grid)
    assert items_held() == []
    first.deleteLater()
    second.deleteLater()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    assert (row.count(), inner.count(), items_held()) == (2, 0, [])


def test_only_one_place_touches_the_items_of_a_layout() -> None:
    """It lets go of them, or ends them, in the same breath."""
    uses = [
        f"{path.relative_to(Path(desktop.__file__).parent)}: {node.func.attr}"
        for path in sorted(Path(desktop.__file__).parent.rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr in TOUCH_ITEMS
    ]
    assert uses == [*2 * ["widgets/panels.py: addLayout"], *2 * ["widgets/panels.py: itemAt"]]
