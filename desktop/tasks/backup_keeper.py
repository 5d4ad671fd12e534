"""Automatic backups: one on every day that changed the library."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import Final

from PySide6.QtCore import QObject, QTimer, Signal

from core.language import Name, message, shown
from core.store import Backup, Backups, LibraryProblem, ProblemKind
from desktop.tasks.background_task import BackgroundTask, GoOn
from desktop.widgets.language import said, tr
from desktop.widgets.messages import Messages, tell_problem

_AFTER_OPENING_MS: Final = 2_000
_EVERY_MS: Final = 600_000
_TRIES_AGAIN_S: Final = 3_600.0


def _now() -> datetime:
    return datetime.now().astimezone()


class BackupKeeper(QObject):
    """Makes a backup when one is due: checked after opening and every ten minutes.

    It runs in a background thread with its own connection. A failure is reported once a day and
    tried again every hour.
    """

    made = Signal(object)  # the Backup that was made

    def __init__(
        self,
        backups: Backups,
        messages: Messages,
        *,
        now: Callable[[], datetime] = _now,
        make: Callable[[datetime, GoOn], Backup] | None = None,
        first_ms: int = _AFTER_OPENING_MS,
        every_ms: int = _EVERY_MS,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._backups = backups
        self._messages = messages
        self._now = now
        self._make = make or (lambda at, go_on: backups.make(at, go_on=go_on))
        self._every_ms = every_ms
        self._failed_at: datetime | None = None
        self._told_on: date | None = None
        self._task = BackgroundTask(self._back_up_if_due, self)
        self._task.done.connect(self._on_done)
        self._task.failed.connect(self._on_failed)
        self._timer = QTimer(self)
        self._timer.timeout.connect(self.look)
        self._timer.start(first_ms)

    def look(self) -> None:
        """Make a backup if one is due; returns at once."""
        self._timer.setInterval(self._every_ms)
        if self._failed_at is not None:
            if (self._now() - self._failed_at).total_seconds() < _TRIES_AGAIN_S:
                return
            self._failed_at = None
        self._task.start()

    @property
    def is_busy(self) -> bool:
        """Whether a backup is being made or checked for."""
        return self._task.is_running

    def stop(self) -> None:
        """Cancel what is under way; an unfinished backup leaves nothing behind."""
        self._timer.stop()
        self._task.stop()

    def _back_up_if_due(self, go_on: GoOn) -> Backup | None:
        now = self._now()
        return self._make(now, go_on) if self._backups.is_due(now) else None

    def _on_done(self, backup: Backup | None) -> None:
        if backup is not None:
            if backup.sound_left is None:
                self._told_on = None
            elif self._told_on != self._now().date():
                self._told_on = self._now().date()
                tell_sound_left(self._messages, backup.sound_left)
            self.made.emit(backup)

    def _on_failed(self, problem: LibraryProblem) -> None:
        self._failed_at = self._now()
        if self._told_on == self._failed_at.date():
            return
        self._told_on = self._failed_at.date()
        if problem.kind is ProblemKind.DAMAGED:
            tell_problem(self._messages, problem)
            return
        self._messages.tell(
            tr("tasks.backup_keeper.no_backup_today"),
            why_not(problem, self._backups.folder),
            said(_GOES_ON),
        )


_GOES_ON: Final = message("tasks.backup_keeper.work_goes_on_and_every")


def tell_sound_left(messages: Messages, problem: LibraryProblem) -> None:
    """Tell that a backup was made without the recordings that should go with it, and why."""
    title = tr("tasks.backup_keeper.without_sound")
    messages.tell(title, said(problem.what), said(problem.todo))


def why_not(problem: LibraryProblem, folder: Path) -> str:
    """Return in a sentence why a backup could not be made."""
    reason = {
        ProblemKind.FULL: tr("tasks.backup_keeper.the_disk_has_too_little"),
        ProblemKind.READ_ONLY: tr("tasks.backup_keeper.nothing_can_be_written_there"),
    }.get(problem.kind)
    if reason is None:
        return tr("tasks.backup_keeper.a_backup_could_not_be_2", sentence=shown(problem.what))
    return tr(
        "tasks.backup_keeper.a_backup_could_not_be", folder=Name(str(folder)), reason=Name(reason)
    )
