"""Work on the library that takes a while and must be over before anything else is done."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, TypeVar

from PySide6.QtCore import QEventLoop, Qt, QTimer
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import QProgressDialog, QWidget

from core.store import WorkStoppedError
from desktop.tasks.background_task import BackgroundTask, GoOn, Told
from desktop.tasks.garbage_collector import held
from desktop.widgets.language import tr
from desktop.widgets.plain_text import plain_label

T = TypeVar("T")
LongWork = Callable[[GoOn, Told], T]
_SHOWN_EVERY_MS: Final = 200


def run_blocking(window: QWidget, words: str, work: LongWork[T], most: int = 0) -> T:
    """Do work in a thread while a dialog shows its progress, ``most`` being all of it.

    The work is called with a function that returns whether it is still wanted and one that reports
    progress; it must open its own library. Raises WorkStoppedError if the person stopped it, else
    what the work raised. The window's thread never waits for the work, not even when it is stopped:
    the dialog stays until the work has ended.
    """
    results: list[T] = []
    faults: list[Exception] = []
    done = [0]

    def keep(go_on: GoOn) -> None:
        try:
            results.append(work(go_on, lambda count: done.__setitem__(0, count)))
        except Exception as fault:  # noqa: BLE001 - raised again where it can be caught
            faults.append(fault)

    dialog = _Waiting(words, most, window)
    loop = QEventLoop()
    task = BackgroundTask(keep, dialog)
    task.done.connect(loop.quit)
    task.given_up.connect(loop.quit)
    dialog.canceled.connect(task.ask_to_stop)
    dialog.canceled.connect(dialog.say_it_stops)
    tick = QTimer(dialog)
    if most:
        tick.timeout.connect(lambda: dialog.show_how_far(done[0]))
    dialog.show()
    tick.start(_SHOWN_EVERY_MS)
    with held():
        task.start()
        loop.exec()
    tick.stop()
    dialog.hide()
    dialog.deleteLater()
    if faults:
        raise faults[0]
    if not results:
        raise WorkStoppedError
    return results[0]


class _Waiting(QProgressDialog):
    """Says what is done, how far it is, and offers to stop it."""

    def __init__(self, words: str, most: int, window: QWidget) -> None:
        super().__init__("", tr("tasks.blocking_task.stop"), 0, most, window)
        self._is_stopping = False
        self.setLabel(plain_label(words))  # a file's name stands in them
        self.setWindowTitle(tr("tasks.blocking_task.please_wait"))
        self.setWindowModality(Qt.WindowModality.ApplicationModal)
        self.setMinimumDuration(0)
        self.setAutoClose(False)
        self.setAutoReset(False)

    def show_how_far(self, done: int) -> None:
        """Show how much is done, unless it is being stopped."""
        if not self._is_stopping:
            self.setValue(min(done, self.maximum()))

    def say_it_stops(self) -> None:
        """Say so, and stay: nothing else may be done before it has stopped."""
        self._is_stopping = True
        size = self.size()
        self.setLabelText(tr("tasks.blocking_task.stopping"))
        self.setCancelButton(None)
        self.setRange(0, 0)
        self.resize(size)
        self.show()

    def reject(self) -> None:
        """Ask the work to stop, and stay meanwhile: Qt would hide the dialog and go on."""
        if not self._is_stopping:
            self.canceled.emit()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Stay while it is being stopped."""
        if self._is_stopping:
            event.ignore()
        else:
            super().closeEvent(event)
