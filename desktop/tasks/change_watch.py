"""Notices that another window or program has written to the library."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QObject, QTimer, Signal

from core.store import Library, LibraryProblem

_EVERY_MS: Final = 3_000


class ChangeWatch(QObject):
    """Asks the library every few seconds, which costs next to nothing."""

    others_wrote = Signal()  # somebody else has written since this was last told

    def __init__(
        self, library: Library, *, every_ms: int = _EVERY_MS, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._library = library
        self._data_version = self._current_version()
        self._timer = QTimer(self)
        self._timer.timeout.connect(self.look)
        self._timer.start(every_ms)

    def look(self) -> None:
        """Ask now: the window came to the front, or some time has gone by."""
        now = self._current_version()
        if now is not None and now != self._data_version:
            self._data_version = now
            self.others_wrote.emit()

    def stop(self) -> None:
        """Ask no more."""
        self._timer.stop()

    def _current_version(self) -> int | None:
        try:
            return self._library.others_wrote()
        except LibraryProblem:
            return None  # whoever enters something next is told
