"""Files that are dropped on the window, or named when the program is started."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Protocol

from core.language import Name
from core.store import LibraryAddress, address_of
from desktop.library.screen import LibraryScreen
from desktop.shell.command_line import DOCUMENT_ENDING, LIBRARY_ENDING
from desktop.widgets.language import tr
from desktop.widgets.messages import Messages


class FilesWindow(Protocol):
    """What is needed of the window."""

    def open_in_place(self, address: LibraryAddress) -> None:
        """Open a library in place of the one that is open, if its pages may be left."""

    def library_screen(self) -> LibraryScreen | None:
        """Go back to the library and return its page; None if no library is open, or a page stays.

        A page stays that holds what would be lost, if the person does not give it up.
        """


class GivenFiles:
    """Takes documents in as Import does, and opens a library; one file after another."""

    def __init__(self, window: FilesWindow, messages: Messages) -> None:
        self._window, self._messages = window, messages
        self._is_at_work = False

    def take(self, paths: Sequence[Path], *, asks: bool = False) -> None:
        """Take files: documents first, then a library in place of the one that is open.

        With ``asks`` nothing is taken in before the person says so. While files are being taken,
        others are left: a large document keeps events going.
        """
        if self._is_at_work:
            self._tell(tr("shell.given_files.one_at_a_time"))
            return
        self._is_at_work = True
        try:
            self._take_each(paths, asks=asks)
        finally:
            self._is_at_work = False

    def _take_each(self, paths: Sequence[Path], *, asks: bool) -> None:
        libraries = []
        for path in paths:
            name, ending = Name(path.name), path.suffix.lower()
            if not path.is_file():
                self._tell(tr("shell.given_files.not_a_file", name=name))
            elif ending == LIBRARY_ENDING:
                libraries.append(path)
            elif ending == DOCUMENT_ENDING:
                self._take_document(path, asks=asks)
            else:
                self._tell(tr("shell.given_files.neither", name=name))
        if libraries:
            self._open(libraries[0])
        for path in libraries[1:]:
            self._tell(tr("shell.given_files.one_library", name=Name(path.name)))

    def _take_document(self, path: Path, *, asks: bool) -> None:
        screen = self._window.library_screen()
        if screen is None:
            self._tell(tr("shell.given_files.no_library", name=Name(path.name)))
            return
        if asks:
            library = Name(screen.place)
            answer = self._messages.ask(
                tr("shell.given_files.take_in"),
                tr("shell.given_files.take_name_in", name=Name(path.name), library=library),
                [tr("shell.given_files.yes_take_in"), tr("shell.given_files.no_leave")],
                stays=1,
            )
            if answer != 0:
                return
        screen.take_in_file(path)

    def _open(self, path: Path) -> None:
        answer = self._messages.ask(
            tr("shell.given_files.open_library"),
            tr("shell.given_files.open_name", name=Name(path.name)),
            [tr("shell.given_files.yes_open"), tr("shell.given_files.no_stay")],
            stays=1,
        )
        if answer == 0:
            self._window.open_in_place(address_of(path))

    def _tell(self, sentence: str) -> None:
        self._messages.tell(tr("shell.given_files.nothing_taken_in"), sentence)
