"""The order in which the Tab key goes through a page: as it is read."""

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


def in_reading_order(page: QWidget) -> None:
    """Let Tab go through a page in the order of its layouts.

    Qt takes the order in which widgets were made, and parts of a page are made late: what was
    made last would come last, wherever it stands.
    """
    for one, after in pairwise(_stops(page)):
        QWidget.setTabOrder(one, after)


def _stops(widget: QWidget) -> Iterator[QWidget]:
    if widget.focusPolicy() & Qt.FocusPolicy.TabFocus and widget.focusProxy() is None:
        yield widget
    for part in _parts(widget):
        yield from _stops(part)


def _parts(widget: QWidget) -> Iterator[QWidget]:
    """Yield what a widget shows, in the order it is read."""
    match widget:
        case QAbstractItemView() | QComboBox():
            return  # the arrow keys go through it
        case QScrollArea():
            yield from _one(widget.widget())
        case QTabWidget():
            # It hands the focus to its bar: Tab would come back to the bar for ever.
            widget.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            yield widget.tabBar()
            yield from _one(widget.currentWidget())
        case QStackedWidget():
            yield from _one(widget.currentWidget())
        case _:
            layout = widget.layout()
            if layout is not None:
                yield from _laid_out(layout)


def _one(widget: QWidget | None) -> Iterator[QWidget]:
    if widget is not None:
        yield widget


def _laid_out(layout: QLayout) -> Iterator[QWidget]:
    """Yield the widgets of a layout as it fills its place, those of a grid row by row."""
    places = list(range(layout.count()))
    if isinstance(layout, QGridLayout):
        cells = {place: _cell(layout, place) for place in places}
        places.sort(key=cells.__getitem__)
    for place in places:
        item = layout.itemAt(place)
        if item is None:
            continue
        widget, inner = item.widget(), item.layout()
        if widget is not None:
            yield widget
        elif inner is not None:
            yield from _laid_out(inner)


def _cell(grid: QGridLayout, place: int) -> tuple[int, int]:
    """Return the row and the column of an item; Qt's stubs do not say what it returns."""
    cell = grid.getItemPosition(place)
    return (cell[0], cell[1]) if isinstance(cell, tuple) else (0, 0)
