"""Recovery of a library that does not open: repair, backups, another file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final, Protocol

from PySide6.QtWidgets import QWidget

from core.language import Name, Numbers, message
from core.store import (
    Backup,
    LibraryAddress,
    LibraryProblem,
    ProblemKind,
    WorkStoppedError,
    address_of,
)
from desktop.shell.library_opening import LibraryOpening
from desktop.widgets.language import local_label, said, told, tr
from desktop.widgets.library_problem_page import LibraryProblemPage, Recovery
from desktop.widgets.messages import Messages
from desktop.widgets.page import Page

_NAME: Final = "Setdown"

_ANY: Final = frozenset(ProblemKind)
_RECOVERIES: Final = {
    Recovery(
        "again",
        message("shell.library_recovery.try_again"),
        message("shell.library_recovery.when_the_cause_is_out"),
    ): frozenset(
        {
            ProblemKind.MISSING_FOLDER,
            ProblemKind.LOCKED,
            ProblemKind.FULL,
            ProblemKind.VANISHED,
            ProblemKind.DISK_FAULT,
            ProblemKind.READ_ONLY,
        }
    ),
    Recovery(
        "restore",
        message("shell.library_recovery.restore_a_backup"),
        message("shell.library_recovery.what_is_there_now_is"),
    ): frozenset({ProblemKind.DAMAGED, ProblemKind.NOT_A_LIBRARY, ProblemKind.VANISHED}),
    Recovery(
        "rescue",
        message("shell.library_recovery.rescue"),
        message("shell.library_recovery.rescue_hint"),
    ): frozenset({ProblemKind.DAMAGED}),
    Recovery(
        "look",
        message("shell.library_recovery.open_to_look_only"),
        message("shell.library_recovery.everything_can_be_read_nothing"),
    ): frozenset({ProblemKind.READ_ONLY, ProblemKind.DAMAGED, ProblemKind.LOCKED}),
    Recovery(
        "other",
        message("shell.library_recovery.choose_another_library"),
        message("shell.library_recovery.a_library_file_that_exists"),
    ): _ANY,
    Recovery(
        "new",
        message("shell.library_recovery.begin_a_new_library"),
        message("shell.library_recovery.under_a_name_that_is"),
    ): _ANY,
    Recovery(
        "back",
        message("shell.library_recovery.back_to_the_open_library"),
        message("shell.library_recovery.it_is_still_as_it"),
    ): _ANY,
}
"""What can be done, the likeliest first, and for which problems."""


class Window(Protocol):
    """What the recovery needs of the window."""

    def open(self, opening: LibraryOpening) -> None:
        """Open a library, or show what is wrong with it."""

    def window(self) -> QWidget:
        """Return what dialogs stand over."""

    def show_library(self) -> None:
        """Go back to the library that is open."""

    def show_page(self, page: Page, title: str) -> None:
        """Show a page under a title."""


class LibraryRecovery:
    """Shows the pages that lead back to a library; the window outlives it."""

    def __init__(self, window: Window, numbers: Callable[[], Numbers], messages: Messages) -> None:
        self._window = window
        self._numbers = numbers
        self._messages = messages

    def show_problem(
        self, problem: LibraryProblem, address: LibraryAddress, *, has_library: bool
    ) -> None:
        """Show why the library at ``address`` does not open, and what can be done."""
        page = LibraryProblemPage(problem, _options(problem, address, has_library=has_library))
        page.chosen.connect(lambda key: self._take(key, address))
        self._window.show_page(page, f"{local_label(problem.kind.label)} – {_NAME}")

    def ask_about_damage(self, problem: LibraryProblem, address: LibraryAddress) -> None:
        """Say that the library in use is damaged, and offer the ways on; work may go on."""
        choices = {
            "": tr("shell.library_recovery.go_on"),
            "rescue": tr("shell.library_recovery.rescue"),
            "restore": tr("shell.library_recovery.restore_a_backup"),
        }
        if not (address.backups and address.backups.all()):
            del choices["restore"]
        answer = self._messages.ask(
            local_label(problem.kind.label), told(problem), list(choices.values())
        )
        key = list(choices)[answer] if answer is not None else ""
        if key == "restore":
            self.show_backups(address, is_open=True)
        elif key:
            self.rescue(address)

    def rescue(self, address: LibraryAddress) -> None:
        """Copy what can be read into a new library, open that, and say what is missing."""
        from core.history import StrayEntriesFile  # rarely wanted, as is what follows
        from core.store.rescue import rescue
        from desktop.tasks.blocking_task import run_blocking

        path = self._free_path(
            tr("shell.library_recovery.rescue_into"), address.folder / "rescued.library"
        )
        if path is None:
            return
        target = address_of(path)
        keep_strays = StrayEntriesFile(path, self._numbers())
        try:
            found = run_blocking(
                self._window.window(),
                tr("shell.library_recovery.rescuing"),
                lambda go_on, _told: rescue(address, target, keep_strays=keep_strays, go_on=go_on),
            )
        except WorkStoppedError:
            self._messages.tell(
                tr("shell.library_recovery.not_rescued"),
                tr("shell.library_recovery.rescue_stopped", path=Name(str(path))),
            )
            return
        except LibraryProblem as problem:
            self._messages.tell(
                tr("shell.library_recovery.not_rescued"),
                told(problem),
                tr("shell.library_recovery.rescue_failed"),
            )
            return
        self._window.open(LibraryOpening(target))
        lost = [said(line) for line in found.lines()]
        self._messages.tell(
            tr("shell.library_recovery.rescued"),
            tr(
                "shell.library_recovery.rescued_counts",
                decks=found.decks,
                cartridges=found.cartridges,
                fittings=found.fittings,
                entries=found.entries,
                path=Name(str(path)),
            ),
            "\n".join(lost) or tr("shell.library_recovery.nothing_missing"),
        )

    def show_backups(self, address: LibraryAddress, *, is_open: bool) -> None:
        """Show the backups of the library at ``address``, if they are files."""
        backups = address.backups
        if backups is None:
            return
        # Imported here: nobody needs it to work.
        from desktop.library.backups_page import BackupsPage, told_restored

        page = BackupsPage(str(address), backups, self._numbers(), self._messages, may_make=is_open)

        def open_restored(backup: Backup, kept: Path | None) -> None:
            self._window.open(LibraryOpening(address))
            said_so = told_restored(backup, kept)
            self._messages.tell(tr("shell.library_recovery.restored"), said_so, went_well=True)

        page.closed.connect(
            self._window.show_library
            if is_open
            else lambda: self._window.open(LibraryOpening(address))
        )
        page.restored.connect(open_restored)
        self._window.show_page(page, tr("shell.library_recovery.backups_what", what=Name(_NAME)))

    def ask_for_another(self, address: LibraryAddress) -> None:
        """Ask for another library in place of the one at ``address``, and open it."""
        answer = self._messages.ask(
            tr("shell.library_recovery.another_library"),
            tr("shell.library_recovery.the_library_in_use_is", address=Name(str(address))),
            [
                tr("shell.library_recovery.open_one_that_exists"),
                tr("shell.library_recovery.begin_a_new_one"),
            ],
        )
        if answer is not None:
            self._take("other" if answer == 0 else "new", address)

    def _take(self, key: str, address: LibraryAddress) -> None:
        match key:
            case "back":
                self._window.show_library()
            case "restore":
                self.show_backups(address, is_open=False)
            case "again":
                self._window.open(LibraryOpening(address))
            case "rescue":
                self.rescue(address)
            case "look":
                self._window.open(LibraryOpening(address, read_only=True))
            case "other":
                self._open_existing(address.folder)
            case _:
                self._begin_new(address.folder)

    def _open_existing(self, folder: Path) -> None:
        chosen = self._messages.file_to_open(
            tr("shell.library_recovery.open_a_library"),
            folder,
            _kinds(),
        )
        if chosen is not None:
            self._window.open(LibraryOpening(address_of(chosen)))

    def _begin_new(self, folder: Path) -> None:
        path = self._free_path(
            tr("shell.library_recovery.begin_a_new_library_2"), folder / "new.library"
        )
        if path is not None:
            self._window.open(LibraryOpening(address_of(path), begin_anew=True))

    def _free_path(self, title: str, start: Path) -> Path | None:
        """Ask where to put a new library; None if nowhere, or there is a file already."""
        chosen = self._messages.file_to_save(title, start, _kinds())
        if chosen is None:
            return None
        path = chosen if chosen.suffix else chosen.with_suffix(".library")
        if not path.exists():
            return path
        self._messages.tell(
            tr("shell.library_recovery.that_name_is_taken"),
            tr("shell.library_recovery.there_is_a_file_path", path=Name(str(path))),
            tr("shell.library_recovery.choose_a_name_that_is"),
        )
        return None


def _options(
    problem: LibraryProblem, address: LibraryAddress, *, has_library: bool
) -> tuple[Recovery, ...]:
    """Return what can be done about a problem, the likeliest first."""
    suitable = (one for one, kinds in _RECOVERIES.items() if problem.kind in kinds)
    possible = {
        "restore": lambda: bool(address.backups and address.backups.all()),
        "back": lambda: has_library,
    }
    return tuple(one for one in suitable if possible.get(one.key, lambda: True)())


def _kinds() -> str:
    return tr("shell.library_recovery.libraries_and_all_files")
