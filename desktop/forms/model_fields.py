"""The fields of a model as editors: groups, tables, and fields shown only when they apply."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import partial
from typing import Any, ClassVar, Final

from pydantic import BaseModel, ValidationError
from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QFormLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from core.language import Message, Name, Numbers
from core.records import FieldKind, FieldSpec, Foot, FurtherArm, Unit, fields_of
from desktop.forms.choice_editor import ChoiceEditor
from desktop.forms.field_editors import (
    Answer,
    DayEditor,
    DirectedEditor,
    FieldEditor,
    FlagEditor,
    NumberEditor,
    NumbersEditor,
    TextEditor,
)
from desktop.forms.file_editor import FileEditor
from desktop.forms.fold import Fold
from desktop.forms.held_values import can_be_held, is_answer, raw_of
from desktop.widgets import theme
from desktop.widgets.language import field_label, local_label, tr
from desktop.widgets.message_line import MessageLine
from desktop.widgets.panels import column_in, text_label
from desktop.widgets.plain_text import plain_tip

_MOST_ROWS: Final = 200
"""Largest number of table rows restored from a draft."""


class ModelFields(QWidget):
    """The fields of one model, without a frame around them.

    With a fold, an editor is created once its field is visible, or is requested by name. Until then
    the value is held: it counts, is saved and is kept in drafts as if the editor existed. With
    ``makes_later``, groups and tables wait for :meth:`make` even where they are visible.
    """

    _says_help: ClassVar[bool] = True
    """Whether each field's help is below it; else it is a tooltip."""

    changed = Signal()
    field_changed = Signal(str)
    """A field of this name changed; emitted before :attr:`changed`."""
    entered = Signal(object)
    """Enter was pressed in this editor."""
    fields_changed = Signal()
    field_made = Signal(str)
    """The editor of the field with this name was created."""

    def __init__(
        self,
        model: type[BaseModel],
        numbers: Numbers,
        parent: QWidget | None = None,
        *,
        value: BaseModel | None = None,
        fold: Fold | None = None,
        makes_later: bool = False,
        units: Mapping[str, Unit] | None = None,
    ) -> None:
        super().__init__(parent)
        self.model = model
        self._numbers = numbers
        self._fold = fold
        self._specs = {spec.name: spec for spec in self._in_order()}
        for name, unit in (units or {}).items():
            self._specs[name] = replace(self._specs[name], unit=unit)
        self._held: dict[str, Any] = {}
        self.made: dict[str, FieldEditor] = {}
        """The existing editors by field name, in order of creation."""
        self.entries: Mapping[str, FieldEditor] = _Entries(self)
        """All editors by field name, in form order, each created on access."""
        self._rows: dict[str, QVBoxLayout] = {}
        self._folded = frozenset[str]() if fold is None else fold.aside(model)
        nested = (FieldKind.GROUP, FieldKind.TABLE)
        self._later = {name for name, s in self._specs.items() if makes_later and s.kind in nested}
        self._is_putting = False
        self._forward = ""
        self.waits = False
        """Whether problems between several fields are shown only after submitting."""
        self._lay_out()
        self.refused = ""
        """The field at which the sentence of the whole model is shown."""
        self._message = MessageLine(self)
        self._below_all().addRow(self._message)
        for name, part in self._parts(value):
            self._hold(name, part)
        self._make_what_cannot_wait()
        self._show_and_hide()

    def _lay_out(self) -> None:
        """Create the layouts for the fields."""
        self._layout = QFormLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
        self._layout.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        self._layout.setLabelAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self._layout.setVerticalSpacing(round(theme.em(self) * 0.6))

    def _in_order(self) -> tuple[FieldSpec, ...]:
        """Return the fields in the order in which they are filled in."""
        return fields_of(self.model)

    def _home_of(self, name: str) -> QFormLayout:  # noqa: ARG002  # for subclasses
        """Return the layout for a field."""
        return self._layout

    def _below_all(self) -> QFormLayout:
        """Return the layout that continues below the last field."""
        return self._layout

    @property
    def specs(self) -> tuple[FieldSpec, ...]:
        """The fields in form order."""
        return tuple(self._specs.values())

    def answer(self) -> Answer:
        """Return the model of the editors' values, or all problems."""
        values: dict[str, Any] = {}
        problems: list[tuple[str, str]] = []
        for name in self._specs:
            is_hidden = self._is_hidden(name)
            if is_hidden and self._lacks_answer(name):
                continue
            given = self.answer_of(name)
            if not is_hidden:
                problems.extend(given.problems)
            if given.given and not given.problems:
                values[name] = given.value
        if problems:
            self._say_at("", "")
            return Answer(problems=tuple(problems))
        against = self._choice_against()
        if against is not None:
            label = Name(self._specs[self._forward].label)
            sentence = tr("forms.model_fields.choice_against_number", label=label)
            self._say_at(against.name, sentence)
            return Answer(problems=((against.label, sentence),))
        try:
            made = self.model.model_validate(values)
        except ValidationError as refused:
            errors = refused.errors()
            problems = [_sentence(error, self._specs) for error in errors]
            if not self.waits:
                self._say_at(str(errors[0]["loc"][0]) if errors[0]["loc"] else "", problems[0][1])
            return Answer(problems=tuple(problems))
        self._say_at("", "")
        return Answer(made)

    def _say_at(self, name: str, sentence: str) -> None:
        """Show a sentence at a field that has a place for it, else below all."""
        if self.refused and self.refused != name:
            self.made[self.refused].refuse("")
        has_place = name in self.made and self.made[name].refuse(sentence)
        self.refused = name if has_place else ""
        self._message.say("" if has_place else sentence)

    def answer_of(self, name: str) -> Answer:
        """Return one field's answer; if it is missing, create the editor and ask it."""
        if name in self._held and not self._lacks_answer(name):
            return Answer(self._held[name])
        return self.entries[name].answer()

    def typed(self) -> dict[str, Any]:
        """Return the valid input so far, field by field."""
        names = [n for n in self._specs if not self._is_hidden(n) and not self._lacks_answer(n)]
        answers = {name: self.answer_of(name) for name in names}
        return {n: one.value for n, one in answers.items() if one.given and not one.problems}

    def stop(self) -> Message | None:
        """Return why the stylus stays up, as a number tells that is typed and refused."""
        editors = (one for one in self.made_and_shown() if isinstance(one, NumberEditor))
        return next((stop for one in editors if (stop := one.stop()) is not None), None)

    def is_half_typed(self, name: str) -> bool:
        """Return whether something stands in a visible number field that is not refused."""
        if name not in self.made or self._is_hidden(name):
            return False
        lines = self.made[name].findChildren(QLineEdit)
        return any(line.text().strip() and not line.property("refused") for line in lines)

    def awaits_direction(self, name: str) -> bool:
        """Return whether a visible field holds an amount whose direction is still to be chosen."""
        if name not in self.made or self._is_hidden(name):
            return False
        editor = self.made[name]
        return isinstance(editor, DirectedEditor) and editor.field.awaits_direction

    def put(self, value: BaseModel | None) -> None:
        """Show a model's values; None shows the model's defaults."""
        self._is_putting = True
        self._forward = ""
        try:
            for name, part in self._parts(value):
                if name in self.made:
                    self.made[name].put(part)
                else:
                    self._hold(name, part)
        finally:
            self._is_putting = False
        self._make_what_cannot_wait()
        self._show_and_hide()

    def put_field(self, name: str, value: Any) -> None:
        """Show one field's value."""
        if name in self.made:
            self.made[name].put(value)
        else:
            self._hold(name, value)
            self._make_what_cannot_wait()
            self._show_and_hide()

    def set_aside(self, names: Iterable[str]) -> None:
        """Hide these fields, and show all others; hidden values still count."""
        self._folded = frozenset(names)
        self._show_and_hide()

    def bring_forward(self, focused: QWidget | None = None) -> FieldEditor | None:
        """Show the first number that waits for a choice nobody made yet, before that choice.

        While the focus is in a choice that leaves no place for the number, that choice is undone:
        it has to be made with the number in view.
        """
        before = self._forward
        for name, spec in self._specs.items():
            if spec.kind is FieldKind.NUMBER and spec.when is not None and self._is_hidden(name):
                choice = self.made.get(spec.when.field)
                if focused is not None and choice is not None and choice.isAncestorOf(focused):
                    choice.put_raw(raw=False)
                self._forward = name
                if not self._is_hidden(name):
                    self._show_and_hide()
                    return self.make(name)
        self._forward = before
        return None

    def number_beside(self, focused: QWidget | None) -> FieldEditor | None:
        """Return the visible number that goes with the choice that has the focus."""
        for name, spec in self._specs.items():
            choice = None if spec.when is None else self.made.get(spec.when.field)
            in_choice = focused is not None and choice is not None and choice.isAncestorOf(focused)
            if in_choice and spec.kind is FieldKind.NUMBER and self._is_in_sight(name):
                return self.make(name)
        return None

    def shown_names(self) -> list[str]:
        """Return the names of the visible fields, created or about to be."""
        return [name for name in self._specs if self._is_in_sight(name)]

    def names_to_make(self) -> list[str]:
        """Return the names of the visible fields whose editors wait for :meth:`make`."""
        return [name for name in self.shown_names() if name not in self.made]

    def make(self, name: str) -> FieldEditor:
        """Create a field's editor, unless it exists."""
        if name not in self.made:
            self._add(self._specs[name])
            self.fields_changed.emit()
        return self.made[name]

    def raw(self) -> dict[str, Any]:
        """Return every field's content as JSON, right or wrong."""
        return {name: self._raw_of(name) for name in self._specs}

    def put_raw(self, raw: Any) -> None:
        """Show the result of :meth:`raw`; fields it lacks stay as they are."""
        if isinstance(raw, dict):
            for name in self._specs:
                if name in raw and (name in self.made or self._raw_of(name) != raw[name]):
                    self.make(name).put_raw(raw[name])
            self._show_and_hide()

    def shown_entries(self) -> list[FieldEditor]:
        """Return the editors that apply now, in form order, groups and tables flattened."""
        return list(self.each_shown())

    def each_shown(self) -> Iterator[FieldEditor]:
        """Yield the editors that apply now, creating deferred ones."""
        for name in self.shown_names():
            yield from _flat(self.make(name))

    def made_and_shown(self) -> list[FieldEditor]:
        """Return the existing editors that apply now."""
        names = [name for name in self.shown_names() if name in self.made]
        return [entry for name in names for entry in _flat(self.made[name])]

    def reveal(self) -> None:
        """Show every problem."""
        self.waits = False
        for entry in [*self.made.values()]:
            entry.reveal()
        self.answer()

    def settle(self) -> None:
        """Clear what changes with each reading; a list of ticks without required fields stays."""
        self._forward = ""
        if any(spec.required for spec in self.specs):
            for entry in self.entries.values():
                entry.settle()

    def _parts(self, value: BaseModel | None) -> list[tuple[str, Any]]:
        """Return the name and value of each field; None stands for the defaults."""
        return [
            (name, spec.default if value is None else getattr(value, name))
            for name, spec in self._specs.items()
        ]

    def _hold(self, name: str, value: Any) -> None:
        """Hold a value until its editor is created."""
        is_flag = self._specs[name].kind is FieldKind.FLAG
        self._held[name] = bool(value) if is_flag else value

    def _make_what_cannot_wait(self) -> None:
        for name in [*self._held]:
            if self._fold is None or not can_be_held(self._specs[name], self._held[name]):
                self._add(self._specs[name])

    def _lacks_answer(self, name: str) -> bool:
        """Return whether a field has neither an editor nor a valid value."""
        return name in self._held and not is_answer(self._specs[name], self._held[name])

    def _raw_of(self, name: str) -> Any:
        if name in self.made:
            return self.made[name].raw()
        return raw_of(self._specs[name], self._held[name], self._numbers)

    def _add(self, spec: FieldSpec) -> None:
        """Create a field's editor, at its place among the existing ones."""
        value = self._held.pop(spec.name)
        self._later.discard(spec.name)
        entry = make_editor(spec, self._numbers, self, value=value, fold=self._fold)
        self.made[spec.name] = entry
        home = self._home_of(spec.name)
        at = self._row_for(spec.name, home)
        cell = QVBoxLayout()
        cell.setSpacing(2)
        cell.addWidget(entry)
        says_help = self._says_help or isinstance(entry, NestedEditor)
        if not says_help:
            entry.setToolTip(plain_tip(entry.spec.help))
        elif spec.help and not isinstance(entry, NestedEditor):
            cell.addWidget(text_label(entry.spec.help, "muted"))
        if entry.shows_own_label:
            home.insertRow(at, cell)
        else:
            label = QLabel(entry.spec.label, wordWrap=False, textFormat=Qt.TextFormat.PlainText)
            if not says_help:
                label.setToolTip(plain_tip(entry.spec.help))
            home.insertRow(at, label, cell)
        self._rows[spec.name] = cell
        entry.changed.connect(partial(self._on_change, spec.name))
        entry.entered.connect(lambda: self.entered.emit(entry))
        entry.fields_changed.connect(self.fields_changed)
        if isinstance(entry, NestedEditor):
            entry.entered_inside.connect(self.entered)
            for inside in entry.findChildren(ModelFields):
                inside.waits = self.waits
        self._show_row(spec.name)
        if self.isVisible() and self._is_in_sight(spec.name):
            entry.show()  # Qt would in its next turn: until then it can't have the focus
        self.field_made.emit(spec.name)

    def _row_for(self, name: str, home: QFormLayout) -> int:
        """Return the layout row for a field, by the order of the fields."""
        row = 0
        for before in self._specs:
            if before == name:
                break
            row += before in self._rows and self._home_of(before) is home
        return row

    def _on_change(self, name: str) -> None:
        if not self._is_putting:
            self._show_and_hide()
        self.field_changed.emit(name)
        self.changed.emit()

    def _is_hidden(self, name: str) -> bool:
        when = self._specs[name].when
        if when is None or when.field not in self._specs:
            return False
        if self._is_hidden(when.field):
            return True
        if self._lacks_answer(when.field):
            return bool(when.values) or not when.holds(None)
        given = self.answer_of(when.field)
        if when.values and given.problems:
            return name != self._forward
        return not when.holds(given.value) and not self._has_come_forward(name)

    def _has_come_forward(self, name: str) -> bool:
        """Return whether a number stands in a field that was shown before its choice was made."""
        if name != self._forward or name not in self.made:
            return False
        return bool(self.made[name].raw()) and self.made[name].answer().value != 0.0

    def _choice_against(self) -> FieldSpec | None:
        """Return the choice, if any, that leaves no place for the number typed before it."""
        when = self._specs[self._forward].when if self._forward else None
        if when is None or not self._has_come_forward(self._forward):
            return None
        return None if when.holds(self.answer_of(when.field).value) else self._specs[when.field]

    def _is_in_sight(self, name: str) -> bool:
        return name not in self._folded and not self._is_hidden(name)

    def _show_row(self, name: str) -> bool:
        """Show or hide a field's row; return whether that changed."""
        home, cell, shown = self._home_of(name), self._rows[name], self._is_in_sight(name)
        if home.isRowVisible(cell) == shown:
            return False
        home.setRowVisible(cell, shown)
        return True

    def _show_and_hide(self) -> None:
        """Create visible editors that are not deferred, and hide the others."""
        moved = False
        for name in self._specs:
            if name in self.made:
                moved |= self._show_row(name)
            elif name not in self._later and self._is_in_sight(name):
                self._add(self._specs[name])
                moved = True
        if moved:
            self.fields_changed.emit()


