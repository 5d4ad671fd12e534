"""Building of a page's hidden parts after its first painting."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable

from PySide6.QtCore import QEvent, QObject, QTimer
from PySide6.QtWidgets import QWidget


class DeferredBuild(QObject):
    """Calls put off until a page has been painted.

    One per turn of the event loop, so that input is handled in between. Code that needs the results
    sooner calls :meth:`finish`.
    """

    def __init__(self, page: QWidget) -> None:
        super().__init__(page)
        self.page = page
        self._acts: deque[Callable[[], object]] = deque()
        self._is_painted = False
        self._timer = QTimer(self, singleShot=True, interval=0)
        self._timer.timeout.connect(self._go_on)
        page.installEventFilter(self)

    @property
    def is_done(self) -> bool:
        """Whether nothing is pending."""
        return not self._acts

    def put_off(self, acts: Iterable[Callable[[], object]]) -> None:
        """Put off these calls, in this order, in place of those still pending."""
        self._acts = deque(acts)
        if self._is_painted and self._acts:
            self._timer.start()

    def finish(self) -> None:
        """Do at once what is pending."""
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
            self._timer.start()  # before the call: one that fails must not stop the others
        act()
