"""Effective length and offset angle follow the pivot-to-spindle distance until typed."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QObject

from core.records import ArmKind
from core.workflow import usual_arm
from desktop.forms.field_editors import NumberEditor
from desktop.forms.model_fields import ModelFields

_LENGTH: Final = "effective_length_mm"
_OFFSET: Final = "offset_deg"


class FollowPivot(QObject):
    """Fills in the values of a usual arm with that pivot-to-spindle distance."""

    def __init__(self, arm: ModelFields, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._arm = arm
        self._typed: set[str] = set()
        self._last = self._asked()
        for name in arm.made:
            self._watch(name)
        arm.field_made.connect(self._watch)
        arm.changed.connect(self._follow)

    def begin_anew(self) -> None:
        """Take the present values as given, and forget what was typed before."""
        self._typed.clear()
        self._last = self._asked()

    def _asked(self) -> tuple[ArmKind | None, float | None]:
        kind, pivot = (self._arm.answer_of(name) for name in ("kind", "pivot_to_spindle_mm"))
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
                self._arm.put_field(name, value)

    def _watch(self, name: str) -> None:
        """Watch one of the fields that follow, to see whether it is typed into."""
        entry = self._arm.made[name]
        if name in (_LENGTH, _OFFSET) and isinstance(entry, NumberEditor):
            entry.field.line.textEdited.connect(lambda _text: self._typed.add(name))
            entry.field.line.stepped.connect(lambda _steps: self._typed.add(name))
