"""Reads a library through once, some seconds after it was opened."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QObject, QTimer, Signal

from core.store import Library, LibraryAddress, LibraryProblem, ProblemKind
from desktop.tasks.background_task import BackgroundTask, GoOn

_AFTER_OPENING_MS: Final = 5_000


class SoundnessCheck(QObject):
    """Checks a library in a background thread with its own connection."""

    damaged = Signal(object)  # the LibraryProblem, if something is wrong with it

    def __init__(
        self,
        address: LibraryAddress,
        *,
        after_ms: int = _AFTER_OPENING_MS,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._address = address
        self._task = BackgroundTask(self._check, self)
        self._task.failed.connect(self._on_failed)
        self._timer = QTimer(self, singleShot=True)
        self._timer.timeout.connect(self._task.start)
        self._timer.start(after_ms)

    def stop(self) -> None:
        """Cancel it."""
        self._timer.stop()
        self._task.stop()

    def _check(self, go_on: GoOn) -> None:
        with Library.open(self._address, read_only=True) as library:
            library.check(go_on)

    def _on_failed(self, problem: LibraryProblem) -> None:
        if problem.kind is ProblemKind.DAMAGED:
            self.damaged.emit(problem)
