"""Widgets in a row that wraps into further rows."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QEvent, QRect, QSize
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from desktop.widgets import theme


class PlacedWidgets(QWidget):
    """Places its widgets by itself, in as many rows as its width needs."""

    def heightForWidth(self, width: int) -> int:
        """Return the height of all rows at a width."""
        return max((place.bottom() + 1 for _, place in self._places(width)), default=0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Place all widgets."""
        super().resizeEvent(event)
        self._arrange()

    def event(self, event: QEvent) -> bool:
        """Place all widgets again when one is shown, hidden or gets another size or text."""
        if event.type() == QEvent.Type.LayoutRequest:
            self._arrange()
            self.updateGeometry()
        return super().event(event)

    def _places(self, width: int) -> list[tuple[QWidget, QRect]]:
        """Return each widget and its room at a width."""
        raise NotImplementedError

    def _arrange(self) -> None:
        raise NotImplementedError


class FlowRow(PlacedWidgets):
    """Puts widgets side by side at their own width, in as many rows as needed."""

    def __init__(self, widgets: Iterable[QWidget], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.widgets = tuple(widgets)
        """All of them in order, shown or not."""
        for one in self.widgets:
            one.setParent(self)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def sizeHint(self) -> QSize:
        """Return the size of all in one row."""
        hints = [one.sizeHint() for one in self._shown()]
        wide = sum(hint.width() for hint in hints) + self._gap() * max(0, len(hints) - 1)
        return QSize(wide, max((hint.height() for hint in hints), default=0))

    def minimumSizeHint(self) -> QSize:
        """Return the size of the largest."""
        least = QSize(0, 0)
        for one in self._shown():
            least = least.expandedTo(one.sizeHint())
        return least

    def _arrange(self) -> None:
        for one, place in self._places(self.width()):
            one.setGeometry(place)
        # Otherwise a page with too little room would give it the height of one row.
        self.setMinimumHeight(self.heightForWidth(self.width()))

    def _gap(self) -> int:
        return round(0.4 * theme.em(self))

    def _shown(self) -> list[QWidget]:
        return [one for one in self.widgets if not one.isHidden()]

    def _places(self, width: int) -> list[tuple[QWidget, QRect]]:
        found: list[tuple[QWidget, QRect]] = []
        x = y = high = 0
        for one in self._shown():
            hint = one.sizeHint()
            if x and x + hint.width() > width:
                x, y, high = 0, y + high + self._gap(), 0
            found.append((one, QRect(x, y, min(hint.width(), width), hint.height())))
            x, high = x + hint.width() + self._gap(), max(high, hint.height())
        return found
