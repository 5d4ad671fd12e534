"""The buttons below a page: in one row, or where there is no room in two."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QSize
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from desktop.widgets import theme
from desktop.widgets.panels import add_all, add_layout, take_out


class ButtonBar(QWidget):
    """Shows buttons on the left and on the right; the last of them go into a second row.

    No button is ever cut. Without room for two rows the page is as wide as they need.
    """

    def __init__(
        self,
        left: Sequence[QPushButton],
        right: Sequence[QPushButton],
        last: Sequence[QPushButton],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._left, self._right, self._last = tuple(left), tuple(right), tuple(last)
        self._is_split: bool | None = None
        column = QVBoxLayout(self)
        self._first, self._second = QHBoxLayout(), QHBoxLayout()
        for row in (self._first, self._second):
            add_layout(column, row)
        self._keep_margins()
        self._arrange(split=False)

    def minimumSizeHint(self) -> QSize:
        """Return the width of the wider of two rows."""
        rows = ((*self._left, *self._right), self._last)
        least = super().minimumSizeHint()
        return QSize(max(map(self._wide, rows)), least.height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Choose between one row and two."""
        super().resizeEvent(event)
        self._fit()

    def event(self, event: QEvent) -> bool:
        """Choose again when a button is shown, hidden or gets another text."""
        done = super().event(event)
        if event.type() == QEvent.Type.LayoutRequest:
            self._fit()
        return done

    def changeEvent(self, event: QEvent) -> None:
        """Keep the margins in step with the type."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and self.layout() is not None:
            self._keep_margins()

    def _keep_margins(self) -> None:
        line, column = theme.em(self), self.layout()
        if column is not None:
            column.setContentsMargins(
                round(line * 0.5), round(line * 0.3), round(line * 0.5), round(line * 0.5)
            )

    def _fit(self) -> None:
        split = self._wide((*self._left, *self._right, *self._last)) > self.width()
        if split is not self._is_split:
            self._arrange(split=split)

    def _wide(self, buttons: Sequence[QPushButton]) -> int:
        shown = [one.minimumSizeHint().width() for one in buttons if not one.isHidden()]
        margins = (
            self.contentsMargins()
            if (inside := self.layout()) is None
            else (inside.contentsMargins())
        )
        gaps = self._first.spacing() * max(len(shown) - 1, 0)
        return sum(shown) + gaps + margins.left() + margins.right()

    def _arrange(self, *, split: bool) -> None:
        self._is_split = split
        for row in (self._first, self._second):
            take_out(row)
        add_all(self._first, *self._left, 1, *self._right)
        if split:
            add_all(self._second, 1, *self._last)
        else:
            add_all(self._first, *self._last)
