"""The cautions of the work in hand that are scrolled out of sight, named above it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from PySide6.QtWidgets import QVBoxLayout, QWidget

from desktop.widgets.caution_line import NO_BREAK
from desktop.widgets.panels import column_in, set_shown, text_label

_BETWEEN: Final = "   "


class CautionStrip(QWidget):
    """Names cautions in their short form, the first acts first; hidden while there is none to name.

    Where the window is too low for all of them, the later ones are dropped.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._named: dict[str, None] = {}
        self._is_full = False
        self._label = text_label("", "question")
        column: QVBoxLayout = column_in(self)
        column.addWidget(self._label)
        self.hide()

    @property
    def named(self) -> tuple[str, ...]:
        """The cautions that it names, in their order."""
        return tuple(one.replace(NO_BREAK, " ") for one in self._named)

    @property
    def is_squeezed(self) -> bool:
        """Whether it has less height than its words ask for."""
        label = self._label
        return bool(self._named) and label.height() < label.heightForWidth(label.width())

    def clear(self) -> None:
        """Name none, and take any again."""
        self._named.clear()
        self._is_full = False
        self._say()

    def drop_last(self) -> None:
        """Name one less, and take no more until it is cleared."""
        self._named.popitem()
        self._is_full = True
        self._say()

    def add(self, titles: Iterable[str]) -> bool:
        """Name these too; return whether any is new."""
        if self._is_full:
            return False
        before = len(self._named)
        self._named.update(dict.fromkeys(titles))
        if len(self._named) == before:
            return False
        self._say()
        return True

    def _say(self) -> None:
        self._label.setText(_BETWEEN.join(self._named))
        set_shown(self, shown=bool(self._named))
