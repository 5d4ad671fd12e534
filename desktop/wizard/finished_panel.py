"""What to do after a finished fitting: another cartridge, the history, or reopen it."""

from __future__ import annotations

from PySide6.QtCore import QSize, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QWidget

from desktop.widgets.language import tr
from desktop.widgets.panels import add_all, button, column_in
from desktop.widgets.reason_panel import ReasonPanel


class FinishedPanel(QWidget):
    """Three buttons, and a question for the reason before the fitting is reopened."""

    # The person wants another cartridge on this deck, or to see what was done to it
    swap_wanted = Signal()
    history_wanted = Signal()
    reopen_wanted = Signal(str)  # the fitting is to be worked on again, for this reason

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.swap_button = button(
            tr("wizard.finished_panel.fit_another_cartridge"),
            tip=tr("wizard.finished_panel.shows_where_each_control_should"),
            primary=True,
        )
        self.history_button = button(
            tr("wizard.finished_panel.history_of_this_deck"),
            tip=tr("wizard.finished_panel.what_was_set_in_every"),
        )
        self.reopen_button = button(
            tr("wizard.finished_panel.work_on_it_again"),
            tip=tr("wizard.finished_panel.opens_this_fitting_once_more"),
        )
        self.reason = ReasonPanel(
            name=tr("wizard.finished_panel.reason_for_working_on_it"),
            hint=tr("wizard.finished_panel.what_is_to_be_looked"),
            keep=tr("wizard.finished_panel.open_it_with_this_reason"),
        )
        self._buttons = (self.swap_button, self.history_button, self.reopen_button)
        row = self._row = QHBoxLayout()
        row.addStretch(1)
        for one in self._buttons:
            row.addWidget(one)
        add_all(column_in(self), row, self.reason)
        self.swap_button.clicked.connect(self.swap_wanted)
        self.history_button.clicked.connect(self.history_wanted)
        self.reopen_button.clicked.connect(self.ask_why)
        self.reason.given.connect(self.reopen_wanted)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Stack the buttons if they don't fit side by side."""
        super().resizeEvent(event)
        shown = [one.minimumSizeHint().width() for one in self._buttons if not one.isHidden()]
        needed = sum(shown) + self._row.spacing() * len(shown)
        side_by_side = needed <= event.size().width()
        way = QBoxLayout.Direction.LeftToRight if side_by_side else QBoxLayout.Direction.TopToBottom
        if self._row.direction() is not way:
            self._row.setDirection(way)

    def minimumSizeHint(self) -> QSize:
        """Return the width of the widest button."""
        widest = max(one.minimumSizeHint().width() for one in self._buttons)
        return QSize(widest, super().minimumSizeHint().height())

    def offer_next(self, *, away: bool) -> None:
        """Offer all ways on, or only to reopen the fitting."""
        self.swap_button.setVisible(away)
        self.history_button.setVisible(away)

    def ask_why(self) -> None:
        """Ask for the reason."""
        self.reason.ask(tr("wizard.finished_panel.why_is_this_finished_fitting"))

    def done(self) -> None:
        """Show the buttons again: the fitting was reopened."""
        self.reason.done()
