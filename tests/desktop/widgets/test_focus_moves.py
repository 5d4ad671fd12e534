"""Who follows the focus is told of each move, and is gone once it ended."""

from __future__ import annotations

import gc
import re
from pathlib import Path

from PySide6.QtCore import QEvent
from PySide6.QtWidgets import QApplication, QLineEdit, QVBoxLayout, QWidget

import desktop
from desktop.widgets import focus_moves
from desktop.widgets.focus_moves import follow_focus
from tests.desktop.kit import Show


class Follower(QWidget):
    """Two fields in a row, and which of them had the focus."""

    def __init__(self) -> None:
        super().__init__()
        self.seen: list[QWidget | None] = []
        self.first, self.second = QLineEdit(), QLineEdit()
        layout = QVBoxLayout(self)
        layout.addWidget(self.first)
        layout.addWidget(self.second)
        follow_focus(self.note)

    def note(self, now: QWidget | None) -> None:
        self.seen.append(now)


def test_each_move_is_told(shown: Show) -> None:
    made = Follower()
    shown(made)
    made.seen.clear()
    made.second.setFocus()
    made.first.setFocus()
    assert made.seen == [made.second, made.first]


def test_one_that_ended_is_told_nothing_and_forgotten(shown: Show) -> None:
    made = Follower()
    follower = focus_moves._followers[-1]
    assert follower() == made.note
    other = QLineEdit()
    shown(other)
    seen = made.seen
    made.deleteLater()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    seen.clear()
    other.clearFocus()
    other.setFocus()
    assert seen == []
    del made
    gc.collect()
    assert not any(follower is kept for kept in focus_moves._followers)


def test_nobody_else_connects_to_the_application() -> None:
    """Hundreds of ended start pages stayed in memory in an hour."""
    folder = Path(desktop.__file__).parent
    found = [
        file.name
        for file in folder.rglob("*.py")
        if re.search(r"\bfocusChanged\.connect\(", file.read_text("utf-8"))
    ]
    assert found == ["focus_moves.py"]
