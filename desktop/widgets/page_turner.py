"""Page controls for a list that is too long to show at once."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from desktop.widgets.language import tr
from desktop.widgets.panels import add_all, button, text_label


class PageTurner(QWidget):
    """Buttons for older and newer entries of a log, and which are on show.

    Hidden while all fit on one page. The last page is shown first: what was entered last.
    """

    turned = Signal()
    """Another page was chosen: read :attr:`part`."""

    def __init__(self, at_once: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._at_once, self._count, self._back = at_once, 0, 0
        self._which = text_label("", "muted")
        self.earlier = button(tr("widgets.page_turner.earlier"), quiet=True)
        self.later = button(tr("widgets.page_turner.later"), quiet=True)
        self.earlier.clicked.connect(lambda: self._turn(1))
        self.later.clicked.connect(lambda: self._turn(-1))
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        add_all(row, (self._which, 1), self.earlier, self.later)
        self.hide()

    @property
    def part(self) -> slice:
        """The indexes of the entries on show; the oldest has index 0."""
        last = max(0, self._count - self._back * self._at_once)
        return slice(max(0, last - self._at_once), last)

    def show_count(self, count: int) -> None:
        """Set the number of entries; show new ones."""
        if count != self._count:
            self._count, self._back = count, 0
        self._show()

    def _turn(self, pages: int) -> None:
        self._back += pages
        self._show()
        self.turned.emit()
        pressed, other = self.earlier, self.later
        if pages < 0:
            pressed, other = other, pressed
        if not pressed.isEnabled():
            other.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show(self) -> None:
        part = self.part
        self._which.setText(
            tr("widgets.page_turner.which", first=part.start + 1, last=part.stop, of=self._count)
        )
        # Enable the other first: a button that is disabled passes its focus on.
        for one, is_there in ((self.later, self._back > 0), (self.earlier, part.start > 0)):
            one.setEnabled(is_there)
        self.setVisible(self._count > self._at_once)
