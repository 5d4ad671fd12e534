"""A form for any model, built from the model's field specifications."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import pairwise, takewhile
from typing import Any, Final

from pydantic import BaseModel
from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import QApplication, QLineEdit, QWidget

from core.language import Numbers, WorkLine
from core.records import Choice, FieldKind, Unit
from desktop.forms.field_editors import FieldEditor
from desktop.forms.fold import Fold
from desktop.forms.model_fields import ModelFields
from desktop.forms.number_field import type_from_outside
from desktop.forms.recipe import RecipeFields
from desktop.widgets.panels import column_in

_CHECKLIST_FROM: Final = 3
"""From this many tick boxes on, a button ticks them all."""

_NUMBER_KINDS: Final = (FieldKind.NUMBER, FieldKind.WHOLE, FieldKind.NUMBERS)


class Form(QWidget):
    """A form for one model.

    Enter moves on to the next field and, on the last, confirms. In a recipe, a form made of lines,
    it moves on to the next unanswered field. Typed text is never removed or changed, even if
    invalid. With a fold, editors are created once they are visible; with ``makes_later``, groups
    and tables are created one by one, by :meth:`ModelFields.make`.
    """

    draft_changed = Signal()
    """Something was typed or chosen; emitted once per keystroke."""
    submitted = Signal()
    """Enter was pressed on the last field and the form makes a model."""
    refused = Signal(str)
    """Enter was pressed on the last field, but there is a problem: its sentence."""

    def __init__(
        self,
        model: type[BaseModel],
        numbers: Numbers,
        value: BaseModel | None = None,
        *,
        lines: tuple[WorkLine, ...] = (),
        units: Mapping[str, Unit] | None = None,
        fold: Fold | None = None,
        makes_later: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.model = model
        self.recipe = RecipeFields(model, numbers, lines, self, units=units) if lines else None
        self.fold = fold
        self.fields = self.recipe or ModelFields(
            model, numbers, self, value=value, fold=fold, makes_later=makes_later, units=units
        )
        self._changed: set[str] = set()
        self._preset: set[str] = set()
        self._missing: tuple[str, ...] = ()
        self._brought_back: frozenset[str] = frozenset()
        self._has_run = False
        self.fields.field_changed.connect(self._on_change)
        self._column = column_in(self)
        self._column.addWidget(self.fields)
        if value is not None and self.recipe is not None:
            self.recipe.put(value)
        self._as_put: dict[str, Any] = {}
        self._timer = QTimer(self, singleShot=True, interval=0)
        self._timer.timeout.connect(self.draft_changed)
        self.fields.changed.connect(self._timer.start)
        self.fields.entered.connect(self._move_on)
        self.fields.fields_changed.connect(self._order_tab_stops)
        self._order_tab_stops()

    def keep_to_top(self) -> None:
        """Leave spare room below the last field, not around fields that can grow."""
        self._column.addStretch(1)

    def draft(self) -> BaseModel | None:
        """Return the model of the present input, or None while something is wrong."""
        given = self.fields.answer()
        return None if given.problems or given.value is None else given.value

    def problems(self) -> list[tuple[str, str]]:
        """Return all problems: pairs of a label and one sentence."""
        return list(self.fields.answer().problems)

    def put(self, value: BaseModel | None) -> None:
        """Show a model's values; None shows the defaults."""
        self.fields.put(value)
        self.forget_typing()

    def settle(self) -> None:
        """Prepare for the next reading: clear what changes, keep the rest."""
        self.fields.settle()
        self._has_run = True
        self.forget_typing()

    def preset(self, values: Mapping[str, object]) -> None:
        """Set the requested choices, and count them as answered.

        A tick of a checklist is never set: only the person can state it. A requested one waits,
        before all else.
        """
        known = self.fields.entries
        preset = Choice if self.is_checklist else Choice | bool
        chosen = {n: v for n, v in values.items() if n in known and isinstance(v, preset)}
        self._missing = tuple(values) if self.is_checklist else ()
        for name, value in chosen.items():
            known[name].put(value)
        self.forget_typing()
        self._preset = set(chosen)
        self.mark_waiting()

    def forget_typing(self) -> None:
        """Treat the present content as set by the program, not typed."""
        self._timer.stop()
        self._as_put = self.fields.raw()
        self._changed.clear()
        self._brought_back = frozenset()
        self.mark_waiting()

    def typed_raw(self) -> dict[str, Any] | None:
        """Return the fields' content as JSON, right or wrong; None if untouched."""
        raw = self.fields.raw()
        return None if raw == self._as_put else raw

    def type_again(self, raw: Mapping[str, Any]) -> None:
        """Show the result of :meth:`typed_raw`, as if typed."""
        self.fields.put_raw(dict(raw))
        self._timer.stop()
        now = self.fields.raw()
        self._brought_back = frozenset(n for n in now if now[n] != self._as_put.get(n))

    def tick_all(self) -> None:
        """Tick every box."""
        for entry in self.fields.shown_entries():
            if entry.spec.kind is FieldKind.FLAG:
                entry.put(value=True)

    @property
    def is_checklist(self) -> bool:
        """Whether it has only tick boxes, and choices that already have an answer."""
        kinds = [spec.kind for spec in self.fields.specs]
        plain = all(kind in (FieldKind.FLAG, FieldKind.CHOICE) for kind in kinds)
        return plain and kinds.count(FieldKind.FLAG) >= _CHECKLIST_FROM

    def reveal(self) -> None:
        """Show every problem, and focus the first."""
        self.fields.reveal()
        for entry in self.fields.each_shown():
            if entry.answer().problems:
                entry.where_wrong().setFocus(Qt.FocusReason.OtherFocusReason)
                return
        if self.fields.refused:
            refused = self.fields.made[self.fields.refused]
            refused.where_wrong().setFocus(Qt.FocusReason.OtherFocusReason)
            return
        together = self.fields.entries.get(getattr(self.fields.model, "ASKED_TOGETHER", ""))
        if together is not None and self.problems() and together in self.fields.shown_entries():
            together.where_wrong().setFocus(Qt.FocusReason.OtherFocusReason)

    def start(self) -> None:
        """Focus the first field."""
        for entry in self.fields.each_shown():
            tab_stops = entry.tab_stops()
            if tab_stops:
                tab_stops[0].setFocus(Qt.FocusReason.OtherFocusReason)
                return

    def start_at_blank(self) -> None:
        """Focus the first unanswered field, else the first.

        After a draft came back that is the field it was typed into, not an optional one after it.
        """
        waiting = self._where_typed() or self._first_waiting()
        stops = waiting.tab_stops() if waiting is not None else []
        if stops:
            stops[0].setFocus(Qt.FocusReason.TabFocusReason)
            if self._brought_back and isinstance(stops[0], QLineEdit):
                stops[0].selectAll()  # it may have had the focus before the draft stood in it
        else:
            self.start()

    def type_on(self, text: str) -> bool:
        """Type a text into the first empty number that waits; return whether there is one.

        If all that waits is a choice, that is the number that comes with it, which nobody saw yet;
        so it is if the focus is in that choice, made or not. A number that somebody typed is never
        replaced nor added to: it gets the focus, and stays as it is.
        """
        waiting = [*filter(self._waits, self.fields.shown_entries())]
        if any(_type_into(entry, text) for entry in waiting):
            return True
        focused = QApplication.focusWidget()
        behind = self.fields.bring_forward(focused) or self.fields.number_beside(focused)
        if behind is None:
            return False
        typed = behind.spec.name in self._changed  # not what stands there as a default
        return _type_into(behind, text, goes_there=typed, anew=not typed)

    def take(self, name: str, text: str) -> None:
        """Type a text into a field, and go on as with Enter."""
        line = self.fields.entries[name].tab_stops()[0]
        if isinstance(line, QLineEdit):
            line.setFocus(Qt.FocusReason.TabFocusReason)
            line.selectAll()
            line.insert(text)
            line.returnPressed.emit()

    def tab_stops(self) -> list[QWidget]:
        """Return every widget in tab order, creating deferred editors."""
        return [stop for entry in self.fields.shown_entries() for stop in entry.tab_stops()]

    def submit(self) -> None:
        """Emit the completed model, or the first problem."""
        problems = self.problems()
        if problems:
            self.reveal()
            self.refused.emit(problems[0][1])
        else:
            self.submitted.emit()

    def _move_on(self, entry: FieldEditor) -> None:
        rest = self.fields.each_shown()
        passed_over = list(takewhile(lambda one: one is not entry, rest))
        following: Iterable[FieldEditor] = rest
        if self.recipe is not None:
            problems = entry.answer().problems
            if problems:  # a field with a problem is never left without a message
                entry.reveal()
                entry.where_wrong().setFocus(Qt.FocusReason.OtherFocusReason)
                self.refused.emit(problems[0][1])
                return
            # Fields passed over come last; after them only saving is left.
            passed = [one for one in passed_over if one.answer().problems]
            following = [*filter(self._waits, following), *passed]
        for after in following:
            tab_stops = after.tab_stops()
            if tab_stops:
                tab_stops[0].setFocus(Qt.FocusReason.TabFocusReason)
                if after in passed_over:  # going back, it says why
                    after.reveal()
                return
        self.submit()

    @property
    def holds_draft(self) -> bool:
        """Whether a draft came back in it, and nothing was typed since."""
        return bool(self._brought_back)

    def _on_change(self, name: str) -> None:
        self._changed.add(name)
        self._brought_back = frozenset()

    def _where_typed(self) -> FieldEditor | None:
        """Return the last field a draft that came back was typed into, else the first required.

        None if no draft came back, or nothing is required any more.
        """
        if not self._brought_back:
            return None
        shown = self.fields.shown_entries()
        typed = [
            entry
            for entry in shown
            if entry.spec.name in self._brought_back
            and any(isinstance(stop, QLineEdit) for stop in entry.tab_stops()[:1])
        ]
        lacking = (one for one in shown if one.spec.required and not one.answer().given)
        return typed[-1] if typed else next(lacking, None)

    def _first_waiting(self) -> FieldEditor | None:
        """Return the first line that still has to be ticked, else the first unanswered field."""
        shown = self.fields.shown_entries()
        missing = (one for one in shown if one.spec.name in self._missing)
        unticked = next((one for one in missing if not one.answer().value), None)
        return unticked or next(filter(self._waits, shown), None)

    def _waits(self, entry: FieldEditor) -> bool:
        """Return whether a field lacks an answer, or its preset answer was not looked at."""
        spec, given = entry.spec, entry.answer()
        if given.problems or (spec.required and not given.given):
            return True
        if self.recipe is None or spec.optional:
            return False
        if spec.name in self._changed or spec.name in self._preset:
            return False
        if spec.kind is FieldKind.FLAG:
            return not given.value
        if spec.kind is FieldKind.CHOICE or spec.when is not None:
            return True
        return not spec.required and not self._has_run

    def mark_waiting(self) -> None:
        """Mark the next line of a recipe, unless a line is in hand already."""
        focused = QApplication.focusWidget()
        if self.recipe is None or (focused is not None and self.isAncestorOf(focused)):
            return
        waiting = self._first_waiting()
        if waiting is not None:
            self.recipe.start_at(waiting.spec.name)

    def _order_tab_stops(self) -> None:
        shown = self.fields.made_and_shown()
        tab_stops = [stop for entry in shown for stop in entry.tab_stops()]
        for before, after in pairwise(tab_stops):
            QWidget.setTabOrder(before, after)


def _type_into(
    entry: FieldEditor, text: str, *, goes_there: bool = False, anew: bool = False
) -> bool:
    """Type a text into a number that is empty, or ``anew`` in its place.

    With ``goes_there`` a number that is not empty gets the focus, and stays as it is.

    Return whether it is a number.
    """
    line = entry.tab_stops()[0] if entry.spec.kind in _NUMBER_KINDS else None
    if not isinstance(line, QLineEdit) or (line.text() and not (goes_there or anew)):
        return False
    if anew:
        line.clear()
    type_from_outside(line, text)
    return True