class _Entries(Mapping[str, FieldEditor]):
    """The editors of a model's fields by name, each created on access."""

    def __init__(self, fields: ModelFields) -> None:
        self._fields = fields

    def __getitem__(self, name: str) -> FieldEditor:
        if name not in self:
            raise KeyError(name)
        return self._fields.make(name)

    def __contains__(self, name: object) -> bool:
        return any(spec.name == name for spec in self._fields.specs)

    def __iter__(self) -> Iterator[str]:
        return (spec.name for spec in self._fields.specs)

    def __len__(self) -> int:
        return len(self._fields.specs)


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

    def __init__(
        self,
        spec: FieldSpec,
        numbers: Numbers,
        parent: QWidget | None = None,
        *,
        value: BaseModel | None = None,
        fold: Fold | None = None,
    ) -> None:
        super().__init__(spec, parent)
        if spec.member is None:
            raise TypeError(f"the group {spec.name!r} has no model")
        self.fields = ModelFields(spec.member, numbers, self, value=value, fold=fold)
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
        """Return the content of the fields inside."""
        return self.fields.raw()

    def put_raw(self, raw: Any) -> None:
        """Show it again."""
        self.fields.put_raw(raw)

    def inner(self) -> list[FieldEditor]:
        """Return the editors inside that apply."""
        return self.fields.shown_entries()

    def reveal(self) -> None:
        """Show every problem inside."""
        self.fields.reveal()


