"""The fields of a model as editors: groups, tables, and fields shown only when they apply."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, Final

from pydantic import BaseModel, ValidationError
from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QFormLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from core.language import Name, Numbers
from core.records import FieldKind, FieldSpec, Foot, FurtherArm, fields_of
from desktop.forms.choice_editor import ChoiceEditor
from desktop.forms.field_editors import (
    Answer,
    DirectedEditor,
    FieldEditor,
    FlagEditor,
    NumberEditor,
    NumbersEditor,
    TextEditor,
)
from desktop.forms.file_editor import FileEditor
from desktop.widgets import theme
from desktop.widgets.language import field_label, tr
from desktop.widgets.message_line import MessageLine
from desktop.widgets.panels import column_in, text_label
from desktop.widgets.plain_text import plain_tip

_MOST_ROWS: Final = 200
"""Rows of a table that are shown again from a draft."""


class ModelFields(QWidget):
    """The fields of one model, without a frame around them."""

    _says_help: ClassVar[bool] = True
    """Whether each field's help stands below it; else it is a tip."""

    changed = Signal()
    entered = Signal(object)
    """Enter was pressed in this editor."""
    fields_changed = Signal()

    def __init__(
        self, model: type[BaseModel], numbers: Numbers, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.model = model
        self.entries: dict[str, FieldEditor] = {}
        self._rows: dict[str, QVBoxLayout] = {}
        self._homes: dict[str, QFormLayout] = {}
        self._folded: frozenset[str] = frozenset()
        self.waits = False
        """Whether what several fields say together is told only once all was asked for."""
        self._lay_out()
        for spec in self._specs():
            self._add(spec, numbers)
        self._message = MessageLine(self)
        self._below_all().addRow(self._message)
        self._show_and_hide()

    def _lay_out(self) -> None:
        """Make the layouts that the fields go into."""
        self._layout = QFormLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
        self._layout.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        self._layout.setLabelAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self._layout.setVerticalSpacing(round(theme.em(self) * 0.6))

    def _specs(self) -> tuple[FieldSpec, ...]:
        """Return the fields in the order in which they are filled in."""
        return fields_of(self.model)

    def _home_of(self, name: str) -> QFormLayout:  # noqa: ARG002  # for subclasses
        """Return the layout that a field goes into."""
        return self._layout

    def _below_all(self) -> QFormLayout:
        """Return the layout that goes on below the last field."""
        return self._layout

    def answer(self) -> Answer:
        """Return the model made of the editors' values, or everything that is wrong."""
        values: dict[str, Any] = {}
        problems: list[tuple[str, str]] = []
        for name, entry in self.entries.items():
            given = entry.answer()
            if self._is_hidden(name):
                if not given.problems and given.given:
                    values[name] = given.value
                continue
            problems.extend(given.problems)
            if given.given and not given.problems:
                values[name] = given.value
        if problems:
            self._message.say("")
            return Answer(problems=tuple(problems))
        try:
            made = self.model.model_validate(values)
        except ValidationError as refused:
            problems = [_sentence(error, self.entries) for error in refused.errors()]
            if not self.waits:
                self._message.say(problems[0][1])
            return Answer(problems=tuple(problems))
        self._message.say("")
        return Answer(made)

    def typed(self) -> dict[str, Any]:
        """Return what is typed so far, field by field; what is wrong or empty is left out."""
        answers = {name: entry.answer() for name, entry in self.entries.items()}
        return {
            name: given.value
            for name, given in answers.items()
            if given.given and not given.problems and not self._is_hidden(name)
        }

    def put(self, value: BaseModel | None) -> None:
        """Show a model's values; None shows the model's defaults."""
        for name, entry in self.entries.items():
            entry.put(entry.spec.default if value is None else getattr(value, name))
        self._show_and_hide()

    def set_aside(self, names: Iterable[str]) -> None:
        """Put fields out of sight, and bring all others back; what stands in them still counts."""
        self._folded = frozenset(names)
        self._show_and_hide()

    def shown_names(self) -> list[str]:
        """Return the names of the fields in sight."""
        return [n for n in self.entries if not self._is_hidden(n) and n not in self._folded]

    def raw(self) -> dict[str, Any]:
        """Return what stands in every field, right or wrong, as JSON holds it."""
        return {name: entry.raw() for name, entry in self.entries.items()}

    def put_raw(self, raw: Any) -> None:
        """Show what :meth:`raw` has returned; fields it does not name stay as they are."""
        if isinstance(raw, dict):
            for name, entry in self.entries.items():
                if name in raw:
                    entry.put_raw(raw[name])
            self._show_and_hide()

    def shown_entries(self) -> list[FieldEditor]:
        """Return the editors that apply now, in form order, groups and tables flattened."""
        found: list[FieldEditor] = []
        for name in self.shown_names():
            entry = self.entries[name]
            found.extend(entry.inner() if isinstance(entry, NestedEditor) else [entry])
        return found

    def reveal(self) -> None:
        """Show everything that is wrong."""
        self.waits = False
        for entry in self.entries.values():
            entry.reveal()
        self.answer()

    def settle(self) -> None:
        """Clear what changes with each reading; a list of ticks without required fields stays."""
        if any(entry.spec.required for entry in self.entries.values()):
            for entry in self.entries.values():
                entry.settle()

    def _add(self, spec: FieldSpec, numbers: Numbers) -> None:
        entry = make_editor(spec, numbers, self)
        self.entries[spec.name] = entry
        home = self._homes[spec.name] = self._home_of(spec.name)
        cell = QVBoxLayout()
        cell.setSpacing(2)
        cell.addWidget(entry)
        says_help = self._says_help or isinstance(entry, NestedEditor)
        if not says_help:
            entry.setToolTip(plain_tip(entry.spec.help))
        elif spec.help and not isinstance(entry, NestedEditor):
            cell.addWidget(text_label(entry.spec.help, "muted"))
        if entry.shows_own_label:
            home.addRow(cell)
        else:
            label = QLabel(entry.spec.label, wordWrap=False, textFormat=Qt.TextFormat.PlainText)
            if not says_help:
                label.setToolTip(plain_tip(entry.spec.help))
            home.addRow(label, cell)
        self._rows[spec.name] = cell
        entry.put(spec.default)
        entry.changed.connect(self._on_change)
        entry.entered.connect(lambda: self.entered.emit(entry))
        entry.fields_changed.connect(self.fields_changed)
        if isinstance(entry, NestedEditor):
            entry.entered_inside.connect(self.entered)

    def _on_change(self) -> None:
        self._show_and_hide()
        self.changed.emit()

    def _is_hidden(self, name: str) -> bool:
        when = self.entries[name].spec.when
        if when is None or when.field not in self.entries:
            return False
        if self._is_hidden(when.field):
            return True
        given = self.entries[when.field].answer()
        if when.values and given.problems:
            return True
        return not when.holds(given.value)

    def _show_and_hide(self) -> None:
        moved = False
        for name, cell in self._rows.items():
            home = self._homes[name]
            shown = not self._is_hidden(name) and name not in self._folded
            if home.isRowVisible(cell) != shown:
                home.setRowVisible(cell, shown)
                moved = True
        if moved:
            self.fields_changed.emit()


class NestedEditor(FieldEditor):
    """An editor that contains models."""

    shows_own_label = True
    entered_inside = Signal(object)

    def inner(self) -> list[FieldEditor]:
        """Return the simple editors inside."""
        raise NotImplementedError

    def tab_stops(self) -> list[QWidget]:
        """Return every stop inside."""
        return [stop for entry in self.inner() for stop in entry.tab_stops()]


class GroupEditor(NestedEditor):
    """A model inside the model: a titled section."""

    def __init__(self, spec: FieldSpec, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(spec, parent)
        if spec.member is None:
            raise TypeError(f"the group {spec.name!r} has no model")
        self.fields = ModelFields(spec.member, numbers, self)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, round(theme.em(self) * 0.5), 0, 0)
        column.addWidget(_heading(spec.label))
        if spec.help:
            column.addWidget(text_label(spec.help, "muted"))
        column.addWidget(self.fields)
        self.fields.changed.connect(self.changed)
        self.fields.fields_changed.connect(self.fields_changed)
        self.fields.entered.connect(self.entered_inside)

    def answer(self) -> Answer:
        """Return the inner model; problems name the section too."""
        given = self.fields.answer()
        named = tuple((f"{self.spec.label}: {label}", words) for label, words in given.problems)
        return Answer(given.value, named)

    def put(self, value: Any) -> None:
        """Show the inner model."""
        self.fields.put(value)

    def raw(self) -> dict[str, Any]:
        """Return what stands in the fields inside."""
        return self.fields.raw()

    def put_raw(self, raw: Any) -> None:
        """Show it again."""
        self.fields.put_raw(raw)

    def inner(self) -> list[FieldEditor]:
        """Return the editors inside that apply."""
        return self.fields.shown_entries()

    def reveal(self) -> None:
        """Show everything that is wrong inside."""
        self.fields.reveal()


class TableEditor(NestedEditor):
    """Any number of models, one under the other, each with a button that removes it."""

    def __init__(self, spec: FieldSpec, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(spec, parent)
        if spec.member is None:
            raise TypeError(f"the table {spec.name!r} has no model")
        self._member = spec.member
        self._numbers = numbers
        self._rows: list[tuple[QFrame, ModelFields]] = []
        self._column = column_in(self)
        self._column.addWidget(_heading(spec.label, small=True))
        if spec.help:
            self._column.addWidget(text_label(spec.help, "muted"))
        self._adder = QPushButton(tr("forms.model_fields.add_to_spec", spec=Name(spec.label)), self)
        self._adder.clicked.connect(self._add_by_hand)
        self._column.addWidget(self._adder, 0, Qt.AlignmentFlag.AlignLeft)

    @property
    def rows(self) -> list[ModelFields]:
        """The fields of every row, in order."""
        return [fields for _, fields in self._rows]

    def answer(self) -> Answer:
        """Return the rows as a tuple of models; problems say which row."""
        made: list[Any] = []
        problems: list[tuple[str, str]] = []
        for place, fields in enumerate(self.rows, start=1):
            given = fields.answer()
            problems.extend(
                (f"{self.spec.label}, {place}: {label}", words) for label, words in given.problems
            )
            made.append(given.value)
        return Answer(tuple(made), tuple(problems))

    def put(self, value: Any) -> None:
        """Show rows; one empty row where there are none but some are needed."""
        while self._rows:
            self._drop(self._rows[-1][0])
        for one in value or ():
            self._add(one)
        self.fields_changed.emit()

    def raw(self) -> list[dict[str, Any]]:
        """Return what stands in every row."""
        return [fields.raw() for fields in self.rows]

    def put_raw(self, raw: Any) -> None:
        """Show as many rows again."""
        if isinstance(raw, list):
            self.put(())
            for one in raw[:_MOST_ROWS]:
                self._add(None).put_raw(one)
            self.fields_changed.emit()

    def add_row(self) -> ModelFields:
        """Add one row with the model's defaults and return its fields."""
        fields = self._add(None)
        self.fields_changed.emit()
        self.changed.emit()
        return fields

    def remove_row(self, place: int) -> None:
        """Remove the row at a place, counted from 0."""
        self._drop(self._rows[place][0])
        self.fields_changed.emit()
        self.changed.emit()

    def inner(self) -> list[FieldEditor]:
        """Return the editors of all rows."""
        return [entry for fields in self.rows for entry in fields.shown_entries()]

    def reveal(self) -> None:
        """Show everything that is wrong in every row."""
        for fields in self.rows:
            fields.reveal()

    def _add_by_hand(self) -> None:
        tab_stops = [stop for entry in self.add_row().shown_entries() for stop in entry.tab_stops()]
        if tab_stops:
            tab_stops[0].setFocus(Qt.FocusReason.OtherFocusReason)

    def _add(self, value: Any) -> ModelFields:
        frame = QFrame(self)
        frame.setProperty("panel", "true")
        fields = ModelFields(self._member, self._numbers, frame)
        fields.put(value)
        row = QHBoxLayout(frame)
        row.addWidget(fields, 1)
        gone = QPushButton(tr("forms.model_fields.remove"), frame)
        gone.setObjectName("removeRow")
        gone.setAccessibleName(
            tr(
                "forms.model_fields.remove_from_spec_number_rows",
                spec=Name(self.spec.label),
                rows=len(self._rows) + 1,
            )
        )
        gone.clicked.connect(lambda: self.remove_row(self._place(frame)))
        row.addWidget(gone, 0, Qt.AlignmentFlag.AlignTop)
        self._column.insertWidget(self._column.count() - 1, frame)
        self._rows.append((frame, fields))
        fields.changed.connect(self.changed)
        fields.fields_changed.connect(self.fields_changed)
        fields.entered.connect(self.entered_inside)
        return fields

    def _place(self, frame: QFrame) -> int:
        return next(place for place, (one, _) in enumerate(self._rows) if one is frame)

    def _drop(self, frame: QFrame) -> None:
        self._rows.pop(self._place(frame))
        self._column.removeWidget(frame)
        frame.hide()
        frame.deleteLater()


def make_editor(spec: FieldSpec, numbers: Numbers, parent: QWidget) -> FieldEditor:
    """Return the editor for a field, in the language of the application.

    It is made inside its parent: Qt styles all that a widget holds again when it moves.
    """
    spec = field_label(spec)
    number = DirectedEditor if spec.directions else NumberEditor
    makers: dict[FieldKind, Any] = {
        FieldKind.NUMBER: lambda: number(spec, numbers, parent),
        FieldKind.WHOLE: lambda: NumberEditor(spec, numbers, parent),
        FieldKind.CHOICE: lambda: ChoiceEditor(spec, parent),
        FieldKind.FLAG: lambda: FlagEditor(spec, parent),
        FieldKind.TEXT: lambda: TextEditor(spec, parent),
        FieldKind.NUMBERS: lambda: NumbersEditor(spec, numbers, parent),
        FieldKind.FILE: lambda: FileEditor(spec, numbers, parent),
        FieldKind.GROUP: lambda: GroupEditor(spec, numbers, parent),
        FieldKind.TABLE: lambda: _table_editor(spec, numbers, parent),
    }
    entry: FieldEditor = makers[spec.kind]()
    return entry


def _table_editor(spec: FieldSpec, numbers: Numbers, parent: QWidget) -> NestedEditor:
    if spec.member is Foot:
        from desktop.forms.feet_editor import FeetEditor  # it is made of the editors here

        return FeetEditor(spec, numbers, parent)
    if spec.member is FurtherArm:
        from desktop.forms.arms_editor import ArmsEditor  # as above

        return ArmsEditor(spec, numbers, parent)
    return TableEditor(spec, numbers, parent)


def _sentence(error: Any, entries: dict[str, FieldEditor]) -> tuple[str, str]:
    """Turn a validation error into a label and one sentence."""
    words = str(error["msg"]).removeprefix("Value error, ")
    place = str(error["loc"][0]) if error["loc"] else ""
    if place in entries:
        label = entries[place].spec.label
        if error["type"] == "too_short":
            least = error["ctx"]["min_length"]
            return label, tr("forms.model_fields.too_few", spec=Name(label), least=least)
        if error["type"] == "too_long":
            most = error["ctx"]["max_length"]
            return label, tr("forms.model_fields.too_many", spec=Name(label), most=most)
        return label, f"“{label}” {words}."
    return "", f"{words[:1].upper()}{words[1:]}."


def _heading(words: str, *, small: bool = False) -> QLabel:
    label = QLabel(words, textFormat=Qt.TextFormat.PlainText)
    label.setFont(theme.scaled(label.font(), 1.0 if small else 1.2, bold=True))
    return label
