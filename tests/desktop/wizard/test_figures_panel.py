"""The figures of a step in a column that scrolls: names beside the numbers, or above them."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QApplication, QScrollArea, QVBoxLayout, QWidget

from core.language import Numbers
from desktop.widgets import theme
from desktop.wizard.figures import FiguresPanel
from tests.desktop.kit import settle

Show = Callable[..., QWidget]
MOST = 40
"""A column takes a few sizes on its way to the right one; it went on for ever until Qt crashed."""


class Column(QScrollArea):
    """A column of a step's page: figures, and something as high as is wished."""

    def __init__(self) -> None:
        super().__init__()
        self.figures, self.other = FiguresPanel(Numbers()), QWidget()
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.addWidget(self.figures)
        column.addWidget(self.other)
        column.addStretch(1)
        self.setWidget(inside)
        self.setWidgetResizable(True)
        self.sizes = 0
        inside.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Count the sizes, and let go of what takes too many."""
        if watched is self.widget() and event.type() == QEvent.Type.Resize:
            self.sizes += 1
            if self.sizes > MOST:
                self.setWidgetResizable(False)
        return super().eventFilter(watched, event)


@pytest.mark.parametrize("text_scale", [1.0, 1.5])
def test_a_column_of_any_width_comes_to_rest(
    shown: Show, qapp: QApplication, text_scale: float
) -> None:
    theme.apply(qapp, "light", text_scale=text_scale)
    try:
        _try_every_width(shown(Column()))
    finally:
        theme.apply(qapp, "light")


def _try_every_width(column: Column) -> None:
    rows = (("Slope left to right", "0.1 mm/m high at the right", "0 ± 2 mm/m", ""),)
    notes = ("One direction alone is not enough. Turn the level, and read the other.",)
    column.figures._tell(rows, notes, "", False)
    for wide in range(250, 700):
        column.sizes = 0
        column.resize(wide, 320)
        settle()
        column.other.setFixedHeight(280 + wide % 2)
        settle()
        assert column.sizes <= MOST, wide
