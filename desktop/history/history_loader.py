"""Computes a deck's fittings one by one, long ones in a thread: the window stays responsive."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QObject, QTimer, Signal

from core.language import Numbers
from core.maintenance.gathering import visits_elsewhere
from core.maintenance.model import Visit
from core.store import FittingRow, Library, LibraryProblem
from core.swap import Past, past_of
from desktop.tasks.background_task import BackgroundTask, GoOn

_LONG: Final = 200
"""A fitting with more entries is computed beside the window."""


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
        self._task: BackgroundTask | None = None
        self._beside: FittingRow | None = None
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
        self.stop()
        while self._waiting or self._timer.isActive():
            self._go_on(beside=False)

    def stop(self) -> None:
        """Stop; wait for the fitting that is being computed in a thread."""
        if self._task is not None:
            self._beside = None
            self._task.stop()
            self._let_go()

    def _next(self) -> None:
        self._go_on(beside=True)

    def _go_on(self, *, beside: bool) -> None:
        if beside and self._waiting and self._waiting[0].entry_count > _LONG:
            self._begin_beside(self._waiting[0])
            return
        if self._waiting:
            row = self._waiting.pop(0)
            try:
                self._known[row.id] = row.entry_count, past_of(self._library, row.id)
            except LibraryProblem as problem:
                self.troubled.emit(problem)
        self._tell()

    def _begin_beside(self, row: FittingRow) -> None:
        """Compute a long fitting in a thread, which opens the library for itself."""
        self._timer.stop()
        if self._task is not None:
            return
        address = self._library.address

        def compute(_go_on: GoOn) -> Past:
            with Library.open(address, read_only=True) as library:
                return past_of(library, row.id)

        self._task = BackgroundTask(compute, self)
        self._beside = row
        self._task.done.connect(self._on_computed)
        self._task.failed.connect(self._on_computed)
        self._task.start()

    def _on_computed(self, found: Past | LibraryProblem) -> None:
        row, self._beside = self._beside, None
        if row is None:  # stopped meanwhile
            return
        self._let_go()
        # Another window may have added to it meanwhile: then it is queued again.
        if row in self._waiting:
            self._waiting.remove(row)
            if isinstance(found, Past):
                self._known[row.id] = row.entry_count, found
            else:
                self.troubled.emit(found)
        self._timer.start()
        self._tell()

    def _let_go(self) -> None:
        if self._task is not None:
            self._task.deleteLater()
            self._task = None

    def _tell(self) -> None:
        if not self._waiting:
            self._timer.stop()
        self.went_on.emit(len(self._known), len(self.rows))
