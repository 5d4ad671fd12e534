"""A menu to choose the visible columns of a list; the choice is remembered."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QMenu, QWidget

from desktop.widgets.language import said, tr
from desktop.widgets.preferences import Preferences
from desktop.widgets.record_table.rows import Column


class ColumnMenu(QMenu):
    """A menu of the columns, with ticks on the visible ones. The first is always visible."""

    changed = Signal()

    def __init__(
        self,
        key: str,
        columns: Sequence[Column],
        preferences: Preferences | None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(tr("widgets.columns.columns"), parent)
        self._key, self._preferences = key, preferences
        self._usual = {one.order_name: not one.is_extra for one in columns}
        turned = preferences.turned_columns(key) if preferences is not None else ()
        self._seen = {name: seen != (name in turned) for name, seen in self._usual.items()}
        for column in columns[1:]:
            if column.of_archived:
                continue
            act = self.addAction(said(column.title))
            act.setCheckable(True)
            act.setData(column.order_name)
            act.toggled.connect(partial(self._turn, column.order_name))
        self.addSeparator()
        self.addAction(tr("widgets.columns.as_at_first")).triggered.connect(self.reset)
        self._show()

    def is_seen(self, column: Column) -> bool:
        """Whether a column is visible."""
        return self._seen[column.order_name]

    def reset(self) -> None:
        """Show the default columns."""
        self._seen = dict(self._usual)
        self._show()
        self._keep()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Turn a column on or off with Space, and leave the menu open for the next."""
        act = self.activeAction()
        is_column = any(act is one and one.isCheckable() for one in self.actions())
        if event.key() == Qt.Key.Key_Space and is_column:
            act.toggle()
        else:
            super().keyPressEvent(event)

    def _show(self) -> None:
        for act in self.actions():
            if act.isCheckable():
                blocked = act.blockSignals(True)  # noqa: FBT003 - Qt's own argument
                act.setChecked(self._seen[act.data()])
                act.blockSignals(blocked)

    def _turn(self, name: str, seen: bool) -> None:  # noqa: FBT001 - of a signal
        self._seen[name] = seen
        self._keep()

    def _keep(self) -> None:
        if self._preferences is not None:
            turned = [name for name, seen in self._seen.items() if seen != self._usual[name]]
            self._preferences.remember_turned_columns(self._key, turned)
        self.changed.emit()
