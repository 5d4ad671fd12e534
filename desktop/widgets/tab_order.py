"""Set the tab order to the reading order."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QGridLayout,
    QLayout,
    QScrollArea,
    QStackedWidget,
    QTabWidget,
    QWidget,
)

from desktop.widgets.flow_row import FlowRow
from desktop.widgets.panels import parts_of


def in_reading_order(page: QWidget) -> None:
    """Set the tab order of a page to the order of its layouts.

    Qt uses the order of creation, and parts of a page are made late: they would come last, wherever
    they stand.
    """
    for one, after in pairwise(_stops(page)):
        QWidget.setTabOrder(one, after)


def _stops(widget: QWidget) -> Iterator[QWidget]:
    if widget.focusPolicy() & Qt.FocusPolicy.TabFocus and widget.focusProxy() is None:
        yield widget
    for part in _parts(widget):
        yield from _stops(part)


def _parts(widget: QWidget) -> Iterator[QWidget]:
    """Yield the parts of a widget in reading order."""
    match widget:
        case QAbstractItemView() | QComboBox():
            return  # the arrow keys move inside it
        case QScrollArea():
            yield from _one(widget.widget())
        case QTabWidget():
            # It passes the focus to its bar: Tab would return to the bar for ever, and would go
            # there first, past what stands above it.
            widget.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            widget.setFocusProxy(None)  # type: ignore[arg-type]  # the stubs leave out None
            widget.tabBar().setFocusPolicy(Qt.FocusPolicy.TabFocus)  # Qt took it from the bar too
            yield widget.tabBar()
            yield from _each(widget)
        case QStackedWidget():  # a list without rows yet shows another page in place of its table
            yield from _each(widget)
        case FlowRow():
            yield from widget.widgets
        case _:
            layout = widget.layout()
            if layout is not None:
                yield from _laid_out(layout)


def _one(widget: QWidget | None) -> Iterator[QWidget]:
    if widget is not None:
        yield widget


def _each(pages: QTabWidget | QStackedWidget) -> Iterator[QWidget]:
    """Yield every page: Tab passes by those that are not on show, and finds them once they are."""
    for place in range(pages.count()):
        yield from _one(pages.widget(place))


def _laid_out(layout: QLayout) -> Iterator[QWidget]:
    """Yield the widgets of a layout in order, those of a grid row by row."""
    parts = parts_of(layout)
    if isinstance(layout, QGridLayout):
        parts.sort(key=lambda part: _cell(layout, part))
    for part in parts:
        if isinstance(part, QLayout):
            yield from _laid_out(part)
        else:
            yield part


def _cell(grid: QGridLayout, part: QWidget | QLayout) -> tuple[int, int]:
    """Return the row and the column of a part; Qt's stubs do not say what it returns."""
    cell = grid.getItemPosition(grid.indexOf(part))
    return (cell[0], cell[1]) if isinstance(cell, tuple) else (0, 0)
