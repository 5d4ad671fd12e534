"""Foreign words are shown as they stand: Qt takes text that looks like HTML for HTML.

A label may then read files of this computer and stand still over them. Labels are told that theirs
is plain text; tool tips and pyqtgraph's labels can't be told, so there the words are escaped.
"""

from __future__ import annotations

import re
from html import escape
from typing import Final

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import Qt as QtText
from PySide6.QtWidgets import QLabel, QWidget

_MOST_EM: Final = 18
"""The most width, in heights of a line, that words may ask of a page."""
_LONG_WORD: Final = re.compile(r"\S{24}(?=\S)")


class PlainLabel(QLabel):
    """A label that shows its words as they stand; one endless word does not push its page wide."""

    def __init__(
        self, text: str = "", parent: QWidget | None = None, *, wraps: bool = False
    ) -> None:
        super().__init__(text, parent, textFormat=Qt.TextFormat.PlainText, wordWrap=wraps)

    def minimumSizeHint(self) -> QSize:
        """Return the room that the words need, but no more width than a long word takes."""
        hint = super().minimumSizeHint()
        return hint.boundedTo(QSize(_MOST_EM * self.fontMetrics().height(), hint.height()))


def plain_label(text: str = "", parent: QWidget | None = None, *, wraps: bool = False) -> QLabel:
    """Return a label that shows its words as they stand."""
    return PlainLabel(text, parent, wraps=wraps)


def plain_tip(text: str) -> str:
    """Return what a tool tip must be told to show these words as they stand."""
    if not QtText.mightBeRichText(text):
        return text
    return f'<p style="white-space: pre-wrap">{escape(text, quote=False)}</p>'


def breakable(text: str) -> str:
    """Return words that a label can break anywhere in a word too long for any line."""
    return _LONG_WORD.sub(lambda found: f"{found[0]}\u200b", text)


def one_line(text: str) -> str:
    """Return a name or the like without the line breaks that a document may have put into it."""
    return " ".join(text.split())