class TableEditor(NestedEditor):
    """Any number of models, one under the other, each with a button that removes it."""

    def __init__(
        self,
        spec: FieldSpec,
        numbers: Numbers,
        parent: QWidget | None = None,
        *,
        fold: Fold | None = None,
    ) -> None:
        super().__init__(spec, parent)
        if spec.member is None:
            raise TypeError(f"the table {spec.name!r} has no model")
        self._member = spec.member
        self._numbers = numbers
        self._fold = fold
        self._rows: list[tuple[QFrame, ModelFields]] = []
        self._column = column_in(self)
        self._column.addWidget(_heading(spec.label, small=True))
        if spec.help:
            self._column.addWidget(text_label(spec.help, "muted"))
        self._adder = QPushButton(tr("forms.model_fields.add_to_spec", spec=Name(spec.label)), self)
        self._adder.clicked.connect(self._add_by_hand)
        self._refusal = MessageLine(self)
        self._column.addWidget(self._refusal)
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
        """Return the content of every row."""
        return [fields.raw() for fields in self.rows]

    def put_raw(self, raw: Any) -> None:
        """Restore as many rows."""
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
        """Show every problem in every row."""
        for fields in self.rows:
            fields.reveal()

    def refuse(self, sentence: str) -> bool:
        """Show a refusal between the rows and the button that adds one."""
        self._refusal.say(sentence)
        return True

    def where_wrong(self) -> QWidget:
        """Return the button that adds a row."""
        return self._adder

    def _add_by_hand(self) -> None:
        tab_stops = [stop for entry in self.add_row().shown_entries() for stop in entry.tab_stops()]
        if tab_stops:
            tab_stops[0].setFocus(Qt.FocusReason.OtherFocusReason)

    def _add(self, value: Any) -> ModelFields:
        frame = QFrame(self)
        frame.setProperty("panel", "true")
        fields = ModelFields(self._member, self._numbers, frame, value=value, fold=self._fold)
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
        self._column.insertWidget(self._column.indexOf(self._refusal), frame)
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


