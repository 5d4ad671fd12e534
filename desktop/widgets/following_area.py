"""A scroll area for small windows that follows the focus."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QApplication, QFrame, QScrollArea, QWidget

from desktop.widgets.focus_moves import follow_focus


class FollowingArea(QScrollArea):
    """Scrolls content that is too high for its window; keeps the focused widget in view.

    Qt's resizable scroll area gives wrapped text its preferred height and scrolls needlessly. This
    one gives it the height it needs, and any room left.
    """

    def __init__(self, held: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setWidget(held)
        follow_focus(self._follow)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Update the page's height after a change of its content."""
        done = super().eventFilter(watched, event)
        if watched is self.widget() and event.type() == QEvent.Type.LayoutRequest:
            self._fit()
        return done

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Update the page's height for the new size."""
        super().resizeEvent(event)
        self._fit()
        self._follow(QApplication.focusWidget())

    def _fit(self) -> None:
        held = self.widget()
        layout = held.layout() if held is not None else None
        if held is None or layout is None:
            return
        room = self.maximumViewportSize()
        needed = self._needed(room.width())
        if needed > room.height():
            bar = self.verticalScrollBar().sizeHint().width()
            room.setWidth(room.width() - bar)
            needed = self._needed(room.width())
        held.resize(room.width(), max(room.height(), needed))

    def _needed(self, width: int) -> int:
        held = self.widget()
        layout = held.layout() if held is not None else None
        if layout is None:
            return 0
        if layout.hasHeightForWidth():
            return layout.minimumHeightForWidth(width)
        return layout.minimumSize().height()

    def _follow(self, now: QWidget | None) -> None:
        if now is not None and self.isAncestorOf(now):
            self.ensureWidgetVisible(now, 0, self.fontMetrics().height())
