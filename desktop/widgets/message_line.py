"""A line for a problem or a question."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QWidget


class MessageLine(QLabel):
    """One sentence under a field: a problem or a question; takes no room while empty."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWordWrap(True)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.hide()

    def say(self, problem: str, question: str = "") -> None:
        """Show a problem, else a question, else nothing, with a sign in front."""
        kind, text = ("problem", f"✕ {problem}") if problem else ("question", f"? {question}")
        if not problem and not question:
            kind, text = "", ""
        if self.text() == text:
            return
        self.setText(text)
        self.setProperty("kind", kind)
        self.style().unpolish(self)
        self.style().polish(self)
        self.setVisible(bool(text))
