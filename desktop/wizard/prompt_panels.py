"""Questions below a step's page: a reason, or an unplanned move."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout

from core.fitting import MovePart
from core.language import Numbers
from core.steps.shared import Movable
from desktop.widgets.reason_panel import ReasonPanel
from desktop.wizard.unplanned_move import UnplannedMovePanel


class PromptPanels(QVBoxLayout):
    """The panels for the reason of an override and for an unplanned move.

    Each is created when first needed. This is a layout, not a widget, so that it takes no room
    while nothing is asked.
    """

    reason_given = Signal(str)
    moved = Signal(object, float, str)
    """As :attr:`UnplannedMovePanel.made`."""

    move_asked = Signal()
    """The panel for an unplanned move was opened."""

    def __init__(self, numbers: Numbers) -> None:
        super().__init__()
        self._numbers = numbers
        self._reason: ReasonPanel | None = None
        self._move: UnplannedMovePanel | None = None

    @property
    def reason(self) -> ReasonPanel:
        """The field for the reason; created on access."""
        if self._reason is None:
            self._reason = ReasonPanel(self.parentWidget())
            self._reason.given.connect(self.reason_given)
            self.addWidget(self._reason)
        return self._reason

    @property
    def move(self) -> UnplannedMovePanel:
        """The panel for an unplanned move; created on access."""
        if self._move is None:
            self._move = UnplannedMovePanel(self._numbers, self.parentWidget())
            self._move.made.connect(self.moved)
            self.addWidget(self._move)
        return self._move

    def ask_reason(self, question: str) -> None:
        """Ask for a reason."""
        self.reason.ask(question)

    def ask_move(self, movables: tuple[Movable, ...], order: tuple[MovePart, ...] = ()) -> None:
        """Ask which of these was moved, where this was ordered."""
        if self._reason is not None:
            self._reason.hide()
        self.move.ask(movables, order)
        self.move_asked.emit()

    def put_away(self) -> None:
        """Hide the questions; the input stays for the next time."""
        for panel in (self._reason, self._move):
            if panel is not None:
                panel.hide()

    def has_unsaved(self) -> bool:
        """Whether there is unsaved input."""
        made = [panel for panel in (self._reason, self._move) if panel is not None]
        return any(panel.has_unsaved() for panel in made)

    def has_reason(self) -> bool:
        """Whether an unsaved reason is typed."""
        return self._reason is not None and self._reason.has_unsaved()