def make_editor(
    spec: FieldSpec,
    numbers: Numbers,
    parent: QWidget,
    *,
    value: Any = None,
    fold: Fold | None = None,
) -> FieldEditor:
    """Return an editor for a field with a value, in the language of the application.

    It is created inside its parent: Qt restyles a widget and its children when it moves.
    """
    spec = field_label(spec)
    if spec.kind is FieldKind.GROUP:  # its fields are created with their values
        return GroupEditor(spec, numbers, parent, value=value, fold=fold)
    number = DirectedEditor if spec.directions else NumberEditor
    makers: dict[FieldKind, Any] = {
        FieldKind.NUMBER: lambda: number(spec, numbers, parent),
        FieldKind.WHOLE: lambda: NumberEditor(spec, numbers, parent),
        FieldKind.CHOICE: lambda: ChoiceEditor(spec, parent),
        FieldKind.FLAG: lambda: FlagEditor(spec, parent),
        FieldKind.TEXT: lambda: (
            DayEditor(spec, numbers, parent) if spec.is_day else TextEditor(spec, parent)
        ),
        FieldKind.NUMBERS: lambda: NumbersEditor(spec, numbers, parent),
        FieldKind.FILE: lambda: FileEditor(spec, numbers, parent),
        FieldKind.TABLE: lambda: _table_editor(spec, numbers, parent, fold),
    }
    entry: FieldEditor = makers[spec.kind]()
    entry.put(value)
    return entry


