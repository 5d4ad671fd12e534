"""An area that scrolls a form and always gives it its full height."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QScrollArea, QWidget


class FormArea(QScrollArea):
    """Scrolls a form.

    Qt asks a form whose lines wrap for its height before its new fields are laid out, and then
    squeezes all of them into what it was told. Here the height is asked for again once they are.
    """

    def __init__(self, form: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setWidget(form)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Ask for the height after every change of what the form holds."""
        done = super().eventFilter(watched, event)
        if watched is self.widget() and event.type() == QEvent.Type.LayoutRequest:
            self.fit()
        return done

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Ask for the height at the new width."""
        super().resizeEvent(event)
        self.fit()

    def fit(self) -> None:
        """Give the form the height that its fields need at this width."""
        form = self.widget()
        layout = form.layout() if form is not None else None
        if form is None or layout is None:
            return
        needed = layout.totalHeightForWidth(self.viewport().width())
        if needed > 0 and needed != form.minimumHeight():
            form.setMinimumHeight(needed)
