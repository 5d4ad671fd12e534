"""The choice of an arm and headshell whose fittings a history shows."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QComboBox

from desktop.widgets.elided_combo import ElidedCombo
from desktop.widgets.language import tr

_NARROWEST_EM: Final = 18
"""Width below which long names don't push the page, in line heights."""


class GroupBox(ElidedCombo):
    """A combo box as wide as its longest entry, if the page has the room."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("historyGroup")
        self.setAccessibleName(tr("history.history_page.group"))
        self.setToolTip(tr("history.history_page.group_tip"))
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)

    def minimumSizeHint(self) -> QSize:
        """Return the size of the longest entry, limited in width."""
        hint = super().minimumSizeHint()
        return hint.boundedTo(QSize(_NARROWEST_EM * self.fontMetrics().height(), hint.height()))
