"""Runs Python's garbage collector between two events, in the main thread."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from PySide6.QtCore import QCoreApplication, QObject, QTimer

_EVERY_MS: Final = 1000


class GarbageCollector(QObject):
    """Replaces automatic collection for as long as the program runs.

    Automatic collection runs in whichever thread allocates. In a background thread it would destroy
    unreferenced widgets, and Qt crashes: widgets may be destroyed in the main thread only. While a
    page is built it would take as long as the page.
    """

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._holds = 0
        gc.disable()
        timer = QTimer(self, interval=_EVERY_MS)
        timer.timeout.connect(self.collect)
        timer.start()

    def collect(self) -> None:
        """Collect as many generations as are due by Python's own thresholds, unless held."""
        if self._holds:
            return
        due = -1
        for generation, (count, most) in enumerate(
            zip(gc.get_count(), gc.get_threshold(), strict=True)
        ):
            if not 0 < most < count:
                break
            due = generation
        if due >= 0:
            gc.collect(due)

    def hold(self) -> None:
        """Collect nothing until :meth:`release` was called as often."""
        self._holds += 1

    def release(self) -> None:
        """Collect again, unless it is held for another reason."""
        self._holds -= 1


@contextmanager
def held() -> Iterator[None]:
    """Let the application's collector wait while large structures are built, or are about.

    Each collection would look through all of them, in the window's thread: a second for a large
    document. To be entered in that thread.
    """
    app = QCoreApplication.instance()
    collectors = app.findChildren(GarbageCollector) if app is not None else []
    for one in collectors:
        one.hold()
    try:
        yield
    finally:
        for one in collectors:
            one.release()
