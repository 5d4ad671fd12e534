"""Chart, figures and entries beside the work."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from core.fitting import Assessment
from core.language import Message, Numbers
from desktop.charts.chart import Chart
from desktop.widgets.panels import add_all, column_in
from desktop.wizard.figures import FiguresPanel
from desktop.wizard.trail import Trail


class SidePane(QWidget):
    """Picture, figures and trail of one step."""

    def __init__(self, step: str, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.chart = Chart(numbers, self)
        self.figures = FiguresPanel(numbers, self)
        self.trail = Trail(step, numbers, self)
        add_all(column_in(self), (self.chart, 1), self.figures, self.trail)

    def show_assessment(
        self, assessment: Assessment, more: tuple[Message, ...], *, live: bool
    ) -> None:
        """Show the picture and the figures of an assessment, with further sentences behind them.

        While ``live``, changing at every keystroke, nothing shrinks: the chart would jump.
        """
        held = self.figures.height() if live and self.figures.isVisible() else 0
        self.figures.setMinimumHeight(held)
        self.chart.hold(still=live)
        self.chart.draw(assessment.picture)
        self.figures.show_assessment(assessment, more, live=live)

    def has_unsaved(self) -> bool:
        """Whether a note is typed that is not in the record."""
        return bool(self.trail.note_line.text().strip())
