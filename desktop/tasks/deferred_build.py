"""Parts of a page that are made once what is in sight has been painted."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable

from PySide6.QtCore import QEvent, QObject, QTimer
from PySide6.QtWidgets import QWidget


class DeferredBuild(QObject):
    """Acts put off until a page has been painted.

    One a turn of the event loop: what a person does meanwhile comes in between. What needs them
    sooner calls :meth:`finish`.
    """

    def __init__(self, page: QWidget) -> None:
        super().__init__(page)
        self.page = page
        self._acts: deque[Callable[[], object]] = deque()
        self._is_painted = False
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(0)
        self._timer.timeout.connect(self._go_on)
        page.installEventFilter(self)

    @property
    def is_done(self) -> bool:
        """Whether nothing is put off any more."""
        return not self._acts

    def put_off(self, acts: Iterable[Callable[[], object]]) -> None:
        """Put these off, in this order, in place of what was still to come."""
        self._acts = deque(acts)
        if self._is_painted and self._acts:
            self._timer.start()

    def finish(self) -> None:
        """Do at once what is still to come."""
        while self._acts:
            self._acts.popleft()()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Begin after the first painting."""
        if event.type() == QEvent.Type.Paint:
            self._is_painted = True
            watched.removeEventFilter(self)
            self._timer.start()
        return False

    def _go_on(self) -> None:
        if not self._acts:
            return
        act = self._acts.popleft()
        if self._acts:
            self._timer.start()  # before it is done: one that fails takes no other with it
        act()
