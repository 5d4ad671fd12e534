"""Two versions of a record of any kind side by side, with a choice for each field that differs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QRadioButton,
    QScrollArea,
    QSizePolicy,
    QStyle,
    QVBoxLayout,
    QWidget,
)

from core.language import Name, Numbers
from core.records import (
    AnyRecord,
    FrozenModel,
)
from core.store import LibraryProblem
from core.store.differences import Difference, Side, differences, put_together
from desktop.widgets import theme
from desktop.widgets.after_release import is_pressed
from desktop.widgets.keys import is_enter
from desktop.widgets.language import said, tr
from desktop.widgets.local_time import moment
from desktop.widgets.panels import add_all, add_layout, text_label
from desktop.widgets.plain_text import breakable, one_line, plain_label

_SHARES: Final = (3, 4, 4)
"""How the width is shared out: the field, what is here, what came in."""


@dataclass(frozen=True, slots=True)
class Version:
    """One of the two: what it is called, when and by whom it was made, and what it says."""

    title: str
    made: str
    changed: str  # said beside a field that this side alone has changed
    take_all: str  # on the button that chooses all of it
    thing: AnyRecord


class TwoVersions(QWidget):
    """Shows what differs and keeps what is chosen.

    A field that only one side changed since the state that both began from is chosen already; the
    others are left to the person. Enter goes on to the next field.
    """

    chosen = Signal()
    """Another choice was made."""
    entered = Signal()
    """Enter was pressed on the last field."""

    def __init__(
        self,
        here: Version,
        incoming: Version,
        numbers: Numbers,
        common: FrozenModel | None = None,
        named: Mapping[str, str] | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._versions = {Side.HERE: here, Side.INCOMING: incoming}
        self.differences = differences(here.thing, incoming.thing, numbers, common, named)
        self.is_compared = common is not None
        self.rows: list[dict[Side, QRadioButton]] = []
        self._groups: list[QButtonGroup] = []
        self._columns: list[QGridLayout] = []
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        add_layout(layout, self._head())
        inside = QWidget()
        grid = self._grid(inside)
        for row, one in enumerate(self.differences):
            self._add(grid, row, one)
        grid.setRowStretch(2 * len(self.differences), 1)
        self.area = QScrollArea(self)
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.area.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.area.setWidget(inside)
        layout.addWidget(self.area, 1)

    def begin(self) -> None:
        """Put the focus on the first field that waits for a choice, else on the first."""
        for group, row in zip(self._groups, self.rows, strict=True):
            if group.checkedButton() is None:
                row[Side.HERE].setFocus(Qt.FocusReason.OtherFocusReason)
                return
        if self.rows:
            self._focus(0)

    def choose(self, row: int, side: Side) -> None:
        """Choose one side for a field."""
        self.rows[row][side].setChecked(True)

    def choose_all(self, side: Side) -> None:
        """Choose one side for every field."""
        for row in range(len(self.rows)):
            self.choose(row, side)

    def sides(self) -> list[Side | None]:
        """Return what is chosen for each field, None where nothing is yet."""
        return [
            next((side for side, button in row.items() if button.isChecked()), None)
            for row in self.rows
        ]

    def left(self) -> int:
        """Return how many fields wait for a choice."""
        return self.sides().count(None)

    def only_side(self) -> Side | None:
        """Return the one side that everything is chosen from, None if there is no such side."""
        found = set(self.sides())
        return found.pop() if len(found) == 1 else None

    def thing(self) -> AnyRecord:
        """Return what is chosen; LibraryProblem if that doesn't go together."""
        here, incoming = self._versions[Side.HERE].thing, self._versions[Side.INCOMING].thing
        sides = {
            one.place: side
            for one, side in zip(self.differences, self.sides(), strict=True)
            if side is not None
        }
        return put_together(here, incoming, sides)

    def why_not(self) -> str:
        """Return why what is chosen can't be kept yet, empty if it can."""
        if self.left():
            return tr("library.two_versions.to_choose", left=self.left())
        try:
            self.thing()
        except LibraryProblem as problem:
            return said(problem.what)
        return ""

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Choose and go on with Enter; keep the field in view."""
        if isinstance(watched, QRadioButton):
            if is_enter(event):
                self._go_on_from(watched)
                return True
            if event.type() == QEvent.Type.FocusIn and not is_pressed():
                self.area.ensureWidgetVisible(watched, 0, self.fontMetrics().height() * 2)
        return super().eventFilter(watched, event)

    # construction

    def _grid(self, parent: QWidget | None = None) -> QGridLayout:
        grid = QGridLayout() if parent is None else QGridLayout(parent)
        bar = self.style().pixelMetric(QStyle.PixelMetric.PM_ScrollBarExtent)
        grid.setContentsMargins(0, 4, bar if parent is None else 4, 4)
        grid.setHorizontalSpacing(round(theme.em(self)))
        for column, share in enumerate(_SHARES):
            grid.setColumnStretch(column, share)
        self._columns.append(grid)
        return grid

    def _head(self) -> QGridLayout:
        grid = self._grid()
        grid.addWidget(_narrow(plain_label()), 0, 0)
        for column, (side, version) in enumerate(self._versions.items(), start=1):
            title = _narrow(text_label(breakable(version.title)))
            title.setFont(theme.scaled(self.font(), 1.15, bold=True))
            made = _narrow(text_label(breakable(version.made), "muted"))
            every = QPushButton(version.take_all)
            every.setObjectName(f"all:{side.value}")
            every.clicked.connect(lambda _checked=False, side=side: self.choose_all(side))
            cell = add_all(QVBoxLayout(), title, made)
            cell.addStretch(1)
            cell.addWidget(every, 0, Qt.AlignmentFlag.AlignLeft)
            add_layout(grid, cell, 0, column)
        return grid

    def _add(self, grid: QGridLayout, row: int, one: Difference) -> None:
        line = QFrame()
        line.setFrameShape(QFrame.Shape.HLine)
        grid.addWidget(line, 2 * row, 0, 1, 3)
        label = said(one.label)
        name = _narrow(plain_label(breakable(label), wraps=True))
        name.setFont(theme.scaled(self.font(), 1.0, bold=True))
        cell = add_all(QVBoxLayout(), name)
        changed = self._changed(one)
        if changed:
            cell.addWidget(_narrow(text_label(changed, "muted")))
        cell.addStretch(1)
        add_layout(grid, cell, 2 * row + 1, 0)
        group = QButtonGroup(self)
        buttons: dict[Side, QRadioButton] = {}
        for column, (side, words) in enumerate(
            ((Side.HERE, one.here), (Side.INCOMING, one.incoming)), start=1
        ):
            button = QRadioButton()
            title = self._versions[side].title
            button.setAccessibleName(f"{label}: {title}: {words}")
            button.setAccessibleDescription(changed)
            button.installEventFilter(self)
            button.setChecked(one.changed_by is side)
            group.addButton(button)
            buttons[side] = button
            value = _ValueLabel(breakable(words), button)
            choice = QHBoxLayout()
            choice.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
            choice.addWidget(value, 1)
            add_layout(grid, choice, 2 * row + 1, column)
        group.buttonToggled.connect(self._tell)
        self.rows.append(buttons)
        self._groups.append(group)

    def _tell(self, _button: QRadioButton, on: bool) -> None:  # noqa: FBT001 - Qt calls it so
        if on:
            self.chosen.emit()

    def _changed(self, one: Difference) -> str:
        if one.changed_by is not None:
            return self._versions[one.changed_by].changed
        return tr("library.two_versions.both_changed") if self.is_compared else ""

    # keyboard

    def _go_on_from(self, button: QRadioButton) -> None:
        button.setChecked(True)
        row = next(place for place, one in enumerate(self.rows) if button in one.values())
        if row + 1 < len(self.rows):
            self._focus(row + 1)
        else:
            self.entered.emit()

    def _focus(self, row: int) -> None:
        picked = self._groups[row].checkedButton() or self.rows[row][Side.HERE]
        picked.setFocus(Qt.FocusReason.TabFocusReason)


def made_words(revision: int, at: datetime, who: str) -> str:
    """Return which revision this is, when it was made and by whom."""
    if not who:
        return tr("library.two_versions.revision", revision=revision, moment=Name(moment(at)))
    return tr(
        "library.two_versions.revision_by",
        revision=revision,
        moment=Name(moment(at)),
        who=Name(one_line(who)),
    )


class _ValueLabel(QLabel):
    """A value beside its radio button, which a click on it presses."""

    def __init__(self, text: str, button: QRadioButton) -> None:
        super().__init__(text, textFormat=Qt.TextFormat.PlainText, wordWrap=True)
        self._button = button
        self.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        _narrow(self)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose it."""
        if event.button() == Qt.MouseButton.LeftButton:
            self._button.setFocus(Qt.FocusReason.MouseFocusReason)
            self._button.setChecked(True)
        super().mousePressEvent(event)


def _narrow(label: QLabel) -> QLabel:
    """Let a label be as narrow as its column; its height follows from that."""
    policy = QSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Minimum)
    policy.setHeightForWidth(True)
    label.setSizePolicy(policy)
    label.setMinimumWidth(1)
    return label
