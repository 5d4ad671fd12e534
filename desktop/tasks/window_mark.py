"""A mark by which other windows tell whether the one that typed a draft is still there."""

from __future__ import annotations

import re
from typing import Final
from uuid import uuid4

from PySide6.QtCore import QDir, QLockFile, QSysInfo

_MARK: Final = re.compile(r"[0-9a-f]{32}")


class WindowMark:
    """A name of its own, and a lock file in the folder for temporary files while it is in use.

    Qt takes a lock for stale once the program that made it has ended, however it ended.
    """

    def __init__(self) -> None:
        self._number = uuid4().hex
        self.name = f"{self._number} {QSysInfo.machineHostName()}"
        self._lock = _lock_of(self._number)

    def put_up(self) -> None:
        """Show that this window is there; again changes nothing."""
        if not self._lock.isLocked():
            self._lock.tryLock(0)

    def take_down(self) -> None:
        """Show that this window has gone."""
        self._lock.unlock()


def may_be_there(name: str) -> bool:
    """Whether the window of this name is there, or nobody can tell, as of another computer's."""
    number, _, host = name.partition(" ")
    if host != QSysInfo.machineHostName() or not _MARK.fullmatch(number):
        return True
    lock = _lock_of(number)
    if not lock.tryLock(0):
        return lock.error() == QLockFile.LockError.LockFailedError
    lock.unlock()
    return False


def _lock_of(number: str) -> QLockFile:
    lock = QLockFile(f"{QDir.tempPath()}/setdown-{number}.lock")
    lock.setStaleLockTime(0)  # it may be up for days
    return lock
