"""Keeps the library's one file whole: what was confirmed is in it some seconds later."""

from __future__ import annotations

from contextlib import suppress
from typing import Final

from PySide6.QtCore import QObject, Qt, QTimer
from PySide6.QtGui import QGuiApplication

from core.store import Library, LibraryProblem

_EVERY_MS: Final = 2_000
_DRAFTS_EVERY: Final = 15
"""At every so many turns drafts are brought in too."""


class Settler(QObject):
    """Settles the library every two seconds, and at once when the program is left for another.

    Without anything new that costs next to nothing. The library settles itself on closing.
    """

    def __init__(
        self, library: Library, *, every_ms: int = _EVERY_MS, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._library = library
        self._timer = QTimer(self)
        self._turn = 0
        self._timer.timeout.connect(self._on_time)
        self._timer.start(every_ms)
        app = QGuiApplication.instance()
        if isinstance(app, QGuiApplication):
            app.applicationStateChanged.connect(self.on_state)

    def _on_time(self) -> None:
        self._turn += 1
        self.settle(drafts=self._turn % _DRAFTS_EVERY == 0)

    def settle(self, *, drafts: bool = True) -> None:
        """Settle now; if that can't be, the next time will do, and the next entry says why.

        Nobody is made to wait for the disk at every word: drafts alone wait half a minute.
        """
        with suppress(LibraryProblem):
            self._library.settle(drafts=drafts)

    def on_state(self, state: Qt.ApplicationState) -> None:
        """Settle before the person goes to another program, maybe to copy the file."""
        if state != Qt.ApplicationState.ApplicationActive and self._timer.isActive():
            self.settle()

    def stop(self) -> None:
        """Do nothing more."""
        self._timer.stop()
