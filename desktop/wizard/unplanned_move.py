"""Input of an unplanned move: control, direction, amount, a note."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QFrame,
    QHBoxLayout,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from core.fitting import MovePart
from core.language import Name, Numbers, Quantity, Series, message
from core.records import COUNT, UNITS, Directions, FieldKind, FieldSpec, Limits
from core.steps.shared import Movable, is_far_from_order, ordered_for
from desktop.forms.draft_line import DraftLine
from desktop.forms.number_field import NumberField
from desktop.widgets import theme
from desktop.widgets.elided_combo import ElidedCombo
from desktop.widgets.keys import ENTER_KEYS
from desktop.widgets.language import tr
from desktop.widgets.message_line import MessageLine
from desktop.widgets.panels import add_all, add_layout, button, clear_layout, heading, may_be_narrow
from desktop.widgets.wrapping_buttons import WrappedRadio


class UnplannedMovePanel(QFrame):
    """Shown on demand; keeps its input when hidden.

    Enter moves from field to field and, in the last, saves the move; Escape cancels.
    """

    made = Signal(object, float, str)
    """What was moved (a Movable), the amount along its positive direction, and a note."""
    typed = Signal()
    """Something was typed or chosen."""

    def __init__(self, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("panel", "true")
        self._numbers = numbers
        self._choices: tuple[Movable, ...] = ()
        self._order: tuple[MovePart, ...] = ()
        self._questioned: MovePart | None = None
        self.what = ElidedCombo()
        self.what.setAccessibleName(tr("wizard.unplanned_move.what_was_moved"))
        may_be_narrow(self.what)
        self.what.currentIndexChanged.connect(self._on_what)
        self.ways = (WrappedRadio(""), WrappedRadio(""))
        self._group = QButtonGroup(self)
        for place, way in enumerate(self.ways):
            self._group.addButton(way, place)
        self._group.setExclusive(True)
        self.field: NumberField | None = None
        self._field_place = QVBoxLayout()
        self.note = QLineEdit(
            maxLength=2000, placeholderText=tr("wizard.unplanned_move.why_if_you_like")
        )
        self.note.setAccessibleName(tr("wizard.unplanned_move.note_on_this_move"))
        self.note.returnPressed.connect(self.keep)
        self.keep_button = button(tr("wizard.unplanned_move.record_this_move"), primary=True)
        self.keep_button.clicked.connect(self.keep)
        self._back = button(tr("wizard.unplanned_move.back_out"))
        self._back.clicked.connect(self.hide)
        self._problem = MessageLine()
        self.draft_line = DraftLine()
        self.note.textChanged.connect(self.typed)
        self._group.idToggled.connect(lambda _place, _on: self.typed.emit())
        self._lay_out()
        self.hide()

    def _lay_out(self) -> None:
        column = QVBoxLayout(self)
        column.addWidget(heading(tr("wizard.unplanned_move.a_move_of_your_own"), 1.0))
        gap = round(theme.em(self) * 0.6)
        first = QHBoxLayout()
        first.setSpacing(gap)
        first.addWidget(self.what, 1)
        ways = QVBoxLayout()
        ways.setSpacing(0)
        for way in self.ways:
            ways.addWidget(way)
        add_layout(first, ways, 1)
        add_layout(column, first)
        second = QHBoxLayout()
        second.setSpacing(gap)
        add_all(second, (self._field_place, 3), (self.note, 2))
        add_layout(column, second)
        last = add_all(QHBoxLayout(), self.keep_button, self._back, 1)
        add_all(column, self.draft_line, last, self._problem)

    def ask(self, choices: tuple[Movable, ...], order: tuple[MovePart, ...] = ()) -> None:
        """Offer what can be moved; an amount far from the one ordered is asked about."""
        self._order = order
        if choices != self._choices:
            self._choices = choices
            self.what.clear()
            self.what.addItems([self._numbers.text(one.label) for one in choices])
        self._problem.say("")
        self.show()
        self.what.setFocus(Qt.FocusReason.OtherFocusReason)

    def done(self) -> None:
        """Hide: the move was saved."""
        self._choices = ()
        self.note.clear()
        self.hide()

    def has_unsaved(self) -> bool:
        """Whether there is unsaved input."""
        if self.isHidden():
            return False
        amount = self.field.text() if self.field is not None else ""
        return bool(amount.strip() or self.note.text().strip())

    def typed_raw(self) -> dict[str, Any] | None:
        """Return the input as JSON; None without an amount and a note."""
        chosen = self._chosen()
        amount = self.field.text() if self.field is not None else ""
        note = self.note.text()
        if not (amount.strip() or note.strip()):
            return None
        what = [chosen.control.value, chosen.where, chosen.unit] if chosen is not None else []
        return {"what": what, "way": self._group.checkedId(), "amount": amount, "note": note}

    def type_again(self, raw: Mapping[str, Any]) -> bool:
        """Show the result of :meth:`typed_raw`, as typed; False if that is impossible."""
        match raw:
            case {"what": list(what), "way": int(way), "amount": str(amount), "note": str(note)}:
                movable = [[one.control.value, one.where, one.unit] for one in self._choices]
                if what not in movable:
                    return False
                self.what.setCurrentIndex(movable.index(what))
                if way in (0, 1):
                    self.ways[way].setChecked(True)
                if self.field is not None:
                    self.field.set_text(amount)
                self.note.setText(note)
                return True
        return False

    def clear_typed(self) -> None:
        """Clear the fields."""
        self.note.clear()
        self._on_what()

    def keep(self) -> None:
        """Emit the move, or show what is missing."""
        chosen = self._chosen()
        if chosen is None:
            self._say(tr("wizard.unplanned_move.choose_what_was_moved_first"), self.what)
            return
        amount = 1.0
        if chosen.ways:
            if self._group.checkedId() < 0:
                ways = Series(chosen.ways, "or")
                self._say(
                    tr("wizard.unplanned_move.say_which_way_it_went", ways=ways), self.ways[0]
                )
                return
            if self.field is None:
                return
            typed = self.field.result
            if typed.value is None:
                self.field.reveal()
                self._say(
                    typed.problem or tr("wizard.unplanned_move.enter_how_far_it_was"),
                    self.field.line,
                )
                return
            if typed.value == 0.0:
                self._say(tr("wizard.unplanned_move.0_is_no_move_enter"), self.field.line)
                return
            amount = typed.value if self._group.checkedId() == 0 else -typed.value
            if self._asks(chosen.part(amount)):
                self.field.line.setFocus(Qt.FocusReason.OtherFocusReason)
                self.field.line.selectAll()
                return
        self._problem.say("")
        self.made.emit(chosen, amount, self.note.text().strip())

    def _asks(self, moved: MovePart) -> bool:
        """Ask about an amount far from the order, once, unless the note says why."""
        part = ordered_for(moved, self._order)
        if part is None or self.note.text().strip() or moved == self._questioned:
            return False
        if not is_far_from_order(moved.amount, part.amount, part.unit):
            return False
        self._questioned = moved
        decimals = UNITS.get(part.unit, COUNT).decimals
        typed, proposed = (
            Quantity(abs(one.amount), part.unit, decimals, form="short") for one in (moved, part)
        )
        asked = message("wizard.unplanned_move.far_off", typed=typed, proposed=proposed)
        self._problem.say("", self._numbers.text(asked))
        return True

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go on with Enter, cancel with Escape; the input stays for the next time."""
        if event.key() == Qt.Key.Key_Escape:
            self.hide()
        elif event.key() in ENTER_KEYS:
            self._go_on()
        else:
            super().keyPressEvent(event)

    def _go_on(self) -> None:
        """Move from the control to the direction, from there to the amount."""
        if self.what.hasFocus() and self.ways[0].isVisibleTo(self):
            (self._group.checkedButton() or self.ways[0]).setFocus(Qt.FocusReason.TabFocusReason)
        elif any(way.hasFocus() for way in self.ways) and self.field is not None:
            focused = next(way for way in self.ways if way.hasFocus())
            focused.setChecked(True)
            self.field.line.setFocus(Qt.FocusReason.TabFocusReason)
        elif self.what.hasFocus():  # Enter in the note has saved the move already
            self.note.setFocus(Qt.FocusReason.TabFocusReason)

    def _chosen(self) -> Movable | None:
        at = self.what.currentIndex()
        return self._choices[at] if 0 <= at < len(self._choices) else None

    def _on_what(self) -> None:
        chosen = self._chosen()
        clear_layout(self._field_place)
        self.field = None
        self._problem.say("")
        has_ways = chosen is not None and bool(chosen.ways)
        self._group.setExclusive(False)
        for place, way in enumerate(self.ways):
            way.setVisible(has_ways)
            way.setChecked(False)
            if chosen is not None and chosen.ways:
                words = self._numbers.text(chosen.ways[place])
                way.say(words)
                way.setAccessibleName(f"{self._numbers.text(chosen.label)}, {words}")
        self._group.setExclusive(True)
        if chosen is None or not chosen.ways:
            return
        field = NumberField(_spec(chosen, self._numbers), self._numbers)
        field.entered.connect(lambda: self.note.setFocus(Qt.FocusReason.TabFocusReason))
        field.typed.connect(self.typed)
        self.field = field
        self._field_place.addWidget(field)
        QWidget.setTabOrder(self.ways[1], field.line)
        QWidget.setTabOrder(field.line, self.note)

    def _say(self, sentence: str, at: QWidget) -> None:
        self._problem.say(
            tr("wizard.unplanned_move.not_recorded_yet_sentence", sentence=Name(sentence))
        )
        at.setFocus(Qt.FocusReason.OtherFocusReason)


def _spec(movable: Movable, numbers: Numbers) -> FieldSpec:
    return FieldSpec(
        name="amount",
        label=tr(
            "wizard.unplanned_move.how_far_movable", movable=Name(numbers.text(movable.label))
        ),
        help=tr("wizard.unplanned_move.how_far_it_was_really"),
        kind=FieldKind.NUMBER,
        required=True,
        optional=False,
        unit=UNITS.get(movable.unit, COUNT),
        limits=Limits(0.0, movable.farthest),
        directions=Directions(*map(numbers.text, movable.ways)),
    )
