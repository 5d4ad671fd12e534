"""Work on the library that takes a while and must be over before anything else is done."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, TypeVar

from PySide6.QtCore import QEventLoop, Qt, QTimer
from PySide6.QtWidgets import QProgressDialog, QWidget

from core.store import WorkStoppedError
from desktop.tasks.background_task import BackgroundTask, GoOn
from desktop.widgets.language import tr
from desktop.widgets.plain_text import plain_label

T = TypeVar("T")
Work = Callable[[GoOn, Callable[[int], None]], T]
_SHOWN_EVERY_MS: Final = 200


def run_blocking(window: QWidget, words: str, work: Work[T], most: int = 0) -> T:
    """Do work in a thread while a dialog shows its progress, ``most`` being all of it.

    The work is called with a function that returns whether it is still wanted and one that reports
    progress; it must open its own library. Raises WorkStoppedError if the person stopped it, else
    what the work raised.
    """
    results: list[T] = []
    faults: list[Exception] = []
    done = [0]

    def keep(go_on: GoOn) -> None:
        try:
            results.append(work(go_on, lambda count: done.__setitem__(0, count)))
        except Exception as fault:  # noqa: BLE001 - raised again where it can be caught
            faults.append(fault)

    dialog = QProgressDialog("", tr("tasks.blocking_task.stop"), 0, most, window)
    dialog.setLabel(plain_label(words))  # a file's name stands in them
    dialog.setWindowTitle(tr("tasks.blocking_task.please_wait"))
    dialog.setWindowModality(Qt.WindowModality.ApplicationModal)
    dialog.setMinimumDuration(0)
    dialog.setAutoClose(False)
    dialog.setAutoReset(False)
    loop = QEventLoop()
    task = BackgroundTask(keep, dialog)
    task.done.connect(loop.quit)
    dialog.canceled.connect(task.stop)
    dialog.canceled.connect(loop.quit)
    tick = QTimer(dialog)
    if most:
        tick.timeout.connect(lambda: dialog.setValue(min(done[0], most)))
    dialog.show()
    tick.start(_SHOWN_EVERY_MS)
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
