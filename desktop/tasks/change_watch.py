"""Notices that another window or program has written to the library."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QObject, QTimer, Signal

from core.store import Library, LibraryProblem, ProblemKind

_EVERY_MS: Final = 3_000


class ChangeWatch(QObject):
    """Polls the library's data version every few seconds, which is cheap."""

    others_wrote = Signal()  # somebody else has written since the last signal
    lost = Signal(object)  # the LibraryProblem of a library that was moved away; once

    def __init__(
        self, library: Library, *, every_ms: int = _EVERY_MS, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._library = library
        self._is_lost = False
        self._data_version = self._current_version()
        self._timer = QTimer(self)
        self._timer.timeout.connect(self.look)
        self._timer.start(every_ms)

    def look(self) -> None:
        """Check now."""
        now = self._current_version()
        if now is not None and now != self._data_version:
            self._data_version = now
            self.others_wrote.emit()

    def stop(self) -> None:
        """Stop checking."""
        self._timer.stop()

    def _current_version(self) -> int | None:
        try:
            return self._library.others_wrote()
        except LibraryProblem as problem:
            if problem.kind is ProblemKind.VANISHED and not self._is_lost:
                self._is_lost = True
                self.lost.emit(problem)
            return None  # the next entry reports whatever else it is
