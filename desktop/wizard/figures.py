"""The numbers of an assessment, each with its target, and what else there is to say."""

from __future__ import annotations

from itertools import zip_longest
from typing import NamedTuple

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QVBoxLayout, QWidget

from core.entry_words import figure_words, target_words
from core.verdict import Assessment
from core.wording import Numbers
from desktop import theme
from desktop.wizard.pieces import NumberLabel, heading, panel, words


class _Cells(NamedTuple):
    """The widgets of one figure."""

    label: QLabel
    value: NumberLabel
    target: NumberLabel
    note: QLabel


class Figures(QWidget):
    """Figures, notes and method of an assessment."""

    def __init__(self, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self._shown: tuple[object, ...] = ()
        frame, column = panel("Figures")
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(round(theme.em(self) * 0.8))
        self._grid.setColumnStretch(0, 1)
        column.addLayout(self._grid)
        self._cells: list[_Cells] = []
        self._titles = [heading(title, 0.9) for title in ("now", "wanted")]
        for place, title in enumerate(self._titles, start=1):
            self._grid.addWidget(title, 0, place, Qt.AlignmentFlag.AlignRight)
        self._notes = words()
        self._method = words("", "muted")
        column.addWidget(self._notes)
        column.addWidget(self._method)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(frame)

    def show_assessment(self, assessment: Assessment, more: tuple[str, ...] = ()) -> None:
        """Show an assessment's numbers and notes, with further sentences behind them."""
        rows = tuple(
            (
                figure.label,
                figure_words(figure, self._numbers),
                target_words(figure, self._numbers),
                figure.note,
            )
            for figure in assessment.figures
        )
        notes = (*assessment.notes, *more)
        content = (rows, notes, assessment.method)
        if content == self._shown:
            return
        self._shown = content
        self._write(rows)
        _say(self._notes, "\n".join(notes))
        _say(self._method, f"Read by: {assessment.method}" if assessment.method else "")
        self.setVisible(bool(rows or notes or assessment.method))

    def texts(self) -> list[str]:
        """Return every text shown, row by row."""
        return [str(part) for row in self._rows() for part in row if part]

    def _rows(self) -> tuple[tuple[str, ...], ...]:
        rows = self._shown[0] if self._shown else ()
        return rows if isinstance(rows, tuple) else ()

    def _write(self, rows: tuple[tuple[str, str, str, str], ...]) -> None:
        """Put rows into the cells there are; new cells are made only for more rows than ever."""
        while len(self._cells) < len(rows):
            self._add_cells()
        wanted = any(row[2] for row in rows)
        for title in self._titles:
            title.setVisible(wanted)
        for cells, row in zip_longest(self._cells, rows):
            label, value, target, note = row or ("", "", "", "")
            _say(cells.label, label)
            cells.value.say(value)
            cells.target.say(target)
            cells.value.setVisible(row is not None)
            cells.target.setVisible(row is not None)
            _say(cells.note, note)

    def _add_cells(self) -> None:
        place = 2 * (len(self._cells) + 1)
        cells = _Cells(words(), NumberLabel("", strong=True), NumberLabel(""), words("", "muted"))
        self._grid.addWidget(cells.label, place, 0)
        self._grid.addWidget(cells.value, place, 1)
        self._grid.addWidget(cells.target, place, 2)
        self._grid.addWidget(cells.note, place + 1, 0, 1, 3)
        self._cells.append(cells)


def _say(label: QLabel, text: str) -> None:
    if label.text() != text:
        label.setText(text)
    label.setVisible(bool(text))
