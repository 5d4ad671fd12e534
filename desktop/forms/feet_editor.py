"""The feet of a deck: by count, width and depth, or each at its own place."""

from __future__ import annotations

from typing import Any

from PySide6.QtWidgets import QWidget

from core.language import Numbers
from core.records import FeetLayout, FeetPattern, FieldSpec, layout_of
from desktop.forms.field_editors import Answer, FieldEditor
from desktop.forms.fold import Fold
from desktop.forms.model_fields import ModelFields, NestedEditor, TableEditor
from desktop.widgets.panels import add_all, column_in


class FeetEditor(NestedEditor):
    """Count, width and depth set the places; rows for single feet on request."""

    def __init__(
        self,
        spec: FieldSpec,
        numbers: Numbers,
        parent: QWidget | None = None,
        *,
        fold: Fold | None = None,
    ) -> None:
        super().__init__(spec, parent)
        self.layout_fields = ModelFields(FeetLayout, numbers, self, value=FeetLayout(), fold=fold)
        self.places = TableEditor(spec, numbers, self, fold=fold)
        add_all(column_in(self), self.layout_fields, self.places)
        self._has_places = False
        self._last = FeetLayout().feet
        """The places of the feet before rows for single feet were requested."""
        self.places.hide()
        for one in (self.layout_fields, self.places):
            one.changed.connect(self._on_change)
            one.fields_changed.connect(self.fields_changed)
        self.layout_fields.entered.connect(self.entered_inside)
        self.places.entered_inside.connect(self.entered_inside)

    @property
    def has_places(self) -> bool:
        """Whether each foot has a place of its own."""
        return self.layout_fields.entries["pattern"].answer().value is FeetPattern.OWN

    def answer(self) -> Answer:
        """Return the feet as a tuple, or the problems."""
        if self.has_places:
            return self.places.answer()
        given = self.layout_fields.answer()
        if given.problems:
            return Answer(problems=given.problems)
        layout = given.value
        self._last = layout.feet if isinstance(layout, FeetLayout) else ()
        return Answer(self._last)

    def put(self, value: Any) -> None:
        """Show feet; without any, four at the corners of a usual plinth."""
        feet = tuple(value or ())
        layout = layout_of(feet) if feet else FeetLayout()
        self._has_places = layout.pattern is FeetPattern.OWN  # this is no request for places
        self.layout_fields.put(layout)
        self.places.put(feet if self._has_places else ())
        self._last = feet or layout.feet
        self._show_places()

    def raw(self) -> dict[str, Any]:
        """Return the content of both editors, right or wrong."""
        return {"layout": self.layout_fields.raw(), "places": self.places.raw()}

    def put_raw(self, raw: Any) -> None:
        """Show it again."""
        if isinstance(raw, dict):
            self.layout_fields.put_raw(raw.get("layout"))
            self.places.put_raw(raw.get("places"))
            self._show_places()

    def inner(self) -> list[FieldEditor]:
        """Return the editors that apply."""
        own = self.places.inner() if self.has_places else []
        return [*self.layout_fields.shown_entries(), *own]

    def reveal(self) -> None:
        """Show every problem."""
        self.layout_fields.reveal()
        if self.has_places:
            self.places.reveal()

    def _on_change(self) -> None:
        if self.has_places and not self._has_places and not self.places.rows:
            self.places.put(self._last)
        self._show_places()
        self.changed.emit()

    def _show_places(self) -> None:
        self._has_places = self.has_places
        self.places.setVisible(self._has_places)
        self.fields_changed.emit()
