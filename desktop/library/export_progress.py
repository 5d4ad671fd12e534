"""A large export on its way: how far it is, and a button that stops it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final, TypeAlias

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QFrame, QHBoxLayout, QProgressBar, QPushButton, QWidget

from core.language import Name
from core.store import Library, LibraryAddress, LibraryProblem
from desktop.tasks.background_task import BackgroundTask, GoOn, Told
from desktop.widgets.language import tr
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.panels import add_all
from desktop.widgets.plain_text import plain_label

Writing: TypeAlias = Callable[[Library, GoOn, Told], object]
"""Writes what is exported; asked before each record whether to go on, it tells how many it has."""

_SHOWN_EVERY_MS: Final = 200


class ExportProgress(QFrame):
    """Writes one document or set of tables at a time, in a background thread.

    It has its own connection to the library, and is visible only meanwhile. The chosen file is
    replaced when the last record is written.
    """

    def __init__(
        self, address: LibraryAddress, messages: Messages, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._address = address
        self._messages = messages
        self._task: BackgroundTask | None = None
        self._path = Path()
        self._written = 0
        self.setProperty("panel", "true")
        self.setAccessibleName(tr("library.export_progress.export_under_way"))
        self._words = plain_label()
        self.progress = QProgressBar()
        self.progress.setFormat(tr("library.export_progress.v_of_m_records"))
        self.stop_button = QPushButton(
            tr("library.export_progress.stop_the_export"), autoDefault=True
        )
        self.stop_button.clicked.connect(self.stop)
        add_all(QHBoxLayout(self), self._words, (self.progress, 1), self.stop_button)
        self._tick = QTimer(self)
        self._tick.timeout.connect(self._show_how_far)
        self.hide()

    @property
    def is_busy(self) -> bool:
        """Whether an export is under way."""
        return self._task is not None

    def begin(self, path: Path, count: int, write: Writing) -> None:
        """Write so many records; refused in a sentence while others are being written."""
        if self.is_busy:
            self._messages.tell(
                tr("library.export_progress.not_exported"),
                tr("library.export_progress.the_export_to_path_is", path=Name(self._path.name)),
                tr("library.export_progress.wait_for_its_end_or"),
            )
            return
        self._path, self._written = path, 0
        self._words.setText(tr("library.export_progress.exporting_to_path", path=Name(path.name)))
        self.progress.setAccessibleName(self._words.text())
        self.progress.setRange(0, count)
        self.progress.setValue(0)
        self._task = BackgroundTask(lambda go_on: self._write(write, go_on), self)
        self._task.done.connect(self._on_done)
        self._task.failed.connect(self._on_failed)
        self._task.start()
        self._tick.start(_SHOWN_EVERY_MS)
        self.show()

    def stop(self) -> None:
        """Cancel the export, and say so; without one this does nothing."""
        if self._task is None:
            return
        self._task.stop()
        self._go()
        self._messages.tell(
            tr("library.export_progress.export_stopped"),
            tr("library.export_progress.nothing_was_written_to_path", path=Name(str(self._path))),
        )

    def may_leave(self) -> bool:
        """Ask before an export is lost that is under way; whether the window may close."""
        if self._task is None:
            return True
        answer = self._messages.ask(
            tr("library.export_progress.an_export_is_under_way"),
            tr("library.export_progress.path_is_not_written_yet", path=Name(self._path.name)),
            [
                tr("library.export_progress.stop_the_export_and_leave"),
                tr("library.export_progress.wait"),
            ],
            stays=1,
            enter=1,
        )
        if answer != 0:
            return False
        self.stop()
        return True

    def _write(self, write: Writing, go_on: GoOn) -> None:
        with Library.open(self._address, read_only=True) as library:
            write(library, go_on, self._note)

    def _note(self, written: int) -> None:
        self._written = written  # from the other thread: the screen only reads it

    def _show_how_far(self) -> None:
        self.progress.setValue(min(self._written, self.progress.maximum()))

    def _on_done(self, _result: object) -> None:
        self._go()
        warning = _too_large_to_come_in(self._path)
        self._messages.tell(
            tr("library.export_progress.exported"),
            tr("library.export_progress.it_is_in_path", path=Name(str(self._path))),
            warning,
            went_well=not warning,
        )

    def _on_failed(self, problem: LibraryProblem) -> None:
        self._go()
        tell_problem(self._messages, problem)

    def _go(self) -> None:
        self._tick.stop()
        if self._task is not None:
            self._task.deleteLater()
            self._task = None
        held_focus = self.stop_button.hasFocus()
        self.hide()
        if held_focus:
            self.focusNextChild()


def _too_large_to_come_in(path: Path) -> str:
    """Return a sentence about a document that no program takes in; nothing for any other file."""
    from core.store.documents import LARGEST_BYTES  # imported here: an export is rare

    try:
        is_too_large = path.suffix.lower() == ".json" and path.stat().st_size > LARGEST_BYTES
    except OSError:
        return ""
    if not is_too_large:
        return ""
    return tr("library.export_progress.too_large_to_come_in", size=round(LARGEST_BYTES / 1e6))
