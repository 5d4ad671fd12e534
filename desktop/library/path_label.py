"""A path shortened in its middle to the room there is."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from desktop.widgets.plain_text import plain_tip


class PathLabel(QLabel):
    """Shows a file; the whole path is in its tooltip and for screen readers."""

    def __init__(self, path: str, what: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._whole = path
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setToolTip(plain_tip(self._whole))
        self.setAccessibleName(f"{what} {self._whole}")
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Shorten the path to the new width."""
        super().resizeEvent(event)
        room = self.contentsRect().width()
        shown = self.fontMetrics().elidedText(self._whole, Qt.TextElideMode.ElideMiddle, room)
        if shown != self.text():
            self.setText(shown)
