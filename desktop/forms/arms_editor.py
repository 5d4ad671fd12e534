"""The further arms of a deck: each keeps its key; arms with fittings can't be removed."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from PySide6.QtWidgets import QFrame, QPushButton, QWidget

from core.fitting import new_id
from core.language import Name, Numbers
from core.records import FieldSpec, FurtherArm
from desktop.forms.field_editors import Answer
from desktop.forms.fold import Fold
from desktop.forms.follow_pivot import FollowPivot
from desktop.forms.model_fields import GroupEditor, ModelFields, TableEditor
from desktop.widgets.language import tr


class ArmsEditor(TableEditor):
    """Rows for arms; an added row is a new arm."""

    def __init__(
        self,
        spec: FieldSpec,
        numbers: Numbers,
        parent: QWidget | None = None,
        *,
        fold: Fold | None = None,
    ) -> None:
        super().__init__(spec, numbers, parent, fold=fold)
        self._keys: dict[ModelFields, str] = {}
        self._used: frozenset[str] = frozenset()

    def mark_used(self, keys: Collection[str]) -> None:
        """Set which arms have fittings: they can be archived, but not removed."""
        self._used = frozenset(keys)
        for fields in self.rows:
            self._offer(fields)

    def answer(self) -> Answer:
        """Return the arms, each with its permanent key."""
        given = super().answer()
        arms = [
            arm.model_copy(update={"key": self._keys[fields]})
            if isinstance(arm, FurtherArm)
            else arm
            for arm, fields in zip(given.value, self.rows, strict=True)
        ]
        return Answer(tuple(arms), given.problems)

    def add_row(self) -> ModelFields:
        """Add an arm whose length and offset angle follow its pivot-to-spindle distance."""
        fields = super().add_row()
        _follow_pivot(fields)
        return fields

    def raw(self) -> list[dict[str, Any]]:
        """Return the content of every row with the key of its arm, which a draft must keep."""
        return [{"key": self._keys[fields], **fields.raw()} for fields in self.rows]

    def put_raw(self, raw: Any) -> None:
        """Show the arms of a draft again; an empty length still follows its pivot distance."""
        super().put_raw(raw)
        given = raw if isinstance(raw, list) else []
        for fields, one in zip(self.rows, given, strict=False):
            key = one.get("key") if isinstance(one, dict) else None
            if isinstance(key, str) and key and key not in self._keys.values():
                self._keys[fields] = key
                self._offer(fields)
        for fields in self.rows:
            arm = fields.entries["arm"]
            if isinstance(arm, GroupEditor) and not arm.raw().get("effective_length_mm"):
                _follow_pivot(fields)

    def _add(self, value: Any) -> ModelFields:
        fields = super()._add(value)
        known = value.key if isinstance(value, FurtherArm) else ""
        self._keys[fields] = known or new_id()
        self._offer(fields)
        return fields

    def _drop(self, frame: QFrame) -> None:
        gone = next((fields for one, fields in self._rows if one is frame), None)
        super()._drop(frame)
        if gone is not None:
            self._keys.pop(gone, None)

    def _offer(self, fields: ModelFields) -> None:
        """Offer to archive arms that were used, and to remove others."""
        is_used = self._keys[fields] in self._used
        fields.set_aside(() if is_used else ("put_away",))
        frame = next(one for one, known in self._rows if known is fields)
        remove = frame.findChild(QPushButton, "removeRow")
        if remove is not None:
            remove.setVisible(not is_used)
            name = fields.entries["name"].answer().value
            if name:
                remove.setAccessibleName(tr("forms.arms_editor.remove", name=Name(str(name))))


def _follow_pivot(fields: ModelFields) -> None:
    arm = fields.entries["arm"]
    if isinstance(arm, GroupEditor):
        FollowPivot(arm.fields, fields)
