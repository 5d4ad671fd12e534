"""Picture files that are dropped on the window: kept with what the page on show is about."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final, Protocol

from core.language import Name
from core.store import Library, LibraryProblem
from desktop.widgets.language import tr
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.page import Page

if TYPE_CHECKING:
    from desktop.pictures.page import PicturesPage

_ENDINGS: Final = frozenset(
    f".{one}"
    for one in (
        *("bmp", "gif", "jfif", "jpe", "jpeg", "jpg", "png", "tif", "tiff", "webp"),
        *("avif", "heic", "heif", "svg"),
    )
)
"""Files with such an ending are given as pictures; whether they are any is seen on reading."""


class PicturesWindow(Protocol):
    """What is needed of the window."""

    library: Library | None

    def subject(self) -> tuple[str, str] | None:
        """Return what pictures that are given to the page on show belong to, if to anything."""

    def show_pictures(self, sort: str, thing_id: str) -> PicturesPage | None:
        """Show the pictures of a thing."""

    def page_on_show(self) -> Page | None:
        """Return the page on show."""


class GivenPictures:
    """Takes pictures on the page of what they belong to; asks where it was only picked."""

    def __init__(self, window: PicturesWindow, messages: Messages) -> None:
        self._window, self._messages = window, messages

    def take(self, paths: Sequence[Path]) -> None:
        """Add these files, once it is sure to what."""
        owner = self._window.subject()
        if owner is None:
            self._messages.tell(
                tr("shell.given_pictures.of_nothing"), tr("shell.given_pictures.of_nothing_todo")
            )
            return
        page = self._window.page_on_show()
        if page is not None and page.is_list and not self._is_meant(owner, len(paths)):
            return
        shown = self._window.show_pictures(*owner)
        if shown is not None:
            shown.take(list(paths))

    def _is_meant(self, owner: tuple[str, str], count: int) -> bool:
        """Ask whether pictures dropped on a list belong to the one that is picked there."""
        # Imported here: few give pictures.
        from desktop.pictures.page import name_of

        library = self._window.library
        if library is None:
            return False
        try:
            name = name_of(library, owner)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return False
        answer = self._messages.ask(
            tr("shell.given_pictures.keep"),
            tr("shell.given_pictures.keep_with", name=Name(name), n=count, count=count),
            [tr("shell.given_pictures.yes_keep"), tr("shell.given_pictures.no_leave")],
            stays=1,
        )
        return answer == 0


def parted(paths: Sequence[Path]) -> tuple[list[Path], list[Path]]:
    """Return which files are given as pictures, and which are not."""
    pictures = [path for path in paths if path.suffix.lower() in _ENDINGS]
    return pictures, [path for path in paths if path not in pictures]
