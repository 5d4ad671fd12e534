"""Recovery of a library that does not open: repair, backups, another file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final, Protocol

from core.language import Numbers, message
from core.store import Library, LibraryAddress, LibraryProblem, ProblemKind, address_of
from core.store.backend import Backup
from desktop.widgets.messages import Messages
from desktop.widgets.page import Page
from desktop.widgets.trouble_page import Recovery, TroublePage

_NAME: Final = "Setdown"
_KINDS: Final = "Setdown libraries (*.library);;All files (*)"

_ANY: Final = frozenset(ProblemKind)
_RECOVERIES: Final = {
    Recovery("again", "&Try again", "When the cause is out of the way."): frozenset(
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
        "restore", "&Restore a backup…", "What is there now is set aside, not deleted."
    ): frozenset({ProblemKind.DAMAGED, ProblemKind.NOT_A_LIBRARY, ProblemKind.VANISHED}),
    Recovery("look", "Open to &look only", "Everything can be read, nothing entered."): frozenset(
        {ProblemKind.READ_ONLY, ProblemKind.DAMAGED, ProblemKind.LOCKED}
    ),
    Recovery("other", "&Choose another library…", "A library file that exists."): _ANY,
    Recovery(
        "new",
        "&Begin a new library…",
        "Under a name that is not taken yet; no file is written over.",
    ): _ANY,
    Recovery("back", "Back to the &open library", "It is still as it was."): _ANY,
}
"""What can be done, the likeliest first, and for which problems."""


@dataclass(frozen=True, slots=True)
class LibraryOpening:
    """A library to open, and how."""

    address: LibraryAddress
    read_only: bool = False
    begin_anew: bool = False


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

    def tell_how(self, library: Library) -> None:
        """Tell what has to be known of a library that was opened."""
        warning = library.warning()
        if warning:
            self._messages.tell("Library in a network folder", warning)
        if library.notice:
            title = self._numbers.text(message("storage.foreign_log"))
            self._messages.tell(title, library.notice)
        if library.read_only:
            self._messages.tell(
                "Looking only",
                f"The library {library.address} is open to look only, so nothing can be entered.",
            )

    def show_trouble(
        self, problem: LibraryProblem, address: LibraryAddress, *, has_library: bool
    ) -> None:
        """Show why the library at ``address`` does not open, and what can be done."""
        page = TroublePage(problem, _options(problem, address, has_library=has_library))
        page.chosen.connect(lambda key: self._take(key, address))
        self._window.show_page(page, f"{problem.kind.label} – {_NAME}")

    def show_backups(self, address: LibraryAddress, *, is_open: bool) -> None:
        """Show the backups of the library at ``address``, if they are files."""
        backups = address.backups
        if backups is None:
            return
        # Imported here: nobody needs it to work.
        from desktop.library.backups_page import BackupsPage, told_restored

        page = BackupsPage(str(address), backups, self._numbers, self._messages, may_make=is_open)

        def open_restored(backup: Backup, kept: Path | None) -> None:
            self._window.open(LibraryOpening(address))
            self._messages.tell("Restored", told_restored(backup, kept))

        page.closed.connect(
            self._window.show_library
            if is_open
            else lambda: self._window.open(LibraryOpening(address))
        )
        page.restored.connect(open_restored)
        self._window.show_page(page, f"Backups – {_NAME}")

    def ask_for_another(self, address: LibraryAddress) -> None:
        """Ask for another library in place of the one at ``address``, and open it."""
        answer = self._messages.ask(
            "Another library",
            f"The library in use is {address}. Each library is one file with its own decks, "
            "cartridges and fittings.",
            ["&Open one that exists…", "&Begin a new one…"],
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
            case "look":
                self._window.open(LibraryOpening(address, read_only=True))
            case "other":
                self._open_existing(address.folder)
            case _:
                self._begin_new(address.folder)

    def _open_existing(self, folder: Path) -> None:
        chosen = self._messages.file_to_open("Open a library", folder, _KINDS)
        if chosen is not None:
            self._window.open(LibraryOpening(address_of(chosen)))

    def _begin_new(self, folder: Path) -> None:
        chosen = self._messages.file_to_save("Begin a new library", folder / "new.library", _KINDS)
        if chosen is None:
            return
        path = chosen if chosen.suffix else chosen.with_suffix(".library")
        if path.exists():
            self._messages.tell(
                "That name is taken",
                f"There is a file {path} already, and it stays as it is.",
                "Choose a name that is not taken yet, or open that file as a library.",
            )
            return
        self._window.open(LibraryOpening(address_of(path), begin_anew=True))


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
