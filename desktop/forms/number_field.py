"""A field for one number: the text stays as typed; the parsed value is shown beside it."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QWheelEvent
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QPushButton, QSizePolicy, QWidget

from core.language import Meant, Name, Numbers, Typed, as_typed, read_number, read_whole
from core.records import COUNT, NUMBER, FieldKind, FieldSpec, Unit
from desktop.widgets.keys import is_held_enter
from desktop.widgets.language import tr
from desktop.widgets.message_line import MessageLine
from desktop.widgets.panels import add_all, button, column_in
from desktop.widgets.plain_text import PlainLabel
from desktop.widgets.steady_label import SteadyLabel

_OF_NUMBERS: Final = ".,-−+½¼¾⅛⅜⅝⅞"


def begins_a_number(typed: str) -> bool:
    """Whether typed text can begin a number, sign included."""
    return bool(typed) and (typed.isdigit() or typed in _OF_NUMBERS)


def text_of(value: float | None, spec: FieldSpec, numbers: Numbers) -> str:
    """Return the text of a number field for this value."""
    return "" if value is None else as_typed(float(value), numbers, _unit_of(spec))


def _unit_of(spec: FieldSpec) -> Unit:
    return spec.unit or (COUNT if spec.kind is FieldKind.WHOLE else NUMBER)


class _Line(QLineEdit):
    """A line whose arrow keys step the number; page keys and wheel are left to the page."""

    stepped = Signal(int)
    left = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Step with the arrow keys; ignore auto-repeated Enter.

        A key held down must not run through moves and steps.
        """
        if is_held_enter(event):
            event.accept()
            return
        steps = {
            Qt.Key.Key_Up: 1,
            Qt.Key.Key_Down: -1,
        }.get(Qt.Key(event.key()))
        if steps is not None and event.modifiers() in (
            Qt.KeyboardModifier.NoModifier,
            Qt.KeyboardModifier.KeypadModifier,
        ):
            self.stepped.emit(steps)
            event.accept()
            return
        super().keyPressEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to the page: scrolling changes no number."""
        event.ignore()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Emit that the field was left."""
        super().focusOutEvent(event)
        self.left.emit()


def type_from_outside(line: QLineEdit, text: str) -> None:
    """Put the focus into a line, and type into it if it is empty.

    A number that stands there is neither wiped nor added to: a digit typed elsewhere does not say
    which of the two is meant.
    """
    line.setFocus(Qt.FocusReason.OtherFocusReason)  # Tab would select it all
    line.end(False)  # noqa: FBT003 - Qt takes whether to select by position
    if not line.text():
        line.insert(text)


class _UnitLabel(PlainLabel):
    """A unit, with room for the usual one, so that fields below each other end alike."""

    def sizeHint(self) -> QSize:
        """Return the width of the unit, or of millimetres if that is wider."""
        widest = max(map(self.fontMetrics().horizontalAdvance, ("mm ", self.text())))
        return QSize(widest, super().sizeHint().height())

    def minimumSizeHint(self) -> QSize:
        """Return the same: a unit is never cut."""
        return self.sizeHint()


