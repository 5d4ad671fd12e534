"""Computes a deck's fittings one by one, so that the window stays responsive."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QObject, QTimer, Signal

from core.language import Numbers
from core.maintenance.due import Visit
from core.maintenance.gathering import visits_elsewhere
from core.store import FittingRow, Library, LibraryProblem
from core.swap.past import Past, past_of


class HistoryLoader(QObject):
    """Computes fittings, newest first; each once, unless it has changed since."""

    # how many of how many are computed
    went_on = Signal(int, int)
    troubled = Signal(object)  # A fitting could not be read: the problem

    def __init__(
        self, library: Library, deck_id: str, numbers: Numbers, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._library, self._deck_id, self._numbers = library, deck_id, numbers
        self.rows: tuple[FittingRow, ...] = ()
        self._waiting: list[FittingRow] = []
        self._known: dict[str, tuple[int, Past]] = {}
        self.elsewhere: tuple[Visit, ...] = ()
        self._timer = QTimer(self, interval=0)
        self._timer.timeout.connect(self._next)

    @property
    def pasts(self) -> list[Past]:
        """What is computed so far, newest first."""
        return [self._known[row.id][1] for row in self.rows if row.id in self._known]

    @property
    def is_done(self) -> bool:
        """Whether everything is computed."""
        return not self._waiting

    def begin(self, rows: Sequence[FittingRow]) -> None:
        """Compute these, one per idle turn of the event loop.

        Raises LibraryProblem if what else the latest cartridge was fitted to can't be read.
        """
        self.rows = tuple(rows)
        self.elsewhere = ()
        if rows:
            latest = max(rows, key=lambda row: row.started_at)
            last = {row.arm_key: row for row in sorted(rows, key=lambda row: row.started_at)}
            cartridges = dict.fromkeys(
                (latest.cartridge_id, *(row.cartridge_id for row in last.values()))
            )
            self.elsewhere = tuple(
                visit
                for one in cartridges
                for visit in visits_elsewhere(self._library, self._deck_id, one)
            )
        self._waiting = [
            row
            for row in rows
            if row.id not in self._known or self._known[row.id][0] != row.entry_count
        ]
        for row in self._waiting:
            self._known.pop(row.id, None)
        self._timer.start()

    def finish(self) -> None:
        """Compute the rest at once."""
        while self._waiting or self._timer.isActive():
            self._next()

    def _next(self) -> None:
        if self._waiting:
            row = self._waiting.pop(0)
            try:
                past = past_of(self._library, row.id)
                self._known[row.id] = row.entry_count, past
            except LibraryProblem as problem:
                self.troubled.emit(problem)
        count = len(self._known)
        if not self._waiting:
            self._timer.stop()
        self.went_on.emit(count, len(self.rows))
