"""The cautions of a page: at their lines; those without a line above them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtWidgets import QWidget

from desktop.widgets.caution_line import CautionLine
from desktop.widgets.language import caution_words
from desktop.widgets.panels import column_in, set_shown

_NO_BREAK: Final = "\u00a0"


class PageCautions(QWidget):
    """Shows the cautions of the present case that no visible line shows."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._column = column_in(self)
        self._own: dict[str, CautionLine] = {}
        self._case: tuple[str, ...] = ()
        self._is_open = False
        self.hide()

    def show_case(self, keys: Sequence[str], at_lines: Sequence[CautionLine]) -> None:
        """Show the cautions of the case, without those that a line shows."""
        known = caution_words()
        self._case = tuple(key for key in keys if key in known)
        said = {one.key for one in at_lines if not one.isHidden()}
        for one in at_lines:
            one.press(urgent=one.key in self._case)
            one.open(wide=self._is_open)
        for key in self._case:
            if key not in said and key not in self._own:
                made = self._own[key] = CautionLine(key, self)
                made.press(urgent=True)
                self._column.addWidget(made)
        for key, one in self._own.items():
            one.open(wide=self._is_open)
            one.setVisible(key in self._case and key not in said)
        set_shown(self, shown=any(key not in said for key in self._case))

    def on_show(self) -> list[CautionLine]:
        """Return the cautions that it shows itself."""
        return [one for one in self._own.values() if not one.isHidden()]

    def toggle(self, at_lines: Sequence[CautionLine]) -> None:
        """Show every caution's reason, or the titles alone."""
        self._is_open = not self._is_open
        for one in (*self._own.values(), *at_lines):
            one.open(wide=self._is_open)
