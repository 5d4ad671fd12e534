"""The editors of simple fields: number, numbers, flag, text."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QFocusEvent
from PySide6.QtWidgets import QLineEdit, QPlainTextEdit, QWidget

from core.language import Message, Name, Numbers, as_typed, read_day, read_numbers
from core.records import FieldKind, FieldSpec
from desktop.forms.directed_field import DirectedField
from desktop.forms.number_field import NumberField
from desktop.widgets.keys import is_enter
from desktop.widgets.language import tr
from desktop.widgets.message_line import MessageLine
from desktop.widgets.panels import column_in
from desktop.widgets.wrapping_buttons import WrappedBox

_LONG_TEXT: Final = 200
_STAYS: Final = (Qt.FocusReason.ActiveWindowFocusReason, Qt.FocusReason.PopupFocusReason)
"""Why a field may lose the focus for a moment."""


@dataclass(frozen=True, slots=True)
class Answer:
    """The present content of a field."""

    value: Any = None  # the value for the model; meaningless while there are problems
    problems: tuple[tuple[str, str], ...] = ()  # pairs of a field's label and one sentence
    given: bool = True  # false when the field has nothing to say and the model's default holds


class FieldEditor(QWidget):
    """The base of every field's editor."""

    changed = Signal()
    entered = Signal()
    """Enter was pressed in its last part: the form moves to the next field."""
    fields_changed = Signal()
    """Fields were added, removed, hidden or shown: the tab order has changed."""

    shows_own_label = False
    """Whether the editor shows its own label."""

    def __init__(self, spec: FieldSpec, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.spec = spec

    def answer(self) -> Answer:
        """Return the content of the field."""
        raise NotImplementedError

    def put(self, value: Any) -> None:
        """Show a value."""
        raise NotImplementedError

    def raw(self) -> Any:
        """Return the content of the field as JSON, right or wrong."""
        raise NotImplementedError

    def put_raw(self, raw: Any) -> None:
        """Show the result of :meth:`raw`; ignore impossible content."""
        raise NotImplementedError

    def tab_stops(self) -> list[QWidget]:
        """Return the widgets in tab order."""
        raise NotImplementedError

    def where_wrong(self) -> QWidget:
        """Return the widget in which a problem is corrected."""
        return self.tab_stops()[0]

    def reveal(self) -> None:
        """Show every problem, also in untouched fields."""

    def refuse(self, sentence: str) -> bool:  # noqa: ARG002  # for subclasses
        """Show why the whole model refuses this field; return False if it has no place for that."""
        return False

    def settle(self) -> None:
        """Clear what changes with each reading; keep the rest."""


class NumberEditor(FieldEditor):
    """A number or a whole number."""

    def __init__(self, spec: FieldSpec, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(spec, parent)
        self.field = NumberField(spec, numbers, self)
        fill(self, self.field)
        self.field.typed.connect(self.changed)
        self.field.entered.connect(self.entered)

    def answer(self) -> Answer:
        """Return the number, or the sentence that says why there is none."""
        typed = self.field.result
        if typed.problem:
            return Answer(problems=((self.spec.label, typed.problem),))
        whole = self.spec.kind is FieldKind.WHOLE and typed.value is not None
        return Answer(int(typed.value) if whole and typed.value is not None else typed.value)

    def put(self, value: Any) -> None:
        """Show a number; None empties the field."""
        self.field.put(None if value is None else float(value))

    def stop(self) -> Message | None:
        """Return why the stylus stays up, as a number that is refused tells."""
        return self.field.result.stop

    def raw(self) -> str:
        """Return the text."""
        return self.field.text()

    def put_raw(self, raw: Any) -> None:
        """Show a text."""
        if isinstance(raw, str):
            self.field.set_text(raw)

    def tab_stops(self) -> list[QWidget]:
        """Return the line edit."""
        return [self.field.line]

    def reveal(self) -> None:
        """Show the problem now."""
        self.field.reveal()

    def settle(self) -> None:
        """Clear a number that is read anew each time."""
        limits = self.spec.limits
        if self.spec.required and not (limits is not None and limits.remembered):
            self.field.put(None)


class DirectedEditor(FieldEditor):
    """A number whose sign is a choice of words."""

    def __init__(self, spec: FieldSpec, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(spec, parent)
        self.field = DirectedField(spec, numbers, self)
        fill(self, self.field)
        self.field.typed.connect(self.changed)
        self.field.entered.connect(self.entered)
        self.field.stops_changed.connect(self.fields_changed)

    def answer(self) -> Answer:
        """Return the signed number, or the sentence that says why there is none."""
        problem = self.field.problem
        if problem:
            return Answer(problems=((self.spec.label, problem),))
        return Answer(self.field.value)

    def put(self, value: Any) -> None:
        """Show a number; None clears the field and leaves the direction open."""
        self.field.put(None if value is None else float(value))

    def raw(self) -> list[str | int]:
        """Return the text and the index of the direction."""
        return [self.field.text(), self.field.chosen()]

    def put_raw(self, raw: Any) -> None:
        """Show a text and a direction."""
        match raw:
            case [str(text), int(way)]:
                self.field.set_text(text)
                self.field.choose(None if way not in (0, 1) else way == 0)

    def tab_stops(self) -> list[QWidget]:
        """Return the line and the direction."""
        return self.field.tab_stops()

    def where_wrong(self) -> QWidget:
        """Return the line, or the direction if that is missing."""
        return self.field.where_wrong()

    def reveal(self) -> None:
        """Show the problem now."""
        self.field.reveal()

    def settle(self) -> None:
        """Clear a number that is read anew, and its direction."""
        if self.spec.required:
            self.field.put(None)


class NumbersEditor(FieldEditor):
    """Any number of numbers, separated by semicolons."""

    def __init__(self, spec: FieldSpec, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(spec, parent)
        self._numbers = numbers
        self.line = QLineEdit(self)
        spoken = f", {spec.unit.spoken}" if spec.unit and spec.unit.spoken else ""
        self.line.setAccessibleName(
            tr(
                "forms.field_editors.spec_spoken_semicolons_between",
                spec=Name(spec.label),
                spoken=Name(spoken),
            )
        )
        self.line.setAccessibleDescription(spec.help)
        self.line.setPlaceholderText(tr("forms.field_editors.numbers_with_between"))
        self._message = MessageLine(self)
        self._message.setObjectName("numbersMessage")
        self._revealed = False
        self._put: dict[str, float] = {}
        fill(self, self.line, self._message)
        self.line.textChanged.connect(self._read)
        self.line.editingFinished.connect(self._left)
        self.line.returnPressed.connect(self.entered)

    def answer(self) -> Answer:
        """Return the numbers as a tuple."""
        typed = read_numbers(self.line.text(), self.spec, self._numbers)
        if typed.values is None:
            return Answer(problems=((self.spec.label, typed.problem),))
        if not typed.values and self.spec.optional:
            return Answer(None)
        return Answer(tuple(map(self._put.get, typed.pieces, typed.values)))

    def put(self, value: Any) -> None:
        """Show numbers; each keeps its value, to the last digit, as long as its text stays."""
        self._put = {
            as_typed(float(one), self._numbers, self.spec.unit): float(one) for one in value or ()
        }
        self.line.setText(text_of_numbers(value, self.spec, self._numbers))
        self._revealed = False

    def raw(self) -> str:
        """Return the text."""
        return self.line.text()

    def put_raw(self, raw: Any) -> None:
        """Show a text."""
        if isinstance(raw, str):
            self.line.setText(raw)

    def tab_stops(self) -> list[QWidget]:
        """Return the line."""
        return [self.line]

    def reveal(self) -> None:
        """Show the problem now."""
        self._revealed = True
        self._say()

    def settle(self) -> None:
        """Clear numbers that are read anew each time."""
        if self.spec.required:
            self.put(())

    def _left(self) -> None:
        if self.line.text().strip():
            self.reveal()

    def _read(self) -> None:
        self._revealed = False
        self._say()
        self.changed.emit()

    def _say(self) -> None:
        typed = read_numbers(self.line.text(), self.spec, self._numbers)
        waits = typed.may_grow and not self._revealed
        self._message.say("" if waits else typed.problem, typed.question)


class FlagEditor(FieldEditor):
    """Yes or no."""

    shows_own_label = True

    def __init__(self, spec: FieldSpec, parent: QWidget | None = None) -> None:
        super().__init__(spec, parent)
        self._box = WrappedBox(spec.label, self)
        self._box.setAccessibleName(spec.label)
        self._box.setAccessibleDescription(spec.help)
        self._box.installEventFilter(self)
        fill(self, self._box)
        self._box.toggled.connect(self.changed)

    def answer(self) -> Answer:
        """Return whether it is ticked."""
        return Answer(self._box.isChecked())

    def put(self, value: Any) -> None:
        """Show yes or no."""
        self._box.setChecked(bool(value))

    def raw(self) -> bool:
        """Return whether it is ticked."""
        return self._box.isChecked()

    def put_raw(self, raw: Any) -> None:
        """Show yes or no."""
        if isinstance(raw, bool):
            self.put(raw)

    def tab_stops(self) -> list[QWidget]:
        """Return the box."""
        return [self._box]

    def settle(self) -> None:
        """Reset to the default: an old tick would apply to the next reading."""
        self.put(self.spec.default)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Move on with Enter; the space bar ticks."""
        if is_enter(event):
            self.entered.emit()
            return True
        return super().eventFilter(watched, event)


class _WordsLine(QLineEdit):
    """Shows the beginning of words that are too long for it, until it gets the focus."""

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Go on at the end, if nobody pointed elsewhere."""
        if event.reason() == Qt.FocusReason.OtherFocusReason:
            self.end(False)  # noqa: FBT003 - Qt takes it so
        super().focusInEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Show the beginning again once the focus is on another field."""
        super().focusOutEvent(event)
        if event.reason() not in _STAYS:
            self.home(False)  # noqa: FBT003 - the same


class TextEditor(FieldEditor):
    """Free text; several lines where long text is allowed."""

    def __init__(self, spec: FieldSpec, parent: QWidget | None = None) -> None:
        super().__init__(spec, parent)
        self._long = (spec.longest or 0) > _LONG_TEXT
        self._edit: QPlainTextEdit | QLineEdit
        if self._long:
            self._edit = QPlainTextEdit(self)
            self._edit.setTabChangesFocus(True)
            self.show_lines(4)
            self._edit.textChanged.connect(self._changed)
        else:
            self._edit = _WordsLine(self)
            self._edit.textChanged.connect(self._changed)
            self._edit.returnPressed.connect(self.entered)
            self._edit.editingFinished.connect(self._left)
        self._edit.setAccessibleName(spec.label)
        self._edit.setAccessibleDescription(spec.help)
        self._message = MessageLine(self)
        self._refusal = ""
        fill(self, self._edit, self._message)

    def show_lines(self, count: int) -> None:
        """Give a box for long text the height of so many lines; further ones scroll."""
        if isinstance(self._edit, QPlainTextEdit):
            self._edit.setFixedHeight(self._edit.fontMetrics().height() * (count + 1))

    def text(self) -> str:
        """Return the text as typed."""
        if isinstance(self._edit, QPlainTextEdit):
            return self._edit.toPlainText()
        return self._edit.text()

    def answer(self) -> Answer:
        """Return the text; too long or, where required, empty text is a problem."""
        words = self.text().strip()
        name = f"“{self.spec.label}”"
        if not words and self.spec.required:
            return Answer(
                problems=(
                    (
                        self.spec.label,
                        tr("forms.field_editors.name_needs_a_few_words", name=Name(name)),
                    ),
                )
            )
        longest = self.spec.longest
        if longest is not None and len(words) > longest:
            problem = tr(
                "forms.field_editors.name_is_words_characters_too",
                name=Name(name),
                words=len(words) - longest,
                longest=longest,
            )
            return Answer(problems=((self.spec.label, problem),))
        return Answer(words or None if self.spec.optional else words)

    def put(self, value: Any) -> None:
        """Show words."""
        if isinstance(self._edit, QPlainTextEdit):
            self._edit.setPlainText(str(value or ""))
        else:
            self._edit.setText(str(value or ""))
            if not self._edit.hasFocus():
                self._edit.home(False)  # noqa: FBT003 - Qt takes it so
        self._message.say("")

    def raw(self) -> str:
        """Return the words."""
        return self.text()

    def put_raw(self, raw: Any) -> None:
        """Show words."""
        if isinstance(raw, str):
            self.put(raw)

    def tab_stops(self) -> list[QWidget]:
        """Return the line or the box."""
        return [self._edit]

    def reveal(self) -> None:
        """Show what is wrong."""
        problems = self.answer().problems
        self._message.say(problems[0][1] if problems else self._refusal)

    def refuse(self, sentence: str) -> bool:
        """Show a refusal under the field, and mark the field; an empty sentence clears it."""
        if sentence != self._refusal:
            self._refusal = sentence
            self.reveal()
            self._mark(refused=bool(sentence))
        return True

    def _mark(self, *, refused: bool) -> None:
        """Mark the field as wrong, or no longer."""
        if bool(self._edit.property("refused")) != refused:
            self._edit.setProperty("refused", refused)
            self._edit.style().unpolish(self._edit)
            self._edit.style().polish(self._edit)

    def settle(self) -> None:
        """Clear the text."""
        self.put("")

    def _left(self) -> None:
        if self.text().strip():
            self.reveal()

    def _changed(self) -> None:
        problems = self.answer().problems
        self._message.say(problems[0][1] if problems and self.text().strip() else "")
        self.changed.emit()


class DayEditor(TextEditor):
    """A day of the calendar; once the field is left, it stands there as it was understood."""

    def __init__(self, spec: FieldSpec, numbers: Numbers, parent: QWidget | None = None) -> None:
        self._numbers = numbers
        super().__init__(spec, parent)

    def answer(self) -> Answer:
        """Return the day; one that may be either of two is a problem."""
        said = super().answer()
        if said.problems or not said.value:
            return said
        day, problem = read_day(str(said.value), decimal=self._numbers.decimal)
        if problem is not None:
            return Answer(problems=((self.spec.label, self._numbers.text(problem)),))
        return Answer(day)

    def reveal(self) -> None:
        """Show what is wrong, and mark the field."""
        super().reveal()
        self._mark(refused=bool(self._refusal or self.answer().problems))

    def _changed(self) -> None:
        super()._changed()
        self._mark(refused=bool(self._refusal))

    def _left(self) -> None:
        super()._left()
        day = self.answer().value
        if day and day != self.text():
            self.put(day)


def text_of_numbers(values: Iterable[float] | None, spec: FieldSpec, numbers: Numbers) -> str:
    """Return the text of a field that holds these numbers."""
    return "; ".join(as_typed(float(one), numbers, spec.unit) for one in values or ())


def fill(entry: QWidget, *parts: QWidget) -> None:
    """Lay out the parts in a column."""
    column = column_in(entry)
    column.setSpacing(2)
    for part in parts:
        column.addWidget(part)
