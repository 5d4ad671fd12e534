"""Long work in a thread, so that the window stays responsive."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Final

from PySide6.QtCore import QObject, Signal

from core.store import LibraryProblem, WorkStoppedError

GoOn = Callable[[], bool]
Told = Callable[[int], None]
_LONGEST_WAIT_S: Final = 10.0


class BackgroundTask(QObject):
    """One piece of work in its own thread.

    The work is called with a function that returns whether it is still wanted. It must touch no
    widget and no library that is open elsewhere.
    """

    done = Signal(object)  # what work returned
    failed = Signal(object)  # the LibraryProblem it ended with
    given_up = Signal()  # it was asked to end, and has
    _ended = Signal(object, object)

    def __init__(self, work: Callable[[GoOn], object], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._work = work
        self._is_wanted = threading.Event()
        self._thread: threading.Thread | None = None
        self._ended.connect(self._on_end)

    @property
    def is_running(self) -> bool:
        """Whether the work has begun and its end has not been signalled yet."""
        return self._thread is not None

    def start(self) -> None:
        """Begin, unless it is under way already."""
        if self._thread is None:
            self._is_wanted.set()
            self._thread = threading.Thread(target=self._run, name="errand", daemon=True)
            self._thread.start()

    def ask_to_stop(self) -> None:
        """Cancel the work without waiting; ``given_up`` says when it has ended."""
        self._is_wanted.clear()

    def stop(self) -> None:
        """Cancel the work and wait for its end, at most some seconds; emit nothing."""
        self._is_wanted.clear()
        if self._thread is not None:
            self._thread.join(_LONGEST_WAIT_S)
            self._thread = None

    def finish(self) -> None:
        """Wait for the work to end by itself; emit nothing."""
        if self._thread is not None:
            self._thread.join()
            self.stop()

    def _run(self) -> None:
        result, error = None, None
        try:
            result = self._work(self._is_wanted.is_set)
        except Exception as fault:  # noqa: BLE001 - raised again in the main thread
            error = fault
        try:
            self._ended.emit(result, error)
        except RuntimeError:
            return  # the window is gone, and every receiver with it

    def _on_end(self, result: object, error: Exception | None) -> None:
        if self._thread is None:
            return
        self._thread.join()
        self._thread = None
        if not self._is_wanted.is_set():
            self.given_up.emit()
        elif isinstance(error, LibraryProblem):
            self.failed.emit(error)
        elif error is None:
            self.done.emit(result)
        elif not isinstance(error, WorkStoppedError):
            raise error  # a programming error: goes to sys.excepthook
