"""A line in a form that says: this was typed before and is not saved yet."""

from __future__ import annotations

from datetime import datetime

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from core.language import Name
from desktop.widgets.language import tr
from desktop.widgets.local_time import moment
from desktop.widgets.panels import add_all, button, text_label


class DraftLine(QWidget):
    """Hidden unless there is unsaved input, from here or from another window."""

    cleared = Signal()
    """The person discards the draft."""
    wanted = Signal()
    """The person takes over the draft of another window."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._words = text_label("", "muted")
        self._words.setObjectName("draftWords")
        self._clear = button(
            tr("forms.draft_line.clear"), tip=tr("forms.draft_line.empties_the_form"), quiet=True
        )
        self._show = button(
            tr("forms.draft_line.show_it_here"),
            tip=tr("forms.draft_line.fills_the_form"),
            quiet=True,
        )
        self._clear.clicked.connect(self.cleared)
        self._show.clicked.connect(self.wanted)
        row = add_all(QHBoxLayout(self), (self._words, 1), self._clear, self._show)
        row.setContentsMargins(0, 0, 0, 0)
        self.hide()

    @property
    def buttons(self) -> tuple[QPushButton, QPushButton]:
        """The buttons to clear the form, and to show another window's draft."""
        return self._clear, self._show

    def text(self) -> str:
        """Return the text on show, empty if none."""
        return "" if self.isHidden() else self._words.text()

    def say_typed(self, at: datetime) -> None:
        """Say since when the form holds unsaved input."""
        self._say(tr("forms.draft_line.typed_before", moment=Name(moment(at))), is_mine=True)

    def say_elsewhere(self, who: str, at: datetime) -> None:
        """Say that another window holds unsaved input, which is not shown here."""
        when = Name(moment(at))
        by = tr("forms.draft_line.by_who", who=Name(who)) if who else ""
        words = tr("forms.draft_line.typed_elsewhere", by=Name(by), moment=when)
        self._say(words, is_mine=False)

    def put_away(self) -> None:
        """Hide the line."""
        self.hide()

    def _say(self, words: str, *, is_mine: bool) -> None:
        self._words.setText(words)
        self._clear.setVisible(is_mine)
        self._show.setVisible(not is_mine)
        self.show()
