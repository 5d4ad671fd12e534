"""Predictions and findings on the last page of a fitting with a plan."""

from __future__ import annotations

from PySide6.QtWidgets import QVBoxLayout, QWidget

from core.fitting import Journey
from core.language import Numbers
from core.swap import Foretold, compare
from desktop.widgets.language import tr
from desktop.widgets.panels import add_layout, clear_layout, framed, text_label
from desktop.widgets.plan_words import foretold_table


class ForetoldPanel(QWidget):
    """A table of predictions and findings; hidden for a fitting without a plan."""

    def __init__(self, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self._shown: tuple[Foretold, ...] | None = None
        self._table: QWidget | None = None
        column = framed(self, tr("wizard.foretold_panel.expected_from_the_last_cartridge"))
        self._place = QVBoxLayout()
        add_layout(column, self._place)
        self._none = text_label(tr("wizard.foretold_panel.nothing_the_plan_expected_can"), "muted")
        column.addWidget(self._none)
        self.hide()

    def show_journey(self, journey: Journey) -> None:
        """Show how the predictions of the fitting's plan compare."""
        if journey.fitting.planned is None:
            self.hide()
            return
        rows = compare(journey)
        if rows != self._shown:
            self._shown = rows
            clear_layout(self._place)
            self._table = foretold_table(rows, self._numbers) if rows else None
            if self._table is not None:
                self._place.addWidget(self._table)
            self._none.setVisible(not rows)
        self.show()

    def text(self) -> str:
        """Return the table in words."""
        return self._none.text() if self._table is None else self._table.accessibleName()
