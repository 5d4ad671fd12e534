"""Show foreign text literally: Qt would interpret text that looks like HTML.

A label might then read files of this computer, or freeze. Labels are set to plain text; tooltips
and pyqtgraph's labels have no such setting, so their text is escaped.
"""

from __future__ import annotations

import re
from html import escape
from typing import Final

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import Qt as QtText
from PySide6.QtWidgets import QLabel, QWidget

_MOST_EM: Final = 18
"""Largest minimum width of text, in line heights."""
_LONG_WORD: Final = re.compile(r"\S{24}(?=\S)")


class PlainLabel(QLabel):
    """A label for plain text; one endless word does not widen its page."""

    def __init__(
        self, text: str = "", parent: QWidget | None = None, *, wraps: bool = False
    ) -> None:
        super().__init__(text, parent, textFormat=Qt.TextFormat.PlainText, wordWrap=wraps)

    def minimumSizeHint(self) -> QSize:
        """Return the size of the text, limited to the width of a long word."""
        hint = super().minimumSizeHint()
        return hint.boundedTo(QSize(_MOST_EM * self.fontMetrics().height(), hint.height()))


def plain_label(text: str = "", parent: QWidget | None = None, *, wraps: bool = False) -> QLabel:
    """Return a label for plain text."""
    return PlainLabel(text, parent, wraps=wraps)


def plain_tip(text: str) -> str:
    """Return a tooltip that shows a text literally."""
    if not QtText.mightBeRichText(text):
        return text
    return f'<p style="white-space: pre-wrap">{escape(text, quote=False)}</p>'


def breakable(text: str) -> str:
    """Return text with break opportunities inside words too long for any line."""
    return _LONG_WORD.sub(lambda found: f"{found[0]}\u200b", text)


def one_line(text: str) -> str:
    """Return a text, such as a name, without line breaks."""
    return " ".join(text.split())
