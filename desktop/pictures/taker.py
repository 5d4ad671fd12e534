"""Taking pictures in, one after the other, beside the window."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from PySide6.QtCore import QObject, QTimer, Signal

from core.store import LibraryProblem, WorkStoppedError
from core.store.jpeg import Content
from core.store.pictures import MOST_OF_ONE
from desktop.pictures.reading import LARGEST_BYTES, read_bytes, read_file
from desktop.tasks.background_task import BackgroundTask, GoOn

_SHOWN_EVERY_MS: Final = 100

Given = Path | tuple[str, bytes]
"""A file, or bytes with a name for them."""


@dataclass(slots=True)
class Read:
    """What became of what was given: pictures, and why others are none."""

    contents: list[Content] = field(default_factory=list)
    problems: list[LibraryProblem] = field(default_factory=list)


class PictureTaker(QObject):
    """Reads what is given in a thread; what comes meanwhile waits for its turn."""

    begun = Signal(int)  # so many bytes will be read
    progressed = Signal(int)  # so many of them are
    done = Signal(object)  # Read
    stopped = Signal()  # nothing of what was given comes

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._task: BackgroundTask | None = None
        self._waiting: list[Given] = []
        self._bytes = 0
        self._tick = QTimer(self, interval=_SHOWN_EVERY_MS)
        self._tick.timeout.connect(lambda: self.progressed.emit(self._bytes))

    @property
    def is_at_work(self) -> bool:
        """Whether something is being read."""
        return self._task is not None

    def take(self, given: Sequence[Given]) -> None:
        """Read these, no more than one thing may have."""
        self._waiting += given[: MOST_OF_ONE + 1]
        if self._task is None and self._waiting:
            self._begin()

    def ask_to_stop(self) -> None:
        """Give up what is being read and what waits; ``stopped`` says when."""
        self._waiting.clear()
        if self._task is not None:
            self._task.ask_to_stop()

    def end(self) -> None:
        """Give everything up without waiting: the page is left."""
        self._waiting.clear()
        self._tick.stop()
        if self._task is not None:
            self._task.blockSignals(True)  # noqa: FBT003 - Qt takes it so
            self._task.stop()
            self._task = None

    def _begin(self) -> None:
        given, self._waiting = self._waiting, []
        self._bytes = 0

        def work(go_on: GoOn) -> Read:
            read, before = Read(), 0

            def told(count: int) -> None:
                self._bytes = before + count

            for one in given:
                if not go_on():
                    raise WorkStoppedError
                try:
                    if isinstance(one, Path):
                        content = read_file(one, go_on, told)
                    else:
                        content = read_bytes(one[1], one[0], go_on, told)
                except LibraryProblem as problem:
                    read.problems.append(problem)
                else:
                    read.contents.append(content)
                before += _size_of(one)
            return read

        self._task = BackgroundTask(work, self)
        self._task.done.connect(self._on_done)
        self._task.given_up.connect(self._on_stopped)
        self.begun.emit(sum(map(_size_of, given)))
        self._tick.start()
        self._task.start()

    def _on_done(self, read: Read) -> None:
        self._rest()
        self.done.emit(read)
        if self._waiting and self._task is None:
            self._begin()

    def _on_stopped(self) -> None:
        self._rest()
        self.stopped.emit()

    def _rest(self) -> None:
        self._tick.stop()
        if self._task is not None:
            self._task.deleteLater()
            self._task = None


def _size_of(given: Given) -> int:
    """Return how many bytes are read of it; none of a file that is too large."""
    if not isinstance(given, Path):
        return len(given[1])
    try:
        size = given.stat().st_size
    except OSError:
        return 0  # reading it says why
    return size if size <= LARGEST_BYTES else 0
