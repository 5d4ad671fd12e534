"""Sound that the program makes itself: one file at a time, in a folder that goes with its form."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Generator
from pathlib import Path

from core.records import RecordPlayed
from desktop.tasks.background_task import BackgroundTask

WriteRecording = Callable[[Path], Generator[float, None, None]]
"""Writes a sound file and yields the share written so far; raises OSError."""

MakeSound = Callable[[RecordPlayed | None], WriteRecording]
"""From the test record that plays to what writes its sound; raises ToldProblem."""


class MadeSound:
    """The last file that was made; it never outlives its form."""

    def __init__(self) -> None:
        self._folder: tempfile.TemporaryDirectory[str] | None = None
        self.task: BackgroundTask | None = None
        """What writes or reads the file now."""

    def fresh(self, name: str) -> Path:
        """Delete the file of before and return where the next one goes."""
        self._clear()
        # Private to its owner; on Windows a file that is still open stays until the next clearing.
        self._folder = tempfile.TemporaryDirectory(prefix="setdown-", ignore_cleanup_errors=True)
        return Path(self._folder.name) / name

    def let_go(self) -> None:
        """Stop the task that uses the file, and delete it."""
        if self.task is not None:
            self.task.stop()
            self.task = None
        self._clear()

    def _clear(self) -> None:
        if self._folder is not None:
            self._folder.cleanup()
            self._folder = None
