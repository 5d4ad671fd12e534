"""Filters that are on or off, above a list."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from desktop.widgets.language import said
from desktop.widgets.plain_text import plain_tip
from desktop.widgets.record_table.spec import Chip


class Chips(QWidget):
    """A row of buttons that stay down; those that are down narrow the list."""

    changed = Signal()

    def __init__(self, chips: Sequence[Chip], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.buttons: dict[str, QPushButton] = {}
        self.row = QHBoxLayout(self)
        self.row.setContentsMargins(0, 0, 0, 0)
        for chip in chips:
            button = toggle(said(chip.words), said(chip.hint))
            button.setObjectName(f"chip:{chip.key}")
            button.toggled.connect(lambda _on: self.changed.emit())
            self.buttons[chip.key] = button
            self.row.addWidget(button)

    @property
    def chosen(self) -> frozenset[str]:
        """The keys of those that are down."""
        return frozenset(key for key, one in self.buttons.items() if one.isChecked())

    def words(self) -> str:
        """Return what stands on those that are down, one after the other."""
        return ", ".join(one.text() for one in self.buttons.values() if one.isChecked())

    def clear(self) -> None:
        """Let all of them up, and say so once."""
        blocked = self.blockSignals(True)  # noqa: FBT003 - Qt's own argument
        for one in self.buttons.values():
            one.setChecked(False)
        self.blockSignals(blocked)
        self.changed.emit()


def toggle(words: str, hint: str) -> QPushButton:
    """Return a button that stays down, which a screen reader says too."""
    button = QPushButton(words)
    button.setCheckable(True)
    button.setProperty("chip", "true")
    button.setAccessibleDescription(hint)
    button.setToolTip(plain_tip(hint))
    return button
