"""Background work while a library is open: backups, a check, and watching other windows."""

from __future__ import annotations

from functools import partial
from typing import Final

from PySide6.QtCore import QObject, Signal

from core.store import Library
from desktop.tasks.backup_keeper import BackupKeeper
from desktop.tasks.change_watch import ChangeWatch
from desktop.tasks.settler import Settler
from desktop.tasks.soundness_check import SoundnessCheck
from desktop.widgets.messages import Messages, tell_problem

LONGEST_WAIT_S: Final = 0.5
"""How long the window may stand still for another program's lock; then it says so."""


class Housekeeping(QObject):
    """Begins with a library and ends before it is closed; a read-only library is not backed up."""

    others_wrote = Signal()  # another window has written to the library
    damaged = Signal(object)  # the LibraryProblem that a check of the whole library found

    def __init__(
        self, library: Library, messages: Messages, *, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self.watch = ChangeWatch(library, parent=self)
        self.watch.others_wrote.connect(self.others_wrote)
        self.watch.lost.connect(partial(tell_problem, messages))
        self.settler = None if library.read_only else Settler(library, parent=self)
        self.check = SoundnessCheck(library.address, parent=self)
        self.check.damaged.connect(self.damaged)
        self.keeper: BackupKeeper | None = None
        backups = library.address.backups
        if backups is not None and not library.read_only:
            self.keeper = BackupKeeper(backups, messages, parent=self)

    def look(self) -> None:
        """Ask now whether another window has written."""
        self.watch.look()

    def end(self) -> None:
        """Stop everything; a backup that is not finished leaves nothing behind."""
        self.watch.stop()
        self.check.stop()
        if self.settler is not None:
            self.settler.stop()
        if self.keeper is not None:
            self.keeper.stop()
        self.deleteLater()
