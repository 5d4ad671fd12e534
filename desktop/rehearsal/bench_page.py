"""A rehearsal under way: the wizard on a simulated deck that makes the recorded moves."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from core.fitting import MoveMade, ReadingTaken
from core.practice import Rehearsal
from core.practice.saved_rehearsals import Wish, note_reading
from desktop.forms.reading_panel import ReadingPanel
from desktop.rehearsal.instrument_panel import InstrumentPanel
from desktop.tasks.fitting_controller import FittingController
from desktop.widgets import theme
from desktop.widgets.language import tr
from desktop.widgets.page import Page
from desktop.widgets.panels import add_all, button, column_in, text_label

MakeWizard = Callable[[FittingController, Callable[[str, ReadingPanel, QWidget], QWidget]], Page]


class RehearsalBench(Page):
    """The wizard, a line that says that nothing here is real, and the way to the debrief."""

    ended = Signal()
    """The person wants to see the truth."""

    def __init__(
        self,
        controller: FittingController,
        rehearsal: Rehearsal,
        wish: Wish,
        make_wizard: MakeWizard,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.controller, self.rehearsal, self.wish = controller, rehearsal, wish
        self.panels: dict[str, InstrumentPanel] = {}
        self._obeyed = {entry.id for entry in controller.fitting.entries}
        self._was_finished = controller.fitting.is_finished
        self._before = controller.journey
        self.wizard = make_wizard(controller, self._instrument)
        controller.setParent(self)
        self.line = text_label(
            tr("rehearsal.bench_page.rehearsal_nothing_here_touches_your"), "question"
        )
        self.line.setFont(theme.scaled(self.line.font(), 1.0, bold=True))
        which = text_label(controller.numbers.text(wish.described(alone=True)), "muted")
        self.end_button = button(tr("rehearsal.bench_page.end_the_rehearsal_and_show"))
        self.end_button.clicked.connect(self._end)
        row = QHBoxLayout()
        gap = round(theme.em(self) * 0.5)
        row.setContentsMargins(gap, round(gap * 0.6), gap, 0)
        row.setSpacing(gap)
        add_all(row, (self.line, 3), (which, 3), self.end_button)
        outer = column_in(self)
        outer.setSpacing(0)
        add_all(outer, row, (self.wizard, 1))
        self.wizard.closed.connect(self.closed)
        controller.changed.connect(self._obey)

    def begin(self) -> None:
        """Put the focus where the wizard wants it."""
        self.wizard.begin()

    def may_leave(self) -> bool:
        """Whether nothing typed would be lost, or the person says it may be."""
        return self.wizard.may_leave()

    def look_again(self) -> None:
        """Take up what another window has entered, and make its moves; what is typed stays."""
        self.wizard.look_again()

    def _instrument(self, step: str, reading: ReadingPanel, page: QWidget) -> QWidget:
        made = InstrumentPanel(self.rehearsal, self.controller, step, reading, page)
        self.panels[step] = made
        return made

    def _obey(self) -> None:
        """Make the recorded moves on the simulated deck; every instrument is read again."""
        for entry in self.controller.fitting.entries:
            if entry.id in self._obeyed:
                continue
            self._obeyed.add(entry.id)
            if isinstance(entry.body, MoveMade):
                self.rehearsal.obey(entry.body.parts)
            elif isinstance(entry.body, ReadingTaken):
                note_reading(self.rehearsal, entry.id, entry.body, self._before)
        self._before = self.controller.journey
        for one in self.panels.values():
            one.look_soon()
        if self.controller.fitting.is_finished and not self._was_finished:
            QTimer.singleShot(0, self, self.ended.emit)
        self._was_finished = self.controller.fitting.is_finished

    def _end(self) -> None:
        if self.may_leave():
            self.ended.emit()
