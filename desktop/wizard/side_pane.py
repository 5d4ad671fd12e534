"""Chart and figures beside the work."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from core.fitting import Assessment, MorePicture
from core.language import Message, Numbers
from desktop.charts.chart import Chart
from desktop.widgets.elided_combo import ElidedCombo
from desktop.widgets.language import tr
from desktop.widgets.panels import add_all, button, column_in
from desktop.wizard.figures import FiguresPanel
from desktop.wizard.trail import Trail


class SidePane(QWidget):
    """Picture and figures of one step; its trail is created here and placed by the page.

    A picture of fewer than two readings is folded away: it shows no more than the figures. If there
    are several, a list selects one.
    """

    def __init__(self, step: str, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._is_wanted = False
        self._reads = 0
        self._assessment: Assessment | None = None
        self._numbers = numbers
        self._offered: tuple[str, ...] = ()
        self.picture_box = ElidedCombo(self)
        self.picture_box.setAccessibleName(tr("wizard.side_pane.which_picture"))
        self.picture_box.currentIndexChanged.connect(self._draw)
        label = QLabel(tr("wizard.side_pane.picture"))
        label.setBuddy(self.picture_box)
        self._pictures = QWidget(self)
        row = add_all(QHBoxLayout(self._pictures), label, (self.picture_box, 1))
        row.setContentsMargins(0, 0, 0, 0)
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
        add_all(column, self.figures, self._pictures, self.chart)
        column.addWidget(self.chart_button, 0, Qt.AlignmentFlag.AlignLeft)
        self._fold()

    def show_assessment(
        self,
        assessment: Assessment,
        more: tuple[Message, ...],
        *,
        reads: int,
        live: bool,
        changed_since: bool = False,
    ) -> None:
        """Show an assessment's picture and figures, followed by further sentences.

        ``reads`` is how many readings it stands on; ``changed_since``, whether a move elsewhere has
        changed what they told. While ``live``, changing at every keystroke,
        nothing shrinks: the chart would jump.
        """
        held = self.figures.height() if live and self.figures.isVisible() else 0
        self.figures.setMinimumHeight(held)
        self._reads = max(reads, self._reads) if live else reads
        self._assessment = assessment
        self._offer(assessment.more_pictures)
        self._fold()
        self.chart.hold(still=live)
        self._draw()
        self.figures.show_assessment(assessment, more, live=live, changed_since=changed_since)

    def has_unsaved(self) -> bool:
        """Whether a note is typed that is not in the record."""
        return bool(self.trail.note_line.text().strip())

    def show_chart(self) -> None:
        """Show the chart from now on, for any number of readings."""
        self._is_wanted = True
        self._fold()

    def _offer(self, more: tuple[MorePicture, ...]) -> None:
        """List the pictures; keep the selected one."""
        names = tuple(self._numbers.text(one.name) for one in more)
        if names == self._offered:
            return
        self._offered, chosen = names, self.picture_box.currentText()
        with QSignalBlocker(self.picture_box):
            self.picture_box.clear()
            self.picture_box.addItem(tr("wizard.side_pane.readings"))
            self.picture_box.addItems(list(names))
            place = self.picture_box.findText(chosen)
            # A single reading makes no chart: show the first of the others.
            first = int(bool(names) and self._reads <= 1)
            self.picture_box.setCurrentIndex(place if place >= 0 else first)

    def _draw(self) -> None:
        """Draw the selected picture."""
        if self._assessment is None:
            return
        place, more = self.picture_box.currentIndex(), self._assessment.more_pictures
        is_other = 0 < place <= len(more)
        self.chart.draw(more[place - 1].draw() if is_other else self._assessment.picture)

    def _fold(self) -> None:
        shown = self._is_wanted or self._reads > 1 or bool(self._offered)
        self._pictures.setVisible(shown and bool(self._offered))
        if self.chart.isHidden() is shown:
            self.chart.setVisible(shown)
        self.chart_button.setVisible(not shown)
