"""One quantity of a deck over time, any of those that were read."""

from __future__ import annotations

from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QWidget

from core.history.chart import over_time
from core.history.timeline import Timeline
from core.language import Numbers
from desktop.charts.chart import Chart
from desktop.widgets.language import tr
from desktop.widgets.panels import add_all, framed, text_label


class QuantityChart(QWidget):
    """A list of quantities, and the chart of the one that is picked."""

    def __init__(self, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self._timeline = Timeline((), ())
        column = framed(self)
        label = QLabel(tr("history.quantity_chart.over_time"))
        self.choice = QComboBox()
        self.choice.setAccessibleName(tr("history.quantity_chart.quantity_shown_over_time"))
        self.choice.setAccessibleDescription(tr("history.quantity_chart.up_and_down_go_through"))
        label.setBuddy(self.choice)
        self.chart = Chart(numbers)
        self._none = text_label(tr("history.quantity_chart.nothing_was_read_in_any"), "muted")
        row = add_all(QHBoxLayout(), label, (self.choice, 1))
        add_all(column, row, self._none, (self.chart, 1))
        self.choice.currentIndexChanged.connect(lambda _index: self._draw())
        self.show_timeline(self._timeline)

    def show_timeline(self, timeline: Timeline) -> None:
        """Show another timeline; the quantity that is picked stays if it is there."""
        picked = self.choice.currentData()
        self._timeline = timeline
        self.choice.blockSignals(True)  # noqa: FBT003 - Qt takes it by position
        self.choice.clear()
        for quantity in timeline.quantities:
            self.choice.addItem(
                f"{self._numbers.text(quantity.label)} ({quantity.unit})", quantity.key
            )
        self.choice.setCurrentIndex(max(0, self.choice.findData(picked)))
        self.choice.blockSignals(False)  # noqa: FBT003 - as above
        has_any = bool(timeline.quantities)
        self._none.setVisible(not has_any)
        self.chart.setVisible(has_any)
        self.choice.setEnabled(has_any)
        self._draw()

    def _draw(self) -> None:
        key = self.choice.currentData()
        if key is not None:
            self.chart.draw(over_time(self._timeline, key))
