"""What every page of the window can do, and its title."""

from __future__ import annotations

from typing import ClassVar

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLabel, QWidget

from desktop.widgets import theme
from desktop.widgets.keys import ENTER_KEYS


class Page(QWidget):
    """A page: the window shows it, gives it the focus, and asks it before leaving."""

    escape_leaves: ClassVar = False
    """Whether Escape goes back from here."""

    is_list: ClassVar = False
    """Whether the page lists many things, of which :meth:`subject` is only the one picked."""

    closed = Signal()
    """The person goes back; everything confirmed is kept."""
    appearance_wanted = Signal()
    """The person wants other colours or another size of type."""
    told_of_others = Signal(str)
    """What another window has changed of what is on show, in a sentence."""

    def begin(self) -> None:
        """Put the focus where the person starts."""

    def may_leave(self) -> bool:
        """Whether nothing typed would be lost, or the person says it may be."""
        return True

    def leave(self) -> None:
        """Go back, unless something typed would be lost and is still wanted."""
        if self.may_leave():
            self.closed.emit()

    def end(self) -> None:
        """Begin nothing more by itself: the library is about to be closed."""
        for timer in self.findChildren(QTimer):
            timer.stop()

    def subject(self) -> tuple[str, str] | None:
        """Return sort and number of what pictures given here belong to; None if to nothing.

        That is a deck, cartridge, job or fitting: the one the page is about, or the one picked.
        """
        return None

    def look_again(self) -> None:
        """Show what another window has written to the library, if anything of it is on show."""

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
