"""The whole log of a fitting, in order, by day and step."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from core.fitting import Fitting
from core.history.log_by_day import LogDay, LogLine, log_by_day
from core.language import Name, Numbers, clock_of
from core.records import Deck
from desktop.widgets import theme
from desktop.widgets.language import tr
from desktop.widgets.page_turner import PageTurner
from desktop.widgets.panels import add_layout, clear_layout, framed, heading, text_label

_AT_ONCE: Final = 60
"""Entries a page: a line is two widgets, and each new one causes a layout of the page."""


class LogList(QWidget):
    """The entries of a fitting, read-only; a long log is shown a page at a time, newest first."""

    def __init__(
        self,
        numbers: Numbers,
        fitting: Fitting | None = None,
        title: str = "",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self._marks: tuple[str, ...] | None = None
        self._fitting, self._parallel = fitting, False
        self._deck: Deck | None = None
        column = framed(self, title or tr("widgets.log_list.entry_by_entry"))
        self.turner = PageTurner(_AT_ONCE)
        self.turner.turned.connect(self._show_part)
        column.addWidget(self.turner)
        self._days = QVBoxLayout()
        self._days.setSpacing(round(theme.em(self) * 0.5))
        add_layout(column, self._days)
        self.show_fitting(fitting)

    def show_fitting(
        self, fitting: Fitting | None, *, parallel: bool = False, deck: Deck | None = None
    ) -> None:
        """Show the entries of a fitting, or say that there are none.

        ``parallel`` asks for the words of a parallel-tracking arm; ``deck`` says in which unit its
        scales are marked.
        """
        entries = fitting.entries if fitting is not None else ()
        marks = (fitting.id if fitting else "", *(entry.id for entry in entries))
        if marks == self._marks:
            return
        self._marks = marks
        self._fitting, self._parallel, self._deck = fitting, parallel, deck
        self.turner.show_count(len(entries))
        self._show_part()

    def _show_part(self) -> None:
        clear_layout(self._days)
        fitting, part = self._fitting, self.turner.part
        days: tuple[LogDay, ...] = ()
        if fitting is not None:
            days = log_by_day(fitting, parallel=self._parallel, deck=self._deck, part=part)
        for day in days:
            add_layout(self._days, self._day(day))
        if not days:
            self._days.addWidget(text_label(tr("widgets.log_list.nothing_was_entered"), "muted"))

    def _day(self, day: LogDay) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(round(theme.em(self) * 0.7))
        grid.setVerticalSpacing(round(theme.em(self) * 0.15))
        grid.setColumnStretch(1, 1)
        people = {line.who for step in day.steps for line in step.lines}
        alone = people.pop() if len(people) == 1 else None  # shown once for the whole day
        began = day.day.isoformat()
        name = Name(f"{began}, {alone}" if alone else began)
        clock = "back" if day.clock_set_back else "on"
        grid.addWidget(heading(tr("widgets.log_list.day", clock=clock, day=name), 1.05), 0, 0, 1, 2)
        row = 1
        for step in day.steps:
            title = self._numbers.value(step.title)
            grid.addWidget(heading(title, 0.95), row, 1)
            row += 1
            for line in step.lines:
                self._line(grid, row, title, line, named=alone is None)
                row += 1
        return grid

    def _line(self, grid: QGridLayout, row: int, title: str, line: LogLine, *, named: bool) -> None:
        top = Qt.AlignmentFlag.AlignTop
        at = clock_of(line.at)
        time = text_label(at, "muted")
        time.setWordWrap(False)
        by = f" ({line.who})" if line.who and named else ""
        text = f"{self._numbers.text(line.words)}{by}"
        said = text_label(text, "" if line.counts else "muted")
        if not line.counts:
            font = said.font()
            font.setStrikeOut(True)
            said.setFont(font)
        told = tr(
            "widgets.log_list.line",
            counts="yes" if line.counts else "no",
            at=Name(at),
            step=Name(title),
            entry=Name(text),
        )
        said.setAccessibleName(told)
        grid.addWidget(time, row, 0, top)
        grid.addWidget(said, row, 1, top)
