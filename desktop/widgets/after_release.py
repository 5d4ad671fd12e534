"""Wait until no mouse button is down: what is pressed must stay under the pointer."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QObject, Qt, QTimer, Signal
from PySide6.QtWidgets import QApplication

_LOOKS_AGAIN_MS: Final = 15


def is_pressed() -> bool:
    """Whether a mouse button is down."""
    return QApplication.mouseButtons() != Qt.MouseButton.NoButton


class AfterRelease(QObject):
    """Emits in the next turn of the event loop, or once no mouse button is down.

    A press gives a field the focus. If the page scrolls before the release, that happens elsewhere,
    and what was pressed is not chosen.
    """

    due = Signal()

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._timer = QTimer(self, singleShot=True)
        self._timer.timeout.connect(self._look)

    def start(self) -> None:
        """Emit soon, once however often this is called until then."""
        self._timer.start(0)

    def _look(self) -> None:
        if is_pressed():
            self._timer.start(_LOOKS_AGAIN_MS)
        else:
            self.due.emit()
