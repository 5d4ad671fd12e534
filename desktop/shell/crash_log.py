"""Uncaught exceptions: logged, reported in one sentence, and the program keeps running."""

from __future__ import annotations

import sys
import traceback
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Final

from core.language import Name
from core.store.files import make_private, make_private_folder
from desktop.widgets.language import tr

_LARGEST_BYTES: Final = 1_000_000


class CrashLog:
    """A text file of what went wrong, oldest first; past a megabyte begun again."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def note(self, text: str) -> bool:
        """Append a note with the time; return whether the file could be written."""
        stamp = datetime.now().astimezone().isoformat(timespec="seconds")
        try:
            make_private_folder(self.path.parent)
            if self.path.exists() and self.path.stat().st_size > _LARGEST_BYTES:
                self.path.replace(self.path.with_suffix(".old"))
            make_private(self.path)  # a fault may quote what was typed
            with self.path.open("a", encoding="utf-8", errors="backslashreplace") as file:
                file.write(f"{stamp}\n{text.rstrip()}\n\n")
        except OSError:
            return False
        return True


class CrashReporter:
    """Replaces ``sys.excepthook``: logs uncaught exceptions and tells the person."""

    def __init__(self, log: CrashLog, tell: Callable[[str, str, str], None]) -> None:
        self._log = log
        self._tell = tell
        self._telling = False

    def __call__(
        self,
        kind: type[BaseException],
        error: BaseException,
        trace: TracebackType | None,
    ) -> None:
        """Log and tell; a request to stop passes through."""
        if not issubclass(kind, Exception):
            sys.__excepthook__(kind, error, trace)
            return
        kept = self._log.note("".join(traceback.format_exception(kind, error, trace)))
        if self._telling:
            return  # telling failed itself: it is logged, and must not loop
        self._telling = True
        try:
            self._tell(
                tr("shell.crash_log.something_went_wrong"),
                tr("shell.crash_log.setdown_made_a_mistake", kind=Name(kind.__name__)),
                tr(
                    "shell.crash_log.you_can_go_on",
                    kept="yes" if kept else "no",
                    path=Name(str(self._log.path)),
                ),
            )
        finally:
            self._telling = False
