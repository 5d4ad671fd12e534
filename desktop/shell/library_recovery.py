"""The ways to a library: past what stands in the way, back to a backup, over to another file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final, Protocol

from core.language import Numbers
from core.store import Library, LibraryAddress, LibraryProblem
from desktop.shell.recovery_choices import Opening, RecoveryChoices
from desktop.widgets.messages import Messages
from desktop.widgets.trouble_page import TroublePage

if TYPE_CHECKING:
    from core.store.backend import Backup
    from desktop.library.backups_page import BackupsPage

_NAME: Final = "Setdown"


class Window(Protocol):
    """What these ways need of the window."""

    def open(self, opening: Opening) -> None:
        """Open a library, or show what is wrong with it."""

    def show_library(self) -> None:
        """Go back to the library that is open."""

    def show_page(self, page: TroublePage | BackupsPage, title: str) -> None:
        """Show a page under a title."""


class LibraryRecovery:
    """Shows the pages on which a person comes to a library.

    Parameters
    ----------
    window
        Where they are shown; it outlives them.
    numbers
        How numbers are written.
    messages
        The channel that asks for files.
    """

    def __init__(self, window: Window, numbers: Numbers, messages: Messages) -> None:
        self._window = window
        self._numbers = numbers
        self._messages = messages
        self._ways_on = RecoveryChoices(messages)

    def tell_how(self, library: Library) -> None:
        """Tell what has to be known of a library that was opened, if anything has."""
        warning = library.warning()
        if warning:
            self._messages.tell("Library in a network folder", warning)
        if library.read_only:
            self._messages.tell(
                "Looking only",
                f"The library {library.address} is open to look only, so nothing can be entered.",
            )

    def show_trouble(
        self, problem: LibraryProblem, address: LibraryAddress, *, has_library: bool
    ) -> None:
        """Show why the library at ``address`` does not open, and what can be done.

        Parameters
        ----------
        problem
            Why it does not.
        address
            The library.
        has_library
            Whether another library is open that one can go back to.
        """
        page = TroublePage(problem, self._ways_on.ways(problem, address, has_library=has_library))
        page.chosen.connect(lambda key: self._take(key, address))
        self._window.show_page(page, f"{problem.kind.label} – {_NAME}")

    def show_backups(self, address: LibraryAddress, *, is_open: bool) -> None:
        """Show the backups of the library at ``address``, if they are files.

        Parameters
        ----------
        address
            The library.
        is_open
            Whether it is the library that is open; else it is one that does not open, and there is
            nothing to make a backup of.
        """
        backups = address.backups
        if backups is None:
            return
        # Only now: nobody needs it to work.
        from desktop.library.backups_page import BackupsPage, told_restored

        page = BackupsPage(str(address), backups, self._numbers, self._messages, may_make=is_open)

        def open_restored(backup: Backup, kept: Path | None) -> None:
            self._window.open(Opening(address))
            self._messages.tell("Restored", told_restored(backup, kept))

        page.left.connect(
            self._window.show_library if is_open else lambda: self._window.open(Opening(address))
        )
        page.restored.connect(open_restored)
        self._window.show_page(page, f"Backups – {_NAME}")

    def ask_for_another(self, address: LibraryAddress) -> None:
        """Ask for another library in place of the one at ``address``, and open it."""
        opening = self._ways_on.ask_for_another(address)
        if opening is not None:
            self._window.open(opening)

    def _take(self, key: str, address: LibraryAddress) -> None:
        if key == "back":
            self._window.show_library()
            return
        if key == "restore":
            self.show_backups(address, is_open=False)
            return
        opening = self._ways_on.take(key, address)
        if opening is not None:
            self._window.open(opening)
