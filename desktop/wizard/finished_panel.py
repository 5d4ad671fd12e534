"""The ways on from a finished fitting: another cartridge, the deck's history, work on it again."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from desktop.widgets.panels import add_all, button, column_in
from desktop.widgets.reason_panel import ReasonPanel


class FinishedPanel(QWidget):
    """Three buttons, and a question for the reason before the record is opened again."""

    # The person wants another cartridge on this deck, or to see what was done to it
    swap_wanted = Signal()
    history_wanted = Signal()
    reopen_wanted = Signal(str)  # the fitting is to be worked on again, for this reason

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.swap_button = button(
            "&Fit another cartridge…",
            tip="Shows where each control should start; nothing is begun yet",
            primary=True,
        )
        self.history_button = button(
            "&History of this deck", tip="What was set in every fitting, and how it changed"
        )
        self.reopen_button = button(
            "&Work on it again…", tip="Opens this fitting once more; asks for the reason"
        )
        self.reason = ReasonPanel(
            name="Reason for working on it again",
            hint="What is to be looked at again, and why",
            keep="Open it with this reason",
        )
        row = QHBoxLayout()
        row.addStretch(1)
        for one in (self.swap_button, self.history_button, self.reopen_button):
            row.addWidget(one)
        add_all(column_in(self), row, self.reason)
        self.swap_button.clicked.connect(self.swap_wanted)
        self.history_button.clicked.connect(self.history_wanted)
        self.reopen_button.clicked.connect(self.ask_why)
        self.reason.given.connect(self.reopen_wanted)

    def offer_next(self, *, away: bool) -> None:
        """Offer what leads away from this fitting, or only to work on it again."""
        self.swap_button.setVisible(away)
        self.history_button.setVisible(away)

    def ask_why(self) -> None:
        """Ask for the reason."""
        self.reason.ask("Why is this finished fitting worked on again? It goes into the record.")

    def done(self) -> None:
        """Go back to the buttons: the fitting is open."""
        self.reason.done()
