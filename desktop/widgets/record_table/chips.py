"""Toggle filters above a list."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QPushButton, QWidget

from desktop.widgets.flow_row import FlowRow
from desktop.widgets.language import said
from desktop.widgets.plain_text import plain_tip
from desktop.widgets.record_table.spec import Chip


class Chips(FlowRow):
    """Toggle buttons; those that are down narrow the list. ``others`` stand beside them."""

    changed = Signal()

    def __init__(
        self,
        chips: Sequence[Chip],
        others: Sequence[QPushButton] = (),
        parent: QWidget | None = None,
    ) -> None:
        self.buttons = {chip.key: toggle(said(chip.words), said(chip.hint)) for chip in chips}
        super().__init__((*self.buttons.values(), *others), parent)
        for key, button in self.buttons.items():
            button.setObjectName(f"chip:{key}")
            button.toggled.connect(lambda _on: self.changed.emit())

    @property
    def chosen(self) -> frozenset[str]:
        """The keys of the buttons that are down."""
        return frozenset(key for key, one in self.buttons.items() if one.isChecked())

    def words(self) -> str:
        """Return the labels of the buttons that are down."""
        return ", ".join(one.text() for one in self.buttons.values() if one.isChecked())

    def clear(self) -> None:
        """Release all of them, and emit once."""
        blocked = self.blockSignals(True)  # noqa: FBT003 - Qt's own argument
        for one in self.buttons.values():
            one.setChecked(False)
        self.blockSignals(blocked)
        self.changed.emit()


def toggle(words: str, hint: str) -> QPushButton:
    """Return a toggle button, announced as such to screen readers."""
    button = QPushButton(words)
    button.setCheckable(True)
    button.setProperty("chip", "true")
    button.setAccessibleDescription(hint)
    button.setToolTip(plain_tip(hint))
    return button
