"""The backups of a library: their content, making one now, and restoring one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from core.language import Label, Name, Numbers, message, shown
from core.store import Backup, BackupContents, Backups, LibraryProblem
from desktop.tasks.background_task import BackgroundTask
from desktop.tasks.backup_keeper import tell_sound_left, why_not
from desktop.widgets import theme
from desktop.widgets.keys import ENTER_KEYS
from desktop.widgets.language import local_label, said, tr
from desktop.widgets.local_time import moment
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.page import Page
from desktop.widgets.panels import add_all, pick_rows_only, text_label
from desktop.widgets.plain_text import breakable, plain_label

_COLUMNS: Final = (
    message("library.backups_page.made"),
    message("library.backups_page.size"),
    message("library.backups_page.decks"),
    message("library.backups_page.cartridges"),
    message("library.backups_page.fittings"),
    message("library.backups_page.entries"),
)
_LEFT: Final = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_RIGHT: Final = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


class BackupsPage(Page):
    """All backups of one library, the newest first."""

    escape_leaves = True
    # The Backup that took the library's place, and the path of what was there before (None if
    # nothing was)
    restored = Signal(object, object)

    def __init__(
        self,
        name: str,
        backups: Backups,
        numbers: Numbers,
        messages: Messages,
        *,
        may_make: bool = True,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._name, self._store = name, backups
        self._numbers = numbers
        self._messages = messages
        self._may_make = may_make
        self._backups: tuple[Backup, ...] = ()
        self._contents: dict[Path, BackupContents | LibraryProblem] = {}
        self._task: BackgroundTask | None = None
        self._end: Callable[[], None] = lambda: None
        self._reading = QTimer(self)
        self._reading.timeout.connect(self._read_one)
        self.setAccessibleName(tr("library.backups_page.backups"))
        self._build()
        self.refresh()

    def refresh(self) -> None:
        """List the backups again; their content is read after the page is shown."""
        self._backups = self._store.all()
        self._say_where()
        self.table.setRowCount(len(self._backups))
        for row in range(len(self._backups)):
            self._show_row(row)
        if self._backups and self.table.currentRow() < 0:
            self.table.setCurrentCell(0, 0)
        self.none.setVisible(not self._backups)
        self.table.setVisible(bool(self._backups))
        self._reading.start(0)
        self._say_what_can_be_done()

    def begin(self) -> None:
        """Put the focus on the newest backup, or on the way to make one."""
        target = self.table if self._backups else self.make
        (target if target.isEnabled() else self.back).setFocus()

    def may_leave(self) -> bool:
        """End what is under way: a backup is cancelled, a restoration waited for."""
        if self._task is not None:
            self._end()
            self._task = None
        return True

    def leave(self) -> None:
        """Go back, unless something is under way."""
        if self._task is None:
            self.closed.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Ask with Enter on a backup whether to restore it."""
        if event.key() in ENTER_KEYS and self.table.hasFocus():
            self._ask_to_restore()
        else:
            super().keyPressEvent(event)

    # construction

    def _build(self) -> None:
        title = QLabel(tr("library.backups_page.backups"))
        title.setFont(theme.scaled(self.font(), 1.6, bold=True))
        lead = text_label(
            tr(
                "library.backups_page.a_backup_is_made_by",
                newest_kept=self._store.newest_kept,
            ),
            "muted",
        )
        self.where = text_label("", "muted")
        self.where.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.another = QPushButton(tr("library.backups_page.another_folder"))
        self.another.setAccessibleDescription(tr("library.backups_page.another_folder_hint"))
        self.another.clicked.connect(self._ask_for_folder)
        self.beside = QPushButton(tr("library.backups_page.beside_the_library"))
        self.beside.clicked.connect(lambda: self._put_in(None))
        place = add_all(QHBoxLayout(), (self.where, 1), self.beside, self.another)
        self.sound = QCheckBox(tr("library.backups_page.take_sound"))
        self.sound.setAccessibleDescription(tr("library.backups_page.take_sound_hint"))
        self.sound.setChecked(self._store.takes_sound)
        self.sound.clicked.connect(self._take_sound)
        self.sounds = text_label("", "muted")
        self.crowded = text_label("", "question")
        self.none = QLabel(tr("library.backups_page.there_is_no_backup_of"))
        self.table = QTableWidget(0, len(_COLUMNS))
        self.table.setAccessibleName(tr("library.backups_page.backups_the_newest_first"))
        pick_rows_only(self.table)
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setMinimumSectionSize(round(theme.em(self) * 5))
        header.setSectionsClickable(False)
        for column, words in enumerate(_COLUMNS):
            item = QTableWidgetItem(said(words))
            item.setTextAlignment(_RIGHT if column else _LEFT)
            self.table.setHorizontalHeaderItem(column, item)
        self.table.itemSelectionChanged.connect(self._say_what_can_be_done)
        self.table.itemDoubleClicked.connect(lambda _item: self._ask_to_restore())
        self.status = plain_label(wraps=True)
        self.status.setAccessibleName(tr("library.backups_page.what_is_being_done"))
        self.back = QPushButton(tr("library.backups_page.back_to_the_library"))
        self.back.clicked.connect(self.closed)
        self.make = QPushButton(tr("library.backups_page.back_up_now"), autoDefault=True)
        self.make.clicked.connect(self._make)
        self.restore = QPushButton(tr("library.backups_page.restore_the_one_picked"))
        self.restore.setAutoDefault(True)
        self.restore.setAccessibleDescription(tr("library.backups_page.asks_first_what_is_there"))
        self.restore.clicked.connect(self._ask_to_restore)
        buttons = add_all(QHBoxLayout(), self.back, (self.status, 1), self.make, self.restore)
        layout = QVBoxLayout(self)
        add_all(layout, title, lead, place, self.sound, self.sounds, self.crowded, self.none)
        add_all(layout, (self.table, 1), 0, buttons)

    # their place

    def _say_where(self) -> None:
        folder = Name(str(self._store.folder))
        self.where.setText(breakable(tr("library.backups_page.they_lie_in_folder", folder=folder)))
        self.beside.setVisible(self._store.elsewhere is not None)
        self._say_sounds()
        self.crowded.setText(breakable(said(self._store.warning())))
        self.crowded.setVisible(bool(self.crowded.text()))

    def _say_sounds(self) -> None:
        """Say how many recordings there are and how much room they take; nothing if there are none.

        The choice is shown only where there is something to choose.
        """
        told = self._store.sounds()
        words = tr(
            "library.backups_page.sounds",
            beside=told.beside,
            beside_size=Name(self._size(told.beside_bytes)),
            copied=told.in_backups,
            copied_size=Name(self._size(told.in_backups_bytes)),
        )
        there = bool(told.beside or told.in_backups or self._store.takes_sound)
        self.sounds.setText(words if there else "")
        self.sounds.setVisible(there)
        self.sound.setVisible(there)

    def _take_sound(self) -> None:
        try:
            self._store.take_sound(wanted=self.sound.isChecked())
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
        self.sound.setChecked(self._store.takes_sound)
        self._say_sounds()

    def _ask_for_folder(self) -> None:
        chosen = self._messages.folder(
            tr("library.backups_page.where_to_put_them"), self._store.folder.parent
        )
        if chosen is not None:
            self._put_in(chosen)

    def _put_in(self, folder: Path | None) -> None:
        try:
            self._store.put_in(folder)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        self.refresh()
        self.status.setText(tr("library.backups_page.next_one_there"))

    # display

    def _read_one(self) -> None:
        """Read one backup's content; the event loop runs between two of them."""
        for row, backup in enumerate(self._backups):
            if backup.path not in self._contents:
                try:
                    self._contents[backup.path] = self._store.contents_of(backup.path)
                except LibraryProblem as problem:
                    self._contents[backup.path] = problem
                self._show_row(row)
                self._say_what_can_be_done()
                return
        self._reading.stop()

    def _show_row(self, row: int) -> None:
        backup = self._backups[row]
        contents = self._contents.get(backup.path)
        said = [moment(backup.at), "…", "", "", "", ""]
        if isinstance(contents, BackupContents):
            said[1:] = [self._size(contents.size)] + [
                self._numbers.plain(count, 0)
                for count in (
                    contents.decks,
                    contents.cartridges,
                    contents.fittings,
                    contents.entries,
                )
            ]
        elif contents is not None:
            said[1] = local_label(contents.kind.label)
        across = len(_COLUMNS) - 1 if isinstance(contents, LibraryProblem) else 1
        if self.table.columnSpan(row, 1) != across:
            self.table.setSpan(row, 1, 1, across)
        for column, text in enumerate(said):
            item = QTableWidgetItem(text)
            if column and isinstance(contents, BackupContents):
                item.setTextAlignment(_RIGHT)
            self.table.setItem(row, column, item)

    def _size(self, size_bytes: int) -> str:
        return tr(
            "library.backups_page.size_bytes_mb",
            size_bytes=Name(self._numbers.plain(size_bytes / 1e6, 1)),
        )

    def _say_what_can_be_done(self) -> None:
        busy = self._task is not None
        backup = self._picked()
        contents = self._contents.get(backup.path) if backup else None
        self.restore.setEnabled(
            backup is not None and not busy and isinstance(contents, BackupContents)
        )
        self.make.setEnabled(self._may_make and not busy)
        self.back.setEnabled(not busy)
        self.another.setEnabled(self._may_make and not busy)
        self.beside.setEnabled(self._may_make and not busy)
        self.sound.setEnabled(self._may_make and not busy)
        self.table.setEnabled(not busy)
        if not busy:
            self.status.setText(_why_not_this(contents))

    def _picked(self) -> Backup | None:
        row = self.table.currentRow()
        return self._backups[row] if 0 <= row < len(self._backups) else None

    # actions

    def _make(self) -> None:
        task = BackgroundTask(lambda go_on: self._store.make(go_on=go_on), self)
        task.done.connect(self._on_made)
        self._send(tr("library.backups_page.making_a_backup"), task, self._on_not_made, task.stop)

    def _on_made(self, backup: Backup) -> None:
        self._be_done()
        if backup.sound_left is not None:
            tell_sound_left(self._messages, backup.sound_left)
        self.table.setCurrentCell(0, 0)
        self.status.setText(tr("library.backups_page.a_backup_was_made_just"))
        self.table.setFocus()

    def _on_not_made(self, problem: LibraryProblem) -> None:
        self._be_done()
        self._messages.tell(
            tr("library.backups_page.no_backup_made"),
            why_not(problem, self._store.folder),
            tr("library.backups_page.the_library_itself_is_as"),
        )

    def _ask_to_restore(self) -> None:
        backup = self._picked()
        if backup is None or not self.restore.isEnabled():
            return
        contents = self._contents[backup.path]
        answer = self._messages.ask(
            tr("library.backups_page.restore_a_backup"),
            tr(
                "library.backups_page.the_library_name_would_be",
                name=Name(self._name),
                moment=Name(moment(backup.at)),
                counted=Name(_counted(contents)),
            ),
            [tr("library.backups_page.leave_it_as_it_is"), tr("library.backups_page.restore_it")],
            stays=0,
        )
        if answer != 1:
            return
        task = BackgroundTask(lambda _go_on: (backup, self._store.restore(backup.path)), self)
        task.done.connect(self._on_restored)
        self._send(tr("library.backups_page.restoring"), task, self._on_not_restored, task.finish)

    def _on_restored(self, result: tuple[Backup, Path | None]) -> None:
        self._be_done()
        self.restored.emit(*result)

    def _on_not_restored(self, problem: LibraryProblem) -> None:
        self._be_done()
        self._messages.tell(
            tr("library.backups_page.not_restored"),
            tr("library.backups_page.the_library_is_as_it_2", sentence=shown(problem.what)),
            tr("library.backups_page.pick_another_backup_or_try"),
        )

    def _send(
        self,
        words: str,
        task: BackgroundTask,
        on_failed: Callable[[LibraryProblem], None],
        end: Callable[[], None],
    ) -> None:
        task.failed.connect(on_failed)
        self._task, self._end = task, end
        self._say_what_can_be_done()
        self.status.setText(words)
        task.start()

    def _be_done(self) -> None:
        self._task = None
        self._contents.clear()
        self.refresh()


def _why_not_this(contents: BackupContents | LibraryProblem | None) -> str:
    if not isinstance(contents, LibraryProblem):
        return ""
    return tr("library.backups_page.this_one_cant_be_restored", why=Label(contents.kind.label))


def _counted(contents: BackupContents | LibraryProblem) -> str:
    if not isinstance(contents, BackupContents):
        return tr("library.backups_page.what_could_be_read")
    return tr(
        "library.backups_page.counted",
        decks=message("library.backups_page.n_decks", n=contents.decks),
        cartridges=message("library.backups_page.n_cartridges", n=contents.cartridges),
        fittings=message("library.backups_page.n_fittings", n=contents.fittings),
        entries=message("library.backups_page.n_entries", n=contents.entries),
    )


def told_restored(backup: Backup, kept: Path | None) -> str:
    """Return the sentence that says what was restored and where the earlier state is."""
    said = tr("library.backups_page.the_library_is_as_it", moment=Name(moment(backup.at)))
    return (
        said
        if kept is None
        else tr(
            "library.backups_page.said_what_was_there_before", said=Name(said), kept=Name(str(kept))
        )
    )
