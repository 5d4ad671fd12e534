"""How many decks are due for their check; searched after the first screen is shown."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import QPushButton, QWidget

from core.store import Library, LibraryProblem
from desktop.widgets.language import tr

if TYPE_CHECKING:
    from core.maintenance.search import DueSearch

_AFTER_PAINT_MS: Final = 250
_BETWEEN_MS: Final = 10


class DueButton(QPushButton):
    """A button that is hidden until something is due."""

    failed = Signal(object)  # A LibraryProblem: the library could not be read

    def __init__(
        self,
        library: Library,
        today: Callable[[], date] = date.today,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._library, self._today = library, today
        self._search: DueSearch | None = None
        self._has_begun = False
        self.setProperty("quiet", "true")
        self.setObjectName("dueLine")
        self.setAccessibleDescription(tr("library.due_button.shows_the_decks_whose_months"))
        self.setToolTip(self.accessibleDescription())
        self._timer = QTimer(self, singleShot=True)
        self._timer.timeout.connect(self._go_on)
        self.hide()

    def look(self) -> None:
        """Search again, in small portions, once the window is idle."""
        self._has_begun = False
        self._timer.start(_AFTER_PAINT_MS)

    def wait(self) -> None:
        """Let the search wait a moment: somebody is using the window."""
        if self._timer.isActive():
            self._timer.start(_AFTER_PAINT_MS)

    def stop(self) -> None:
        """Stop the search."""
        self._timer.stop()

    def finish(self) -> None:
        """Finish the search at once."""
        while self._timer.isActive():
            self._timer.stop()
            self._go_on()

    def _go_on(self) -> None:
        screen = self.parentWidget()
        if screen is not None and not screen.isVisible():
            return  # hidden, and its library may be closed; it searches again when shown
        try:
            self._look_further()
        except LibraryProblem as problem:
            self.failed.emit(problem)

    def _look_further(self) -> None:
        # Imported here: the window is shown before the search begins.
        from core.maintenance.search import DueSearch

        if self._search is None:
            self._search = DueSearch(self._library)
        if not self._has_begun:
            self._search.begin()
            self._has_begun = True
        elif not self._search.is_done:
            self._search.go_on()
        if not self._search.is_done:
            self._timer.start(_BETWEEN_MS)
            return
        count = len(self._search.due(self._today()))
        self.setText(tr("library.due_button.due", count=count))
        self.setVisible(count > 0)
