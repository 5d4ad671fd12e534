"""The plan in a step: where to start, and the prediction."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from core.fitting import Journey, Move, Start, StepStatus
from core.language import Name, Numbers, message
from core.steps.mount import NAME as MOUNT
from core.swap import Foretold, compare
from core.swap.words import expected, left_alone, orders
from desktop.forms.move_panel import MovePanel
from desktop.widgets import theme
from desktop.widgets.language import tr
from desktop.widgets.panels import framed, heading, text_label


class StartPanel(QWidget):
    """The plan for one step; hidden if there is none.

    Before the first reading it offers the starting move, to be recorded as made; after a reading it
    compares the prediction with the finding.
    """

    made = Signal(object, str)
    """The parts really moved (a tuple of MovePart) and a note."""

    def __init__(
        self,
        step: str,
        numbers: Numbers,
        parent: QWidget | None = None,
        *,
        parallel: bool = False,
    ) -> None:
        super().__init__(parent)
        self._parallel = parallel
        self._step = step
        self._numbers = numbers
        self._shown: object = None
        column = framed(self, tr("wizard.start_panel.from_the_last_cartridge"))
        self.order = heading("", 1.25)
        self.expected = text_label()
        self.reason = text_label("", "muted")
        self.mover = MovePanel(numbers, parallel=parallel)
        for one in (self.order, self.expected, self.reason, self.mover):
            column.addWidget(one)
        self.setAccessibleName(tr("wizard.start_panel.from_the_last_cartridge"))
        self.mover.made.connect(self.made)
        self.setMinimumWidth(round(theme.em(self) * 8))
        self.hide()

    @property
    def is_due(self) -> bool:
        """Whether a starting move waits to be recorded."""
        return not self.isHidden() and not self.mover.isHidden()

    def confirm(self) -> None:
        """Record the starting move as entered."""
        if self.is_due:
            self.mover.confirm()

    def has_unsaved(self) -> bool:
        """Whether an unsaved amount differs from the proposed one."""
        return self.is_due and self.mover.has_unsaved()

    def show_journey(self, journey: Journey, *, works: bool) -> None:
        """Show the plan for the step."""
        planned = journey.fitting.planned
        starts = tuple(s for s in planned.starts if s.step == self._step) if planned else ()
        if not starts:
            self.hide()
            return
        status = journey.status(self._step)
        foretold = tuple(one for one in compare(journey) if one.step == self._step)
        parts = tuple(start.part for start in starts if start.part is not None)
        waits = works and bool(parts) and not status.trials
        state = (starts, foretold, waits, bool(status.trials))
        if state != self._shown:
            self._shown = state
            self._say(starts, foretold, status)
            order = message("common.value", value=Name(self.order.text()))
            offered = Move(order, parts) if waits else None
            self.mover.show_move(replace(status.assessment, next_move=offered))
        self.show()

    def _say(
        self, starts: tuple[Start, ...], foretold: tuple[Foretold, ...], status: StepStatus
    ) -> None:
        begun = bool(status.trials)
        moves = any(start.part is not None for start in starts)
        order = orders(starts, parallel=self._parallel)
        if begun:
            order = None
        elif not moves and self._step != MOUNT:
            order = left_alone(starts) or message("swap.start_as_it_stands")
        found = [one for one in foretold if one.found is not None]
        if found:
            then = "\n".join(self._numbers.text(one.sentence) for one in found)
        else:
            ahead = expected(foretold, "moves" if moves else "stays")
            then = self._numbers.text(ahead)
        reasons = (
            [] if begun else [self._numbers.text(start.why) for start in starts if start.reason]
        )
        if moves and not begun:
            reasons.append(tr("wizard.start_panel.move_it_before_the_first"))
        reason = " ".join(dict.fromkeys(reasons))
        for label, text in (
            (self.order, self._numbers.text(order)),
            (self.expected, then),
            (self.reason, reason),
        ):
            label.setText(text)
            label.setVisible(bool(text))