class NumberField(QWidget):
    """A number with its unit.

    Only the person changes the text, by typing or with the arrow keys. While a number may still
    become valid, its problem waits until the field is left or :meth:`reveal` is called.
    """

    typed = Signal()
    """The text changed, by hand or by :meth:`put`."""
    value_changed = Signal(object)
    """The parsed value changed (a float or None)."""
    entered = Signal()
    """Enter was pressed."""

    def __init__(self, spec: FieldSpec, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.spec = spec
        self._numbers = numbers
        self._unit = _unit_of(spec)
        self._reader = read_whole if spec.kind is FieldKind.WHOLE else read_number
        self._revealed = False
        self._put: tuple[str, float | None] = ("", None)
        """The text that was put in last, and the value that it stands for."""
        self.line = _Line(self)
        self.line.setAccessibleName(
            f"{spec.label}, {self._unit.spoken}" if self._unit.spoken else spec.label
        )
        self.line.setAccessibleDescription(spec.help)
        self.line.setMaxLength(200)
        self.line.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._take_button: QPushButton | None = None
        self._unit_label = _UnitLabel(self._unit.symbol, self)
        self._understood = SteadyLabel(wraps=False, parent=self)
        self._understood.setProperty("kind", "muted")
        self.message_line = MessageLine(self)
        row = QHBoxLayout()
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(self.fontMetrics().horizontalAdvance("0"))
        add_all(row, (self.line, 3), self._unit_label, (self._understood, 2))
        column = self._column = column_in(self)
        column.setSpacing(2)
        add_all(column, row, self.message_line)
        self.line.setMinimumWidth(self.line.fontMetrics().horizontalAdvance("0") * 9)
        self._understood.setMinimumWidth(self.line.fontMetrics().horizontalAdvance("0") * 9)
        self._last = self._reader("", spec, numbers)
        self.line.textChanged.connect(self._read)
        self.line.stepped.connect(self._step)
        self.line.left.connect(self._left)
        self.line.returnPressed.connect(self._enter)
        self._show()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Pass the focus to the line.

        A focus proxy won't do: Qt's tab order would stop at this frame too, and lead back into a
        form whose fields were added or removed.
        """
        self.line.setFocus(event.reason())

    @property
    def result(self) -> Typed:
        """The result of parsing the text."""
        return self._last

    def text(self) -> str:
        """Return the text as typed."""
        return self.line.text()

    def set_text(self, text: str) -> None:
        """Put a text in, as if typed."""
        self.line.setText(text)

    def put(self, value: float | None) -> None:
        """Show a value; None clears the field. No problem is shown until it is touched.

        As long as the text stays so, the value does, to its last digit.
        """
        self._revealed = False
        text = text_of(value, self.spec, self._numbers)
        self._put = (text, value)
        if text == self.text():
            self._last = self._parsed(text)
        self.line.setText(text)
        self._show()

    def reveal(self) -> None:
        """Show any problem now, even while typing."""
        self._revealed = True
        self._show()

    def message(self) -> str:
        """Return the sentence under the field, or an empty string."""
        return self.message_line.text()

    def _read(self, text: str) -> None:
        before = self._last.value
        self._revealed = False
        self._last = self._parsed(text)
        self._show()
        self.typed.emit()
        if self._last.value != before:
            self.value_changed.emit(self._last.value)

    def _parsed(self, text: str) -> Typed:
        typed = self._reader(text, self.spec, self._numbers)
        shown, value = self._put
        return replace(typed, value=value) if typed.value is not None and text == shown else typed

    def _show(self) -> None:
        typed = self._last
        waits = typed.may_grow and not self._revealed
        problem = "" if waits else typed.problem
        self.message_line.say(problem, typed.question)
        self._offer(typed.meant if problem or typed.question else None)
        shown = typed.understood if typed.value is not None or self.text().strip() else ""
        if not self.text().strip() and self.spec.optional:
            shown = typed.understood
        told = f"= {shown}" if typed.value is not None and shown else shown
        if self._says_the_same(shown):
            told = ""
        self._understood.say(told, keep_size=True)
        # The minimum width keeps the line in place; it must not cut a longer number.
        needed = self._understood.sizeHint().width()
        if needed > self._understood.minimumWidth():
            self._understood.setMinimumWidth(needed)
        refused = bool(problem)
        if bool(self.line.property("refused")) != refused:
            self.line.setProperty("refused", refused)
            self.line.style().unpolish(self.line)
            self.line.style().polish(self.line)

    def _says_the_same(self, understood: str) -> bool:
        """Whether what was understood stands in the field already, with its unit beside it."""
        typed, unit = self.text().strip(), self._unit_label.text().strip()
        said = " ".join(understood.split())
        if self._numbers.decimal in typed and typed[-1] == "0":  # 2.0 is understood as 2
            typed = typed.rstrip("0").removesuffix(self._numbers.decimal)
        return bool(typed) and said in (typed, f"{typed} {unit}".strip())

    def _offer(self, meant: Meant | None) -> None:
        """Offer to take the number in the unit that was likely meant."""
        made = self._take_button
        if made is None:
            if meant is None:
                return
            made = self._take_button = button(
                "", tip=tr("forms.number_field.takes_it_so"), quiet=True
            )
            made.clicked.connect(self._take)
            self._column.addWidget(made, 0, Qt.AlignmentFlag.AlignLeft)
        if meant is None:
            if made.hasFocus():
                self.line.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            made.setText(
                tr("forms.number_field.take_as", said=Name(meant.said), value=Name(meant.told))
            )
            QWidget.setTabOrder(self.line, made)
        made.setVisible(meant is not None)

    def _take(self) -> None:
        """Type the number in the field's own unit, and go back to it."""
        meant = self._last.meant
        if meant is not None:
            self.line.setFocus(Qt.FocusReason.OtherFocusReason)
            self.line.setText(text_of(meant.value, self.spec, self._numbers))

    def _step(self, steps: int) -> None:
        limits = self.spec.limits
        value = self._last.value
        if value is None:
            if self.text().strip():
                return  # the text is not a number: stepping would overwrite it
            start = 0.0
            if limits is not None:
                start = min(max(0.0, limits.low), limits.high)
            value = start - steps * self._unit.step
        value = round(value + steps * self._unit.step, 9)
        if limits is not None:
            value = min(max(value, limits.low), limits.high)
        self.line.setText(as_typed(value, self._numbers))

    def _left(self) -> None:
        if self.text().strip():  # an empty field that was never focused is no error
            self.reveal()

    def _enter(self) -> None:
        self.reveal()
        self.entered.emit()
