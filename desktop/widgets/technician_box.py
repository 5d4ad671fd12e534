"""The box for the technician's name, which goes with every entry."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import QComboBox, QWidget

from desktop.widgets import theme
from desktop.widgets.language import tr
from desktop.widgets.preferences import Preferences

_LONGEST: Final = 80


class TechnicianBox(QComboBox):
    """An editable list of names, the current one on top; it may be empty."""

    changed = Signal()  # somebody else stands at the bench

    def __init__(self, preferences: Preferences, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._preferences = preferences
        self.setEditable(True)
        self.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.setAccessibleName(tr("widgets.technician_box.who_stands_at_the_bench"))
        self.setAccessibleDescription(tr("widgets.technician_box.this_name_stands_beside_every"))
        self.setMinimumContentsLength(16)
        line = self.lineEdit()
        for part in (self.view().parentWidget(), line):
            if part is not None:
                theme.forget_with(part)
        if line is not None:
            line.setMaxLength(_LONGEST)
            line.setPlaceholderText(tr("widgets.technician_box.your_name"))
            line.editingFinished.connect(self.keep)
        self.activated.connect(lambda _index: self.keep())
        self.refresh()

    def refresh(self) -> None:
        """Show the remembered names."""
        with QSignalBlocker(self):
            self.clear()
            self.addItems(list(self._preferences.names))
            self.setCurrentText(self._preferences.who)

    def keep(self) -> None:
        """Set the text in the box as the technician."""
        name = self.currentText().strip()
        if name != self._preferences.who:
            self._preferences.remember_who(name)
            self.changed.emit()
