"""The top row of a page: its full title, and beside or below it the rest that fits."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QEvent, QObject, QSize, QTimer
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget, QWidgetItem

from desktop.widgets import theme
from desktop.widgets.panels import add_layout, take_out

_MOST_LINES: Final = 2
"""Text beside the title that needs more lines goes below it, or is left out."""
_LINE_FILL: Final = 0.8
"""Least fill of the lines of wrapped text."""


class TitleRow(QWidget):
    """A title, text beside it, the page's state, and buttons; none of them is ever cut.

    If they don't fit into one row, the buttons go into a second one with the text, and then into a
    third. Text that would be squeezed in a row without buttons below is left out and becomes the
    title's tooltip. The word of a state is left out before the title is cut; its sign stays.
    """

    def __init__(
        self,
        title: QLabel,
        aside: QLabel,
        state: Sequence[QWidget],
        buttons: Sequence[QWidget],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._title, self._aside = title, aside
        self._state, self._buttons = tuple(state), tuple(buttons)
        self._arranged: tuple[bool, int] | None = None
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        self._first, self._second, self._third = QHBoxLayout(), QHBoxLayout(), QHBoxLayout()
        for row in (self._first, self._second, self._third):
            row.setSpacing(round(theme.em(self) * 0.6))
            add_layout(column, row)
        title.setToolTip(aside.text())
        self._arrange(split=False, in_second=0)
        for one in self._buttons:
            one.installEventFilter(self)
        self._soon = QTimer(self, singleShot=True, interval=0)
        self._soon.timeout.connect(self.fit)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Check again how much room there is."""
        super().resizeEvent(event)
        self.fit()

    def changeEvent(self, event: QEvent) -> None:
        """Check again after a change of font."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self.fit()
            if hasattr(self, "_soon"):
                self._soon.start()  # what was left out has the other font only then

    def event(self, event: QEvent) -> bool:
        """Check again when a word of the state has changed."""
        done = super().event(event)
        if event.type() == QEvent.Type.LayoutRequest:
            self.fit()
        return done

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Check again when a button appears or disappears."""
        if event.type() in (QEvent.Type.ShowToParent, QEvent.Type.HideToParent):
            self.fit()
        return super().eventFilter(watched, event)

    def minimumSizeHint(self) -> QSize:
        """Return the width of the wider of two rows: it splits before the page grows wide."""
        signs = [one for one in self._state if not isinstance(one, QLabel)]
        least = max(map(self._wide, ((self._title, *signs), *((b,) for b in self._buttons))))
        return QSize(least, super().minimumSizeHint().height())

    def fit(self) -> None:
        """Choose between one row and two, and leave out text that would be squeezed."""
        if not hasattr(self, "_second"):
            return  # a change of font during construction
        room = self.width()
        self._leave_out_words(room)
        needed = self._wide((self._title, *self._state, *self._buttons))
        split = needed > room
        in_second = self._that_fit(room) if split else 0
        if (split, in_second) != self._arranged:
            self._arrange(split=split, in_second=in_second)
        left = room - (self._wide(self._buttons) if split else needed) - self._first.spacing()
        # In its own type: text that was left out still has the one from before a change.
        words = self.fontMetrics().horizontalAdvance(self._aside.text())
        fits = words <= left or words <= _MOST_LINES * _LINE_FILL * left
        if self._aside.isHidden() is fits:
            self._aside.setVisible(fits)

    def _leave_out_words(self, room: int) -> None:
        """Leave out the words of the state where they would cut the title."""
        words = [one for one in self._state if isinstance(one, QLabel)]
        signs = [one for one in self._state if not isinstance(one, QLabel)]
        whole = self._wide((self._title, *signs))
        whole += sum(one.minimumSizeHint().width() + self._first.spacing() for one in words)
        for one in words:
            if one.isHidden() is (whole <= room):
                one.setVisible(whole <= room)

    def _that_fit(self, room: int) -> int:
        """Return how many of the buttons fit side by side, at least one."""
        counts = range(len(self._buttons), 1, -1)
        return next((n for n in counts if self._wide(self._buttons[:n]) <= room), 1)

    def _wide(self, parts: Sequence[QWidget]) -> int:
        # As the row itself asks it: a sign of a fixed size has no hint of its own.
        shown = [QWidgetItem(one).minimumSize().width() for one in parts if not one.isHidden()]
        return sum(shown) + self._first.spacing() * max(len(shown) - 1, 0)

    def _arrange(self, *, split: bool, in_second: int) -> None:
        self._arranged = split, in_second
        for row in (self._first, self._second, self._third):
            take_out(row)
        self._first.addWidget(self._title)
        if split:
            self._first.addStretch(1)
        else:
            self._first.addWidget(self._aside, 1)
            self._first.addStretch(0)
        for one in self._state:
            self._first.addWidget(one)
        if split:
            self._second.addWidget(self._aside, 1)
        for place, one in enumerate(self._buttons):
            below = self._second if place < in_second else self._third
            (below if split else self._first).addWidget(one)
