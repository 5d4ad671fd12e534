"""What a person can do about a library that does not open, and how to come to another one."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from core.store import LibraryProblem, ProblemKind
from core.store.backups import backups_of
from desktop.widgets.messages import Messages
from desktop.widgets.trouble_page import Recovery

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
class LibraryOpening:
    """A library to open, and how."""

    path: Path
    read_only: bool = False
    begin_anew: bool = False


class RecoveryChoices:
    """Asks for files and never lets one be written over."""

    def __init__(self, messages: Messages) -> None:
        self._messages = messages

    def options(
        self, problem: LibraryProblem, path: Path, *, has_library: bool
    ) -> tuple[Recovery, ...]:
        """Return the ways on for a problem, the likeliest first."""
        options: list[Recovery] = []
        if problem.kind in _AGAIN:
            options.append(Recovery("again", "&Try again", "When the cause is out of the way."))
        if problem.kind in _MENDED_BY_BACKUP and backups_of(path):
            options.append(
                Recovery(
                    "restore",
                    "&Restore a backup…",
                    "What is there now is set aside, not deleted.",
                )
            )
        if problem.kind in _LOOK:
            options.append(
                Recovery("look", "Open to &look only", "Everything can be read, nothing entered.")
            )
        options.append(Recovery("other", "&Choose another library…", "A library file that exists."))
        options.append(
            Recovery(
                "new",
                "&Begin a new library…",
                "Under a name that is not taken yet; no file is written over.",
            )
        )
        if has_library:
            options.append(Recovery("back", "Back to the &open library", "It is still as it was."))
        return tuple(options)

    def take(self, key: str, path: Path) -> LibraryOpening | None:
        """Return what to open for a way, or None if the person backed out.

        ``back`` and ``restore`` lead to pages, which are the window's.
        """
        match key:
            case "again":
                return LibraryOpening(path)
            case "look":
                return LibraryOpening(path, read_only=True)
            case "other":
                return self._existing(path.parent)
            case _:
                return self._new(path.parent)

    def ask_for_another(self, path: Path) -> LibraryOpening | None:
        """Ask which other library to work in; None if the person backed out."""
        answer = self._messages.ask(
            "Another library",
            f"The library in use is {path}. Each library is one file with its own decks, "
            "cartridges and fittings.",
            ["&Open one that exists…", "&Begin a new one…"],
        )
        if answer is None:
            return None
        return self._existing(path.parent) if answer == 0 else self._new(path.parent)

    def _existing(self, folder: Path) -> LibraryOpening | None:
        chosen = self._messages.file_to_open("Open a library", folder, _KINDS)
        return None if chosen is None else LibraryOpening(chosen)

    def _new(self, folder: Path) -> LibraryOpening | None:
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
        return LibraryOpening(path, begin_anew=True)
