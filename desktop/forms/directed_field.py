"""A number whose sign is a choice of words: one of two directions, and an amount."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QRadioButton, QWidget

from core.language import Name, Numbers
from core.records import FieldSpec
from desktop.forms.number_field import NumberField, begins_a_number, type_from_outside
from desktop.widgets import theme
from desktop.widgets.keys import is_enter
from desktop.widgets.language import tr
from desktop.widgets.message_line import MessageLine
from desktop.widgets.panels import add_all, column_in
from desktop.widgets.wrapping_buttons import WrappedRadio

_ARROWS: Final = {
    Qt.Key.Key_Up: 0,
    Qt.Key.Key_Left: 0,
    Qt.Key.Key_Down: 1,
    Qt.Key.Key_Right: 1,
}
"""The direction that each arrow key chooses."""


class DirectedField(QWidget):
    """An amount without a sign, and a direction in words.

    Enter moves from the amount to the direction if that is still open, and on once it is chosen;
    Enter alone chooses none. Up and Down in the amount choose a direction too. Typed text is never
    changed, even if invalid.
    """

    typed = Signal()
    """The text or the direction changed."""
    entered = Signal()
    """Enter was pressed in its last part."""
    stops_changed = Signal()
    """The tab stop among the directions changed."""

    def __init__(self, spec: FieldSpec, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        if spec.directions is None:
            raise TypeError(f"the field {spec.name!r} has no directions")
        self.spec = spec
        self._words = spec.directions
        self.field = NumberField(_amount_of(spec), numbers, self)
        self.line = self.field.line
        self.line.setAccessibleDescription(
            tr("forms.directed_field.no_sign", help=Name(spec.help)).strip()
        )
        self.ways = (WrappedRadio(self._words.plus, self), WrappedRadio(self._words.minus, self))
        self.line.installEventFilter(self)
        self._group = QButtonGroup(self)
        row = QHBoxLayout()
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(round(theme.em(self) * 0.5))
        words = self._words.plus, self._words.minus
        for place, way in enumerate(self.ways):
            way.setAccessibleName(f"{spec.label}: {words[place]}")
            way.setAccessibleDescription(spec.help)
            way.installEventFilter(self)
            self._group.addButton(way, place)
            row.addWidget(way, 1)
        self._message = MessageLine(self)
        column = column_in(self)
        column.setSpacing(0)
        add_all(column, self.field, row, self.field.message_line, self._message)
        self.field.typed.connect(self._on_typed)
        self.field.entered.connect(self._on_enter)
        self._group.idToggled.connect(lambda _place, on: self._on_way(chosen=on))

    @property
    def value(self) -> float | None:
        """The signed number; None without a number, or without a direction that is needed."""
        amount = self.field.result.value
        if amount is None or amount == 0.0:
            return amount
        place = self._group.checkedId()
        return None if place < 0 else (amount if place == 0 else -amount)

    @property
    def awaits_direction(self) -> bool:
        """Whether a valid amount stands here that lies in neither direction yet."""
        typed = self.field.result
        return not typed.problem and bool(typed.value) and self._group.checkedId() < 0

    @property
    def problem(self) -> str:
        """The problem in one sentence; empty if there is none."""
        if not self.awaits_direction:
            return self.field.result.problem
        return tr(
            "forms.directed_field.which_way",
            label=Name(self.spec.label),
            plus=Name(self._words.plus),
            minus=Name(self._words.minus),
        )

    def text(self) -> str:
        """Return the amount as typed."""
        return self.field.text()

    def message(self) -> str:
        """Return the sentence under the field, or an empty string."""
        return self.field.message() or self._message.text()

    def set_text(self, text: str) -> None:
        """Put an amount in, as if typed."""
        self.field.set_text(text)

    def put(self, value: float | None) -> None:
        """Show a number; None clears amount and direction; 0 leaves the direction open."""
        self.field.put(None if value is None else abs(value))
        self.choose(None if not value else value > 0.0)

    def choose(self, plus: bool | None) -> None:  # noqa: FBT001  # the direction itself
        """Choose a direction, or none."""
        if plus is None:
            self._group.setExclusive(False)
            for way in self.ways:
                way.setChecked(False)
                # Once one is checked, Qt skips the other with Tab until that is checked.
                way.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            self._group.setExclusive(True)
            self.stops_changed.emit()
        else:
            self.ways[0 if plus else 1].setChecked(True)
        self._message.say("")

    def chosen(self) -> int:
        """Return the index of the chosen direction, -1 for none."""
        return self._group.checkedId()

    def tab_stops(self) -> list[QWidget]:
        """Return the line, and the chosen direction (else the first: arrow keys do the rest)."""
        return [self.line, self._group.checkedButton() or self.ways[0]]

    def reveal(self) -> None:
        """Show any problem now, even while typing."""
        self.field.reveal()
        self._message.say("" if self.field.result.problem else self.problem)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Choose a direction with an arrow key; go on with Enter if one is chosen.

        A digit goes to the amount; one that stands there gets the focus and stays as it is.
        """
        if watched is self.line:
            return self._takes_arrow(event) or super().eventFilter(watched, event)
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            typed = event.text()
            if begins_a_number(typed):
                type_from_outside(self.line, typed)
                return True
            at = _ARROWS.get(Qt.Key(event.key()))
            if at is not None:
                self.ways[at].setChecked(True)
                self.ways[at].setFocus(Qt.FocusReason.OtherFocusReason)
                return True
        if is_enter(event) and isinstance(watched, QRadioButton):
            if self.problem:
                self.reveal()
            else:
                self.entered.emit()
            return True
        return super().eventFilter(watched, event)

    def _takes_arrow(self, event: QEvent) -> bool:
        """Choose a direction with Up or Down while the amount has the focus."""
        if not isinstance(event, QKeyEvent) or event.type() != QEvent.Type.KeyPress:
            return False
        if event.key() not in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            return False
        self.ways[_ARROWS[Qt.Key(event.key())]].setChecked(True)
        return True

    def where_wrong(self) -> QWidget:
        """Return the widget to correct: the amount, else the direction."""
        return self.line if self.field.result.problem else self.tab_stops()[1]

    def _on_enter(self) -> None:
        """Go on; to the direction first if that is still open."""
        amount = self.field.result.value
        if amount and self.chosen() < 0:
            self.ways[0].setFocus(Qt.FocusReason.TabFocusReason)
        else:
            self.entered.emit()

    def _on_typed(self) -> None:
        self._message.say("")
        self.typed.emit()

    def _on_way(self, *, chosen: bool) -> None:
        if chosen:
            self._message.say("")
            self.stops_changed.emit()
            self.typed.emit()


def _amount_of(spec: FieldSpec) -> FieldSpec:
    """Return the field of the amount alone, with the larger limit of both directions."""
    limits = spec.limits
    if limits is None:
        return spec
    usual = limits.usual and (0.0, max(map(abs, limits.usual)))
    far = max(abs(limits.low), abs(limits.high))
    return replace(spec, limits=replace(limits, low=0.0, high=far, usual=usual))
