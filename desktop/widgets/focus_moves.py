"""Tell widgets where the focus goes, over one connection to the application.

With a connection of its own, a widget that ended often stays in memory: the binding (PySide6 6.11)
holds on to it. The widgets are known weakly here, and nothing of theirs outlives them.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from types import MethodType
from typing import Final
from weakref import WeakMethod

from PySide6.QtWidgets import QApplication, QWidget
from shiboken6 import isValid

from desktop.widgets.after_release import AfterRelease, is_pressed

FocusMoved = Callable[[QWidget | None], None]
"""Is called with the widget that has the focus now; None if it left the program."""

_followers: Final[list[WeakMethod[FocusMoved]]] = []


def follow_focus(told: FocusMoved) -> None:
    """Call a widget's method after each move of the focus, as long as the widget is there."""
    app = QApplication.instance()
    if isinstance(app, QApplication):
        _listen_to(app)
        _followers.append(WeakMethod(told, _followers.remove))


@cache
def _listen_to(app: QApplication) -> AfterRelease:
    """Tell of the focus once no mouse button is down: a page must not scroll under a press."""
    released = AfterRelease(app)
    released.due.connect(lambda: _tell(app.focusWidget()))
    app.focusChanged.connect(lambda _old, now: released.start() if is_pressed() else _tell(now))
    return released


def _tell(now: QWidget | None) -> None:
    for follower in tuple(_followers):
        told = follower()
        if isinstance(told, MethodType) and isValid(told.__self__):
            told(now)
