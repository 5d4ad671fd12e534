"""The figures of an assessment, each with its target, and the notes."""

from __future__ import annotations

from enum import IntEnum
from itertools import zip_longest
from typing import Final, NamedTuple

from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QScrollArea, QWidget

from core.fitting import Assessment, Figure
from core.language import Message, Name, Numbers
from core.workflow import figure_value, target_value
from desktop.widgets import theme
from desktop.widgets.language import tr
from desktop.widgets.panels import NumberLabel, add_layout, button, framed, heading
from desktop.widgets.steady_label import SteadyLabel

Rows = tuple[tuple[str, str, str, str], ...]
"""Label, value, target and note of each figure."""


class _Cells(NamedTuple):
    """The widgets of one figure."""

    label: SteadyLabel
    value: NumberLabel
    target: NumberLabel
    note: SteadyLabel


class _Stand(IntEnum):
    """Where the parts of a figure stand, from the widest to the narrowest."""

    BESIDE = 0
    """Name, number and target on one line."""
    ABOVE = 1
    """The name above number and target."""
    FOLDED = 2
    """The same, with the words after a number below it."""
    STACKED = 3
    """Name, number and target below each other."""


_NAME_EM: Final = 5.0
"""A name beside its numbers gets at least so much."""
_ROWS: Final = 4
"""Rows of the grid for each figure."""
_FIRST: Final = 3
"""Number of figures shown; a button shows the rest."""


