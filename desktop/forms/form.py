"""A form for any model, built from the model's field specifications."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from pydantic import BaseModel
from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import QWidget

from core.language import Numbers
from desktop.forms.field_editors import FieldEditor
from desktop.forms.model_fields import ModelFields
from desktop.widgets.panels import column_in


class Form(QWidget):
    """A form for one model.

    Enter moves on to the next field and, on the last, confirms. Nothing that was typed is ever
    taken away or changed, whatever is wrong with it.
    """

    draft_changed = Signal()
    """Something was typed or chosen; emitted once for everything that happens at a keystroke."""
    submitted = Signal()
    """Enter was pressed on the last field and the form makes a model."""
    refused = Signal(str)
    """Enter was pressed on the last field but something is wrong: the first sentence."""

    def __init__(
        self,
        model: type[BaseModel],
        numbers: Numbers,
        value: BaseModel | None = None,
        *,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.model = model
        self.fields = ModelFields(model, numbers, self)
        column = column_in(self)
        column.addWidget(self.fields)
        if value is not None:
            self.fields.put(value)
        self._as_put: dict[str, Any] = {}
        self._timer = QTimer(self, singleShot=True, interval=0)
        self._timer.timeout.connect(self.draft_changed)
        self.fields.changed.connect(self._timer.start)
        self.fields.entered.connect(self._move_on)
        self.fields.fields_changed.connect(self._order_tab_stops)
        self._order_tab_stops()

    def draft(self) -> BaseModel | None:
        """Return the model the form makes now, or None while something is wrong."""
        given = self.fields.answer()
        return None if given.problems or given.value is None else given.value

    def problems(self) -> list[tuple[str, str]]:
        """Return all that is wrong: pairs of a label and one sentence."""
        return list(self.fields.answer().problems)

    def put(self, value: BaseModel | None) -> None:
        """Show a model's values; None shows the defaults."""
        self.fields.put(value)
        self.forget_typing()

    def settle(self) -> None:
        """Prepare for the next reading: clear what changes, keep the rest."""
        self.fields.settle()
        self.forget_typing()

    def forget_typing(self) -> None:
        """Take what the fields hold now as put there, not typed."""
        self._timer.stop()
        self._as_put = self.fields.raw()

    def typed_raw(self) -> dict[str, Any] | None:
        """Return what stands in the fields, right or wrong, as JSON holds it; None if untouched."""
        raw = self.fields.raw()
        return None if raw == self._as_put else raw

    def type_again(self, raw: Mapping[str, Any]) -> None:
        """Show what :meth:`typed_raw` has returned, as typed."""
        self.fields.put_raw(dict(raw))
        self._timer.stop()

    def reveal(self) -> None:
        """Show every problem, and put the focus on the first."""
        self.fields.reveal()
        for entry in self.fields.shown_entries():
            if entry.answer().problems:
                entry.where_wrong().setFocus(Qt.FocusReason.OtherFocusReason)
                break

    def start(self) -> None:
        """Put the focus on the first field."""
        tab_stops = self.tab_stops()
        if tab_stops:
            tab_stops[0].setFocus(Qt.FocusReason.OtherFocusReason)

    def start_at_blank(self) -> None:
        """Put the focus on the first field that waits for an answer, else on the first."""
        for entry in self.fields.shown_entries():
            if entry.spec.required and (entry.answer().problems or not entry.answer().given):
                stops = entry.tab_stops()
                if stops:
                    stops[0].setFocus(Qt.FocusReason.OtherFocusReason)
                    return
        self.start()

    def tab_stops(self) -> list[QWidget]:
        """Return every widget in tab order."""
        return [stop for entry in self.fields.shown_entries() for stop in entry.tab_stops()]

    def submit(self) -> None:
        """Emit that the form is complete, or what is wrong."""
        problems = self.problems()
        if problems:
            self.reveal()
            self.refused.emit(problems[0][1])
        else:
            self.submitted.emit()

    def _move_on(self, entry: FieldEditor) -> None:
        shown = self.fields.shown_entries()
        following = shown[shown.index(entry) + 1 :] if entry in shown else []
        for after in following:
            tab_stops = after.tab_stops()
            if tab_stops:
                tab_stops[0].setFocus(Qt.FocusReason.TabFocusReason)
                return
        self.submit()

    def _order_tab_stops(self) -> None:
        tab_stops = self.tab_stops()
        for before, after in pairwise(tab_stops):
            QWidget.setTabOrder(before, after)
