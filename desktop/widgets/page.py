"""The base of every page of the window, and its title."""

from __future__ import annotations

from typing import ClassVar

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLabel, QWidget

from core.language import Message, message
from desktop.widgets import theme
from desktop.widgets.keys import ENTER_KEYS


class Page(QWidget):
    """A page: the window shows it, focuses it, and asks it before leaving."""

    escape_leaves: ClassVar = False
    """Whether Escape goes back from here."""

    is_list: ClassVar = False
    """Whether the page is a list, of which :meth:`subject` is the picked row."""

    sign_shows: ClassVar[Message | None] = message("shell.appearance_panel.on_the_next_page")
    """When another decimal sign shows that is chosen while the page is open; None for at once."""

    closed = Signal()
    """The person goes back; everything confirmed is kept."""
    appearance_wanted = Signal()
    """The person wants other colours or another size of type."""
    told_of_others = Signal(str)
    """Another window changed something on show; the sentence says what."""

    def begin(self) -> None:
        """Put the focus where the person starts."""

    def may_leave(self) -> bool:
        """Whether nothing typed would be lost, or the person agrees to lose it."""
        return True

    def leave(self) -> None:
        """Go back, unless something typed would be lost and the person wants to keep it."""
        if self.may_leave():
            self.closed.emit()

    def end(self) -> None:
        """Begin nothing more by itself: the library is about to be closed."""
        for timer in self.findChildren(QTimer):
            timer.stop()

    def subject(self) -> tuple[str, str] | None:
        """Return sort and id of the record that added pictures belong to, or None.

        It is the deck, cartridge, job or fitting that the page is about, or the picked one.
        """
        return None

    def look_again(self) -> None:
        """Show what another window has written, if it concerns this page."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go back with Escape."""
        if self.escape_leaves and event.key() == Qt.Key.Key_Escape:
            self.leave()
        else:
            super().keyPressEvent(event)


class PageTitle(QLabel):
    """The title of a page; it takes the focus so that it is read out. Enter goes on from it."""

    entered = Signal()

    def __init__(self, text: str, parent: QWidget | None = None) -> None:
        super().__init__(text, parent)
        self.setFont(theme.scaled(self.font(), 1.5, bold=True))
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setTextFormat(Qt.TextFormat.PlainText)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go on to the first field with Enter."""
        if event.key() in ENTER_KEYS:
            self.entered.emit()
            return
        super().keyPressEvent(event)