class FiguresPanel(QWidget):
    """The figures that decide; the rest, notes and method on demand."""

    def __init__(self, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self._shown: tuple[Rows, tuple[str, ...], str, bool] | tuple[()] = ()
        column = self._column = framed(self, tr("wizard.figures.figures"))
        self._grid = QGridLayout()
        self._keep_apart()
        self._grid.setColumnStretch(0, 1)
        add_layout(column, self._grid)
        self._cells: list[_Cells] = []
        self._stand = _Stand.BESIDE
        self._titles = [
            heading(title, 0.9) for title in (tr("wizard.figures.now"), tr("wizard.figures.wanted"))
        ]
        for place, title in enumerate(self._titles, start=1):
            self._grid.addWidget(title, 0, place, Qt.AlignmentFlag.AlignRight)
        self._notes = SteadyLabel()
        self._method = _muted()
        self._is_open = False
        self.more_button = button(
            tr("wizard.figures.all_figures"), tip=tr("wizard.figures.shows_the_rest"), quiet=True
        )
        self.more_button.clicked.connect(self.toggle)
        column.addWidget(self._notes)
        column.addWidget(self._method)
        column.addWidget(self.more_button, 0, Qt.AlignmentFlag.AlignLeft)

    def changeEvent(self, event: QEvent) -> None:
        """Keep the numbers apart by the size of their type."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and hasattr(self, "_grid"):
            self._keep_apart()

    def _keep_apart(self) -> None:
        self._grid.setHorizontalSpacing(round(theme.em(self) * 0.8))

    def toggle(self) -> None:
        """Show all figures and the method, or only the first few."""
        self._is_open = not self._is_open
        self.more_button.setText(
            tr("wizard.figures.fewer") if self._is_open else tr("wizard.figures.all_figures")
        )
        shown, self._shown = self._shown, ()
        if shown:
            self._tell(*shown)

    def show_assessment(
        self,
        assessment: Assessment,
        more: tuple[Message, ...] = (),
        *,
        live: bool = False,
        changed_since: bool = False,
    ) -> None:
        """Show an assessment's figures and notes, followed by further sentences.

        While ``live``, changing at every keystroke, nothing shrinks. ``changed_since``: a move
        elsewhere has changed them since, so they are what was read.
        """
        say = self._numbers
        if assessment.foretells:
            head = tr("wizard.figures.expected")
        else:
            head = tr("wizard.figures.as_read") if changed_since else tr("wizard.figures.now")
        self._titles[0].setText(head)
        rows = tuple(
            (
                say.text(figure.label),
                say.value(figure_value(figure)),
                "" if (target := target_value(figure)) is None else say.value(target),
                say.text(figure.note),
            )
            for figure in sorted(assessment.figures, key=_decides)
        )
        notes = tuple(say.text(note) for note in (*assessment.notes, *more))
        method = say.text(assessment.method)
        self._tell(rows, notes, method, live)

    def _tell(self, rows: Rows, notes: tuple[str, ...], method: str, live: bool) -> None:  # noqa: FBT001  # what is shown, as it is kept
        content = (rows, notes, method, live)
        if content == self._shown:
            return
        self._shown = content
        self._write(rows if self._is_open else rows[:_FIRST], live=live)
        _say(self._notes, "\n".join(notes if self._is_open else notes[:1]), live=live)
        said = tr("wizard.figures.read_by_method", method=Name(method)) if method else ""
        _say(self._method, said if self._is_open else "", live=live)
        has_more = len(rows) > _FIRST or len(notes) > 1 or bool(method)
        if not live:
            self.more_button.setVisible(has_more)
        self.setVisible(bool(rows or notes) or (live and not self.isHidden()))

    def _write(self, rows: Rows, *, live: bool) -> None:
        """Fill the cells; create new ones only for more rows than before."""
        while len(self._cells) < len(rows):
            self._add_cells()
        wanted = any(row[2] for row in rows)
        for title in self._titles:
            title.setVisible(wanted or (live and not title.isHidden()))
        if self._stand is _Stand.STACKED:
            self._titles[1].hide()
        for cells, row in zip_longest(self._cells, rows):
            label, value, target, note = row or ("", "", "", "")
            _say(cells.label, label, live=live)
            cells.value.say(value)
            cells.target.say(self._said(target))
            shown = row is not None or (live and not cells.value.isHidden())
            cells.value.setVisible(shown)
            cells.target.setVisible(shown)
            _say(cells.note, note, live=live)
            if self._stand in (_Stand.ABOVE, _Stand.FOLDED):
                self._stretch(cells)

    def _said(self, target: str) -> str:
        """Return a target as it stands below its number, where no title is above it."""
        if not target or self._stand is not _Stand.STACKED:
            return target
        return tr("wizard.figures.wanted_target", target=Name(target))

    def _add_cells(self) -> None:
        place = _ROWS * len(self._cells) + 2
        cells = _Cells(SteadyLabel(), NumberLabel("", strong=True), NumberLabel(""), _muted())
        self._place(cells, place)
        self._grid.addWidget(cells.note, place + 2, 0, 1, 3)
        self._cells.append(cells)

    def _place(self, cells: _Cells, place: int) -> None:
        stacked = self._stand is _Stand.STACKED
        cells.value.fold(folds=self._stand >= _Stand.FOLDED)
        cells.target.fold(folds=stacked)
        if stacked:
            self._grid.addWidget(cells.label, place - 1, 0, 1, 3)
            self._grid.addWidget(cells.value, place, 0, 1, 3)
            self._grid.addWidget(cells.target, place + 1, 0, 1, 3)
        elif self._stand in (_Stand.ABOVE, _Stand.FOLDED):
            self._grid.addWidget(cells.label, place - 1, 0, 1, 3)
            self._grid.addWidget(cells.value, place, 0, 1, 2)
            self._grid.addWidget(cells.target, place, 2)
            self._stretch(cells)
        else:
            self._grid.addWidget(cells.label, place, 0)
            self._grid.addWidget(cells.value, place, 1)
            self._grid.addWidget(cells.target, place, 2)

    def _stretch(self, cells: _Cells) -> None:
        """Give a number below its name the room of the target too, if it has none."""
        place: tuple[int, int, int, int]
        place = self._grid.getItemPosition(self._grid.indexOf(cells.value))  # type: ignore[assignment]  # PySide says: object
        row, across = place[0], 2 if cells.target.text() else 3
        if place[3] != across:
            self._grid.removeWidget(cells.value)
            self._grid.addWidget(cells.value, row, 0, 1, across)

    def minimumSizeHint(self) -> QSize:
        """Return the width at which name, number and target stand below each other."""
        least = super().minimumSizeHint()
        numbers = [
            part.least_width()
            for cells in self._cells
            for part in (cells.value, cells.target)
            if not part.isHidden()
        ]
        others = (self._titles[0], self._notes, self._method, self.more_button)
        names = [one.label for one in self._cells] + [one.note for one in self._cells]
        words = [one.minimumSizeHint().width() for one in (*others, *names) if not one.isHidden()]
        return QSize(max((*numbers, *words), default=0) + self._around(), least.height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put name and target above and below the number if there is no room beside it."""
        super().resizeEvent(event)
        names = [one.label.minimumSizeHint().width() for one in self._cells]  # of a longest word
        wide, numbers = event.size().width() - self._room_of_bar(), self._numbers_width()
        if wide >= numbers + max([round(_NAME_EM * theme.em(self)), *names]):
            stand = _Stand.BESIDE
        elif wide >= numbers:
            stand = _Stand.ABOVE
        elif wide >= self._numbers_width(folded=True):
            stand = _Stand.FOLDED
        else:
            stand = _Stand.STACKED
        if stand is self._stand:
            return
        self._stand = stand
        for number, cells in enumerate(self._cells):
            for part in (cells.label, cells.value, cells.target):
                self._grid.removeWidget(part)
            self._place(cells, _ROWS * number + 2)
        shown, self._shown = self._shown, ()
        if shown:
            self._tell(*shown)
        for cells in self._cells:  # a target that had its word beside it was wider
            cells.value.measure()
            cells.target.measure()
        self.updateGeometry()

    def _room_of_bar(self) -> int:
        """Return the room that a scroll bar would take, if it is not there.

        It comes and goes with the height, which must not change where the parts stand.
        """
        area: QWidget | None = self.parentWidget()
        while area is not None and not isinstance(area, QScrollArea):
            area = area.parentWidget()
        if area is None or area.verticalScrollBar().isVisible():
            return 0
        return area.verticalScrollBar().sizeHint().width()

    def _numbers_width(self, *, folded: bool = False) -> int:
        """Return the width of the numbers with all around them, wherever the parts stand now.

        ``folded``: with the words after a number below it.
        """
        rows: Rows = self._shown[0] if self._shown else ()
        cells = zip(self._cells, rows, strict=False)
        seen = [(one, row) for one, row in cells if not one.value.isHidden()]
        values = [
            one.value.least_width() if folded else one.value.sizeHint().width() for one, _ in seen
        ]
        targets = [one.target.width_of(row[2]) for one, row in seen if row[2]]
        if targets:
            now, wanted = (title.sizeHint().width() for title in self._titles)
            values, targets = [*values, now], [*targets, wanted]
        numbers = max(values, default=0) + max(targets, default=0)
        return numbers + 2 * self._grid.horizontalSpacing() + self._around()

    def _around(self) -> int:
        """Return the width of frame and margins."""
        frame = self._grid.parentWidget()
        around = 0 if frame is None else frame.width() - frame.contentsRect().width()
        margins = self._column.contentsMargins()
        return around + margins.left() + margins.right()


def _decides(figure: Figure) -> bool:
    """Return a sort key: figures with a target before those without."""
    return figure.target is None


def _muted() -> SteadyLabel:
    label = SteadyLabel()
    label.setProperty("kind", "muted")
    return label


def _say(label: SteadyLabel, text: str, *, live: bool) -> None:
    label.say(text, keep_size=live)
    label.setVisible(bool(text) or (live and not label.isHidden()))
