"""A row of buttons goes on below where they would be cut."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtWidgets import QApplication, QPushButton, QVBoxLayout, QWidget

from desktop.widgets.flow_row import FlowRow

Show = Callable[..., QWidget]


@pytest.mark.parametrize(("share", "rows"), [(6.0, 1), (2.9, 2), (1.1, 4)])
def test_buttons_keep_their_width_in_as_many_rows_as_they_need(
    shown: Show, share: float, rows: int
) -> None:
    buttons = [QPushButton("Export") for _ in range(5)]
    row = FlowRow(buttons)
    buttons[2].hide()
    wide = buttons[0].sizeHint().width()
    shown(row, round(share * wide), 200)
    seen = [one for one in buttons if not one.isHidden()]
    assert len({one.y() for one in seen}) == rows
    assert all(one.width() == wide for one in seen)
    assert all(one.geometry().right() < row.width() for one in seen)
    assert row.heightForWidth(row.width()) == 1 + max(one.geometry().bottom() for one in seen)


def test_a_page_with_too_little_room_cuts_no_row(shown: Show) -> None:
    buttons = [QPushButton("Export") for _ in range(5)]
    page, row = QWidget(), FlowRow(buttons)
    big = QWidget()
    big.setMinimumHeight(190)
    column = QVBoxLayout(page)
    column.addWidget(big)
    column.addWidget(row)
    shown(page, round(2.9 * buttons[0].sizeHint().width()), 200)
    QApplication.processEvents()
    assert all(one.geometry().bottom() < row.height() for one in buttons)
