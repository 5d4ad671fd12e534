"""When Python's collector of reference cycles runs: between two events, in the window's thread."""

from __future__ import annotations

import gc
from typing import Final

from PySide6.QtCore import QObject, QTimer

_EVERY_MS: Final = 1000


class GarbageCollector(QObject):
    """Takes the collector over for as long as the program runs.

    Left to itself it runs whenever enough objects were made, in the thread that makes them. In an
    errand's thread that ends widgets which nobody refers to any more, and Qt crashes: a widget may
    end in the window's thread alone. And amid the making of a page it takes as long as the page.
    """

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        gc.disable()
        timer = QTimer(self)
        timer.setInterval(_EVERY_MS)
        timer.timeout.connect(self.collect)
        timer.start()

    def collect(self) -> None:
        """Collect as many generations as are due by Python's own thresholds."""
        due = -1
        for generation, (count, most) in enumerate(
            zip(gc.get_count(), gc.get_threshold(), strict=True)
        ):
            if not 0 < most < count:
                break
            due = generation
        if due >= 0:
            gc.collect(due)
