"""Shows a sheet on the screen as it will lie on paper."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import QWidget

from core.language import Name
from core.paper.sheet import Sheet
from desktop.paper.painter import paint_sheet
from desktop.widgets.language import tr

_UNITS_PER_MM: Final = 100.0
"""Text is laid out at paper resolution and then scaled down, so that lines break alike."""


class SheetView(QWidget):
    """One sheet of several, as large as there is room. Page Up and Page Down turn over."""

    turned = Signal(int)
    """Another sheet is shown: its index."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._sheets: tuple[Sheet, ...] = ()
        self.index = 0
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumSize(160, 220)

    @property
    def sheet(self) -> Sheet | None:
        """The sheet on show."""
        return self._sheets[self.index] if self._sheets else None

    def show_sheets(self, sheets: Sequence[Sheet]) -> None:
        """Show other sheets, on the same page as before if it exists."""
        self._sheets = tuple(sheets)
        self.turn_to(min(self.index, max(len(self._sheets) - 1, 0)))

    def turn_to(self, index: int) -> None:
        """Show a sheet; an index beyond the ends does nothing."""
        if not self._sheets:
            self.index = 0
            self.setAccessibleName(tr("paper.preview.no_sheet"))
            self.update()
            return
        if not 0 <= index < len(self._sheets):
            return
        self.index = index
        sheet = self._sheets[index]
        self.setAccessibleName(
            tr(
                "paper.preview.sheet_index_of_sheets_sheet",
                index=index + 1,
                sheets=len(self._sheets),
                sheet=Name(sheet.title),
            )
        )
        self.setAccessibleDescription(sheet.summary)
        self.update()
        self.turned.emit(index)

    def sizeHint(self) -> QSize:
        """Return a size at which words can be read."""
        return QSize(460, 640)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Turn over with Page Up and Page Down."""
        if event.key() == Qt.Key.Key_PageDown:
            self.turn_to(self.index + 1)
        elif event.key() == Qt.Key.Key_PageUp:
            self.turn_to(self.index - 1)
        else:
            super().keyPressEvent(event)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw paper as paper: black on white in any scheme."""
        sheet = self.sheet
        painter = QPainter(self)
        if sheet is not None:
            self._draw(painter, sheet)
        if self.hasFocus():
            painter.setPen(self.palette().color(QPalette.ColorRole.Highlight))
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    def _draw(self, painter: QPainter, sheet: Sheet) -> None:
        wide, tall = sheet.size.width_mm, sheet.size.height_mm
        scale = min((self.width() - 8) / wide, (self.height() - 8) / tall)
        if scale <= 0.0:
            return
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.save()
        painter.translate((self.width() - wide * scale) / 2.0, (self.height() - tall * scale) / 2.0)
        painter.scale(scale / _UNITS_PER_MM, scale / _UNITS_PER_MM)
        painter.fillRect(
            0, 0, round(wide * _UNITS_PER_MM), round(tall * _UNITS_PER_MM), QColor("white")
        )
        paint_sheet(painter, sheet, _UNITS_PER_MM)
        painter.restore()
