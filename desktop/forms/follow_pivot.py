"""Effective length and offset angle follow the pivot-to-spindle distance until they are typed."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QObject

from core.records import ArmKind
from core.workflow.new_deck import usual_arm
from desktop.forms.field_editors import NumberEditor
from desktop.forms.model_fields import ModelFields

_LENGTH: Final = "effective_length_mm"
_OFFSET: Final = "offset_deg"


class FollowPivot(QObject):
    """Fills in what a usual arm of that pivot-to-spindle distance has."""

    def __init__(self, arm: ModelFields, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._arm = arm
        self._typed: set[str] = set()
        self._last = self._asked()
        for name in (_LENGTH, _OFFSET):
            entry = arm.entries[name]
            if isinstance(entry, NumberEditor):
                entry.field.line.textEdited.connect(lambda _text, one=name: self._typed.add(one))
                entry.field.line.stepped.connect(lambda _steps, one=name: self._typed.add(one))
        arm.changed.connect(self._follow)

    def begin_anew(self) -> None:
        """Take what stands in the fields now as it is, and forget what was typed before."""
        self._typed.clear()
        self._last = self._asked()

    def _asked(self) -> tuple[ArmKind | None, float | None]:
        kind = self._arm.entries["kind"].answer()
        pivot = self._arm.entries["pivot_to_spindle_mm"].answer()
        found = kind.value if not kind.problems and isinstance(kind.value, ArmKind) else None
        return found, None if pivot.problems else pivot.value

    def _follow(self) -> None:
        now = self._asked()
        if now == self._last:
            return
        self._last = now
        kind, pivot = now
        usual = usual_arm(kind, pivot) if kind is not None and pivot is not None else None
        if usual is None:
            return
        for name, value in ((_LENGTH, usual.effective_length_mm), (_OFFSET, usual.offset_deg)):
            if name not in self._typed:
                self._arm.entries[name].put(value)
