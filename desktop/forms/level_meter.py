"""A level meter for one channel, with peak hold."""

from __future__ import annotations

import math
from typing import Final

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import QWidget

from desktop.widgets import theme

LOWEST_DB: Final = -60.0


def db_of(peak: float) -> float:
    """Return a peak in decibels below full scale, limited to the meter's lowest."""
    return max(20.0 * math.log10(peak), LOWEST_DB) if peak > 0.0 else LOWEST_DB


class LevelMeter(QWidget):
    """A bar from -60 dB to full scale, with a line at the held peak."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._now = self._held = LOWEST_DB
        self.setMinimumHeight(round(theme.em(self) * 0.9))

    def show_peaks(self, now: float, held: float) -> None:
        """Show the present and the held peak; 1 is full scale."""
        self._now, self._held = db_of(now), db_of(held)
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the bar and the line."""
        painter = QPainter(self)
        palette, box = self.palette(), QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        painter.setPen(palette.color(QPalette.ColorRole.Mid))
        painter.setBrush(palette.color(QPalette.ColorRole.Base))
        painter.drawRect(box)
        bar = QRectF(box)
        bar.setWidth(self._along(self._now, box.width()))
        painter.fillRect(bar, palette.color(QPalette.ColorRole.Highlight))
        if self._held > LOWEST_DB:
            at = box.left() + self._along(self._held, box.width() - 2.0)
            line = QRectF(at, box.top(), 2.0, box.height())
            painter.fillRect(line, palette.color(QPalette.ColorRole.Text))

    def _along(self, db: float, width: float) -> float:
        return width * (min(db, 0.0) - LOWEST_DB) / -LOWEST_DB