def _table_editor(
    spec: FieldSpec, numbers: Numbers, parent: QWidget, fold: Fold | None
) -> NestedEditor:
    if spec.member is Foot:
        from desktop.forms.feet_editor import FeetEditor  # it consists of the editors here

        return FeetEditor(spec, numbers, parent, fold=fold)
    if spec.member is FurtherArm:
        from desktop.forms.arms_editor import ArmsEditor  # as above

        return ArmsEditor(spec, numbers, parent, fold=fold)
    return TableEditor(spec, numbers, parent, fold=fold)


def _flat(entry: FieldEditor) -> list[FieldEditor]:
    return entry.inner() if isinstance(entry, NestedEditor) else [entry]


def _sentence(error: Any, specs: Mapping[str, FieldSpec]) -> tuple[str, str]:
    """Turn a validation error into a label and a sentence."""
    words = local_label(str(error["msg"]).removeprefix("Value error, "))
    place = str(error["loc"][0]) if error["loc"] else ""
    if place in specs:
        label = field_label(specs[place]).label
        if error["type"] == "too_short":
            least = error["ctx"]["min_length"]
            return label, tr("forms.model_fields.too_few", spec=Name(label), least=least)
        if error["type"] == "too_long":
            most = error["ctx"]["max_length"]
            return label, tr("forms.model_fields.too_many", spec=Name(label), most=most)
        return label, tr("forms.model_fields.wrong", spec=Name(label), words=Name(words))
    return "", words


def _heading(words: str, *, small: bool = False) -> QLabel:
    label = QLabel(words, textFormat=Qt.TextFormat.PlainText)
    label.setFont(theme.scaled(label.font(), 1.0 if small else 1.2, bold=True))
    return label
