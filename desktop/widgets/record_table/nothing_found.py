"""Shown in place of an empty list: why it is empty, and what can be done."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget


class NothingFound(QWidget):
    """A sentence, and buttons while a filter is what hides the rows."""

    # The person takes the filter away, wants to see what was put away too, or wants to look for
    # the same words on the table beside this one
    clear_wanted = Signal()
    archived_wanted = Signal()
    other_table_wanted = Signal()

    def __init__(self, other_table: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.words = QLabel()
        self.words.setObjectName("shelfEmpty")
        self.words.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.words.setWordWrap(True)
        self.clear = QPushButton("Clear the filter")
        self.clear.clicked.connect(self.clear_wanted)
        self.archived = QPushButton()
        self.archived.clicked.connect(self.archived_wanted)
        self.other_table = QPushButton(f"Look among the {other_table}")
        self.other_table.clicked.connect(self.other_table_wanted)
        self._has_other_table = bool(other_table)
        ways = QHBoxLayout()
        ways.addStretch(1)
        for button in (self.clear, self.archived, self.other_table):
            button.setAutoDefault(True)
            ways.addWidget(button)
        ways.addStretch(1)
        layout = QVBoxLayout(self)
        layout.addStretch(2)
        layout.addWidget(self.words)
        layout.addLayout(ways)
        layout.addStretch(3)
        self.say("", filtered=False)

    def say(self, words: str, *, filtered: bool, archived: str = "") -> None:
        """Say why nothing is shown."""
        self.words.setText(words)
        self.clear.setVisible(filtered)
        self.other_table.setVisible(filtered and self._has_other_table)
        self.archived.setVisible(bool(archived))
        self.archived.setText(f"Show {archived} archived")
