"""The page for a library that can't be opened: the problem and the remedies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from core.language import Text
from core.store import LibraryProblem
from desktop.widgets import theme
from desktop.widgets.language import local_label, said
from desktop.widgets.page import Page
from desktop.widgets.plain_text import plain_label


@dataclass(frozen=True, slots=True)
class Recovery:
    """One way out of a problem."""

    key: str  # reported by chosen
    words: Text  # on the button, and the sentence under it
    hint: Text


class LibraryProblemPage(Page):
    """A problem in one sentence, its remedy, and a button for each way on."""

    chosen = Signal(str)  # the key of the way that was chosen

    def __init__(
        self,
        problem: LibraryProblem,
        options: Sequence[Recovery],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.problem = problem
        self.setAccessibleName(local_label(problem.kind.label))
        title = plain_label(local_label(problem.kind.label))
        title.setFont(theme.scaled(self.font(), 1.6, bold=True))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(48, 36, 48, 36)
        layout.addWidget(title)
        for words, factor in ((said(problem.what), 1.15), (said(problem.todo), 1.0)):
            line = plain_label(words, wraps=True)
            line.setFont(theme.scaled(self.font(), factor))
            line.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            if not words:
                line.hide()
            layout.addWidget(line)
        layout.addSpacing(18)
        self.buttons: dict[str, QPushButton] = {}
        for index, way in enumerate(options):
            button = QPushButton(said(way.words))
            button.setObjectName(f"way:{way.key}")
            button.setAutoDefault(True)
            button.setAccessibleDescription(said(way.hint))
            if index == 0:
                button.setProperty("primary", "true")
            button.clicked.connect(lambda _checked=False, key=way.key: self.chosen.emit(key))
            hint = plain_label(said(way.hint), wraps=True)
            hint.setProperty("kind", "muted")
            layout.addWidget(button, alignment=Qt.AlignmentFlag.AlignLeft)
            layout.addWidget(hint)
            layout.addSpacing(6)
            self.buttons[way.key] = button
        layout.addStretch(1)
        self._first = self.buttons[options[0].key] if options else None

    def begin(self) -> None:
        """Put the focus on the first way on."""
        if self._first is not None:
            self._first.setFocus()
