"""A path that gives way where there is no room: its middle is left out, never its ends."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget


class PathLabel(QLabel):
    """Shows a file; the whole path is in its tooltip and for screen readers.

    Parameters
    ----------
    path
        The file.
    what
        What it is, for screen readers.
    """

    def __init__(self, path: str, what: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._whole = path
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setToolTip(self._whole)
        self.setAccessibleName(f"{what} {self._whole}")
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's own name
        """Show as much as there is room for."""
        super().resizeEvent(event)
        room = self.contentsRect().width()
        shown = self.fontMetrics().elidedText(self._whole, Qt.TextElideMode.ElideMiddle, room)
        if shown != self.text():
            self.setText(shown)
