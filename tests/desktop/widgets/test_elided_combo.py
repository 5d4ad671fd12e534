"""A list to choose from says in a tip what it had to cut."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import QEvent
from PySide6.QtGui import QHelpEvent
from PySide6.QtWidgets import QApplication, QToolTip, QVBoxLayout, QWidget

from desktop.widgets.elided_combo import ElidedCombo
from desktop.widgets.panels import add_all

Show = Callable[..., QWidget]
opens_menus = pytest.mark.qt_log_ignore("does not support")
LONG = "2026-014  <b>Deck</b> by the window, black lacquer, with the second belt and its own lid"


def hover(box: ElidedCombo) -> None:
    middle = box.rect().center()
    event = QHelpEvent(QEvent.Type.ToolTip, middle, box.mapToGlobal(middle))
    QApplication.sendEvent(box, event)


def test_words_that_are_cut_stand_whole_in_a_tip_as_plain_text(
    shown: Show, monkeypatch: pytest.MonkeyPatch
) -> None:
    tips: list[str] = []
    monkeypatch.setattr(QToolTip, "showText", lambda _at, words, _over: tips.append(words))
    box = ElidedCombo()
    box.addItem(LONG)
    shown(box, 160, 40)
    assert box.is_cut()
    hover(box)
    assert "&lt;b&gt;Deck&lt;/b&gt; by the window" in tips[0]
    assert "and its own lid" in tips[0]
    box.resize(1600, 40)
    QApplication.processEvents()
    assert not box.is_cut()
    hover(box)
    assert len(tips) == 1, "nothing is cut"


@opens_menus
@pytest.mark.parametrize("at", [0, 2, 4])
@pytest.mark.usefixtures("usual_look")
def test_an_open_list_shows_its_last_row_whole(shown: Show, at: int) -> None:
    """With the focus the box is framed more widely, and the fifth kind of work was cut."""
    page, box = QWidget(), ElidedCombo()
    add_all(QVBoxLayout(page), 1, box, 1)
    for number in range(5):
        box.addItem(f"Kind {number}")
    shown(page, 600, 500)
    box.setFocus()
    box.setCurrentIndex(at)
    QApplication.processEvents()
    box.showPopup()
    QApplication.processEvents()
    rows = box.view()
    assert rows.verticalScrollBar().maximum() == 0
    last = rows.visualRect(rows.model().index(4, 0))
    assert 0 <= last.top() < last.bottom() < rows.viewport().height()
    box.hidePopup()
