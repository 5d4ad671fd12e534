"""What a person can do about a library that does not open, and how to come to another one."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from core.store import LibraryAddress, LibraryProblem, ProblemKind, address_of
from desktop.widgets.messages import Messages
from desktop.widgets.trouble_page import Way

_KINDS: Final = "Setdown libraries (*.library);;All files (*)"

_AGAIN: Final = frozenset(
    {
        ProblemKind.MISSING_FOLDER,
        ProblemKind.LOCKED,
        ProblemKind.FULL,
        ProblemKind.VANISHED,
        ProblemKind.DISK_FAULT,
        ProblemKind.READ_ONLY,
    }
)
_MENDED_BY_BACKUP: Final = frozenset(
    {ProblemKind.DAMAGED, ProblemKind.NOT_A_LIBRARY, ProblemKind.VANISHED}
)
_LOOK: Final = frozenset({ProblemKind.READ_ONLY, ProblemKind.DAMAGED, ProblemKind.LOCKED})


@dataclass(frozen=True, slots=True)
class Opening:
    """A library to open, and how."""

    address: LibraryAddress
    read_only: bool = False
    begin_anew: bool = False


class RecoveryChoices:
    """Asks for files and never lets one be written over.

    Parameters
    ----------
    messages
        The channel that asks.
    """

    def __init__(self, messages: Messages) -> None:
        self._messages = messages

    def ways(
        self, problem: LibraryProblem, address: LibraryAddress, *, has_library: bool
    ) -> tuple[Way, ...]:
        """Return the ways on for a problem, the likeliest first.

        Parameters
        ----------
        problem
            Why the library did not open.
        address
            The library that did not open.
        has_library
            Whether another library is open that one can go back to.
        """
        ways: list[Way] = []
        if problem.kind in _AGAIN:
            ways.append(Way("again", "&Try again", "When the cause is out of the way."))
        if problem.kind in _MENDED_BY_BACKUP and address.backups and address.backups.all():
            ways.append(
                Way(
                    "restore",
                    "&Restore a backup…",
                    "What is there now is set aside, not deleted.",
                )
            )
        if problem.kind in _LOOK:
            ways.append(
                Way("look", "Open to &look only", "Everything can be read, nothing entered.")
            )
        ways.append(Way("other", "&Choose another library…", "A library file that exists."))
        ways.append(
            Way(
                "new",
                "&Begin a new library…",
                "Under a name that is not taken yet; no file is written over.",
            )
        )
        if has_library:
            ways.append(Way("back", "Back to the &open library", "It is still as it was."))
        return tuple(ways)

    def take(self, key: str, address: LibraryAddress) -> Opening | None:
        """Return what to open for a way, or None if the person backed out.

        ``back`` and ``restore`` lead to pages, which are the window's.

        Parameters
        ----------
        key
            The key of the way that was chosen.
        address
            The library that did not open.
        """
        match key:
            case "again":
                return Opening(address)
            case "look":
                return Opening(address, read_only=True)
            case "other":
                return self._existing(address.folder)
            case _:
                return self._new(address.folder)

    def ask_for_another(self, address: LibraryAddress) -> Opening | None:
        """Ask which other library to work in; None if the person backed out."""
        answer = self._messages.ask(
            "Another library",
            f"The library in use is {address}. Each library is one file with its own decks, "
            "cartridges and fittings.",
            ["&Open one that exists…", "&Begin a new one…"],
        )
        if answer is None:
            return None
        return self._existing(address.folder) if answer == 0 else self._new(address.folder)

    def _existing(self, folder: Path) -> Opening | None:
        chosen = self._messages.file_to_open("Open a library", folder, _KINDS)
        return None if chosen is None else Opening(address_of(chosen))

    def _new(self, folder: Path) -> Opening | None:
        chosen = self._messages.file_to_save("Begin a new library", folder / "new.library", _KINDS)
        if chosen is None:
            return None
        path = chosen if chosen.suffix else chosen.with_suffix(".library")
        if path.exists():
            self._messages.tell(
                "That name is taken",
                f"There is a file {path} already, and it stays as it is.",
                "Choose a name that is not taken yet, or open that file as a library.",
            )
            return None
        return Opening(address_of(path), begin_anew=True)
