"""Small charts of every quantity of a deck over time; one of them is shown large."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QGridLayout, QScrollArea, QWidget

from core.history import Timeline
from core.history.chart import in_short, over_time
from core.language import Numbers
from desktop.charts.chart import Chart
from desktop.charts.small_chart import LEAST_EM, SmallChart
from desktop.widgets import theme
from desktop.widgets.language import tr
from desktop.widgets.panels import framed, text_label

_MOST_COLUMNS: Final = 4


class SmallCharts(QWidget):
    """Small charts side by side; the one that has the focus is shown large below its row.

    Tab comes to one of them, the arrow keys go on from there.
    """

    def __init__(self, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self._timeline = Timeline((), ())
        self._columns = 1
        self._keys: list[str] = []
        self.open_key = ""
        """Which quantity is shown large; empty for none."""
        column = framed(self, tr("history.small_charts.over_time"))
        self._hint = text_label(tr("history.small_charts.arrows_and_large"), "muted")
        self._none = text_label(tr("history.small_charts.nothing_was_read_in_any"), "muted")
        self._inside = QWidget()
        self._grid = QGridLayout(self._inside)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(round(theme.em(self) * 0.3))
        self.small: list[SmallChart] = []
        self.chart = Chart(numbers, self._inside)
        self.chart.hide()
        for part in (self._none, self._inside, self._hint):
            column.addWidget(part)
        self.show_timeline(self._timeline)

    def show_timeline(self, timeline: Timeline) -> None:
        """Show another timeline; the quantity shown large stays if it is there."""
        self._timeline = timeline
        self._keys = [quantity.key for quantity in timeline.quantities]
        while len(self.small) < len(self._keys):
            small = SmallChart(self._numbers, self._inside)
            small.installEventFilter(self)
            small.clicked.connect(self._on_clicked)
            self.small.append(small)
        while len(self.small) > len(self._keys):
            self.small.pop().deleteLater()
        for small, quantity in zip(self.small, timeline.quantities, strict=True):
            small.draw(over_time(timeline, quantity.key), in_short(quantity))
        if self.open_key not in self._keys:
            self.open_key = ""
        has_any = bool(self._keys)
        self._none.setVisible(not has_any)
        self._inside.setVisible(has_any)
        self._hint.setVisible(has_any)
        self._place()
        self._show_large()

    def take_focus(self) -> None:
        """Put the focus on the quantity shown large, else on the first."""
        if self.small:
            self.small[self._at()].setFocus(Qt.FocusReason.TabFocusReason)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Use as many columns as fit."""
        super().resizeEvent(event)
        self._place()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Show large what takes the focus; go on with the arrow keys."""
        if isinstance(watched, SmallChart) and watched in self.small:
            at = self.small.index(watched)
            if event.type() == QEvent.Type.FocusIn:
                self._open(at)
            elif isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
                wanted = self._beside(at, event.key())
                if wanted is not None:
                    self.small[wanted].setFocus(Qt.FocusReason.OtherFocusReason)
                    return True
        return super().eventFilter(watched, event)

    def _beside(self, at: int, key: int) -> int | None:
        """Return where an arrow key leads; None for another key."""
        last = len(self.small) - 1
        steps: dict[int, int] = {
            int(Qt.Key.Key_Left): at - 1,
            int(Qt.Key.Key_Right): at + 1,
            int(Qt.Key.Key_Up): at - self._columns,
            int(Qt.Key.Key_Down): at + self._columns,
            int(Qt.Key.Key_Home): 0,
            int(Qt.Key.Key_End): last,
        }
        wanted = steps.get(int(key))
        if wanted is None:
            return None
        return wanted if 0 <= wanted <= last else at

    def _on_clicked(self) -> None:
        sender = self.sender()
        if isinstance(sender, SmallChart):
            self._open(self.small.index(sender))

    def _at(self) -> int:
        return self._keys.index(self.open_key) if self.open_key in self._keys else 0

    def _open(self, at: int) -> None:
        if self.open_key != self._keys[at]:
            self.open_key = self._keys[at]
            self._place()
            self._show_large()
        self._bring_into_view(self.small[at])

    def _show_large(self) -> None:
        for small, key in zip(self.small, self._keys, strict=True):
            is_open = key == self.open_key
            small.mark_open(is_open=is_open)
        for place, small in enumerate(self.small):
            first = place == self._at()
            small.setFocusPolicy(Qt.FocusPolicy.StrongFocus if first else Qt.FocusPolicy.ClickFocus)
        self.chart.setVisible(bool(self.open_key))
        if self.open_key:
            self.chart.draw(over_time(self._timeline, self.open_key))

    def _place(self) -> None:
        """Lay the charts out in rows, the large one below the row of its own."""
        gap = self._grid.spacing()
        least = round(theme.em(self) * LEAST_EM) + gap
        room = max(self.contentsRect().width() - 2 * round(theme.em(self)), least)
        self._columns = max(1, min(_MOST_COLUMNS, (room + gap) // least))
        open_row = self._at() // self._columns if self.open_key else -1
        for place, small in enumerate(self.small):
            row, column = divmod(place, self._columns)
            # A chart that says whose it is stands taller than its neighbour.
            self._grid.addWidget(small, 2 * row, column, Qt.AlignmentFlag.AlignTop)
        for column in range(_MOST_COLUMNS):
            self._grid.setColumnStretch(column, 1 if column < self._columns else 0)
        if open_row >= 0:
            self._grid.addWidget(self.chart, 2 * open_row + 1, 0, 1, self._columns)

    def _bring_into_view(self, small: SmallChart) -> None:
        """Scroll to the large chart, but never so far that the small one is lost."""
        area: QWidget | None = self.parentWidget()
        while area is not None and not isinstance(area, QScrollArea):
            area = area.parentWidget()
        if isinstance(area, QScrollArea):
            layout = self._inside.layout()
            if layout is not None:
                layout.activate()
            area.ensureWidgetVisible(self.chart, 0, 8)
            area.ensureWidgetVisible(small, 0, 8)
