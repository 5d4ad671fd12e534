"""The numbers of an assessment, each with its target, and what else there is to say."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QVBoxLayout, QWidget

from core.entry_words import figure_words, target_words
from core.verdict import Assessment
from core.wording import Numbers
from desktop import theme
from desktop.wizard.pieces import NumberLabel, emptied, heading, panel, words


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
        same_size = bool(self._shown) and _outline(self._shown[0]) == _outline(rows)
        self._shown = content
        if same_size:
            self._rewrite(rows)
        else:
            self._build(rows)
        _say(self._notes, "\n".join(notes))
        _say(self._method, f"Read by: {assessment.method}" if assessment.method else "")
        self.setVisible(bool(rows or notes or assessment.method))

    def texts(self) -> list[str]:
        """Return every text shown, row by row."""
        return [str(part) for row in self._rows() for part in row if part]

    def _rows(self) -> tuple[tuple[str, ...], ...]:
        rows = self._shown[0] if self._shown else ()
        return rows if isinstance(rows, tuple) else ()

    def _build(self, rows: tuple[tuple[str, str, str, str], ...]) -> None:
        emptied(self._grid)
        if any(row[2] for row in rows):
            for column, title in ((1, "now"), (2, "wanted")):
                self._grid.addWidget(heading(title, 0.9), 0, column, Qt.AlignmentFlag.AlignRight)
        for place, (label, value, target, note) in enumerate(rows, start=1):
            self._grid.addWidget(words(label), 2 * place, 0)
            self._grid.addWidget(NumberLabel(value, strong=True), 2 * place, 1)
            self._grid.addWidget(NumberLabel(target), 2 * place, 2)
            if note:
                self._grid.addWidget(words(note, "muted"), 2 * place + 1, 0, 1, 3)

    def _rewrite(self, rows: tuple[tuple[str, str, str, str], ...]) -> None:
        for place, (label, value, target, note) in enumerate(rows, start=1):
            for column, text in enumerate((label, value, target)):
                self._set(2 * place, column, text)
            if note:
                self._set(2 * place + 1, 0, note)

    def _set(self, row: int, column: int, text: str) -> None:
        item = self._grid.itemAtPosition(row, column)
        widget = item.widget() if item is not None else None
        if isinstance(widget, NumberLabel):
            widget.say(text)
        elif isinstance(widget, QLabel) and widget.text() != text:
            widget.setText(text)


def _outline(rows: object) -> list[tuple[bool, bool]]:
    if not isinstance(rows, tuple):
        return []
    return [(bool(row[2]), bool(row[3])) for row in rows]


def _say(label: QLabel, text: str) -> None:
    if label.text() != text:
        label.setText(text)
    label.setVisible(bool(text))
