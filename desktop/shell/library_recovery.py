"""Recovery of a library that does not open: repair, backups, another file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final, Protocol

from core.language import Numbers
from core.store import Library, LibraryProblem
from desktop.shell.recovery_choices import LibraryOpening, RecoveryChoices
from desktop.widgets.messages import Messages
from desktop.widgets.page import Page
from desktop.widgets.trouble_page import TroublePage

if TYPE_CHECKING:
    from core.store.backups import Backup

_NAME: Final = "Setdown"


class Window(Protocol):
    """What the recovery needs of the window."""

    def open(self, opening: LibraryOpening) -> None:
        """Open a library, or show what is wrong with it."""

    def show_library(self) -> None:
        """Go back to the library that is open."""

    def show_page(self, page: Page, title: str) -> None:
        """Show a page under a title."""


class LibraryRecovery:
    """Shows the pages that lead back to a library; the window outlives it."""

    def __init__(self, window: Window, numbers: Numbers, messages: Messages) -> None:
        self._window = window
        self._numbers = numbers
        self._messages = messages
        self._choices = RecoveryChoices(messages)

    def tell_how(self, library: Library) -> None:
        """Tell what has to be known of a library that was opened."""
        warning = library.warning()
        if warning:
            self._messages.tell("Library in a network folder", warning)
        if library.read_only:
            self._messages.tell(
                "Looking only",
                f"The library {library.path} is open to look only, so nothing can be entered.",
            )

    def show_trouble(self, problem: LibraryProblem, path: Path, *, has_library: bool) -> None:
        """Show why the library at ``path`` does not open, and what can be done."""
        page = TroublePage(problem, self._choices.options(problem, path, has_library=has_library))
        page.chosen.connect(lambda key: self._take(key, path))
        self._window.show_page(page, f"{problem.kind.label} – {_NAME}")

    def show_backups(self, path: Path, *, is_open: bool) -> None:
        """Show the backups of the library at ``path``."""
        # Imported here: nobody needs it to work.
        from desktop.library.backups_page import BackupsPage, told_restored

        page = BackupsPage(path, self._numbers, self._messages, may_make=is_open)

        def open_restored(backup: Backup, kept: Path | None) -> None:
            self._window.open(LibraryOpening(path))
            self._messages.tell("Restored", told_restored(backup, kept))

        page.closed.connect(
            self._window.show_library
            if is_open
            else lambda: self._window.open(LibraryOpening(path))
        )
        page.restored.connect(open_restored)
        self._window.show_page(page, f"Backups – {_NAME}")

    def ask_for_another(self, path: Path) -> None:
        """Ask for another library in place of the one at ``path``, and open it."""
        opening = self._choices.ask_for_another(path)
        if opening is not None:
            self._window.open(opening)

    def _take(self, key: str, path: Path) -> None:
        if key == "back":
            self._window.show_library()
            return
        if key == "restore":
            self.show_backups(path, is_open=False)
            return
        opening = self._choices.take(key, path)
        if opening is not None:
            self._window.open(opening)
