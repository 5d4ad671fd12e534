"""Chart and figures beside the work."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from core.fitting import Assessment
from core.language import Message, Numbers
from desktop.charts.chart import Chart
from desktop.widgets.language import tr
from desktop.widgets.panels import add_all, button, column_in
from desktop.wizard.figures import FiguresPanel
from desktop.wizard.trail import Trail


class SidePane(QWidget):
    """Picture and figures of one step; its trail is made here and placed by the page.

    A picture of fewer than two readings is folded away: it shows no more than the figures do.
    """

    def __init__(self, step: str, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._is_wanted = False
        self._reads = 0
        self.chart = Chart(numbers, self)
        self.figures = FiguresPanel(numbers, self)
        self.trail = Trail(step, numbers, parent)
        self.chart_button = button(
            tr("wizard.side_pane.show_the_chart"),
            tip=tr("wizard.side_pane.stands_here_by_itself"),
            quiet=True,
        )
        self.chart_button.clicked.connect(self.show_chart)
        column = column_in(self)
        add_all(column, self.figures, self.chart)
        column.addWidget(self.chart_button, 0, Qt.AlignmentFlag.AlignLeft)
        self._fold()

    def show_assessment(
        self, assessment: Assessment, more: tuple[Message, ...], *, reads: int, live: bool
    ) -> None:
        """Show the picture and the figures of an assessment, with further sentences behind them.

        ``reads`` is how many readings it stands on. While ``live``, changing at every keystroke,
        nothing shrinks: the chart would jump.
        """
        held = self.figures.height() if live and self.figures.isVisible() else 0
        self.figures.setMinimumHeight(held)
        self._reads = max(reads, self._reads) if live else reads
        self._fold()
        self.chart.hold(still=live)
        self.chart.draw(assessment.picture)
        self.figures.show_assessment(assessment, more, live=live)

    def has_unsaved(self) -> bool:
        """Whether a note is typed that is not in the record."""
        return bool(self.trail.note_line.text().strip())

    def show_chart(self) -> None:
        """Show the chart from now on, however few readings there are."""
        self._is_wanted = True
        self._fold()

    def _fold(self) -> None:
        shown = self._is_wanted or self._reads > 1
        if self.chart.isHidden() is shown:
            self.chart.setVisible(shown)
        self.chart_button.setVisible(not shown)
