"""A list to choose from says in a tip what it had to cut."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import QEvent
from PySide6.QtGui import QHelpEvent
from PySide6.QtWidgets import QApplication, QToolTip, QWidget

from desktop.widgets.elided_combo import ElidedCombo

Show = Callable[..., QWidget]
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
