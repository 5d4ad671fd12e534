"""Two parts that scroll separately, side by side or, in a narrow window, stacked."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QApplication, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from desktop.widgets import theme

_TWO_FROM_EM: Final = 54.0
_SHARES: Final = (3, 2)
_RING: Final = (
    "QScrollArea { border: 2px solid transparent; }"
    "QScrollArea:focus { border-color: palette(highlight); }"
)


class SideBySide(QWidget):
    """Lays out two parts by the available width, in line heights.

    The areas take the focus, so that the arrow and page keys scroll them.
    """

    def __init__(
        self,
        first: QWidget,
        second: QWidget,
        names: tuple[str, str],
        parent: QWidget | None = None,
        *,
        two_from_em: float = _TWO_FROM_EM,
    ) -> None:
        super().__init__(parent)
        self._second = second
        self._two_from_em = two_from_em
        self._is_wide: bool | None = None
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(round(theme.em(self) * 0.5))
        self._columns: list[QVBoxLayout] = []
        self.areas: list[QScrollArea] = []
        for share, name in zip(_SHARES, names, strict=True):
            area = QScrollArea(self)
            area.setWidgetResizable(True)
            area.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            area.setStyleSheet(_RING)
            area.setAccessibleName(name)
            inside = QWidget()
            column = QVBoxLayout(inside)
            column.setContentsMargins(2, 2, 2, 2)
            column.addStretch(1)
            area.setWidget(inside)
            row.addWidget(area, share)
            self._columns.append(column)
            self.areas.append(area)
        self._columns[0].insertWidget(0, first)
        self._arrange(wide=True)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Choose between one column and two again."""
        super().resizeEvent(event)
        self._arrange(wide=event.size().width() / theme.em(self) >= self._two_from_em)

    def _arrange(self, *, wide: bool) -> None:
        if wide is self._is_wide:
            return
        self._is_wide = wide
        focused = QApplication.focusWidget()
        for column in self._columns:
            column.removeWidget(self._second)
        home = self._columns[1 if wide else 0]
        home.insertWidget(home.count() - 1, self._second)
        self._second.show()
        self.areas[1].setVisible(wide)
        if focused is not None and self.isAncestorOf(focused):
            focused.setFocus(Qt.FocusReason.OtherFocusReason)
