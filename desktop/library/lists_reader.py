"""Reads long lists again beside the window, which goes on meanwhile."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from PySide6.QtCore import QObject, Signal

from core.store import Library, WorkStoppedError
from core.store.listing import Listing
from desktop.tasks.background_task import BackgroundTask, GoOn
from desktop.widgets.record_table import RecordTable

Load = Callable[[Library], Listing[Any]]


class ListsReader(QObject):
    """Reads lists in a thread, each already arranged as its table is."""

    done = Signal(object)  # the listing of each table that was read
    failed = Signal(object)  # the LibraryProblem it ended with

    def __init__(
        self, library: Library, loads: Mapping[RecordTable, Load], parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._library, self._loads = library, loads
        self._task: BackgroundTask | None = None
        self._next: Sequence[RecordTable] | None = None

    def start(self, tables: Sequence[RecordTable]) -> None:
        """Read these lists; what is being read already is given up first, without a wait."""
        if self._task is not None:
            self._next = tables
            self._task.ask_to_stop()
            return
        address = self._library.address
        asked = [(one, self._loads[one], one.model.asked) for one in tables]

        def read(go_on: GoOn) -> dict[RecordTable, Listing[Any]]:
            found = {}
            with Library.open(address, read_only=True) as library:
                for table, load, wanted in asked:
                    if not go_on():
                        raise WorkStoppedError
                    found[table] = load(library)
                    found[table].find(**wanted)  # it keeps what it found
            return found

        self._task = BackgroundTask(read, self)
        self._task.done.connect(self._on_done)
        self._task.failed.connect(self._on_failed)
        self._task.given_up.connect(self._on_given_up)
        self._task.start()

    def give_up(self) -> None:
        """Read no more, without a wait; nothing is signalled."""
        self._next = None
        if self._task is not None:
            self._task.ask_to_stop()

    def stop(self) -> None:
        """Read no more; what is being read already is waited for."""
        self.give_up()
        if self._task is not None:
            self._task.stop()
            self._end()

    def _on_done(self, found: dict[RecordTable, Listing[Any]]) -> None:
        self._end()
        for listing in found.values():
            self._library.adopt(listing)
        self.done.emit(found)

    def _on_failed(self, problem: object) -> None:
        self._end()
        self.failed.emit(problem)

    def _on_given_up(self) -> None:
        self._end()
        tables, self._next = self._next, None
        if tables is not None:
            self.start(tables)

    def _end(self) -> None:
        if self._task is not None:
            self._task.deleteLater()
            self._task = None
