"""A layout of one, two or three scrolling columns, as many as fit."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, QObject, QPoint, Qt, QTimer, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QApplication, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from desktop.widgets import theme
from desktop.widgets.steady_label import activate_layouts

_TWO_FROM_EM: Final = 48.0
_TWO_TIGHT_EM: Final = 30.0
_WORK_SHARE: Final = 9
_BESIDE_SHARE: Final = 7
_THREE_FROM_EM: Final = 90.0
_MOST_WAITED: Final = 8
_LEVELS: Final = 16
"""More widgets than any part of a page has around it, each of which passes its request on."""
_BESIDE_EM: Final = 13.0
"""Approximate width of the window outside the columns."""


class Columns(QWidget):
    """Lays out three parts by the available width, in units of the line height.

    Wide: one column each. Medium: the second beside the first, the third below the first. Narrow:
    all in one column, in that order.
    """

    arranged = Signal(int)
    """The number of columns changed."""
    grown = Signal()
    """The height of a column or its content changed, so that another part of it is in view."""

    def __init__(
        self, parts: tuple[QWidget, QWidget, QWidget], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._parts = parts
        self.count = 0
        self._two_from_em = _TWO_FROM_EM
        self._shares = (1, 1, 1)
        row = self._row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(round(theme.em(self) * 0.5))
        self._areas: list[QScrollArea] = []
        self._inner: list[QVBoxLayout] = []
        for _ in parts:
            area = QScrollArea(self)
            area.setWidgetResizable(True)
            area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
            inside = QWidget()
            column = QVBoxLayout(inside)
            column.setContentsMargins(2, 2, 2, 2)
            column.addStretch(1)
            area.setWidget(inside)
            inside.installEventFilter(self)
            row.addWidget(area, 1)
            self._areas.append(area)
            self._inner.append(column)
        self._widen = QTimer(self, singleShot=True, interval=0)
        self._widen.timeout.connect(self._give_width)
        self._waited = 0
        """Turns of the event loop without a painting."""
        self._stretch = QTimer(self, singleShot=True, interval=0)
        self._stretch.timeout.connect(self._give_height)
        # The expected width: laying out twice would take a fifth of the time of a page.
        self.arrange(self._count_for(self._expected()))

    def arrange(self, count: int) -> None:
        """Arrange in this many columns; keep the focus."""
        if count == self.count:
            return
        self.count = count
        focused = QApplication.focusWidget()
        homes = {1: (0, 0, 0), 2: (0, 1, 0), 3: (0, 1, 2)}[count]
        for part in self._parts:
            for column in self._inner:
                column.removeWidget(part)
        for part, home in zip(self._parts, homes, strict=True):
            column = self._inner[home]
            column.insertWidget(column.count() - 1, part, 0)
            if self.isVisible():  # otherwise it is shown with the page and laid out once
                part.show()
        for place, area in enumerate(self._areas):
            area.setVisible(place < count)
        if focused is not None and self.isAncestorOf(focused):
            focused.setFocus(Qt.FocusReason.OtherFocusReason)
        self.arranged.emit(count)

    def keep_two(self) -> None:
        """Keep the second part beside the first in a narrower window too, to read both at once."""
        self._two_from_em = _TWO_TIGHT_EM
        self._shares = (_WORK_SHARE, _BESIDE_SHARE, _WORK_SHARE)
        self._give_width()
        self.arrange(self._count_for(self.width() if self.isVisible() else self._expected()))

    def reveal(self, widget: QWidget, lead: QWidget | None = None) -> None:
        """Scroll a widget into view, and if there is room what leads up to it."""
        for area in self._areas:
            inside = area.widget()
            if inside is None or not inside.isAncestorOf(widget):
                continue
            margin = round(theme.em(self) * 4)
            area.ensureWidgetVisible(widget, 20, margin)
            if lead is None:
                continue
            bar = area.verticalScrollBar()
            top = lead.mapTo(inside, lead.rect().topLeft()).y()
            end = widget.mapTo(inside, widget.rect().bottomLeft()).y()
            room = area.viewport().height()
            below = min(margin, max(0, room - (end - top)))
            bar.setValue(min(bar.value(), max(top, end + below - room)))

    def show_top(self, widget: QWidget, first: QWidget | None = None) -> bool:
        """Scroll a widget's column to its top; return whether the widget is in view there.

        If it is not, but fits into the column together with ``first`` above it, scroll as far as
        that takes, and return that it is in view.
        """
        for area in self._areas:
            inside = area.widget()
            if inside is None or not inside.isAncestorOf(widget):
                continue
            bar, room = area.verticalScrollBar(), area.viewport().height()
            end = widget.mapTo(inside, widget.rect().bottomLeft()).y() + 1
            top = 0 if first is None else first.mapTo(inside, first.rect().topLeft()).y()
            bar.setValue(max(0, end - room) if end - top <= room else 0)
            return end - top <= room
        return False

    def hides_above(self, widget: QWidget) -> bool:
        """Return whether the top of a widget is scrolled out of view, above its column."""
        for area in self._areas:
            inside = area.widget()
            if inside is not None and inside.isAncestorOf(widget):
                return widget.mapTo(inside, QPoint()).y() < area.verticalScrollBar().value()
        return False

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Choose the number of columns again."""
        super().resizeEvent(event)
        self.arrange(self._count_for(event.size().width()))
        self._give_width()
        if event.size().height() != event.oldSize().height():
            self.grown.emit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Tell that a column's height has changed; give a column the width it asks for."""
        if event.type() == QEvent.Type.LayoutRequest:
            self._widen.start()
            self._wait_for_height()
        elif event.type() == QEvent.Type.Paint:
            self._waited = 0
        if isinstance(event, QResizeEvent) and event.size().height() != event.oldSize().height():
            self.grown.emit()
        return super().eventFilter(watched, event)

    def steady(self) -> None:
        """Paint no column until its parts have their height: one is about to be shown."""
        for area in self._areas:
            area.setUpdatesEnabled(False)
        self._stretch.start()

    def _wait_for_height(self) -> None:
        """Paint no column while its parts change their height, but never wait for ever."""
        if not self._stretch.isActive() and self._waited < _MOST_WAITED:
            self._waited += 1
            self.steady()

    def _give_height(self) -> None:
        """Let each column take the height it lacks now, not a turn later, and paint it again.

        The area does it, which knows of its bars: a height set here made them come and go for ever.
        """
        for _ in range(_LEVELS):  # what changed deep inside is known at the top only after as many
            QApplication.sendPostedEvents(None, QEvent.Type.LayoutRequest)
        for area in self._areas:
            inside = area.widget()
            if inside is not None and _lacks(area) > 0:
                activate_layouts(inside)
                QApplication.sendEvent(area, QEvent(QEvent.Type.LayoutRequest))
            area.setUpdatesEnabled(True)

    def _give_width(self) -> None:
        """Share out the width as usual, or where a column would be too narrow so, by need."""
        areas = self._areas[: self.count]
        room = self.width() - self._row.spacing() * (self.count - 1)
        whole = sum(self._shares[: self.count])
        usual = [room * share // whole for share in self._shares]
        needs = [_least_width(area) for area in areas]
        lacks = any(need > width for need, width in zip(needs, usual, strict=False))
        spare = room - sum(needs)
        shares = list(self._shares)
        if lacks and spare >= 0:
            shares[: self.count] = [need + spare // self.count for need in needs]
        for place, share in enumerate(shares):
            if self._row.stretch(place) != share:
                self._row.setStretch(place, share)

    def _expected(self) -> int:
        """Return the approximate width it will have in this window."""
        return self.window().width() - round(_BESIDE_EM * theme.em(self))

    def _count_for(self, width: int) -> int:
        wide = width / theme.em(self)
        return 3 if wide >= _THREE_FROM_EM else 2 if wide >= self._two_from_em else 1


def _least_width(area: QScrollArea) -> int:
    """Return the width of a column in which nothing of it lies beyond a sideways bar."""
    inside = area.widget()
    least = 0 if inside is None else inside.minimumSizeHint().width()
    return least + area.verticalScrollBar().sizeHint().width() + 2 * area.frameWidth()


def _lacks(area: QScrollArea) -> int:
    """Return the height that a column lacks for its parts, in pixels; 0 or less is enough."""
    inside = area.widget()
    layout = inside.layout() if inside is not None else None
    if inside is None or layout is None:
        return 0
    return layout.totalHeightForWidth(inside.width()) - inside.height()
