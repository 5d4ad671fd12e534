"""A list to choose from whose words end in an ellipsis where there is no room for them."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QComboBox, QStyle, QStyleOptionComboBox, QStylePainter, QWidget

from desktop.widgets.theme import forget_with


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
