"""A list to choose from whose words end in an ellipsis where there is no room for them."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QHelpEvent, QPaintEvent
from PySide6.QtWidgets import (
    QComboBox,
    QStyle,
    QStyleOptionComboBox,
    QStylePainter,
    QToolTip,
    QWidget,
)

from desktop.widgets.plain_text import plain_tip
from desktop.widgets.theme import forget_with

_LITTLE: Final = 4
"""A list that scrolls by no more than so many pixels was meant to be whole."""
_ARROWS: Final = 2


class ElidedCombo(QComboBox):
    """Draws as much of its words as fits; Qt's own cuts a letter in two."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        frame = self.view().parentWidget()
        if frame is not None:
            forget_with(frame)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the box, and the words that fit."""
        option = QStyleOptionComboBox()
        self.initStyleOption(option)
        option.currentText = self.fontMetrics().elidedText(
            option.currentText, Qt.TextElideMode.ElideRight, self.room()
        )
        painter = QStylePainter(self)
        painter.drawComplexControl(QStyle.ComplexControl.CC_ComboBox, option)
        painter.drawControl(QStyle.ControlElement.CE_ComboBoxLabel, option)

    def showPopup(self) -> None:  # noqa: N802 - Qt calls it so
        """Open the list with the room that its last row needs.

        Qt measures it without the wider border of the box with the focus, and cuts that row.
        """
        super().showPopup()
        rows, frame = self.view(), self.view().parentWidget()
        bar = rows.verticalScrollBar()
        if frame is None or not 0 < bar.maximum() <= _LITTLE:
            return
        tall = frame.height() + bar.maximum() + 1
        # With more room than it needs it takes the arrows at its ends away, and they stay away.
        frame.resize(frame.width(), tall + _ARROWS * rows.sizeHintForRow(0))
        bar.setValue(0)
        frame.resize(frame.width(), tall)

    def is_cut(self) -> bool:
        """Return whether its words end in an ellipsis."""
        return self.fontMetrics().horizontalAdvance(self.currentText()) > self.room()

    def event(self, event: QEvent) -> bool:
        """Show words that are cut whole in a tip."""
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip and self.is_cut():
            QToolTip.showText(event.globalPos(), plain_tip(self.currentText()), self)
            return True
        return super().event(event)

    def room(self) -> int:
        """Return how wide its words may be, in pixels."""
        option = QStyleOptionComboBox()
        self.initStyleOption(option)
        field = self.style().subControlRect(
            QStyle.ComplexControl.CC_ComboBox,
            option,
            QStyle.SubControl.SC_ComboBoxEditField,
            self,
        )
        return field.width() - 2  # the style keeps a pixel free at either side
